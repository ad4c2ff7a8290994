package layer

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
)

func TestNew(t *testing.T) {
	f := New("lamp", orb.Point{1.5, 42.5}, P("range_m", 2090.0), P("limit", "eye"))
	assert.True(t, math.IsNaN(f.HeightM), "a height that is not given is unknown, not sea level")
	assert.True(t, f.Time.IsZero())
	v, ok := f.Get("limit")
	assert.True(t, ok)
	assert.Equal(t, "eye", v)
	_, ok = f.Get("name")
	assert.False(t, ok)
}
