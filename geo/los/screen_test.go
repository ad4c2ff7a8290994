package los_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"farhail/geo/geotest"
	"farhail/geo/grid"
	"farhail/geo/los"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// wood returns flat ground of 10 m cells and a screen with a wood of that height
// between 300 and 600 m from the west.
func wood(heightM float32) (*grid.Heights, []float32) {
	h := metric(geotest.Plane(0, 0, 0), 101, 10)
	screen := make([]float32, len(h.Z))
	for row := range h.Rows {
		for col := 30; col <= 60; col++ {
			screen[row*h.Cols+col] = heightM
		}
	}
	return h, screen
}

// TestScreen: a wood of 20 m stands in the way of a light behind it, while the
// eye and the light stand on the ground. Its near edge is seen, its inside not;
// from inside only the cells around are; a mast above it is seen.
func TestScreen(t *testing.T) {
	h, screen := wood(20)
	o := los.DefaultOptions()
	eye, light := los.Station{Row: 50, HeightM: 1.7}, los.Station{Col: 100, Row: 50, HeightM: 1.5}
	require.Equal(t, los.Seen, los.Line(h, eye, light, o).State, "bare ground")
	o.Screen = screen
	hidden := los.Line(h, eye, light, o)
	assert.Equal(t, los.Hidden, hidden.State)
	assert.InDelta(t, 300, hidden.BlockedAtM, 1)
	// By similar triangles over the near edge: 1.7 + (20 - 1.7) · 1000 / 300, less
	// what the earth falls away, 0.07 m.
	assert.InDelta(t, 1.7+18.3*1000/300, hidden.NeedM, 0.1)
	light.HeightM = 63
	assert.Equal(t, los.Seen, los.Line(h, eye, light, o).State, "a mast")

	area, err := los.SeenArea(context.Background(), h, eye, 1.5, math.Inf(1), o)
	require.NoError(t, err)
	state := func(a *los.Area, col, row int) los.State { return a.State[row*h.Cols+col] }
	assert.Equal(t, los.Seen, state(area, 29, 50))
	assert.Equal(t, los.Seen, state(area, 30, 50), "the near edge")
	assert.Equal(t, los.Hidden, state(area, 31, 50))
	assert.Equal(t, los.Hidden, state(area, 61, 50))

	inside, err := los.SeenArea(context.Background(), h, los.Station{Col: 45, Row: 50, HeightM: 1.7}, 1.5, math.Inf(1), o)
	require.NoError(t, err)
	assert.Equal(t, 9, inside.Seen, "its own cell and the eight around it")
	assert.Equal(t, h.Cols*h.Rows, inside.Cells)
}

// TestScreenSame: a screen at the ground's own heights changes no figure, and a
// screen over a bare model gives the states of a surface model to those that
// stand on open ground.
func TestScreenSame(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	h := metric(geotest.Plane(0, 0, 0), 60, 30)
	for i := range h.Z {
		h.Z[i] = float32(30 * rng.Float64())
	}
	o := los.DefaultOptions()
	eye := los.Station{Col: 20, Row: 31, HeightM: 3}
	plain, err := los.NeededArea(context.Background(), h, eye, 2, math.Inf(1), o)
	require.NoError(t, err)
	o.Screen = append([]float32(nil), h.Z...)
	same, err := los.NeededArea(context.Background(), h, eye, 2, math.Inf(1), o)
	require.NoError(t, err)
	assert.Equal(t, plain.State, same.State)
	assert.Equal(t, plain.NeedM, same.NeedM)

	trees := map[int]bool{}
	for range 400 {
		if i := rng.IntN(len(h.Z)); i != 31*60+20 {
			trees[i] = true
		}
	}
	tops := &grid.Heights{Frame: h.Frame, Z: append([]float32(nil), h.Z...)}
	for i := range trees {
		tops.Z[i] += 15
		o.Screen[i] = tops.Z[i]
	}
	over, err := los.SeenArea(context.Background(), tops, eye, 2, math.Inf(1), los.DefaultOptions())
	require.NoError(t, err)
	under, err := los.SeenArea(context.Background(), h, eye, 2, math.Inf(1), o)
	require.NoError(t, err)
	differ := 0
	for i := range h.Z {
		if !trees[i] {
			require.Equal(t, over.State[i], under.State[i], "cell %d", i)
		} else if over.State[i] != under.State[i] {
			differ++
		}
	}
	assert.Positive(t, differ, "a treetop is seen where the ground below it is not")
}

// TestScreenUnknown: what a screen of unknown height may hide is unknown, and a
// screen of another size is refused.
func TestScreenUnknown(t *testing.T) {
	h, screen := wood(float32(math.NaN()))
	o := los.DefaultOptions()
	o.Screen = screen
	eye, light := los.Station{Row: 50, HeightM: 1.7}, los.Station{Col: 100, Row: 50, HeightM: 1.5}
	assert.Equal(t, los.Unknown, los.Line(h, eye, light, o).State)
	assert.Equal(t, los.Seen, los.Line(h, eye, los.Station{Col: 29, Row: 50, HeightM: 1.5}, o).State)
	o.Screen = screen[1:]
	_, err := los.NewEye(h, eye, o)
	require.ErrorIs(t, err, los.ErrOptions)
	_, err = los.SeenSets(context.Background(), h, []los.Station{eye}, []los.Station{light}, 1000, o)
	require.ErrorIs(t, err, los.ErrOptions)
}
