package prob

import (
	"math"

	"farhail/geo/grid"
)

// DistanceTo returns the distance from each cell's centre to the nearest marked
// one [m]; +Inf everywhere where none is marked. It is exact on the grid's own
// lengths (Felzenszwalb and Huttenlocher 2012, Theory of Computing 8, 415-428), taken
// at the row of the cell that asks: within 0.1 % of the geodesic for distances
// up to 10 km below 70 degrees of latitude.
func DistanceTo(f grid.Frame, marked []bool) []float32 {
	inf := math.Inf(1)
	// By columns: rows to the nearest marked cell.
	down := make([]float64, len(marked))
	for col := range f.Cols {
		last := inf
		for row := range f.Rows {
			i := row*f.Cols + col
			last++
			if marked[i] {
				last = 0
			}
			down[i] = last
		}
		last = inf
		for row := f.Rows - 1; row >= 0; row-- {
			i := row*f.Cols + col
			last++
			if marked[i] {
				last = 0
			}
			down[i] = min(down[i], last)
		}
	}
	// Along the rows: the lower envelope of one parabola a column.
	out := make([]float32, len(marked))
	at := make([]int, f.Cols)         // columns whose parabola is part of the envelope
	from := make([]float64, f.Cols+1) // where each begins [m]
	height := make([]float64, f.Cols)
	for row := range f.Rows {
		eastM, northM := f.Metres(row)
		for col := range f.Cols {
			height[col] = sq(down[row*f.Cols+col] * northM)
		}
		n := -1
		for col := range f.Cols {
			if math.IsInf(height[col], 1) {
				continue
			}
			x := float64(col) * eastM
			start := math.Inf(-1)
			for n >= 0 {
				y := float64(at[n]) * eastM
				start = (height[col] + x*x - height[at[n]] - y*y) / (2 * (x - y))
				if start > from[n] {
					break
				}
				n--
				start = math.Inf(-1)
			}
			n++
			at[n], from[n] = col, start
		}
		k := 0
		for col := range f.Cols {
			i := row*f.Cols + col
			if n < 0 {
				out[i] = float32(inf)
				continue
			}
			x := float64(col) * eastM
			for k < n && from[k+1] < x {
				k++
			}
			out[i] = float32(math.Sqrt(sq(x-float64(at[k])*eastM) + height[at[k]]))
		}
	}
	return out
}
