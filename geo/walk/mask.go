package walk

import (
	"math"
	"slices"

	"farhail/geo/grid"

	"github.com/paulmach/orb"
)

// MarkLine marks the cells along a line in a mask of the frame's size: a chain
// of cells that touch by their sides or corners, so that as a barrier it is
// tight and as a trail it has no break. What lies outside the frame, or has no
// finite position, is left out.
func MarkLine(mask []bool, f grid.Frame, line orb.LineString) {
	for i := 1; i < len(line); i++ {
		c0, r0 := f.Cell(line[i-1])
		c1, r1 := f.Cell(line[i])
		// A cell's width beyond the edge, so that the chain runs over it.
		c0, r0, c1, r1, ok := cutToBox(c0, r0, c1, r1, float64(f.Cols), float64(f.Rows))
		if !ok {
			continue
		}
		// Half a cell a step: the next cell is then the same or a neighbour.
		steps := int(2*math.Max(math.Abs(c1-c0), math.Abs(r1-r0))) + 1
		for s := 0; s <= steps; s++ {
			u := float64(s) / float64(steps)
			col, row := int(math.Round(c0+u*(c1-c0))), int(math.Round(r0+u*(r1-r0)))
			if col >= 0 && row >= 0 && col < f.Cols && row < f.Rows {
				mask[row*f.Cols+col] = true
			}
		}
	}
}

// MarkArea marks the cells of an area whose centres lie in it (by the even-odd
// rule, so holes stay free) and those that its edge runs through.
func MarkArea(mask []bool, f grid.Frame, area orb.Polygon) {
	cuts := make([][]float64, f.Rows) // by row, where edges cross its middle
	for _, ring := range area {
		MarkLine(mask, f, orb.LineString(ring))
		for i := 1; i < len(ring); i++ {
			c0, r0 := f.Cell(ring[i-1])
			c1, r1 := f.Cell(ring[i])
			if r0 > r1 {
				c0, r0, c1, r1 = c1, r1, c0, r0
			}
			// An end belongs to the edge that comes from the north of it alone.
			first, last := math.Max(math.Ceil(r0), 0), math.Min(math.Ceil(r1), float64(f.Rows))
			for row := first; row < last; row++ {
				cuts[int(row)] = append(cuts[int(row)], c0+(row-r0)/(r1-r0)*(c1-c0))
			}
		}
	}
	for row, list := range cuts {
		slices.Sort(list)
		for i := 1; i < len(list); i += 2 {
			from, to := math.Max(math.Ceil(list[i-1]), 0), math.Min(math.Floor(list[i]), float64(f.Cols-1))
			for col := from; col <= to; col++ {
				mask[row*f.Cols+int(col)] = true
			}
		}
	}
}

// cutToBox returns the part of a line within [-1, cols] by [-1, rows] (Liang and
// Barsky 1984); ok is false where there is none.
func cutToBox(c0, r0, c1, r1, cols, rows float64) (a, b, c, d float64, ok bool) {
	dc, dr := c1-c0, r1-r0
	if math.IsNaN(dc+dr) || math.IsInf(dc+dr, 0) {
		return 0, 0, 0, 0, false
	}
	u0, u1 := 0.0, 1.0
	for _, side := range [][2]float64{{-dc, c0 + 1}, {dc, cols - c0}, {-dr, r0 + 1}, {dr, rows - r0}} {
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
