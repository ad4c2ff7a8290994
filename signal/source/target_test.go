package source_test

import (
	"math"
	"testing"

	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/signal/source"

	"github.com/stretchr/testify/require"
)

func TestReflectorInAHeadlamp(t *testing.T) {
	r := source.Reflector{AreaM2: 0.13, Reflectivity: 330, LampCD: 200}
	require.NoError(t, r.Check())
	geotest.Check(t, "source-reflector", func(in []string) ([]any, error) {
		d := geotest.Numbers(t, in)[0]
		back := r.LampCD / (d * d) * r.ReturnCDLx()
		return []any{back, back / (d * d)}, nil
	})
	require.Error(t, source.Reflector{}.Check())
}

// Persons show less from above when they stand and more when they lie, and a
// surface in the sun stands out from shade more than one alike.
func TestPersonsAndSurfaces(t *testing.T) {
	alike := source.Surface{Reflectance: 0.4, Behind: 0.05}
	for _, posture := range source.Postures {
		p := source.Person{Posture: posture, Surface: alike}
		require.NoError(t, p.Check())
		for e := 0.0; e <= 90; e += 5 {
			a := p.AreaM2(e)
			require.Greater(t, a, 0.15, "%s at %g", posture, e)
			require.Less(t, a, 0.8, "%s at %g", posture, e)
		}
	}
	standing, lying := source.Person{Posture: source.Standing}, source.Person{Posture: source.Lying}
	require.Greater(t, standing.AreaM2(0), lying.AreaM2(0))
	require.Greater(t, lying.AreaM2(90), standing.AreaM2(90))
	require.Error(t, source.Person{Posture: "flying", Surface: alike}.Check())

	require.InDelta(t, 7, alike.Contrast(), 1e-12)
	sun, shade := alike, alike
	sun.Lit, shade.Lit = source.Sun, source.Shade
	require.InDelta(t, 79, sun.Contrast(), 1e-9)
	require.InDelta(t, -0.2, shade.Contrast(), 1e-9)
	// Munsell value 4 is 11.70 %, 8 is 57.62 % (ASTM D1535).
	require.InDelta(t, 0.1170, source.MunsellFactor(4), 1e-4)
	require.InDelta(t, 0.5762, source.MunsellFactor(8), 1e-4)
}

// Symbols have the meanings of ICAO Annex 12, lie flat and show nothing to an
// eye on the level.
func TestSymbols(t *testing.T) {
	for letter, meaning := range map[string]string{
		"V": "require assistance", "X": "require medical assistance", "N": "no or negative", "Y": "yes or affirmative", "arrow": "proceeding in this direction",
	} {
		s := source.Symbol{Letter: letter, LengthM: 5, StrokeM: 5 * source.StrokeShare, Surface: source.Surface{Reflectance: 0.7, Behind: 0.1}}
		require.NoError(t, s.Check())
		require.Equal(t, meaning, s.Meaning())
		require.Less(t, s.AreaM2(), 25.0, "less than its square")
		above := s.Toward(source.View{Azimuth: earth.NewTrue(10), ElevationDeg: 90})
		aslant := s.Toward(source.View{Azimuth: earth.NewTrue(10), ElevationDeg: 30})
		require.InDelta(t, above.AreaM2/2, aslant.AreaM2, 1e-9)
		require.Zero(t, s.Toward(source.View{Azimuth: earth.NewTrue(10)}).Contrast)
		require.Equal(t, s.AreaM2(), s.Toward(source.View{Azimuth: earth.True(math.NaN())}).AreaM2)
	}
	require.Error(t, source.Symbol{Letter: "Q", LengthM: 5, StrokeM: 1}.Check())
	require.Equal(t, 2.5, source.LeastSymbolM)
}
