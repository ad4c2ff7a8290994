package overlay

import (
	"fmt"
	"math"

	"farhail/cmd/internal/job"
)

// SightPaper is the page that tells how far every signal shows, when it is dark, and
// the way home.
func SightPaper(r *job.Result) Paper {
	return Paper{Heading: "Signals, times, way home", Sections: []Section{sightSection(r), homeSection(r)}}
}

func sightSection(r *job.Result) Section {
	s := Section{Title: "How far the signals show"}
	t := sightRows(r, "")
	if len(t.Rows) == 0 {
		s.say("Not worked out: the plan gives no signals, no hours, or no position.")
		return s
	}
	where := "Over a smooth earth."
	if r.Terrain != nil {
		where = "Over the ground, from the traveller's last position."
	}
	s.say("Visibility %s, eyes %s above ground. %s Limit: what ends noticed.", r.Words().Distance(float64(r.Plan.Weather.VisibilityM)), r.Words().Length(float64(r.Looking.EyeHeightM), 1), where)
	s.table(t)
	return s
}

// homeSection tells the way home, straight and by the legs of the log.
func homeSection(r *job.Result) Section {
	s := Section{Title: "The way home: lines, not safe paths"}
	g := r.Reckon
	if g == nil {
		s.say("No log was kept, or none was given.")
		return s
	}
	w := r.Words()
	if len(g.Path) > 0 {
		s.tell("From", "%s, with 95 %% within %s by %s", LandPosition(w, g.Path[len(g.Path)-1]), w.Distance(float64(g.Ellipse95.MajorM)), w.Distance(float64(g.Ellipse95.MinorM)))
	}
	s.tell("Straight", "%s true, %s magnetic, %s grid, %s%s", bearing(float64(g.Home.TrueDeg)), bearing(float64(g.Home.MagneticDeg)), bearing(float64(g.Home.GridDeg)),
		w.Distance(float64(g.Home.DistanceM)), paces(float64(g.Home.Paces)))
	if len(g.HomeLegs) < 2 {
		return s
	}
	t := Table{Head: []string{"leg", "true", "magn.", "distance", "paces", "note"}, Figures: []bool{true, true, true, true, true, false}}
	for i, l := range g.HomeLegs {
		note := l.Note
		if !l.Logged {
			note = "bearing not kept: straight"
		}
		count := "-"
		if known(float64(l.Paces)) {
			count = fmt.Sprintf("%.0f", math.Round(float64(l.Paces)))
		}
		t.Rows = append(t.Rows, []string{fmt.Sprint(i + 1), bearing(float64(l.TrueDeg)), bearing(float64(l.MagneticDeg)), w.Distance(float64(l.DistanceM)), count, note})
	}
	s.table(t)
	return s
}
