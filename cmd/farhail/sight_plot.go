package main

import (
	"fmt"
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
	cmd.Flags().StringVarP(&f.out, "output", "o", "", "draw margin and chance over distance, by day and night or before the background that is stated, into this `file` (sight.svg), in metric units whatever --units says")
}

// checkPlot refuses a file that is not an SVG.
func (f *sightFlags) checkPlot() error {
	switch {
	case f.out == "":
		return nil
	case !endsIn(f.out, ".svg"):
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
	figure.Notes = plotNotes(request, result, curves)
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
	margin := plot.Panel{YLabel: "margin over perceptible (log10)", YMin: leastMargin, YMax: 1, Levels: []plot.Level{{At: 0}}}
	chance := plot.Panel{YLabel: "chance " + chanceOf(result), YMax: 1, Levels: []plot.Level{{At: 0.5}}}
	nearest := f.XMax
	for i, c := range curves {
		margin.Lines = append(margin.Lines, plot.Line{Name: c.Name, Style: i, X: c.DistanceM, Y: c.MarginLog10})
		if c.Chance != nil {
			chance.Lines = append(chance.Lines, plot.Line{Name: c.Name, Style: i, X: c.DistanceM, Y: c.Chance})
		}
		marks := curveMarks(i, c)
		for _, m := range marks {
			nearest = min(nearest, m.X)
		}
		margin.Marks = append(margin.Marks, marks...)
		if c.Chance != nil && c.Noticed.DistanceM > 0 {
			marks[0].Y = c.Noticed.Chance // the marks of the margin are copies
			chance.Marks = append(chance.Marks, marks[0])
		}
	}
	if f.Log = nearest*logFrom < f.XMax; f.Log {
		f.XMin = max(nearest/4, first.DistanceM[0])
	}
	margin.YMax = highest(margin.Lines, max(f.XMin, f.XMax/50))
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

// logFrom is how much farther than the nearest mark the axis ends where it is
// logarithmic.
const logFrom = 12

// curveMarks returns the marks of a curve on the margin: noticed first.
func curveMarks(style int, c job.SightCurve) []plot.Mark {
	mark := func(name string, p job.SightPoint) plot.Mark {
		return plot.Mark{X: p.DistanceM, Y: p.MarginLog10, Style: style, Name: name + " " + job.Distance(p.DistanceM)}
	}
	switch n, p := c.Noticed, c.Perceptible; {
	case p.DistanceM == 0:
		return nil
	case n.DistanceM == p.DistanceM:
		return []plot.Mark{mark("noticed and perceptible", n)}
	case n.DistanceM == 0:
		return []plot.Mark{mark("perceptible", p)}
	default:
		return []plot.Mark{mark("noticed", n), mark("perceptible", p)}
	}
}

// highest returns the end of the margin's axis: what the lines reach from a
// distance on.
func highest(lines []plot.Line, fromM float64) float64 {
	top := 1.0
	for _, l := range lines {
		for i, y := range l.Y {
			if l.X[i] >= fromM && y > top {
				top = y
			}
		}
	}
	return min(math.Ceil(top), mostMargin)
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
const noteLetters = 120

// plotNotes are the small print: what the drawing holds for, and the standing
// caution.
func plotNotes(r job.SightRequest, s *job.SightResult, curves []job.SightCurve) []string {
	in := s.Inputs
	taken := fmt.Sprintf("Visibility %s, eye %s m and signal %s m above ground; noticed is %s; perceptible is at best, for someone who knows where to look. Along a clear line",
		job.Distance(float64(in.VisibilityM)), figures(float64(in.EyeHeightM)), figures(float64(in.SignalHeightM)), noticedBy(cli.Words{}, s))
	if r.Heights != nil {
		taken += ": the terrain is left out"
	}
	list := wrap(taken+".", noteLetters)
	for _, c := range curves {
		if n := c.Noticed; n.Chance > 0.51 && n.DistanceM < c.Perceptible.DistanceM {
			list = append(list, "Fainter lights are not taken to be noticed by night, whatever a search alone would give: there the chance ends at once.")
		}
	}
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
func printHelp(w cli.Text, s *job.SightResult) {
	if s.Help != nil {
		fmt.Fprintf(w, "  %s\n", w.Sentence(s.Help.Text))
	}
}
