package air

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"farhail/geo/geotest"
)

func TestPlants(t *testing.T) {
	geotest.Check(t, "air-plants", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		p := Plants{StemsPerM2: x[0] / 1e4, StemWidthM: x[1], LeafAreaIndex: x[2], CanopyM: x[3]}
		return []any{p.ClearM(), p.Clear(x[4])}, p.Check()
	})
	assert.True(t, math.IsInf(Plants{}.ClearM(), 1))
	assert.True(t, math.IsInf(Plants{}.HalfClearM(), 1))
	assert.Equal(t, 1.0, Plants{}.Clear(1e6))
	assert.Equal(t, 12.0, Plants{StemsPerM2: 1, StemWidthM: 1, MeanClearM: 12}.ClearM(), "what was measured wins")
	forest := Plants{StemsPerM2: 0.05, StemWidthM: 0.3}
	assert.InDelta(t, 0.5, forest.Clear(forest.HalfClearM()), 1e-12)
}

// TestPlantsOnALine: what stands on the line between two places is in its way
// whatever the distance, and multiplies with what stands everywhere.
func TestPlantsOnALine(t *testing.T) {
	p := Plants{OnLine: 0.5}
	assert.False(t, p.Open())
	assert.True(t, math.IsInf(p.ClearM(), 1))
	assert.InDelta(t, math.Exp(-0.5), p.Clear(1000), 1e-15)
	assert.True(t, math.IsInf(p.HalfClearM(), 1), "clear more often than not")
	p.OnLine = 0.7 // above ln 2
	assert.Zero(t, p.HalfClearM())
	p = Plants{OnLine: 0.5, MeanClearM: 100}
	assert.InDelta(t, math.Exp(-0.5-1), p.Clear(100), 1e-15)
	assert.InDelta(t, 0.5, p.Clear(p.HalfClearM()), 1e-12)
	assert.True(t, Plants{}.Open())
	assert.Error(t, Plants{OnLine: -1}.Check())
	assert.Error(t, Plants{OnLine: math.NaN()}.Check())
}
