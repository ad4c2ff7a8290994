package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/cmd/internal/plot"
)

// registerPlot adds the flag of the drawing.
func (f *sightFlags) registerPlot(cmd *cobra.Command) {
	cmd.Flags().StringVarP(&f.out, "output", "o", "", "draw margin and chance over distance, by day and night or before the background that is stated, into this `file` (sight.svg)")
}

// checkPlot refuses a file that is not an SVG.
func (f *sightFlags) checkPlot() error {
	switch {
	case f.out == "":
		return nil
	case !strings.HasSuffix(strings.ToLower(f.out), ".svg"):
		return &cli.UsageError{Message: "-o: the drawing is an SVG", Text: f.out, Advice: "end the name in .svg"}
	case f.sounds():
		return &cli.UsageError{Message: "-o: a sound has no chance to draw", Text: "-o", Advice: "leave it out"}
	}
	return nil
}

// draw writes the drawing.
func (f *sightFlags) draw(request job.SightRequest, result *job.SightResult) error {
	curves, err := job.SightCurves(request)
	if err != nil {
		return &cli.UsageError{Message: err.Error(), Text: "-o", Advice: "leave out -o"}
	}
	figure := sightFigure(curves, result)
	figure.Notes = plotNotes(request, result)
	return cli.WriteFile(f.out, slices.Concat(f.terrain, f.changes.Spots), figure.Write)
}

// Ends of the margin's axis [log10].
const leastMargin, mostMargin = -2, 5

// sightFigure draws margin and chance over distance.
func sightFigure(curves []job.SightCurve, result *job.SightResult) plot.Figure {
	first := curves[0]
	f := plot.Figure{Title: result.Signal, XMax: first.DistanceM[len(first.DistanceM)-1]}
	f.XLabel, f.XText = "distance (m)", func(m float64) string { return strconv.FormatFloat(m, 'f', -1, 64) }
	if f.XMax >= 2000 {
		f.XLabel, f.XText = "distance (km)", func(m float64) string { return strconv.FormatFloat(math.Round(m)/1000, 'f', -1, 64) }
	}
	margin := plot.Panel{
		YLabel: "margin (log10, 0 = perceptible)", YMin: leastMargin, YMax: 1,
		Levels: []plot.Level{{At: 0, Name: "perceptible: told where to look, nine looks in ten"}},
	}
	chance := plot.Panel{YLabel: "chance " + chanceOf(result), YMax: 1, Levels: []plot.Level{{At: 0.5, Name: "half"}}}
	for i, c := range curves {
		margin.YMax = max(margin.YMax, math.Ceil(c.MarginLog10[len(c.MarginLog10)/4]))
		margin.Lines = append(margin.Lines, plot.Line{Name: c.Name, Style: i, X: c.DistanceM, Y: c.MarginLog10})
		for _, mark := range []struct {
			name string
			at   job.SightPoint
		}{{"noticed", c.Noticed}, {"perceptible", c.Perceptible}} {
			if mark.at.DistanceM > 0 {
				name := fmt.Sprintf("%s %s", mark.name, job.Distance(mark.at.DistanceM))
				margin.Marks = append(margin.Marks, plot.Mark{X: mark.at.DistanceM, Y: mark.at.MarginLog10, Style: i, Name: name})
				chance.Marks = append(chance.Marks, plot.Mark{X: mark.at.DistanceM, Y: mark.at.Chance, Style: i, Name: name})
			}
		}
		if c.Chance != nil {
			chance.Lines = append(chance.Lines, plot.Line{Name: c.Name, Style: i, X: c.DistanceM, Y: c.Chance})
		}
	}
	margin.YMax = min(margin.YMax, mostMargin)
	if g := first.GeographicM; g < f.XMax {
		margin.Walls = []plot.Level{{At: g, Name: "the earth's curve hides it beyond"}}
		chance.Walls = []plot.Level{{At: g}}
	}
	f.Panels = []plot.Panel{margin}
	if len(chance.Lines) > 0 {
		f.Panels = append(f.Panels, chance)
	}
	return f
}

// chanceOf says of what the drawn chance is.
func chanceOf(s *job.SightResult) string {
	switch s.Inputs.Looking.Task {
	case job.TaskKnow:
		return "of one look"
	case job.TaskPass:
		return "of one pass at that distance"
	}
	return fmt.Sprintf("within %g s", float64(s.Inputs.Looking.LookS))
}

// noteLetters is how many letters of small print fit on a line.
const noteLetters = 112

// plotNotes are the small print: what the drawing holds for, and the standing
// caution.
func plotNotes(r job.SightRequest, s *job.SightResult) []string {
	in := s.Inputs
	taken := fmt.Sprintf("Visibility %s, eye %s m and signal %s m above ground; noticed is %s. Along a clear line",
		job.Distance(float64(in.VisibilityM)), figures(float64(in.EyeHeightM)), figures(float64(in.SignalHeightM)), noticedBy(s))
	if r.Heights != nil {
		taken += ": the terrain is left out"
	}
	list := wrap(taken+".", noteLetters)
	for _, text := range overlay.SightingCautions() {
		list = append(list, wrap(text, noteLetters)...)
	}
	return list
}

// wrap breaks a text into lines.
func wrap(text string, letters int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		if line != "" && len(line)+1+len(word) > letters {
			lines = append(lines, line)
			line = ""
		}
		line = strings.TrimSpace(line + " " + word)
	}
	return append(lines, line)
}

// printHelp writes what would help most.
func printHelp(w io.Writer, s *job.SightResult) {
	if s.Help != nil {
		fmt.Fprintf(w, "  %s\n", s.Help.Text)
	}
}
