package walk

import (
	"math"
	"slices"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// A Route is the quickest way to a cell, from cell centre to cell centre.
type Route struct {
	Line    orb.LineString
	Seconds []float64 // [s] after the field's zero, by point of the line
	LengthM float64   // on the map [m]
}

// Route returns the quickest way from a start to the cell that holds a position,
// false where that cell is outside the grid or not reached. Where several ways
// are equally quick it is one of them, always the same.
func (f *Field) Route(to orb.Point) (Route, bool) {
	c, r := f.Cell(to)
	col, row := int(math.Round(c)), int(math.Round(r))
	if !(col >= 0 && row >= 0 && col < f.Cols && row < f.Rows) || math.IsNaN(float64(f.Seconds[row*f.Cols+col])) {
		return Route{}, false
	}
	var way Route
	for {
		i := row*f.Cols + col
		way.Line = append(way.Line, f.Point(float64(col), float64(row)))
		way.Seconds = append(way.Seconds, float64(f.Seconds[i]))
		if f.via[i] == viaStart {
			break
		}
		m := f.moves[f.via[i]]
		col, row = col-m.dc, row-m.dr
	}
	slices.Reverse(way.Line)
	slices.Reverse(way.Seconds)
	for i := 1; i < len(way.Line); i++ {
		d, _, _ := earth.Inverse(way.Line[i-1], way.Line[i])
		way.LengthM += d
	}
	return way, true
}
