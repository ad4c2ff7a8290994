package air

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"farhail/geo/geotest"
)

func TestSpread(t *testing.T) {
	geotest.Check(t, "air-spread", func(in []string) ([]any, error) {
		side, up := Stability(in[0]).Spread(geotest.Numbers(t, in[1:])[0])
		return []any{side, up}, nil
	})
	side, up := Stability("G").Spread(100)
	assert.True(t, math.IsNaN(side) && math.IsNaN(up))
}

func TestPlumeRise(t *testing.T) {
	geotest.Check(t, "air-plume-rise", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in[1:])
		flux := BuoyancyFlux(x[0] * 1000)
		switch in[0] {
		case "stable-E", "stable-F":
			return []any{stableRiseM(flux, x[1], stableGradient[Stability(in[0][7:])])}, nil
		}
		return []any{Stability(in[0]).PlumeRiseM(flux, x[1], x[2])}, nil
	})
	assert.InDelta(t, 8.8, BuoyancyFlux(1e6), 0.05, "Briggs: 8.8 to 8.9 for a megawatt")
	// The strong plume's law meets the law of the rising plume at its final
	// distance, 119 F^(2/5): an agreement of the sources with each other.
	assert.InEpsilon(t, neutralRiseM(100, 5), 1.6*math.Cbrt(100*750.8*750.8)/5, 1e-3)
	// The two laws of final rise meet at F = 55 to 1 %, and the weak one's final
	// distance is 49 F^(5/8).
	assert.InEpsilon(t, 38.71*math.Pow(55, 0.6)/3, neutralRiseM(55, 3), 0.01)
	assert.InEpsilon(t, neutralRiseM(55-1e-12, 3), neutralRiseM(55, 3), 1e-9)
	assert.InEpsilon(t, 4.966, 1.6*math.Cbrt(0.616*36.2*36.2)/3, 2e-3)
	assert.True(t, math.IsNaN(Stability("").PlumeRiseM(1, 1, 1)))
}

// The plume rises with heat and with distance, and sinks with wind; wind under
// 1 m/s counts as 1; the more stable the air, the narrower the smoke.
func TestPlumeSenses(t *testing.T) {
	for i, c := range Stabilities {
		for _, x := range []float64{5, 30, 200, 5000} {
			for _, flux := range []float64{0, 0.1, 5, 54.9, 55.1, 900} {
				rise := c.PlumeRiseM(flux, 2, x)
				assert.GreaterOrEqual(t, c.PlumeRiseM(flux*1.1, 2, x), rise)
				assert.GreaterOrEqual(t, c.PlumeRiseM(flux, 2, x*1.5), rise)
				assert.LessOrEqual(t, c.PlumeRiseM(flux, 2.2, x), rise)
			}
			side, up := c.Spread(x)
			if i > 0 {
				calmer, lower := Stabilities[i-1].Spread(x)
				assert.Greater(t, calmer, side)
				assert.Greater(t, lower, up)
			}
		}
		assert.Equal(t, c.PlumeRiseM(5, 1, 50), c.PlumeRiseM(5, 0.1, 50))
		assert.Zero(t, c.PlumeRiseM(0, 3, 50))
	}
}
