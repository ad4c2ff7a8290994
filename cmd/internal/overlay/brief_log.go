package overlay

import (
	"fmt"
	"math"

	"farhail/cmd/internal/job"
)

// logDoubts tells what the log's ellipse rests on, and what is wrong with the log.
func (b *brief) logDoubts(g *job.Reckon) {
	in := g.Inputs
	b.line("Legs err by %.3g %% (%s) and %.3g deg (%s), all alike by %.3g %% (%s) and %.3g deg (%s).",
		100*in.SigmaDistance, in.SigmaDistanceFrom, in.SigmaBearingDeg, in.SigmaBearingDegFrom, 100*in.ScaleBias, in.ScaleBiasFrom, in.BearingBiasDeg, in.BearingBiasDegFrom)
	if in.Compass == "none" {
		b.line("No compass: the heading wanders by %.3g deg in %s; the end is the mean of where such walks lead, the ellipse their spread.", float64(in.TurnDeg), b.words.Distance(100))
	}
	if c := float64(g.CommonShare); c > 0 {
		b.line("%.0f %% of the ellipse is common to all legs: a pace or a needle that is off, which more legs do not even out.", 100*c)
	}
	for _, gap := range g.Gaps {
		b.line("Not logged for %s after leg %d.", b.words.Distance(float64(gap.DistanceM)), gap.AfterLeg)
	}
	s := g.Slips
	if s == nil || !s.Significant {
		return
	}
	switch {
	case len(s.Legs) == 0:
		b.line("The log does not fit what is known on the way, and no single slip explains it: look for two.")
		return
	case s.Told:
		b.line("One leg was probably written down wrongly:")
	default:
		b.line("One leg may have been written down wrongly, but which cannot be told:")
	}
	const most = 5
	for _, l := range s.Legs[:min(most, len(s.Legs))] {
		b.item("   ", "leg %d, %s: %s? (odds %.2g to 1)", l.Leg, l.Written, job.SlipWord(l.Kind), float64(l.Odds))
	}
	if left := len(s.Legs) - most; left > 0 {
		b.item("   ", "and %d more; farhail reckon lists them.", left)
	}
}

// homeLegs tells the way home by the legs of the log.
func (b *brief) homeLegs(g *job.Reckon) {
	if len(g.HomeLegs) < 2 {
		return
	}
	b.line("Way home by legs (bearings for the compass in hand where known; not a safe path):")
	for _, l := range g.HomeLegs {
		text := "where to is not known"
		if d := float64(l.TrueDeg); !math.IsNaN(d) {
			text = fmt.Sprintf("%s true", bearing(d))
		}
		if m := float64(l.MagneticDeg); !math.IsNaN(m) {
			text = fmt.Sprintf("%s magnetic", bearing(m))
		}
		note := l.Note
		if !l.Logged {
			note = "bearing not kept: straight"
		}
		if note != "" {
			note = ", " + note
		}
		b.item("   ", "%s, %s%s%s", text, b.words.Distance(float64(l.DistanceM)), paces(float64(l.Paces)), note)
	}
}
