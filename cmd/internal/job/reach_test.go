package job

import (
	"math"
	"testing"

	"farhail/geo/grid"
	"farhail/geo/walk"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestNewReach: a walker of half the speed takes twice as long, stops with the others, and
// what nobody reaches is cut off.
func TestNewReach(t *testing.T) {
	nan := float32(math.NaN())
	field := &walk.Field{Frame: grid.Frame{X0: 1, Y0: 42, DX: 0.01, DY: 0.01, Cols: 4, Rows: 3}, Seconds: []float32{
		nan, nan, nan, nan,
		nan, 0, 600, 5000,
		nan, 300, 900, nan,
	}}
	r := NewReach(field, 0.5, 7200, []walk.Stop{{FromS: 1000, ToS: 4600}})
	require.NotNil(t, r)
	assert.Equal(t, grid.Frame{X0: 1.01, Y0: 41.99, DX: 0.01, DY: 0.01, Cols: 2, Rows: 2}, r.Frame)
	// 600 s of the rule are 1200 s of this walker, who stops for an hour after 1000 s.
	assert.Equal(t, []float32{0, 1200 + 3600, 600, 1800 + 3600}, r.Seconds)

	assert.Nil(t, NewReach(field, 1, -1, nil), "nobody arrives")
}
