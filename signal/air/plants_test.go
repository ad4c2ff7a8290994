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
