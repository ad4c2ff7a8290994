package job

import (
	"fmt"
	"math"
	"strings"

	"farhail/cmd/internal/cli"
	"farhail/geo/terrain"

	"github.com/paulmach/orb"
)

// A Spot is a position and what it is called in a message, such as "the eye".
type Spot struct {
	Name  string
	Point orb.Point
}

// GroundNotes returns what may spoil a result over a terrain: what its reader
// assumed, that it is a surface model or does not say its vertical datum, and spots
// that stand off it, on no data, where the sea may be, or on a summit that it cuts.
func GroundNotes(t *terrain.Terrain, spots ...Spot) []cli.Note {
	var notes []cli.Note
	note := func(hint, format string, args ...any) {
		n := cli.Note{Severity: cli.SeverityWarning, Text: fmt.Sprintf(format, args...)}
		if hint != "" {
			n.Hint = &hint
		}
		notes = append(notes, n)
	}
	for _, text := range t.Info.Notes {
		note("", "%s", text)
	}
	if s := t.Info.Surface; s != terrain.SurfaceGround && s != terrain.SurfaceUnknown {
		note("use a model of the bare ground, or choose open ground", "%s", t.Info.Caution())
	}
	for _, s := range spots {
		col, row := t.Cell(s.Point)
		switch {
		case !t.Inside(col, row):
			hint := SwapHint(t.Frame, s.Point)
			if hint == "" {
				hint = "add the tile " + strings.Join(terrain.TilesFor(s.Point.Bound()), " ")
			}
			note(hint, "%s lies outside the terrain", s.Name)
		case math.IsNaN(t.SampleCell(col, row)):
			note("move it, or have small gaps of the terrain filled (--fill-voids)", "the terrain has no height at %s", s.Name)
		case t.AtSeaLevel(col, row):
			note("look whether the position is meant", "%s stands on a flat of exactly 0 m: the sea, or a gap that was filled with 0", s.Name)
		case t.CutSummit(s.Point):
			east, north := t.MetresAt(col, row)
			note("give measured heights: --spots peaks.gpx", "%s stands on a summit, and cells of %.0f by %.0f m cut summits, by tens of metres on rough ground: it sees too little", s.Name, east, north)
		}
	}
	return notes
}

// coverOf says what stands on the ground of a terrain as far as it is counted.
func coverOf(i terrain.Info) string {
	if strings.Contains(i.Surface, terrain.SurfaceTops) {
		return "a surface model: treetops and roofs are taken for ground"
	}
	return bareGround
}

// spots returns the positions that a plan names.
func (r *run) spots() []Spot {
	var list []Spot
	for _, s := range r.plan.Starts {
		list = append(list, Spot{"the start " + s.Name, s.Point})
	}
	for _, l := range r.plan.Looking.Lookouts {
		list = append(list, Spot{"the lookout " + l.Name, l.Point})
	}
	for _, c := range r.plan.Candidates() {
		list = append(list, Spot{"the site " + c.Name, c.Point})
	}
	if g := r.result.Reckon; g != nil && len(g.Path) > 0 {
		list = append(list, Spot{"the end of the log", g.End.Point()})
	}
	return list
}

// noteSites tells what may spoil what is seen from chosen sites, which are often
// summits.
func (r *run) noteSites() {
	for _, p := range r.result.Place {
		for _, s := range p.Sites {
			for _, n := range GroundNotes(r.terrain, Spot{"the site " + s.Name, s.Point}) {
				r.note(n)
			}
		}
	}
}
