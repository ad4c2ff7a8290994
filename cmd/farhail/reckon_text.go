package main

import (
	"fmt"
	"math"
	"strings"
	"text/tabwriter"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plan"
)

// writeLogs writes several logs in one table, a log a line; the legs of each
// are told when it is given alone.
func writeLogs(w cli.Text, logs []*job.Reckon) {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	unit, m := w.Unit()
	fmt.Fprintf(t, "legs\t%[1]s\tnorth %[1]s\teast %[1]s\thome %[1]s\ttrue\tmagnetic\tgrid\tpaces\t95 %% within %[1]s\tmisses by %[1]s\tend\t  log\n", unit)
	for _, r := range logs {
		e, misses, end := r.Ellipse95, "-", "-"
		if r.Closure != nil {
			misses = fmt.Sprintf("%.1f", float64(r.Closure.LengthM)/m)
		}
		if len(r.Path) > 0 {
			end = w.At(r.End.Point(), 6)
		}
		paces := "-"
		if p := float64(r.Home.Paces); !math.IsNaN(p) {
			paces = fmt.Sprintf("%.0f", p)
		}
		fmt.Fprintf(t, "%d\t%.0f\t%.1f\t%.1f\t%.0f\t%s\t%s\t%s\t%s\t%.0f x %.0f\t%s\t%s\t  %s\n",
			len(r.Legs), float64(r.LengthM)/m, float64(r.NorthM)/m, float64(r.EastM)/m, float64(r.Home.DistanceM)/m, degreesOr(r.Home.TrueDeg), degreesOr(r.Home.MagneticDeg), degreesOr(r.Home.GridDeg),
			paces, float64(e.MajorM)/m, float64(e.MinorM)/m, misses, end, r.Log)
	}
	t.Flush()
	fmt.Fprintln(w, "the way home is a line, not a safe path; a log given alone shows its legs")
}

// degreesOr writes an angle, or a dash where it is not known.
func degreesOr(a cli.Angle) string {
	if math.IsNaN(float64(a)) {
		return "-"
	}
	return degrees(float64(a))
}

func writeReckon(w cli.Text, r *job.Reckon) {
	fmt.Fprintf(w, "%s: %s, %s on the map\n", r.Log, plural(len(r.Legs), "leg"), w.Length(float64(r.LengthM), 0))
	fmt.Fprintf(w, "north %s, east %s", w.Length(float64(r.NorthM), 1), w.Length(float64(r.EastM), 1))
	if r.Fit != nil {
		fmt.Fprint(w, " by the legs alone")
	}
	if len(r.Path) > 0 {
		fmt.Fprintf(w, "; end %s", w.At(r.End.Point(), 6))
	}
	fmt.Fprintln(w)
	fmt.Fprintf(w, "way home %s", w.Length(float64(r.Home.DistanceM), 0))
	for _, b := range []struct {
		deg  cli.Angle
		name string
	}{{r.Home.TrueDeg, "true"}, {r.Home.MagneticDeg, "magnetic"}, {r.Home.GridDeg, "grid"}} {
		if !math.IsNaN(float64(b.deg)) {
			fmt.Fprintf(w, ", %s %s", degrees(float64(b.deg)), b.name)
		}
	}
	if !math.IsNaN(float64(r.Home.Paces)) {
		fmt.Fprintf(w, ", %.0f paces", r.Home.Paces)
	}
	fmt.Fprintln(w, " (a line, not a safe path)")
	fmt.Fprintf(w, "half of such logs end within an ellipse of %s, 95 %% within %s,\n", w.Sides(float64(r.Ellipse50.MajorM), float64(r.Ellipse50.MinorM), 0), w.Sides(float64(r.Ellipse95.MajorM), float64(r.Ellipse95.MinorM), 0))
	fmt.Fprintf(w, "half axes, long axis towards %s true\n", degrees(float64(r.Sigma.AzimuthDeg)))
	writeErrors(w, r)
	for _, g := range r.Gaps {
		fmt.Fprintf(w, "after leg %d not logged for %s\n", g.AfterLeg, w.Distance(float64(g.DistanceM)))
	}
	writeFit(w, r)
	if c := r.Closure; c != nil {
		fmt.Fprintf(w, "misses its start by %s north and %s east, %s", w.Length(float64(c.NorthM), 2), w.Length(float64(c.EastM), 2), w.Length(float64(c.LengthM), 2))
		if !math.IsInf(float64(c.Ratio), 0) {
			fmt.Fprintf(w, ", 1 in %.0f", c.Ratio)
		}
		fmt.Fprintln(w)
		if r.Fit == nil && adjusted(r) {
			fmt.Fprintln(w, "the adjusted legs lead back to the start; end, way home and ellipses are of the log as it was kept")
		}
		if !math.IsNaN(float64(c.P)) {
			fmt.Fprintf(w, "chi-square of that %.1f with 2 degrees of freedom, a chance of %.2g by the errors above\n", float64(c.ChiSquare), float64(c.P))
		}
	}
	writeSlips(w, r.Slips)
	writeScore(w, r.Against)
	writeLegs(w, r)
	writeBack(w, r)
	writeStakes(w, r.StakeMap)
}

// writeErrors tells what the ellipses rest on, where that comes from, and how much
// of them is common to all legs.
func writeErrors(w cli.Text, r *job.Reckon) {
	in := r.Inputs
	fmt.Fprintf(w, "legs err by %.3g %% (%s) and %.3g deg (%s), all alike by %.3g %% (%s) and %.3g deg (%s)", 100*in.SigmaDistance, in.SigmaDistanceFrom, in.SigmaBearingDeg, in.SigmaBearingDegFrom,
		100*in.ScaleBias, in.ScaleBiasFrom, in.BearingBiasDeg, in.BearingBiasDegFrom)
	if in.ScaleBiasFrom == "default" && in.BearingBiasDegFrom == "default" {
		fmt.Fprintf(w, "; a plan takes %.3g %% and %.3g deg alike", 100*plan.DefaultScaleBias, float64(plan.DefaultBearingBiasDeg))
	}
	fmt.Fprintln(w)
	if in.Compass == "none" {
		fmt.Fprintf(w, "no compass: the heading wanders by %.3g deg in %s (own choice; people in forest under cloud began to circle after about that); the end is\nthe mean of where such walks lead, and the ellipse their spread, which is not quite normal\n", float64(in.TurnDeg), w.Distance(100))
	}
	if c := float64(r.CommonShare); c > 0 {
		fmt.Fprintf(w, "%.0f %% of that is common to all legs: a pace or a needle that is off, which more legs do not even out\n", 100*c)
	}
}

// writeSlips tells which legs may have been written down wrongly.
func writeSlips(w cli.Text, s *job.Slips) {
	switch {
	case s == nil:
		return
	case !s.Significant:
		fmt.Fprintln(w, "no sign of a slip: the errors stated explain what does not fit")
		return
	case len(s.Legs) == 0:
		fmt.Fprintln(w, "no single slip of the kinds known explains it: look for two, or for errors larger than stated")
		return
	case s.Told:
		fmt.Fprintln(w, "one leg was probably written down wrongly:")
	default:
		fmt.Fprintln(w, "one leg may have been written down wrongly, but which cannot be told; each of these would explain it:")
	}
	for _, l := range s.Legs {
		word := ""
		if !l.Explains {
			word = ", and not all of it"
		}
		fmt.Fprintf(w, "  leg %d, %s: %s? %s deg and %s would be right%s; probability %.2g, odds %s\n", l.Leg, l.Written, job.SlipWord(l.Kind), degrees(float64(l.BearingDeg)), w.Length(float64(l.DistanceM), 0), word, float64(l.Probability), oddsWords(float64(l.Odds)))
	}
	fmt.Fprintf(w, "  no slip at all: probability %.2g\n", float64(s.None))
}

// oddsWords writes odds; beyond a million the errors stated carry no such figure.
func oddsWords(odds float64) string {
	if odds > 1e6 {
		return "more than a million to 1"
	}
	return fmt.Sprintf("%.2g to 1", odds)
}

// writeBack writes the way home by legs.
func writeBack(w cli.Text, r *job.Reckon) {
	if len(r.HomeLegs) == 0 {
		return
	}
	unit, m := w.Unit()
	fmt.Fprintf(w, "\nway home by legs, each from where the last one ends; a line, not a safe path: what was climbed has to be gone down, fords and weather change\n leg   true  magnetic %7s   paces\n", unit)
	for _, b := range r.HomeLegs {
		paces, note := "-", b.Note
		if p := float64(b.Paces); !math.IsNaN(p) {
			paces = fmt.Sprintf("%.0f", p)
		}
		if !b.Logged {
			note = strings.TrimSpace("bearing not kept: straight. " + note)
		}
		fmt.Fprintln(w, strings.TrimRight(fmt.Sprintf("%4d  %5s  %8s %7.0f %7s  %s", b.Leg, degreesOr(b.TrueDeg), degreesOr(b.MagneticDeg), float64(b.DistanceM)/m, paces, note), " "))
	}
}

// writeStakes writes the stake map.
func writeStakes(w cli.Text, m *job.StakeMap) {
	if m == nil {
		return
	}
	unit, metre := w.Unit()
	fmt.Fprintf(w, "\nstake map 1 in %g on %.3g x %.3g %s, long side %s; first stake %s east and %s north of the south-west corner\n", float64(m.Scale), float64(m.PatchM[0])/metre, float64(m.PatchM[1])/metre, unit, m.LongSide, w.Length(float64(m.FirstEastM), 2), w.Length(float64(m.FirstNorthM), 2))
	fmt.Fprintf(w, " leg  %8s  string %s\n", m.North, unit)
	for _, s := range m.Legs {
		note := ""
		if !s.Logged {
			note = "  not logged"
		}
		fmt.Fprintf(w, "%4d  %8s  %8.2f%s\n", s.Leg, degreesOr(cli.Angle(s.BearingDeg)), float64(s.StringM)/metre, note)
	}
	fmt.Fprintf(w, "home  %8s  %8.2f\n", degreesOr(cli.Angle(m.HomeBearing)), float64(m.HomeStringM)/metre)
}

// writeScore tells how a log agrees with the track of the same walk.
func writeScore(w cli.Text, s *job.ScoredLog) {
	if s == nil {
		return
	}
	fmt.Fprintf(w, "against the track of %s: the log ends %s off, %.1f %% of it; worst is leg %d, by %s\n", w.Distance(float64(s.TrackM)), w.Length(float64(s.EndErrorM), 0), 100*float64(s.EndErrorShare), s.WorstLeg, w.Length(float64(s.WorstMissM), 0))
	unit, m := w.Unit()
	fmt.Fprintf(w, " leg  track %-2[1]s true deg  log is off: %-2[1]s   deg  misses by %-2[1]s looks like\n", unit)
	for _, l := range s.Legs {
		off := "-"
		if d := float64(l.BearingErrorDeg); !math.IsNaN(d) {
			off = fmt.Sprintf("%+.1f", d)
		}
		fmt.Fprintln(w, strings.TrimRight(fmt.Sprintf("%4d  %7.0f  %8s  %+13.0f  %5s  %11.0f  %s", l.Leg, float64(l.TrackM)/m, degreesOr(l.TrackDeg), float64(l.DistanceErrorM)/m, off, float64(l.MissM)/m, job.SlipWord(l.Slip)), " "))
	}
}

// writeScores writes several logs against one track in one table.
func writeScores(w cli.Text, logs []*job.Reckon) {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	unit, m := w.Unit()
	fmt.Fprintf(t, "legs\tend off %[1]s\t%% of track\tworst leg\toff %[1]s\tdeg\tmisses by %[1]s\tslip\t  log\n", unit)
	for _, r := range logs {
		s := r.Against
		worst := s.Legs[s.WorstLeg-1]
		slip, deg := "-", "-"
		if s.Slip != "" {
			slip = fmt.Sprintf("leg %d, %s", s.SlipLeg, job.SlipWord(s.Slip))
		}
		if d := float64(worst.BearingErrorDeg); !math.IsNaN(d) {
			deg = fmt.Sprintf("%+.1f", d)
		}
		fmt.Fprintf(t, "%d\t%.0f\t%.1f\t%d\t%+.0f\t%s\t%.0f\t%s\t  %s\n", len(s.Legs), float64(s.EndErrorM)/m, 100*float64(s.EndErrorShare), s.WorstLeg, float64(worst.DistanceErrorM)/m, deg, float64(s.WorstMissM)/m, slip, s.Log)
	}
	t.Flush()
}

// doubtful is the chance of a fit below which the log is told to hold a slip.
const doubtful = 0.01

// writeFit tells how the log agrees with what is known on the way.
func writeFit(w cli.Text, r *job.Reckon) {
	f := r.Fit
	if f == nil {
		return
	}
	fmt.Fprintf(w, "joined by least squares to what is known on the way: chi-square %.1f with %d degrees of freedom, a chance of %.2g\n", float64(f.ChiSquare), f.DOF, float64(f.P))
	for _, k := range f.Known {
		miss := w.Length(float64(k.MissM), 1)
		if math.IsNaN(float64(k.MissM)) {
			miss = fmt.Sprintf("%.1f deg", float64(k.MissDeg))
		}
		fmt.Fprintf(w, "  after leg %d, %s: the log alone is off by %s; residual %.1f of its deviation\n", k.AfterLeg, strings.TrimSpace(k.Kind+" "+k.Name), miss, float64(k.Standardised))
	}
	if in := r.Inputs; in.ScaleBias > 0 || in.BearingBiasDeg > 0 {
		fmt.Fprintf(w, "common to all legs it finds %+.1f %% in length and %+.1f deg clockwise\n", 100*float64(f.ScaleShare), float64(f.TurnDeg))
	}
	if float64(f.P) < doubtful && f.WorstLeg > 0 {
		fmt.Fprintf(w, "the errors stated do not explain that: a change of leg %d would mend it most (%.1f deviations); look at it first\n", f.WorstLeg, float64(f.WorstBy))
	}
}

// adjusted says whether what did not fit was spread over the legs.
func adjusted(r *job.Reckon) bool {
	return len(r.Legs) > 0 && !math.IsNaN(float64(r.Legs[0].AdjustedNorthM))
}

func writeLegs(w cli.Text, r *job.Reckon) {
	adjusted := adjusted(r)
	unit, m := w.Unit()
	fmt.Fprintf(w, "\n leg   true %7s    north     east", unit)
	if adjusted {
		fmt.Fprint(w, "  adjusted:  north     east")
	}
	fmt.Fprintln(w)
	for i, l := range r.Legs {
		line := fmt.Sprintf("%4d  %5s %7.1f %8.1f %8.1f", i+1, degreesOr(l.TrueDeg), float64(l.DistanceM)/m, float64(l.NorthM)/m, float64(l.EastM)/m)
		if adjusted {
			line += fmt.Sprintf("          %8.1f %8.1f", float64(l.AdjustedNorthM)/m, float64(l.AdjustedEastM)/m)
		}
		fmt.Fprintln(w, strings.TrimRight(line+"  "+l.Note, " "))
	}
}

// degrees writes an angle with one decimal, never 360.
func degrees(deg float64) string {
	s := fmt.Sprintf("%05.1f", deg)
	if s == "360.0" {
		return "000.0"
	}
	return s
}
