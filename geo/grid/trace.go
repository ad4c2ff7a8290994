package grid

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// Along calls visit for the cells along a line, some of them more than once: a
// chain of cells that touch by their sides or corners. What lies outside the
// frame, or has no finite position, is left out. Between its positions a line is
// straight in columns and rows.
func (f Frame) Along(line orb.LineString, visit func(col, row int)) {
	for i := 1; i < len(line); i++ {
		c0, r0 := f.Cell(line[i-1])
		c1, r1 := f.Cell(line[i])
		c0, r0, c1, r1, ok := f.Cut(c0, r0, c1, r1)
		if !ok {
			continue
		}
		// Half a cell a step: the next cell is then the same or a neighbour.
		steps := int(2*math.Max(math.Abs(c1-c0), math.Abs(r1-r0))) + 1
		for s := 0; s <= steps; s++ {
			u := float64(s) / float64(steps)
			col, row := int(math.Round(c0+u*(c1-c0))), int(math.Round(r0+u*(r1-r0)))
			if col >= 0 && row >= 0 && col < f.Cols && row < f.Rows {
				visit(col, row)
			}
		}
	}
}

// Spans calls visit for the runs of cells, row by row from the north, whose
// centres lie in an area: first and last are both in it. It goes by the even-odd
// rule, so that holes stay free whichever way their rings run. Rings need not
// repeat their first position; edges are straight in columns and rows, and one
// with a position that is not finite is left out.
func (f Frame) Spans(area orb.Polygon, visit func(row, first, last int)) {
	type edge struct{ c0, r0, c1, r1 float64 }
	var edges []edge
	north, south := f.Rows, -1
	for _, ring := range area {
		for i := range ring {
			c0, r0 := f.Cell(ring[(i+len(ring)-1)%len(ring)])
			c1, r1 := f.Cell(ring[i])
			if r0 > r1 {
				c0, r0, c1, r1 = c1, r1, c0, r0
			}
			if math.IsNaN(c0+c1+r0+r1) || math.IsInf(c0+c1+r0+r1, 0) {
				continue
			}
			// An end belongs to the edge that comes from the north of it alone.
			first, last := math.Max(math.Ceil(r0), 0), math.Min(math.Ceil(r1), float64(f.Rows))-1
			if first > last {
				continue
			}
			edges = append(edges, edge{c0, r0, c1, r1})
			north, south = min(north, int(first)), max(south, int(last))
		}
	}
	if north > south {
		return
	}
	cuts := make([][]float64, south-north+1) // by row, where edges cross its middle
	for _, e := range edges {
		first, last := math.Max(math.Ceil(e.r0), 0), math.Min(math.Ceil(e.r1), float64(f.Rows))
		for row := first; row < last; row++ {
			at := int(row) - north
			cuts[at] = append(cuts[at], e.c0+(row-e.r0)/(e.r1-e.r0)*(e.c1-e.c0))
		}
	}
	for i, list := range cuts {
		slices.Sort(list)
		for k := 1; k < len(list); k += 2 {
			from, to := math.Max(math.Ceil(list[k-1]), 0), math.Min(math.Floor(list[k]), float64(f.Cols-1))
			if from <= to {
				visit(north+i, int(from), int(to))
			}
		}
	}
}

// Cut returns the part of a line, in columns and rows, that runs over the grid or
// within a cell's width of its outer centres, so that a chain of cells along it
// runs over the edge (Liang and Barsky 1984); ok is false where there is none, or
// a coordinate is not finite.
func (f Frame) Cut(c0, r0, c1, r1 float64) (a, b, c, d float64, ok bool) {
	dc, dr := c1-c0, r1-r0
	if math.IsNaN(dc+dr) || math.IsInf(dc+dr, 0) {
		return 0, 0, 0, 0, false
	}
	u0, u1 := 0.0, 1.0
	for _, side := range [][2]float64{{-dc, c0 + 1}, {dc, float64(f.Cols) - c0}, {-dr, r0 + 1}, {dr, float64(f.Rows) - r0}} {
		out, room := side[0], side[1]
		switch {
		case out == 0 && room < 0:
			return 0, 0, 0, 0, false
		case out < 0:
			u0 = math.Max(u0, room/out)
		case out > 0:
			u1 = math.Min(u1, room/out)
		}
	}
	return c0 + u0*dc, r0 + u0*dr, c0 + u1*dc, r0 + u1*dr, u0 <= u1
}
