package terrain

import (
	"math"

	"farhail/geo/grid"
)

// SlopeDeg returns how steep the ground is at a cell [degrees, 0 to 90), by the
// third-order finite difference over its eight neighbours, NaN at the grid's
// edge and where one of the nine has no data.
//
// Source: Horn, B. K. P. (1981), Hill shading and the reflectance map,
// Proceedings of the IEEE 69(1), 14-47, p. 18. It smooths over three cells, so
// cliffs narrower than the grid come out too gentle.
func SlopeDeg(h *grid.Heights, col, row int) float64 {
	if col < 1 || row < 1 || col > h.Cols-2 || row > h.Rows-2 || math.IsNaN(h.At(col, row)) {
		return math.NaN()
	}
	n, m, s := h.Row(row - 1)[col-1:], h.Row(row)[col-1:], h.Row(row + 1)[col-1:]
	weigh := func(a, b, c float32) float64 { return float64(a) + 2*float64(b) + float64(c) }
	east, north := h.Metres(row)
	p := (weigh(n[2], m[2], s[2]) - weigh(n[0], m[0], s[0])) / (8 * east)
	q := (weigh(n[0], n[1], n[2]) - weigh(s[0], s[1], s[2])) / (8 * north)
	return math.Atan(math.Hypot(p, q)) * 180 / math.Pi
}

// SlopePercent returns a slope in percent [100 · rise over run] for one in
// degrees: 45 degrees are 100 %, 30 are 57.7 %.
func SlopePercent(deg float64) float64 { return 100 * math.Tan(deg*math.Pi/180) }
