package job

import (
	"context"
	"math"

	"farhail/cmd/internal/cli"
	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/prob"

	"github.com/paulmach/orb"
)

// A Map is the ground that sheet and page show, and how well each signal shows over it.
type Map struct {
	CellM     cli.Len  `json:"cell_m"`    // the longer side of a cell of the ground, null without terrain
	Coarsened int      `json:"coarsened"` // cells of the terrain in a side of one of the ground
	Columns   int      `json:"columns"`
	Rows      int      `json:"rows"`
	Margins   []Margin `json:"margins"`

	// Ground holds the heights around what the plan is about, nil without terrain.
	Ground *grid.Heights `json:"-"`
}

// What the map shows; all own choice.
const (
	mostGround  = 1_500_000 // cells
	leastMapM   = 4_000     // from its middle to each edge
	farthestM   = 40_000    // the same at most: beyond lies nothing that a sheet could show
	aroundShare = 1.0       // of the half of what it is about, added on each side
)

// mapGround cuts the ground that is shown out of the terrain, and makes it coarse by a
// whole factor where it has too many cells. Memory is 4 bytes a cell, and 12 more for a
// moment where it is made coarse.
func (r *run) mapGround(context.Context) error {
	m := &Map{CellM: cli.Len(math.NaN()), Margins: []Margin{}}
	r.result.Map = m
	box, ok := r.mapBox()
	if r.heights == nil || !ok {
		return nil
	}
	cut := r.aroundBox(box)
	if cut == nil {
		return nil
	}
	frame, k := prob.Coarse(cut.Frame, mostGround)
	if k > 1 {
		cut = coarseHeights(cut, frame, k)
	}
	east, north := cut.Metres(cut.Rows / 2)
	m.Ground, m.Coarsened, m.CellM = cut, k, cli.Len(max(east, north))
	m.Columns, m.Rows = cut.Cols, cut.Rows
	return nil
}

// mapBox returns the box around what the plan is about: its positions with their errors,
// sites and the rings of the usual walker.
func (r *run) mapBox() (orb.Bound, bool) {
	box, ok := r.box()
	if !ok {
		return box, false
	}
	for _, s := range r.plan.Starts {
		east, north := earth.MetresPerDegree(s.Point.Lat())
		box = box.Union(orb.Bound{
			Min: orb.Point{s.Point.Lon() - s.Radius95M/east, s.Point.Lat() - s.Radius95M/north},
			Max: orb.Point{s.Point.Lon() + s.Radius95M/east, s.Point.Lat() + s.Radius95M/north},
		})
	}
	for _, p := range r.result.Place {
		for _, s := range p.Sites {
			box = box.Extend(s.Point)
		}
	}
	if r.result.Rings != nil {
		for _, g := range r.result.Rings.Rings {
			if g.Walker == "usual" && len(g.Shape) > 0 {
				box = box.Union(g.Shape.Bound())
			}
		}
	}
	return box, true
}

// aroundBox returns the terrain of a box and of as much again around it; nil where it has
// none there.
func (r *run) aroundBox(box orb.Bound) *grid.Heights {
	h := r.heights
	col, row := h.Cell(box.Center())
	east, north := h.MetresAt(col, row)
	perEast, perNorth := earth.MetresPerDegree(box.Center().Lat())
	half := func(degrees, perDegree float64) float64 {
		return min(max(degrees*perDegree/2*(1+aroundShare), leastMapM), farthestM)
	}
	cols, rows := half(box.Max.Lon()-box.Min.Lon(), perEast)/east, half(box.Max.Lat()-box.Min.Lat(), perNorth)/north
	if col+cols < 0 || row+rows < 0 || col-cols > float64(h.Cols-1) || row-rows > float64(h.Rows-1) {
		return nil
	}
	return window(h, col, row, cols, rows)
}
