package main

import (
	"context"
	"fmt"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/geo/los"
	"farhail/geo/terrain"
)

// seeCover is what covers the ground, and what would be seen without it. The
// counts of the result itself are those with it.
type seeCover struct {
	*job.Cover
	Eye       string   `json:"eye"`         // class that the first eye stands in
	EyeBelowM cli.Len  `json:"eye_below_m"` // metres of canopy above it; 0 in the open
	Open      seenOpen `json:"open"`
}

// seenOpen is what would be seen over the terrain alone.
type seenOpen struct {
	Seen    int      `json:"seen"`
	Unknown int      `json:"unknown"`
	AreaM2  cli.Area `json:"area_m2"`
}

// coverOver reads the cover of a terrain, raises what sight lines must pass over,
// and looks without it for comparison. It returns nil where no cover is asked for.
func (f *seeFlags) coverOver(ctx context.Context, app *cli.App, t *terrain.Terrain, eyes []los.Station, radiusM float64, o *los.Options) (*seeCover, error) {
	c, err := f.ground.load(app, t.Frame)
	if c == nil || err != nil {
		return nil, err
	}
	out := &seeCover{Cover: c, Eye: c.Class(t.Point(eyes[0].Col, eyes[0].Row))}
	open, _, err := f.look(ctx, t, eyes, radiusM, *o)
	if err != nil {
		return nil, err
	}
	out.Open = seenOpen{open.Seen, open.Unknown, cli.Area(open.AreaM2)}
	screen, notes := c.Raise(t)
	for _, n := range notes {
		app.Note(n)
	}
	if o.Screen = screen; screen == nil {
		return out, nil
	}
	for i, eye := range eyes {
		at := t.Point(eye.Col, eye.Row)
		below := c.Under(at, eye.HeightM)
		if i == 0 {
			out.EyeBelowM = cli.Len(below)
		}
		if below > 0 {
			app.Warn(fmt.Sprintf("%s stands below %g m of %s: it sees the cells around and no farther", eyeName(i, len(eyes)), below, c.Class(at)), "choose open ground, or a higher eye")
		}
	}
	return out, nil
}

// print tells what the trees take away.
func (c *seeCover) print(w cli.Text) {
	if c == nil {
		return
	}
	square, m2 := w.SquareUnit()
	fmt.Fprintf(w, "  without trees  %d cells, %.4g %s\n", c.Open.Seen, float64(c.Open.AreaM2)/m2, square)
	fmt.Fprintf(w, "  cover    %s\n", c.Screen)
	for _, class := range c.Classes {
		fmt.Fprintf(w, "           %-8s %8d cells", class.Class, class.Cells)
		if class.CanopyFrom != "" {
			fmt.Fprintf(w, ", %s high (%s)", short(w.Words, float64(class.CanopyM)), class.CanopyFrom)
		}
		fmt.Fprintln(w)
	}
}
