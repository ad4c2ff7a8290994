package job

import (
	"math"

	"farhail/geo/grid"
	"farhail/geo/walk"
)

// A Reach is when the usual walker arrives, cell by cell.
type Reach struct {
	Frame   grid.Frame
	Seconds []float32 // after the start, rests counted; NaN where that is after the last of the rings
}

// NewReach returns when a walker of a factor arrives in each cell of a field, until lastS,
// in the smallest frame that holds them all; nil where there is none.
func NewReach(field *walk.Field, factor, lastS float64, stops []walk.Stop) *Reach {
	seconds := make([]float32, len(field.Seconds))
	c0, r0, c1, r1 := field.Cols, field.Rows, 0, 0
	for i, s := range field.Seconds {
		seconds[i] = s
		if s == s {
			seconds[i] = float32(walk.Arrived(float64(s)/factor, stops))
		}
		if float64(seconds[i]) > lastS {
			seconds[i] = float32(math.NaN())
		}
		if seconds[i] == seconds[i] {
			col, row := i%field.Cols, i/field.Cols
			c0, r0, c1, r1 = min(c0, col), min(r0, row), max(c1, col+1), max(r1, row+1)
		}
	}
	if c0 >= c1 {
		return nil
	}
	out := &Reach{Frame: field.Part(c0, r0, c1, r1)}
	for row := r0; row < r1; row++ {
		out.Seconds = append(out.Seconds, seconds[row*field.Cols+c0:row*field.Cols+c1]...)
	}
	return out
}
