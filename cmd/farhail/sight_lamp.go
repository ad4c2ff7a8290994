package main

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plan"
)

// lampFlags are the flags of lights beside the plain ones as typed; NaN, nil and ""
// are not given.
type lampFlags struct {
	standard, colour, lightsAbout              string
	beamShape, pulseShape, flashLaw, batteryBy string
	beamTable, output                          [][2]float64
	spill, gap, pulses, flashConstant, cold    float64
	litFrom                                    time.Time
}

func (f *sightFlags) registerLamp(cmd *cobra.Command) {
	words := func(list []string) string { return strings.Join(list, ", ") }
	cmd.Flags().StringVar(&f.standard, "standard", "", "a light that a rule or a standard describes, by `name`; list names them")
	cli.Choice(cmd, &f.colour, "colour", plan.LightColours, "", "colour of a light: "+words(plan.LightColours)+"; it counts for eyes used to the dark (not when not given)")
	cli.Choice(cmd, &f.beamShape, "beam-shape", plan.BeamShapes, "", "how the beam falls away from its axis: an even cone (when not given), or smooth, a half at half of --beam")
	cli.Quantity(cmd, &f.spill, "spill", plan.SpillShare, "", "what a smooth beam sends beside it all over the half space ahead, a `share` of its axis (5%)")
	cli.Table(cmd, &f.beamTable, "beam-table", plan.BeamAngle, cli.Intensity.NotNegative(), "a beam as measured, angle off the axis and intensity (0deg:500cd,20deg:80cd)")
	cli.Quantity(cmd, &f.pulses, "pulses", cli.Number.Between(1, plan.MostPulses).Bare(), "", "`number` of pulses in one flash, each of --flash, with --gap (1 when not given)")
	cli.Quantity(cmd, &f.gap, "gap", cli.Duration.Positive(), "", "dark `time` between the pulses of one flash (0.2s)")
	cli.Choice(cmd, &f.pulseShape, "pulse-shape", plan.PulseShapes, "", "how a pulse runs: rectangular (when not given) or triangular, as of a beam that sweeps past")
	cli.Choice(cmd, &f.flashLaw, "flash-law", plan.FlashLaws, "", "`law` by author and year for what a flash is worth: "+words(plan.FlashLaws)+" (the first when not given)")
	cli.Quantity(cmd, &f.flashConstant, "flash-constant", cli.Duration.Positive(), "", "`time` constant of that law (0.2s when not given; 0.21s in Blondel and Rey's paper)")
	cli.WordOrTable(cmd, &f.batteryBy, &f.output, "battery-curve", plan.BatteryCurves, cli.Duration.NotNegative(), plan.LampOutput,
		"how the light fades over --rated-time: constant, drop (full for four fifths of it, as with a regulator) or falling, both down to a tenth; or a table as measured instead of it (0h:100%,2h:60%,6h:10%)")
	cli.Instant(cmd, &f.litFrom, "lit-from", "`time` at which it was lit, instead of --lit-for; with --at")
	cli.Quantity(cmd, &f.cold, "cold", plan.ColdShare, "", "`share` of the rated time that the cold leaves, as you know your battery (60%)")
	cli.Choice(cmd, &f.lightsAbout, "lights-about", plan.LightsAbout, "", "other lights near the line by night, where the background that they make is not known: none (when not given), some (ten times the threshold) or many (a hundred times)")
}

// hasBeam reports whether the light has a beam that can point somewhere.
func (f *sightFlags) hasBeam() bool {
	return given(f.beam) || len(f.beamTable) > 0 || f.standard != ""
}

// limited reports whether the time that the light burns is given.
func (f *sightFlags) limited() bool {
	return given(f.rated) || len(f.output) > 0 || f.standard != ""
}

// lampFaults lists what can be wrong with these flags for a kind of signal.
func (f *sightFlags) lampFaults(kind string) []flagFault {
	const leave, keep = "leave it out", "keep one of them"
	var list []flagFault
	for _, g := range []struct {
		given bool
		flag  string
	}{
		{f.colour != "", "--colour"}, {f.beamShape != "", "--beam-shape"}, {given(f.spill), "--spill"}, {given(f.pulses), "--pulses"},
		{given(f.gap), "--gap"}, {f.pulseShape != "", "--pulse-shape"}, {f.flashLaw != "", "--flash-law"}, {given(f.flashConstant), "--flash-constant"},
		{!f.litFrom.IsZero(), "--lit-from"}, {f.batteryBy != "" || len(f.output) > 0, "--battery-curve"}, {given(f.cold), "--cold"},
	} {
		list = append(list, flagFault{kind != plan.Light && g.given, g.flag, "is for lights", leave})
	}
	for _, g := range []struct {
		given bool
		flag  string
	}{
		{given(f.pulses), "--pulses"}, {given(f.gap), "--gap"}, {f.pulseShape != "", "--pulse-shape"},
		{f.flashLaw != "", "--flash-law"}, {given(f.flashConstant), "--flash-constant"},
	} {
		list = append(list, flagFault{!given(f.flash) && g.given, g.flag, "needs the length of a flash", "add --flash 0.1s --every 1s"})
	}
	return append(list, []flagFault{
		{!f.litFrom.IsZero() && f.at.IsZero(), "--lit-from", "needs the time at which it is seen", "add --at and --place, or give --lit-for"},
		{!f.litFrom.IsZero() && given(f.lit), "--lit-from", "and --lit-for both say how long it has burnt", keep},
		{!f.litFrom.IsZero() && f.at.Before(f.litFrom), "--lit-from", "is later than --at", "the light is not lit yet at that time"},
		{!f.litFrom.IsZero() && !f.limited(), "--lit-from", "needs the time that the light burns", "add --rated-time 6h"},
		{job.HasContrast(kind) && f.lightsAbout != "", "--lights-about", "are counted for points of light", leave},
		{f.lightsAbout != "" && given(f.background), "--lights-about", "and --background both count the light of other lamps", keep},
		{f.standard != "" && given(f.flash), "--flash", "beside --standard would count its flashes twice: its intensity is what they are worth", leave},
		{f.beamShape != "" && !given(f.beam), "--beam-shape", "needs the width of the beam", "add --beam 40deg"},
		{given(f.spill) && f.beamShape != "smooth", "--spill", "is that of a smooth beam", "add --beam-shape smooth"},
		{f.beamShape == "smooth" && f.beam > plan.MostSmoothDeg, "--beam", "of a smooth beam is at most 180 degrees", "give the angle between the directions of half the intensity"},
		{len(f.beamTable) > 0 && given(f.beam), "--beam-table", "and --beam both say how wide the beam is", keep},
		{len(f.beamTable) > 0 && !(plan.Rising(f.beamTable) && plan.Lit(f.beamTable)), "--beam-table", "does not rise from 0 degrees, or is dark", "begin on the axis, like 0deg:500cd,20deg:80cd"},
		{given(f.pulses) && f.pulses != math.Trunc(f.pulses), "--pulses", "is not a whole number", "give 2 or 3"},
		{f.pulses > 1 && !given(f.gap), "--pulses", "need the dark time between them", "add --gap 0.2s"},
		{given(f.gap) && !(f.pulses > 1), "--gap", "needs two pulses or more", "add --pulses 2"},
		{len(f.output) > 0 && given(f.rated), "--rated-time", "and a table of --battery-curve both say when the light ends", keep},
		{len(f.output) > 0 && !plan.Rising(f.output), "--battery-curve", "does not rise from 0 h", "begin when the lamp is lit, like 0h:100%,6h:10%"},
		{(f.batteryBy != "" || given(f.cold)) && !f.limited(), "--battery-curve", "and --cold need the time that the light burns", "add --rated-time 6h"},
	}...)
}

// knownStandard refuses a name that is not in the catalogue, and one of which no
// distance comes.
func (f *sightFlags) knownStandard() error {
	if f.standard == "" || slices.Contains(plan.Standards, f.standard) {
		return nil
	}
	message, advice := "--standard: no such light", "--standard list names them"
	if near := cli.Nearest(f.standard, plan.Standards); near != "" {
		advice = "did you mean " + near
	}
	for _, s := range job.StandardLights() {
		if s.Name == f.standard {
			message, advice = "--standard "+s.Name+": "+s.NotSighted, "it is listed for its figures: "+s.Figure
		}
	}
	return &cli.UsageError{Message: message, Text: f.standard, Advice: advice}
}

// lamp turns the flags into what the light is beside its intensity.
func (f *sightFlags) lamp() plan.Lamp {
	return plan.Lamp{
		Standard: f.standard, BeamShape: f.beamShape, Spill: or(f.spill, 0), BeamTable: f.beamTable,
		Pulses: int(or(f.pulses, 0)), GapS: or(f.gap, 0), PulseShape: f.pulseShape, FlashLaw: f.flashLaw, FlashConstantS: or(f.flashConstant, 0),
		Colour: f.colour, Fade: f.batteryBy, Output: f.output, Cold: or(f.cold, 0),
	}
}

// litForS is how long the light has burnt [s].
func (f *sightFlags) litForS() float64 {
	if !f.litFrom.IsZero() {
		return f.at.Sub(f.litFrom).Seconds()
	}
	return or(f.lit, 0)
}

// listStandards prints the catalogue.
func listStandards(app *cli.App) error {
	list := job.StandardLights()
	return app.Print(struct {
		Standards []job.StandardLight `json:"standards"`
	}{list}, func(w cli.Text) {
		for _, s := range list {
			fmt.Fprintf(w, "%s (%s)\n  %s\n  %s, %s\n", s.Name, s.Title, s.Figure, s.Source, s.Read)
			if s.NotSighted != "" {
				fmt.Fprintf(w, "  no distance comes of it: %s\n", s.NotSighted)
			}
		}
	})
}

// printLamp writes how long a light lasts, and what is left of it.
func printLamp(w cli.Text, l *job.SightLamp, litS float64) {
	if l == nil {
		return
	}
	if lasts := float64(l.LastsS); given(lasts) {
		fmt.Fprintf(w, "  lasts %s", job.Duration(lasts))
		switch left := float64(l.Output); {
		case left == 0:
			fmt.Fprintf(w, "; out after %s", job.Duration(litS))
		case litS > 0:
			fmt.Fprintf(w, "; after %s it gives %.3g %% of its first light", job.Duration(litS), 100*left)
		}
		if l.OutAt != nil {
			fmt.Fprintf(w, "; its end is at %s", l.OutAt.Format("2006-01-02 15:04 -07:00"))
		}
		fmt.Fprintln(w)
	}
	if l.FlashLaw != "" {
		fmt.Fprintf(w, "  its flashes are worth %.3g of a steady light, by %s\n", float64(l.FlashShare), l.FlashLaw)
	}
}
