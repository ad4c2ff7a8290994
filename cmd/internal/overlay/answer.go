package overlay

import (
	"fmt"
	"io"
	"strings"

	"farhail/cmd/internal/job"
)

// Answer writes the result in ten lines, the first thing that a plan prints.
func Answer(w io.Writer, r *job.Result) {
	log := []string{answerLog(r), answerHome(r)}
	if r.Sweep != nil { // the page stays ten lines long
		log = []string{answerLogAndHome(r), answerSweep(r)}
	}
	for _, line := range []string{
		answerHead(r), answerStart(r), log[0], log[1], answerRing(r),
		answerSight(r, true), answerSight(r, false), answerSites(r), answerLeftOut(r),
		"Estimates, not promises. Call the emergency number first; police direct a search.",
	} {
		fmt.Fprintln(w, line)
	}
}

func answerHead(r *job.Result) string {
	head := fmt.Sprintf("%s (plan %s, as of %s)", titleOf(r), r.Plan.Hash, moment(r.Plan.AsOf))
	if r.Plan.Example {
		head = exampleLine + ": " + head
	}
	return head
}

func answerStart(r *job.Result) string {
	for i := len(r.Starts) - 1; i >= 0; i-- {
		s := r.Starts[i]
		if s.SupersededBy == "" {
			return fmt.Sprintf("Start:    %s, %s, within %s, %s", s.Name, r.Words().Reference(s.Point), r.Words().Distance(float64(s.Radius95M)), moment(s.Time))
		}
	}
	return "Start:    none given"
}

func answerLog(r *job.Result) string {
	g := r.Reckon
	if g == nil {
		return "Log:      none"
	}
	if len(g.Path) == 0 {
		return fmt.Sprintf("Log:      %s north, %s east of an unknown start", r.Words().Distance(float64(g.NorthM)), r.Words().Distance(float64(g.EastM)))
	}
	return fmt.Sprintf("Log:      ends at %s, 95 %% within %s by %s", r.Words().Reference(g.Path[len(g.Path)-1]), r.Words().Distance(float64(g.Ellipse95.MajorM)), r.Words().Distance(float64(g.Ellipse95.MinorM)))
}

func answerHome(r *job.Result) string {
	if r.Reckon == nil {
		return "Way home: no log"
	}
	h := r.Reckon.Home
	return fmt.Sprintf("Way home: %s true, %s magnetic, %s%s (a line, not a safe path)", bearing(float64(h.TrueDeg)), bearing(float64(h.MagneticDeg)), r.Words().Distance(float64(h.DistanceM)), paces(float64(h.Paces)))
}

// answerLogAndHome tells both in one line.
func answerLogAndHome(r *job.Result) string {
	if r.Reckon == nil || len(r.Reckon.Path) == 0 {
		return answerLog(r)
	}
	h := r.Reckon.Home
	return fmt.Sprintf("%s; home %s true, %s (a line)", answerLog(r), bearing(float64(h.TrueDeg)), r.Words().Distance(float64(h.DistanceM)))
}

func answerRing(r *job.Result) string {
	if r.Rings == nil || len(r.Rings.Rings) == 0 {
		return "Reach:    not computed"
	}
	var usual job.Ring
	for _, g := range r.Rings.Rings {
		if g.Walker == "usual" {
			usual = g
		}
	}
	flat, open := "", ""
	if r.Rings.Flat {
		flat = " (flat, no terrain)"
	}
	if usual.Open {
		open = ", open at the terrain's edge"
	}
	return fmt.Sprintf("Reach:    usual walker after %s at most %s away, %s%s%s", job.Duration(float64(usual.AfterS)), r.Words().Distance(float64(usual.FarthestM)), r.Words().Area(float64(usual.AreaM2)), open, flat)
}

// bestSight returns the sighting that is noticed farthest by day or by night, nil where
// the plan has no such hour.
func bestSight(r *job.Result, day bool) *job.Sighting {
	var best *job.Sighting
	for i := range r.Sight {
		s := &r.Sight[i]
		if s.SightSound == nil && (s.Inputs.SunElevationDeg > 0) == day && (best == nil || s.NoticedM > best.NoticedM) {
			best = s
		}
	}
	return best
}

// answerSight names the signal that is noticed farthest by day or by night.
func answerSight(r *job.Result, day bool) string {
	head := "By night: "
	if day {
		head = "By day:   "
	}
	s := bestSight(r, day)
	if s == nil {
		return head + "no hour of the plan"
	}
	return fmt.Sprintf("%s%s is noticed to %s, at best seen to %s, limit %s (%s)", head, s.Signal+with(s.Observer), r.Words().Distance(float64(s.NoticedM)), r.Words().Distance(float64(s.PerceptibleM)), s.LimitNoticed, clock(s.At))
}

func answerSites(r *job.Result) string {
	for i := len(r.Place) - 1; i >= 0; i-- {
		p := r.Place[i]
		if len(p.Sites) == 0 || p.Question != "passive" && p.Question != "route" {
			continue
		}
		var at []string
		for _, s := range p.Sites {
			at = append(at, r.Words().Reference(s.Point))
		}
		when := "at " + clock(p.At)
		if p.Light == job.LightOfLooks {
			when = "while they look"
		}
		return fmt.Sprintf("Place:    %s %s: %s", p.Signal, when, strings.Join(at, "; "))
	}
	return "Place:    no site chosen"
}

func answerLeftOut(r *job.Result) string {
	if len(r.LeftOut) == 0 {
		left := "Left out: nothing that the plan asks for"
		if r.Terrain != nil {
			left += "; " + r.Terrain.Cover
		}
		return left
	}
	return "Left out: " + r.Words().Sentence(strings.Join(r.LeftOut, "; "))
}
