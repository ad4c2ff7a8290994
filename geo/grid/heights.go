package grid

import (
	"math"

	"github.com/paulmach/orb"
)

// snap is the part of a cell below which a fraction counts as a cell centre:
// 0.03 µm on a 1 arc-second grid, far above the rounding of a position
// (1e-14 degrees). Without it the rounding would draw in a neighbour with
// weight 1e-12, which may be NaN.
const snap = 1e-9

// Heights is a grid of heights [m]. The datum is the source's; the numbers of
// different datums must not be mixed.
type Heights struct {
	Frame
	Z []float32 // row by row from the north-west, Cols·Rows long; NaN = no data
}

// At returns the height of a cell [m], NaN for no data. It panics outside the
// grid.
func (h *Heights) At(col, row int) float64 { return float64(h.Row(row)[col]) }

// Row returns the heights of one row, which share the grid's memory.
func (h *Heights) Row(row int) []float32 {
	return h.Z[row*h.Cols : (row+1)*h.Cols : (row+1)*h.Cols]
}

// Sample returns the bilinear height at a position [m]; see
// [Heights.SampleCell].
func (h *Heights) Sample(p orb.Point) float64 { return h.SampleCell(h.Cell(p)) }

// SampleCell returns the height at a column and row [m], interpolated
// bilinearly between the four cell centres around. It is strict: NaN where a
// cell that has any weight is NaN, and outside the rectangle of the centres.
func (h *Heights) SampleCell(col, row float64) float64 {
	// Written so that NaN fails too.
	if !h.Inside(col, row) {
		return math.NaN()
	}
	c, u := split(col)
	r, v := split(row)
	top := h.Row(r)
	z := float64(top[c])
	if u > 0 {
		z += u * (float64(top[c+1]) - z)
	}
	if v == 0 {
		return z
	}
	bottom := h.Row(r + 1)
	b := float64(bottom[c])
	if u > 0 {
		b += u * (float64(bottom[c+1]) - b)
	}
	return z + v*(b-z)
}

// split returns the whole cell at or before a coordinate and the fraction
// after it, 0 within snap of a centre.
func split(x float64) (cell int, fraction float64) {
	near := math.Round(x)
	if math.Abs(x-near) <= snap {
		return int(near), 0
	}
	whole := math.Floor(x)
	return int(whole), x - whole
}
