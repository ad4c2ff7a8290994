package overlay

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"farhail/cmd/internal/job"
)

// SightPaper is the page that tells how far every signal shows, when it is dark, the way
// home, and where the places of the map are.
func SightPaper(r *job.Result) Paper {
	return Paper{Heading: "Signals, times, way home", Sections: []Section{sightSection(r), homeSection(r)}}.with(markedSection(r))
}

// with returns the paper with one more section, if there is anything in it.
func (p Paper) with(s Section) Paper {
	if len(s.Items) > 0 {
		p.Sections = append(p.Sections, s)
	}
	return p
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
	if text := limitWords(r.Sight); text != "" {
		s.say("%s", text)
	}
	return s
}

// limitWords explain those limits of some sightings that their names do not.
func limitWords(sights []job.Sighting) string {
	var list []string
	for _, limit := range []struct{ name, text string }{
		{"battery", "Battery: not lit yet, or burnt out, at that hour."},
		{"edge", "Edge: the terrain given ends there; it may show farther."},
		{"noise", "Noise: what is about the listener drowns it."},
	} {
		if slices.ContainsFunc(sights, func(s job.Sighting) bool { return s.LimitNoticed == limit.name }) {
			list = append(list, limit.text)
		}
	}
	return strings.Join(list, " ")
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
	t := Table{Head: []string{"leg", "true", "magn.", "distance", "paces", "note"}, Figures: []bool{true, true, true, true, true, false}, Cut: 5}
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

// DaySection tells the times of the plan's day in words; a bar of it is drawn below.
func DaySection(r *job.Result) Section {
	s := Section{Title: "The day: when it is dark, and when each signal shows best"}
	for _, k := range r.Sky {
		s.say("%s: %s; dark for %s from this noon to the next. Moon: %s.", day(k.At), sunWords(k.Day), job.Duration(float64(k.Day.DarkS)), moonWords(k.Day))
	}
	s.say("By light, air and eye alone, each bar against its own best; on a level horizon, hills make sun and moon rise later and set earlier.")
	return s
}

// BestHour returns how far a signal is noticed at best in the hours of a timetable [m],
// and at which, the first of equals; nil where it never is.
func BestHour(t *job.Timetable, s job.SignalHours) (float64, *time.Time) {
	best := 0.0
	var when *time.Time
	for i, m := range s.NoticedM {
		if v := float64(m); v > best*(1+1e-9) {
			at := t.From.Add(time.Duration(i) * time.Hour)
			best, when = v, &at
		}
	}
	return best, when
}

// hoursAcross is the most hours that a table has columns for.
const hoursAcross = 3

// sightByHour is sightRows with the hours side by side, for pages with little room; where
// there are too many of them the rows of sightRows.
func sightByHour(r *job.Result, who string) Table {
	w := r.Words()
	hours := sightHours(r, who)
	if len(hours) > hoursAcross {
		return sightRows(r, who).without("by")
	}
	var rows []string
	cells := map[string]map[int64][2]string{}
	t := Table{Head: []string{"signal"}, Figures: []bool{false}}
	for _, h := range hours {
		at := h.Format("15:04")
		if hours[len(hours)-1].Sub(hours[0]) >= 24*time.Hour {
			at = clock(&h)
		}
		t.Head = append(t.Head, at+" "+lightAt(r, &h), "at best")
		t.Figures = append(t.Figures, true, true)
	}
	for _, s := range r.Sight {
		if who != "" && !lookedBy(s, who) {
			continue
		}
		row := s.Signal + with(s.Observer)
		if cells[row] == nil {
			cells[row] = map[int64][2]string{}
			rows = append(rows, row)
		}
		noticed, best := w.Distance(float64(s.NoticedM)), w.Distance(float64(s.PerceptibleM))
		if s.NoticedM == 0 {
			noticed = notShown(s.LimitNoticed)
		}
		if s.PerceptibleM == 0 {
			best = "-"
		}
		cells[row][s.At.UnixNano()] = [2]string{noticed, best}
	}
	for _, row := range rows {
		line := []string{row}
		for _, h := range hours {
			c, known := cells[row][h.UnixNano()]
			if !known {
				c = [2]string{"-", "-"}
			}
			line = append(line, c[0], c[1])
		}
		t.Rows = append(t.Rows, line)
	}
	return t
}

// notShown says why a signal is not noticed at all.
func notShown(limit string) string {
	switch limit {
	case "battery":
		return "not lit"
	case "sun":
		return "no sun"
	}
	return "not seen"
}

// sightHours returns the hours of the sightings that somebody is meant by, in their order.
func sightHours(r *job.Result, who string) []time.Time {
	var list []time.Time
	for _, s := range r.Sight {
		if who == "" || lookedBy(s, who) {
			list = append(list, *s.At)
		}
	}
	slices.SortFunc(list, time.Time.Compare)
	return slices.CompactFunc(list, time.Time.Equal)
}
