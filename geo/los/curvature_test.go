package los_test

import (
	"context"
	"fmt"
	"math"
	"testing"

	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/grid"
	"farhail/geo/los"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// profile puts heights one kilometre apart on a line, as grids of three equal
// columns or rows: in a UTM zone eastward, in one southward, and on longitude
// and latitude along a meridian near the equator, where a kilometre is as many
// degrees as the ellipsoid says.
func profile(z []float32) map[string]struct {
	h  *grid.Heights
	at func(km float64) los.Station
} {
	n := len(z)
	var across, down []float32
	for range 3 {
		across = append(across, z...)
	}
	for _, v := range z {
		down = append(down, v, v, v)
	}
	utm := grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 500000, Y0: 4700000, DX: 1000, DY: 1000}
	east, south, degrees := utm, utm, grid.Frame{X0: 10, DX: 0.01}
	east.Cols, east.Rows = n, 3
	south.Cols, south.Rows = 3, n
	_, northM := earth.MetresPerDegree(0)
	degrees.DY = 1000 / northM
	degrees.Cols, degrees.Rows = 3, n
	// The middle row lies on the equator, as a line's length is that of its
	// middle.
	degrees.Y0 = float64(n-1) / 2 * degrees.DY
	type ground = struct {
		h  *grid.Heights
		at func(km float64) los.Station
	}
	along := func(km float64) los.Station { return los.Station{Col: km, Row: 1} }
	downward := func(km float64) los.Station { return los.Station{Col: 1, Row: km} }
	return map[string]ground{
		"east":    {&grid.Heights{Frame: east, Z: across}, along},
		"south":   {&grid.Heights{Frame: south, Z: down}, downward},
		"degrees": {&grid.Heights{Frame: degrees, Z: down}, downward},
	}
}

// TestCurvature: an observer at 100 m on a mast of 20 m, a target of 1 m at 50 m,
// 30 km apart, and a ridge 11 km from the observer. The ray stands over the ridge
// at 120 - 69 · 11/30 - 11 · 19 km² (1 - k) / 2R; the figures are worked out by
// hand with R = 6 371 008.8 m. Grids in degrees give the same.
func TestCurvature(t *testing.T) {
	for _, c := range []struct {
		name         string
		k            float64
		rayM         float64
		at795, at810 los.State
	}{
		{"straight rays", 0, 78.298, los.Hidden, los.Hidden},
		{"usual", 0.13, 80.430, los.Seen, los.Hidden},
		{"a seventh", 1.0 / 7, 80.641, los.Seen, los.Hidden},
		{"flat earth", 1, 94.700, los.Seen, los.Seen},
	} {
		for ridge, want := range map[float64]los.State{79.5: c.at795, 81: c.at810} {
			z := make([]float32, 31)
			z[0], z[11], z[30] = 100, float32(ridge), 50
			for name, g := range profile(z) {
				t.Run(fmt.Sprint(c.name, ridge, name), func(t *testing.T) {
					eye, target := g.at(0), g.at(30)
					eye.HeightM, target.HeightM = 20, 1
					got := los.Line(g.h, eye, target, los.Options{Refraction: c.k, GridLengths: true})
					assert.InDelta(t, 30000, got.DistanceM, 0.05)
					assert.InDelta(t, c.rayM, ridge+got.ClearanceM, 0.01)
					assert.Equal(t, want, got.State)
					if want == los.Hidden {
						assert.InDelta(t, 11000, got.BlockedAtM, 0.05)
					}
				})
			}
		}
	}
}

// TestHiddenHeight: how much of a target 15 km off the sea hides from an eye 2 m
// up, (D - sqrt(2 R h / (1-k)))² (1-k) / 2R, by the same reckoning. Ground at
// every 50 m finds the horizon to within a millimetre of height.
func TestHiddenHeight(t *testing.T) {
	h := metric(geotest.Plane(0, 0, 0), 301, 50)
	for k, want := range map[float64]float64{0: 7.773, 0.13: 6.277, 1.0 / 7: 6.132} {
		got := los.Line(h, los.Station{Col: 0, Row: 5, HeightM: 2}, los.Station{Col: 300, Row: 5}, los.Options{Refraction: k, GridLengths: true})
		assert.InDelta(t, want, got.NeedM, 0.002, "k %g", k)
	}
}

// TestFromOrbit: an eye 800 km up sees all ground nearer than its horizon, and
// none beyond.
func TestFromOrbit(t *testing.T) {
	const n, step = 121, 0.5
	h := &grid.Heights{Frame: grid.Frame{X0: -30, Y0: 30, DX: step, DY: step, Cols: n, Rows: n}, Z: make([]float32, n*n)}
	eye := los.Station{Col: 60, Row: 60, HeightM: 800e3}
	o := los.DefaultOptions()
	got, err := los.NeededArea(context.Background(), h, eye, 0, math.Inf(1), o)
	require.NoError(t, err)
	horizon := earth.HorizonM(eye.HeightM, o.Refraction, o.EarthRadiusM)
	near, far := 0, 0
	for i, state := range got.State {
		line := los.Line(h, eye, los.Station{Col: float64(i % n), Row: float64(i / n)}, o)
		require.False(t, math.IsNaN(line.NeedM) || math.IsInf(line.NeedM, 0))
		switch cell := step * 112e3; {
		case line.DistanceM < horizon:
			near++
			require.Equal(t, los.Seen, state, "%.0f km", line.DistanceM/1000)
		case line.DistanceM > horizon+2*cell:
			far++
			require.Equal(t, los.Hidden, state, "%.0f km", line.DistanceM/1000)
		}
	}
	assert.Greater(t, near, 8000)
	assert.Greater(t, far, 500)
}

// TestSurfaceAndGround: a wood 20 m high between 300 and 600 m stands in a
// surface model and not in one of the ground: a light at 1 km is seen over the
// ground, hidden by the surface. An eye in the wood stands on the treetops of
// the surface model, 21.7 m up.
func TestSurfaceAndGround(t *testing.T) {
	const cell = 10
	dtm := metric(geotest.Plane(0, 0, 0), 101, cell)
	dsm := metric(geotest.Plane(0, 0, 0), 101, cell)
	for row := range dsm.Rows {
		for col := 30; col <= 60; col++ {
			dsm.Row(row)[col] = 20
		}
	}
	eye, light := los.Station{Col: 0, Row: 50, HeightM: 1.7}, los.Station{Col: 100, Row: 50, HeightM: 1.5}
	o := los.DefaultOptions()
	assert.Equal(t, los.Seen, los.Line(dtm, eye, light, o).State)
	hidden := los.Line(dsm, eye, light, o)
	assert.Equal(t, los.Hidden, hidden.State)
	assert.InDelta(t, 300, hidden.BlockedAtM, 1)

	inside := los.Station{Col: 45, Row: 50, HeightM: 1.7}
	assert.InDelta(t, 20, dsm.SampleCell(inside.Col, inside.Row), 0)
	light.HeightM = 19
	assert.Equal(t, los.Seen, los.Line(dsm, inside, light, o).State, "over the treetops")
}

// TestCurvatureTable: drops and horizons worked out by hand from d² (1-k) / 2R
// and sqrt(2 R h / (1-k)), with R = 6 371 008.8 m.
func TestCurvatureTable(t *testing.T) {
	for _, c := range []struct{ k, drop10, drop20, horizon2 float64 }{
		{0, 7.848, 31.392, 5048.2}, {0.13, 6.828, 27.311, 5412.2}, {1.0 / 7, 6.727, 26.908, 5452.6}, {0.25, math.NaN(), 23.544, math.NaN()},
	} {
		if !math.IsNaN(c.drop10) {
			assert.InDelta(t, c.drop10, earth.DropM(10e3, c.k, earth.MeanRadiusM), 0.001)
			assert.InDelta(t, c.horizon2, earth.HorizonM(2, c.k, earth.MeanRadiusM), 0.1)
		}
		assert.InDelta(t, c.drop20, earth.DropM(20e3, c.k, earth.MeanRadiusM), 0.001)
	}
}
