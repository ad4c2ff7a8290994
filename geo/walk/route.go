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
		way.Line = append(way.Line, f.Point(float64(col), float64(row)))
		way.Seconds = append(way.Seconds, float64(f.Seconds[row*f.Cols+col]))
		k := f.search.led(col, row)
		if k < 0 {
			break
		}
		m := f.search.moves[k]
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

// led returns the first of the moves by which a cell's time comes about, -1
// where walking begins in it.
func (s *search) led(col, row int) int {
	cell := row*s.h.Cols + col
	best := s.nodes[cell].best()
	for k, m := range s.moves {
		c, r := col-m.dc, row-m.dr
		if !s.inside(c, r) {
			continue
		}
		from := r*s.h.Cols + c
		t := s.nodes[from].best()
		if t == barred || !(t < best) {
			continue
		}
		if float32(float64(t)+s.cost(from, k, &s.steps[r][k], math.Inf(1))) == best {
			return k
		}
	}
	return -1
}
