package terrain

import (
	"context"
	"math"

	"farhail/geo/grid"
)

// gradient returns how much the ground rises at a cell [m per m on the ground]
// towards the east and the north, by the third-order finite difference over its
// eight neighbours; NaN at the grid's edge and where one of the nine has no data.
//
// Source: Horn, B. K. P. (1981), Hill shading and the reflectance map,
// Proceedings of the IEEE 69(1), 14-47, p. 18.
func gradient(h *grid.Heights, col, row int) (east, north float64) {
	dx, dy := h.Metres(row)
	return rise(h, col, row, dx, dy)
}

// rise is gradient for a cell's sides in metres.
func rise(h *grid.Heights, col, row int, dx, dy float64) (east, north float64) {
	if col < 1 || row < 1 || col > h.Cols-2 || row > h.Rows-2 || math.IsNaN(h.At(col, row)) {
		return math.NaN(), math.NaN()
	}
	n, m, s := h.Row(row - 1)[col-1:], h.Row(row)[col-1:], h.Row(row + 1)[col-1:]
	weigh := func(a, b, c float32) float64 { return float64(a) + 2*float64(b) + float64(c) }
	return (weigh(n[2], m[2], s[2]) - weigh(n[0], m[0], s[0])) / (8 * dx),
		(weigh(n[0], n[1], n[2]) - weigh(s[0], s[1], s[2])) / (8 * dy)
}

// SlopeDeg returns how steep the ground is at a cell [degrees, 0 to 90), by
// Horn's difference over its eight neighbours, NaN at the grid's edge and where
// one of the nine has no data. It smooths over three cells, so cliffs narrower
// than the grid come out too gentle.
func SlopeDeg(h *grid.Heights, col, row int) float64 {
	east, north := gradient(h, col, row)
	return math.Atan(math.Hypot(east, north)) * 180 / math.Pi
}

// SteepestDeg returns how steep the ground is anywhere within a cell [degrees, 0 to
// 90): its [SlopeDeg], or the steepest fall or rise to one of its eight neighbours
// where that is more. A wall of one cell, which the slope smooths away, is told on
// both of its sides: 50 m between cells of 30 m are 59.0 degrees, where SlopeDeg says
// 39.8. It is NaN where the cell itself has no data. Beside a void and at the grid's
// edge, where SlopeDeg is NaN, it is the steepest of what is known: a lower limit, so
// what must not lie beside unknown ground has to ask SlopeDeg too. Faces narrower than
// a cell stay hidden, and heights with an error of σ between neighbours s apart tilt
// level ground by some σ/s.
func SteepestDeg(h *grid.Heights, col, row int) float64 {
	z := h.At(col, row)
	if math.IsNaN(z) {
		return math.NaN()
	}
	dx, dy := h.Metres(row)
	east, north := rise(h, col, row, dx, dy)
	steepest := math.Hypot(east, north) // of rise over run
	if math.IsNaN(steepest) {
		steepest = 0
	}
	for r := max(row-1, 0); r <= min(row+1, h.Rows-1); r++ {
		for c := max(col-1, 0); c <= min(col+1, h.Cols-1); c++ {
			if c == col && r == row {
				continue
			}
			// A comparison with NaN is false: what has no data tells nothing.
			if fall := math.Abs(z-h.At(c, r)) / math.Hypot(float64(c-col)*dx, float64(r-row)*dy); fall > steepest {
				steepest = fall
			}
		}
	}
	return math.Atan(steepest) * 180 / math.Pi
}

// SlopePercent returns a slope in percent [100 · rise over run] for one in
// degrees: 45 degrees are 100 %, 30 are 57.7 %.
func SlopePercent(deg float64) float64 { return 100 * math.Tan(deg*math.Pi/180) }

// Hillshade returns how bright light from a direction makes the ground, cell by
// cell: the cosine of the angle between the light and the ground's normal, 0 on
// ground that is turned away, to 1; NaN where [SlopeDeg] is. azimuthDeg is where
// the light comes from, clockwise from the grid's north; altitudeDeg its height
// above the horizon; maps use 315 and 45. Heights are multiplied by exaggeration
// first, 1 for none. No ground casts a shadow on other ground. It returns the
// context's error when it ends first.
//
// Source: Horn 1981 (see the slope), p. 24 for a surface that scatters evenly.
func Hillshade(ctx context.Context, h *grid.Heights, azimuthDeg, altitudeDeg, exaggeration float64) ([]float32, error) {
	out := make([]float32, len(h.Z))
	sinAz, cosAz := math.Sincos(azimuthDeg * math.Pi / 180)
	up, level := math.Sincos(altitudeDeg * math.Pi / 180)
	for row := range h.Rows {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		line := out[row*h.Cols : (row+1)*h.Cols]
		dx, dy := h.Metres(row)
		for col := range line {
			east, north := rise(h, col, row, dx/exaggeration, dy/exaggeration)
			// The light's direction times the normal (-east, -north, 1) of length 1.
			shade := (up - level*(sinAz*east+cosAz*north)) / math.Sqrt(1+east*east+north*north)
			line[col] = float32(max(0, shade))
		}
	}
	return out, nil
}
