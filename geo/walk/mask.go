package walk

import (
	"farhail/geo/grid"

	"github.com/paulmach/orb"
)

// MarkLine marks the cells along a line in a mask of the frame's size: a chain
// of cells that touch by their sides or corners, so that as a barrier it is
// tight and as a trail it has no break. What lies outside the frame, or has no
// finite position, is left out.
func MarkLine(mask []bool, f grid.Frame, line orb.LineString) {
	f.Along(line, func(col, row int) { mask[row*f.Cols+col] = true })
}

// MarkArea marks the cells of an area whose centres lie in it (by the even-odd
// rule, so holes stay free) and those that its edge runs through.
func MarkArea(mask []bool, f grid.Frame, area orb.Polygon) {
	for _, ring := range area {
		MarkLine(mask, f, orb.LineString(ring))
	}
	f.Spans(area, func(row, first, last int) {
		for col := first; col <= last; col++ {
			mask[row*f.Cols+col] = true
		}
	})
}
