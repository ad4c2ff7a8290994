package air

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"farhail/geo/earth"
	"farhail/geo/geotest"
)

func TestTransmission(t *testing.T) {
	geotest.Check(t, "air-transmission", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		a := Default(0)
		a.VisibilityM = x[0]
		return []any{a.Transmission(x[1])}, nil
	})
}

func TestFromTwoPercent(t *testing.T) {
	geotest.Check(t, "air-two-percent", func(in []string) ([]any, error) {
		return []any{FromTwoPercent(geotest.Numbers(t, in)[0])}, nil
	})
}

// The texts use 1.17 nautical miles per square root of the height in feet,
// which is this refraction coefficient.
func TestGeographicSeamanship(t *testing.T) {
	const perRootFoot = 1.17 * 1852
	a := Default(0)
	a.Refraction = 1 - 2*a.EarthRadiusM*0.3048/(perRootFoot*perRootFoot)
	assert.InDelta(t, 0.17, a.Refraction, 0.005)
	geotest.Check(t, "air-geographic", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		return []any{a.GeographicM(x[0]*0.3048, x[1]*0.3048) / 1852}, nil
	})
}

func TestGeographicLand(t *testing.T) {
	geotest.Check(t, "air-horizon-land", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		return []any{Default(0).GeographicM(x[0], x[1]) / 1000}, nil
	})
	a := Default(0)
	assert.Equal(t, a.GeographicM(1.7, 0), a.GeographicM(1.7, -3), "a height below ground counts as 0")
}

// WMO-No. 8 and CIE: MOR is the path that leaves 5 %.
func TestExtinction(t *testing.T) {
	a := Default(NightBackgroundCDM2)
	assert.InDelta(t, 0.05, a.Transmission(a.VisibilityM), 1e-15)
	assert.InDelta(t, 2.995732/10_000, a.Extinction(), 1e-10)
	assert.Equal(t, earth.DefaultRefraction, a.Refraction)
	assert.NoError(t, a.Check())
}

func TestBackground(t *testing.T) {
	tests := []struct {
		name   string
		lx     float64
		behind Behind
		want   float64
		factor float64 // the answer is good within this factor
		source string
	}{
		{"open country in sun", 1e5, Ground, 3000, 1.1, "the default of flags"},
		{"clear day, horizon sky", 1e5, Sky, 1e4, 1.01, "RCA Electro-Optics Handbook, decades of sky luminance"},
		{"clear moonless night, horizon sky", 2e-3, Sky, 1e-3, 2, "the same"},
		{"sun at -5 degrees, zenith", 10.44, Sky, 1.977, 3, "Patat et al., A&A 455 (2006) 385, V, zenith"},
		{"sunlit snow", 1e5, Snow, 0.85 * 1e5 / math.Pi, 1.1, "Smith, Modern Optical Engineering, figure 12.9b"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := Background(tt.lx, tt.behind)
			assert.InDelta(t, 0, math.Log(got/tt.want), math.Log(tt.factor), "got %g, want %g within a factor %g (%s)", got, tt.want, tt.factor, tt.source)
		})
	}
	assert.True(t, math.IsNaN(Background(1, "wall")))
	for _, b := range Backgrounds {
		assert.Equal(t, 0.0, Background(0, b))
	}
}

func TestCheck(t *testing.T) {
	tests := []struct {
		name   string
		change func(*Air)
		word   string
	}{
		{"no visibility", func(a *Air) { a.VisibilityM = 0 }, "visibility"},
		{"visibility unknown", func(a *Air) { a.VisibilityM = math.NaN() }, "visibility"},
		{"visibility without end", func(a *Air) { a.VisibilityM = math.Inf(1) }, "visibility"},
		{"background below black", func(a *Air) { a.BackgroundCDM2 = -1 }, "background"},
		{"background unknown", func(a *Air) { a.BackgroundCDM2 = math.NaN() }, "background"},
		{"ray as curved as the earth", func(a *Air) { a.Refraction = 1 }, "refraction"},
		{"no earth", func(a *Air) { a.EarthRadiusM = 0 }, "radius"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			a := Default(1)
			tt.change(&a)
			assert.ErrorContains(t, a.Check(), tt.word)
		})
	}
}
