package main

import (
	"fmt"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/geo/grid"
	"farhail/geo/walk"
)

// overCover reads what covers the terrain and puts it into the options, with its
// trails behind the given ones; nil where no cover is asked for.
func (f ringsFlags) overCover(app *cli.App, o *walk.Options, rule walk.Rule, frame grid.Frame, trails []job.Shape) (*job.Cover, []job.Shape, error) {
	footing, err := f.footing.footing(len(f.ground.cover.Files) > 0)
	if err != nil {
		return nil, trails, err
	}
	c, err := f.ground.load(app, frame)
	if c == nil || err != nil {
		return nil, trails, err
	}
	trails, notes := c.Walk(o, rule, footing, trails)
	for _, n := range notes {
		app.Note(n)
	}
	return c, trails, nil
}

// writeRingsCover tells by what the ground was slower, and what was not crossed.
func writeRingsCover(w cli.Text, c *job.Cover) {
	if c == nil {
		return
	}
	square, m2 := w.SquareUnit()
	fmt.Fprintln(w, "\nground, times as long as the rule's own:")
	for _, class := range c.Classes {
		fmt.Fprintf(w, "  %-8s %8.2f %s  %4.2f  %s\n", class.Class, float64(class.AreaM2)/m2, square, float64(class.TimeFactor), class.TimeFactorFrom)
	}
	b := c.Barriers
	fmt.Fprintf(w, "not crossed: %d cells of water (%s), %d of cliffs; opened at bridges: %d\n", b.WaterCells, job.CrossingWords(b.Crossing), b.CliffCells, b.OpenedCells)
	if b.Trails > 0 {
		fmt.Fprintf(w, "trails of the cover: %d\n", b.Trails)
	}
}
