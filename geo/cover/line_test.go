package cover_test

import (
	"math"
	"testing"

	"farhail/geo/cover"
	"farhail/geo/grid"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestPasses: a line passes among the plants of a class only where it runs below
// their canopy, by its own slope.
func TestPasses(t *testing.T) {
	f := field()
	g := read(t, osm(
		[2]string{`"landuse":"forest"`, polygon(box(f, 9.5, -0.5, 19.5, 39.5))},
		[2]string{`"natural":"scrub"`, polygon(box(f, 29.5, -0.5, 39.5, 39.5))},
	)).On(f, cover.Unknown)
	flat := &grid.Heights{Frame: f, Z: make([]float32, f.Cols*f.Rows)}
	table := cover.Canopies(20, 0)
	level := func(float64) float64 { return 0 }
	eye, target := cover.End{Col: 0, Row: 20, HeightM: 1.7}, cover.End{Col: 50, Row: 20, HeightM: 1.7}
	const length = 1000
	passes := func(eye, target cover.End, dropM func(float64) float64) map[cover.Class]float64 {
		out := map[cover.Class]float64{}
		for _, p := range g.Passes(flat, table, eye, target, length, dropM) {
			out[p.Class] = p.LengthM
		}
		return out
	}
	got := passes(eye, target, level)
	require.Len(t, got, 1, "scrub of 1.5 m lies below the eye")
	assert.InDelta(t, 200, got[cover.Wood], 20, "ten cells of 20 m")

	eye.HeightM, target.HeightM = 1.4, 1.4
	assert.InDelta(t, 200, passes(eye, target, level)[cover.Scrub], 20)

	// From 1 m to 41 m the line is 20 m up after 475 m, beyond the wood; from 101 m
	// down to 1 m it is below 20 m for the last 190 m only, and the wood ends at
	// 390 m.
	eye.HeightM, target.HeightM = 1, 41
	assert.InDelta(t, 200, passes(eye, target, level)[cover.Wood], 20)
	eye.HeightM, target.HeightM = 101, 1
	assert.Empty(t, passes(eye, target, level))

	// A steep line is longer than it is on the map: 3000 m down in 1000 m, with trees
	// as high as a line that low meets them.
	table[cover.Wood] = 5000
	eye.HeightM, target.HeightM = 3000, 0
	assert.InDelta(t, 200*math.Sqrt(10), passes(eye, target, level)[cover.Wood], 63)

	// Over ground that bulges between the ends, as the earth does, the line runs lower:
	// with 3.2 m in the middle one at 4 m sinks below scrub of 1.5 m.
	table = cover.Canopies(math.NaN(), 0)
	eye, target = cover.End{Col: 0, Row: 20, HeightM: 4}, cover.End{Col: 50, Row: 20, HeightM: 4}
	drop := func(m float64) float64 { return 12.8 * m * m / length / length }
	assert.Positive(t, passes(eye, target, drop)[cover.Scrub])
	assert.Zero(t, passes(eye, target, level)[cover.Scrub])
}
