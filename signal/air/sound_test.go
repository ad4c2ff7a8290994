package air_test

import (
	"math"
	"strconv"
	"testing"

	"farhail/geo/geotest"
	"farhail/signal/air"

	"github.com/stretchr/testify/require"
)

func TestAbsorptionOfSound(t *testing.T) {
	geotest.Check(t, "air-absorption", func(in []string) ([]any, error) {
		var v [3]float64
		for i := range v {
			var err error
			if v[i], err = strconv.ParseFloat(in[i], 64); err != nil {
				return nil, err
			}
		}
		s := air.DefaultSound()
		s.TemperatureC, s.Humidity = v[0], v[1]/100
		return []any{1000 * s.AbsorptionDBPerM(1000*math.Pow(10, v[2]/10))}, s.Check()
	})
	s := air.DefaultSound()
	s.Humidity = 0.01
	require.True(t, math.IsNaN(s.AbsorptionDBPerM(1000)), "outside of the tables")
}

func TestFoliage(t *testing.T) {
	geotest.Check(t, "air-foliage", func(in []string) ([]any, error) {
		f, err := strconv.ParseFloat(in[0], 64)
		if err != nil {
			return nil, err
		}
		d, err := strconv.ParseFloat(in[1], 64)
		return []any{air.FoliageDB(f, d)}, err
	})
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
	require.InDelta(t, 1, air.OpticalAirMass(90), 1e-3)
	require.InDelta(t, 37.92, air.OpticalAirMass(0), 0.01) // Kasten and Young 1989
}
