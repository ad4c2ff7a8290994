package terrain

import (
	"math"
	"math/rand/v2"
	"testing"

	"farhail/geo/grid"

	"github.com/stretchr/testify/assert"
)

// TestSteepest: a wall of one cell is told on both of its sides, where Horn's
// difference smooths it away; by arithmetic.
func TestSteepest(t *testing.T) {
	utm := grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 500000, Y0: 4700000, DX: 30, DY: 30, Cols: 6, Rows: 5}
	east, north := utm.Metres(2)
	deg := func(rise, run float64) float64 { return math.Atan(rise/run) * 180 / math.Pi }
	wall := func() *grid.Heights {
		h := &grid.Heights{Frame: utm, Z: make([]float32, 30)}
		for i := range h.Z {
			if i%6 >= 3 {
				h.Z[i] = 50
			}
		}
		return h
	}
	h := wall()
	assert.InDelta(t, 39.8, SlopeDeg(h, 2, 2), 0.05)
	for _, col := range []int{2, 3} {
		assert.InDelta(t, 59.0, SteepestDeg(h, col, 2), 0.05)
		assert.InDelta(t, deg(50, east), SteepestDeg(h, col, 2), 1e-6, "column %d", col)
	}
	assert.Zero(t, SteepestDeg(h, 1, 2), "nothing rises beside it")
	assert.InDelta(t, deg(50, east), SteepestDeg(h, 2, 0), 1e-6, "at the edge what is known")

	h = wall()
	h.Row(2)[2] = float32(nan)
	assert.True(t, math.IsNaN(SteepestDeg(h, 2, 2)), "in a void")
	assert.InDelta(t, deg(50, math.Hypot(east, north)), SteepestDeg(h, 3, 2), 1e-6, "beside a void: what is known, here over the corners")

	// A pit of one cell: over a corner the way is longer.
	pit := &grid.Heights{Frame: utm, Z: make([]float32, 30)}
	pit.Row(2)[2] = -50
	assert.InDelta(t, deg(50, min(east, north)), SteepestDeg(pit, 2, 2), 1e-6)
	assert.InDelta(t, deg(50, math.Hypot(east, north)), SteepestDeg(pit, 1, 1), 1e-6)
}

// TestSteepestNeverGentler: it is at least Horn's slope, and on a plane no more.
func TestSteepestNeverGentler(t *testing.T) {
	frame := grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 500000, Y0: 4700000, DX: 30, DY: 20, Cols: 12, Rows: 12}
	rough := &grid.Heights{Frame: frame, Z: make([]float32, 144)}
	rng := rand.New(rand.NewPCG(7, 0))
	for i := range rough.Z {
		rough.Z[i] = float32(60 * rng.Float64())
	}
	plane := &grid.Heights{Frame: frame, Z: make([]float32, 144)}
	east, north := frame.Metres(5)
	for i := range plane.Z {
		plane.Z[i] = float32(0.4*east*float64(i%12) - 0.7*north*float64(i/12))
	}
	for row := 1; row < 11; row++ {
		for col := 1; col < 11; col++ {
			assert.GreaterOrEqual(t, SteepestDeg(rough, col, row), SlopeDeg(rough, col, row))
			assert.InDelta(t, SlopeDeg(plane, col, row), SteepestDeg(plane, col, row), 0.01)
		}
	}
}
