package source_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/signal/source"

	"github.com/stretchr/testify/require"
)

func mirrorUnder(azimuth, elevation float64) source.Mirror {
	return source.Mirror{WidthM: 0.0762, HeightM: 0.127, Sun: source.Aim{Azimuth: earth.NewTrue(azimuth), ElevationDeg: elevation},
		SunLx: 1e5, Target: source.Aim{Azimuth: earth.True(math.NaN())}}
}

func TestMirrorIsHeld(t *testing.T) {
	geotest.Check(t, "source-mirror", func(in []string) ([]any, error) {
		v := geotest.Numbers(t, in)
		throw := mirrorUnder(v[0], v[1]).Throw(source.Aim{Azimuth: earth.NewTrue(v[2]), ElevationDeg: v[3]})
		return []any{throw.TurnDeg, throw.CosIncidence, float64(throw.Normal.Azimuth), throw.Normal.ElevationDeg}, nil
	})
	geotest.Check(t, "source-mirror-spot", func(in []string) ([]any, error) {
		return []any{mirrorUnder(180, 45).SpotM(geotest.Numbers(t, in)[0])}, nil
	})
}

// I = rho E A cos i / Omega: 1.21e7 cd for 3 x 5 in, 1e5 lx, reflectivity 0.85,
// met straight.
func TestMirrorIntensity(t *testing.T) {
	m := mirrorUnder(180, 45)
	straight := m.Throw(source.Aim{Azimuth: earth.NewTrue(180), ElevationDeg: 45})
	require.InEpsilon(t, 1.21e7, straight.IntensityCD, 0.005)
	require.InEpsilon(t, straight.IntensityCD*math.Cos(30*math.Pi/180), m.Throw(source.Aim{Azimuth: earth.NewTrue(180), ElevationDeg: -15}).IntensityCD, 1e-9)
}

// The mirror's normal reflects the sun to the target; the sun down, or too far
// behind, gives nothing, and a second mirror what one cannot.
func TestMirrorSenses(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for range 500 {
		m := mirrorUnder(360*r.Float64(), 1+80*r.Float64())
		at := source.Aim{Azimuth: earth.NewTrue(360 * r.Float64()), ElevationDeg: 20*r.Float64() - 10}
		one := m.Throw(at)
		require.InDelta(t, math.Cos(one.TurnDeg/2*math.Pi/180), one.CosIncidence, 1e-12)
		m.Second = true
		two := m.Throw(at)
		require.GreaterOrEqual(t, two.IntensityCD, one.IntensityCD)
		require.Positive(t, two.IntensityCD)
		if one.TurnDeg > source.MostTurnDeg {
			require.Zero(t, one.IntensityCD)
		}
		// The sector of the level ends where the turn is the most.
		if half := m.Sector(); half < 180 {
			edge := source.Aim{Azimuth: earth.NewTrue(float64(m.Sun.Azimuth) + half)}
			require.InDelta(t, source.MostTurnDeg, m.Throw(edge).TurnDeg, 1e-6)
		}
	}
	night := mirrorUnder(180, -1)
	require.Equal(t, source.NoSun, night.Toward(source.View{Azimuth: earth.NewTrue(180)}).Absent)
	require.Zero(t, night.Sector())
	swept := mirrorUnder(180, 30)
	held := swept.Toward(source.View{Azimuth: earth.NewTrue(180)}).IntensityCD
	swept.SweepDegS = 5
	require.Less(t, swept.Toward(source.View{Azimuth: earth.NewTrue(180)}).IntensityCD, held)
	require.Error(t, source.Mirror{}.Check())
}

// Without haze the range goes as the root of the light, so a bare pane shows its
// flash at a fifth of a mirror's.
func TestBarePane(t *testing.T) {
	straight := source.Aim{Azimuth: earth.NewTrue(180), ElevationDeg: 45}
	light := func(reflectivity float64) float64 {
		m := mirrorUnder(180, 45)
		m.WidthM, m.HeightM, m.Reflectivity = 0.0508, 0.0762, reflectivity
		return m.Throw(straight).IntensityCD
	}
	geotest.Check(t, "source-mirror-field", func(in []string) ([]any, error) {
		return []any{24 * math.Sqrt(light(geotest.Numbers(t, in)[0])/light(1))}, nil
	})
}

// A throw obeys the law of reflection: turning the sun's ray about the normal
// gives the target.
func TestMirrorReflects(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	vector := func(a source.Aim) (v [3]float64) {
		sz, cz := math.Sincos(float64(a.Azimuth) * math.Pi / 180)
		sh, ch := math.Sincos(a.ElevationDeg * math.Pi / 180)
		return [3]float64{ch * sz, ch * cz, sh}
	}
	for range 300 {
		m := mirrorUnder(360*r.Float64(), 90*r.Float64())
		at := source.Aim{Azimuth: earth.NewTrue(360 * r.Float64()), ElevationDeg: 60*r.Float64() - 30}
		throw := m.Throw(at)
		if throw.TurnDeg > 179 {
			continue
		}
		s, n, want := vector(m.Sun), vector(throw.Normal), vector(at)
		dot := s[0]*n[0] + s[1]*n[1] + s[2]*n[2]
		require.InDelta(t, throw.CosIncidence, dot, 1e-12)
		for i := range 3 {
			require.InDelta(t, want[i], 2*dot*n[i]-s[i], 1e-9)
		}
	}
}
