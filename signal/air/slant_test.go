package air

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"farhail/geo/geotest"
)

func TestSlant(t *testing.T) {
	geotest.Check(t, "air-slant", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		a := Default(0)
		a.VisibilityM, a.HazeHeightM = x[0], x[4]
		return []any{a.MeanExtinction(x[1], x[2]) * x[3]}, nil
	})
	a := Default(0)
	assert.Equal(t, a.Extinction(), a.MeanExtinction(0, 3000), "haze that does not thin")
	a.HazeHeightM = DefaultHazeHeightM
	assert.Equal(t, a.MeanExtinction(0, 500), a.MeanExtinction(500, 0), "the same both ways")
	assert.Equal(t, a.Extinction(), a.MeanExtinction(-3, 0), "below ground counts as ground")
	assert.InEpsilon(t, a.Extinction()*math.Exp(-0.5), a.MeanExtinction(600, 600), 1e-12)
	last := math.Inf(1)
	for h := 0.0; h < 5000; h += 10 {
		s := a.MeanExtinction(0, h)
		assert.LessOrEqual(t, s, last, "the higher the clearer, %g m", h)
		assert.GreaterOrEqual(t, s, a.MeanExtinction(h, h))
		last = s
	}
	// Twice or half of the haze height, from the ground to 500 m: the stated fifth.
	usual := a.MeanExtinction(0, 500)
	for _, by := range []float64{0.5, 2} {
		b := a
		b.HazeHeightM *= by
		assert.InEpsilon(t, usual, b.MeanExtinction(0, 500), 0.2)
	}
}

func TestCloudBetween(t *testing.T) {
	a := Default(0)
	assert.False(t, a.CloudBetween(5000, 1), "no cloud")
	a.CloudBaseM = 500
	assert.True(t, a.CloudBetween(800, 1.5))
	assert.True(t, a.CloudBetween(1.5, 800))
	assert.False(t, a.CloudBetween(500, 1.5), "at the base")
	assert.False(t, a.CloudBetween(900, 600), "both above it")
	a.CloudBaseM = -1
	assert.ErrorContains(t, a.Check(), "cloud base")
	a = Default(0)
	a.HazeHeightM = math.NaN()
	assert.ErrorContains(t, a.Check(), "haze height")
}

func TestReflectances(t *testing.T) {
	geotest.Check(t, "air-reflectance", func(in []string) ([]any, error) {
		return []any{Factor(Behind(in[0]))}, nil
	})
	geotest.Check(t, "air-horizon-ratio", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		return []any{HorizonRatio(x[0], x[1])}, nil
	})
	for _, b := range Backgrounds {
		assert.NotEmpty(t, FactorSource(b), b)
		assert.InDelta(t, 0.5, Factor(b), 0.5, b)
	}
	assert.True(t, math.IsNaN(Factor("wall")))
	assert.InDelta(t, 3.14, HorizonRatio(1e5, Factor(Ground)), 0.01, "a clear day's horizon is no brighter than 1e4 cd/m2")
	assert.True(t, math.IsNaN(HorizonRatio(0, 0.1)))
}

// The newer texts' 1.169 NM per root of a foot.
func TestGeographicBowditch(t *testing.T) {
	const perRootFoot = 1.169 * 1852
	a := Default(0)
	a.Refraction = 1 - 2*a.EarthRadiusM*0.3048/(perRootFoot*perRootFoot)
	geotest.Check(t, "air-geographic-bowditch", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		return []any{a.GeographicM(x[0]*0.3048, x[1]*0.3048) / 1852}, nil
	})
}
