package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
)

// measuredFlags are what the users measured themselves, as typed.
type measuredFlags struct {
	width, detectionRange float64
	conspicuity           string
}

func (f *measuredFlags) registerMeasured(cmd *cobra.Command) {
	cli.Quantity(cmd, &f.width, "measured-width", cli.Length.Positive(), "", "sweep `width` that you measured yourselves (40m); wins over the model of a pass")
	cli.Quantity(cmd, &f.detectionRange, "detection-range", cli.Length.Positive(), "", "mean `distance` at which your people first saw such a thing on walking in from several sides (30m): the width is 1.8, 1.6 or 1.1 times it, by --conspicuity, and wins over the model of a pass")
	cli.Choice(cmd, &f.conspicuity, "conspicuity", job.SightConspicuities(), "", "how that thing stands out from the ground: high (orange on green), medium (white, blue) or low (dull)")
}

// measuredFaults lists what can be wrong with these flags.
func (f *sightFlags) measuredFaults() []flagFault {
	pass := f.task == job.TaskPass
	const add = "add --task pass"
	return []flagFault{
		{!pass && given(f.width), "--measured-width", "is of somebody who passes", add},
		{!pass && given(f.detectionRange), "--detection-range", "is of somebody who passes", add},
		{given(f.width) && given(f.detectionRange), "--detection-range", "and --measured-width both say how wide a pass sweeps", "keep the measured width"},
		{given(f.detectionRange) && f.conspicuity == "", "--detection-range", "needs to know how the thing stands out", "add --conspicuity high, medium or low"},
		{!given(f.detectionRange) && f.conspicuity != "", "--conspicuity", "goes with a detection range", "add --detection-range 30m"},
	}
}

func (f *measuredFlags) measured() job.SightMeasured {
	return job.SightMeasured{WidthM: or(f.width, 0), RangeM: or(f.detectionRange, 0), Conspicuity: f.conspicuity}
}

// printBand writes how far the distances may be off because of what they rest
// on. A pass has the band of its width.
func printBand(w cli.Text, s *job.SightResult) {
	d := s.Inputs.Draws
	if d == nil || !given(float64(s.High.PerceptibleM)) {
		return
	}
	fmt.Fprint(w, "  low to high  ")
	if s.Inputs.Looking.Task != job.TaskPass {
		fmt.Fprintf(w, "noticed %s, ", span(w.Words, float64(s.Low.NoticedM), float64(s.High.NoticedM)))
	}
	fmt.Fprintf(w, "perceptible %s (%d to %d %% of %d draws of the inputs)\n", span(w.Words, float64(s.Low.PerceptibleM), float64(s.High.PerceptibleM)), d.LowPercent, d.HighPercent, d.Count)
}

// printWidth writes a sweep width and what it rests on.
func printWidth(w cli.Text, s *job.SightResult) {
	if !given(float64(s.SweepWidthM)) {
		return
	}
	fmt.Fprintf(w, "  sweep width  %-9s ", w.Distance(float64(s.SweepWidthM)))
	t := s.Sweep
	if t == nil {
		fmt.Fprintf(w, "by %s\n", s.SweepWidthFrom)
		return
	}
	fmt.Fprintf(w, "%s to %s, by the model, a factor %g either way\n  clutter behind it %s", w.Distance(float64(s.Low.SweepWidthM)), w.Distance(float64(s.High.SweepWidthM)), float64(t.Band), t.Clutter)
	if given(float64(t.ScanLimitM)) {
		fmt.Fprintf(w, ", nobody looks farther than %s to a side", w.Distance(float64(t.ScanLimitM)))
	}
	if given(float64(t.OnTrackChance)) {
		fmt.Fprintf(w, ", chance on the path itself %.2f", float64(t.OnTrackChance))
	}
	fmt.Fprintln(w)
}
