package grid

import (
	"math"

	"github.com/paulmach/orb"
)

// slack is the part of a cell [cells] by which a position may miss a cell
// centre or the grid's edge and still count as on it: 1e-9 degrees, to which
// positions are written, are 0.4e-5 of a 1 arc-second cell.
const slack = 1e-5

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

// Range returns the lowest and the highest height [m]; both are NaN where no cell has
// one.
func (h *Heights) Range() (lowM, highM float64) {
	lowM, highM = math.NaN(), math.NaN()
	for _, z := range h.Z {
		switch v := float64(z); {
		case math.IsNaN(v):
		case math.IsNaN(lowM):
			lowM, highM = v, v
		default:
			lowM, highM = min(lowM, v), max(highM, v)
		}
	}
	return lowM, highM
}

// Sample returns the bilinear height at a position [m]; see
// [Heights.SampleCell].
func (h *Heights) Sample(p orb.Point) float64 { return h.SampleCell(h.Cell(p)) }

// SampleCell returns the height at a column and row [m], interpolated
// bilinearly between the four cell centres around. It is strict: NaN where a
// cell with weight is NaN (more than 1e-5, the rounding of a position), and
// outside the rectangle of the centres.
func (h *Heights) SampleCell(col, row float64) float64 {
	// Written so that NaN fails too.
	if !h.Inside(col, row) {
		return math.NaN()
	}
	c, u := split(col, h.Cols)
	r, v := split(row, h.Rows)
	top := lerp(h.Row(r), c, u)
	if v == 0 {
		return top
	}
	return mix(top, lerp(h.Row(r+1), c, u), v)
}

// split returns the cell before a coordinate, one that has a neighbour behind
// it where possible, and the fraction from it.
func split(x float64, n int) (cell int, fraction float64) {
	x = min(max(x, 0), float64(n-1))
	cell = max(min(int(x), n-2), 0)
	return cell, x - float64(cell)
}

func lerp(row []float32, c int, u float64) float64 {
	if u == 0 {
		return float64(row[c])
	}
	return mix(float64(row[c]), float64(row[c+1]), u)
}

func mix(a, b, u float64) float64 {
	switch {
	case u <= slack && math.IsNaN(b):
		return a
	case u >= 1-slack && math.IsNaN(a):
		return b
	}
	return a + u*(b-a)
}
