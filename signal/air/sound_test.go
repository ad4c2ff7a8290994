package air_test

import (
	"math"
	"testing"

	"farhail/geo/geotest"
	"farhail/signal/air"

	"github.com/stretchr/testify/require"
)

func TestAbsorptionOfSound(t *testing.T) {
	for _, table := range []string{"air-absorption", "air-absorption-octave"} {
		geotest.Check(t, table, func(in []string) ([]any, error) {
			v := geotest.Numbers(t, in)
			s := air.DefaultSound()
			s.TemperatureC, s.Humidity = v[0], v[1]/100
			return []any{1000 * s.AbsorptionDBPerM(1000*math.Pow(10, v[2]/10))}, s.Check()
		})
	}
	s := air.DefaultSound()
	s.Humidity = 0.01
	require.True(t, math.IsNaN(s.AbsorptionDBPerM(1000)), "outside of the tables")
}

func TestFoliage(t *testing.T) {
	geotest.Check(t, "air-foliage", func(in []string) ([]any, error) {
		v := geotest.Numbers(t, in)
		return []any{air.FoliageDB(v[0], v[1])}, nil
	})
}

func TestOpticalAirMass(t *testing.T) {
	geotest.Check(t, "air-mass-optical", func(in []string) ([]any, error) {
		return []any{air.OpticalAirMass(geotest.Numbers(t, in)[0])}, nil
	})
	require.True(t, math.IsNaN(air.OpticalAirMass(-0.1)))
}

// The sun's light falls with its height and is gone with it.
func TestSunBeam(t *testing.T) {
	last := 0.0
	for e := 0.0; e <= 90; e += 0.5 {
		lx := air.SunBeamLx(e)
		require.Greater(t, lx, last, "%g deg", e)
		last = lx
	}
	require.Zero(t, air.SunBeamLx(-0.1))
	// 110 klx in bright sun, about 100 klx of a high clear sun without the sky.
	require.InDelta(t, 1e5, air.SunBeamLx(60), 5e3)
	geotest.Check(t, "air-sun", func(in []string) ([]any, error) {
		h := geotest.Numbers(t, in[1:])[0]
		if in[0] == "luminance_cd_m2" {
			return []any{air.SunBeamLx(h) / air.SunDiscSR}, nil
		}
		return []any{air.SunBeamLx(h)}, nil
	})
	// At the horizon the same book has 6e6 cd/m2, ten times ours: the misfit that
	// SunBeamLx tells.
	require.InEpsilon(t, 6e6/10, air.SunBeamLx(0)/air.SunDiscSR, 0.15)
}
