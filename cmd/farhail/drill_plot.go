package main

import (
	"fmt"
	"strings"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plot"
)

// forecastFigure draws how the plan of a drill would fare: the share found by hour.
func forecastFigure(d *job.DrillSet) plot.Figure {
	f := plot.Figure{
		Title: "How the plan would fare", XLabel: "hours since the drill began", XMax: 1,
		Notes:  []string{fmt.Sprintf("Mean of %d places drawn from %s.", d.Forecast[0].Drills, d.Ground.From), "An estimate, not a promise: for the stated air, light and eyes, if what is hidden stays."},
		Panels: []plot.Panel{{YLabel: "share found [%]", YMax: 100}},
	}
	for i, c := range d.Forecast[:min(len(d.Forecast), plot.Styles)] {
		line := plot.Line{Name: strings.Join(c.Names, ", "), Style: i, X: []float64{0}, Y: []float64{0}}
		for _, h := range c.Hours {
			line.X, line.Y = append(line.X, float64(h.AfterS)/3600), append(line.Y, 100*float64(h.Found))
		}
		f.XMax = max(f.XMax, line.X[len(line.X)-1])
		f.Panels[0].Lines = append(f.Panels[0].Lines, line)
	}
	return f
}
