package sky

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"

	"farhail/geo/geotest"
)

func TestSunIlluminance(t *testing.T) {
	geotest.Check(t, "sky-light", func(in []string) ([]any, error) {
		h, err := strconv.ParseFloat(in[0], 64)
		return []any{SunIlluminance(h)}, err
	})
}

// Computed from the Circular's formula apart from this program: the full moon
// at 45 degrees, then 60, 90 and 120 degrees from full, and low down.
func TestMoonIlluminance(t *testing.T) {
	geotest.Check(t, "sky-moonlight", func(in []string) ([]any, error) {
		return []any{MoonIlluminance(Lunar{
			Direction: Direction{ElevationDeg: number(t, in[0])}, PhaseDeg: number(t, in[1]), ParallaxDeg: number(t, in[2]),
		})}, nil
	})
	// Lists of illuminances have 0.25 lx for a full moon, up to 0.3 near the
	// zenith, and 0.01 for a quarter moon.
	full := Lunar{Direction: Direction{ElevationDeg: 80}, ParallaxDeg: 1}
	assert.InDelta(t, 0.25, MoonIlluminance(full), 0.07)
	quarter := Lunar{Direction: Direction{ElevationDeg: 35}, PhaseDeg: 90, ParallaxDeg: 0.951}
	assert.InDelta(t, 0.01, MoonIlluminance(quarter), 0.01)
	assert.Zero(t, MoonIlluminance(Lunar{Direction: Direction{ElevationDeg: -1}, ParallaxDeg: 0.951}))
	assert.True(t, math.IsNaN(MoonIlluminance(Lunar{Direction: Direction{ElevationDeg: math.NaN()}})))
}

func clear(sunDeg float64) float64 {
	down := Lunar{Direction: Direction{ElevationDeg: -30}, ParallaxDeg: 0.951}
	return LightAt(Direction{ElevationDeg: sunDeg}, down, Clear).TotalLx()
}

// At sunset open ground has 410 to 585 lx, at the end of civil twilight 2 to
// 3.5 lx (AMS Glossary of Meteorology, civil twilight).
func TestTwilightIlluminance(t *testing.T) {
	sunset := clear(SunriseDeg)
	assert.True(t, sunset > 410 && sunset < 585, "sunset %g lx", sunset)
	civil := clear(CivilDeg)
	assert.True(t, civil > 2 && civil < 3.5, "civil twilight %g lx", civil)
}

// The rows of the tables meet to 1 %, so the light never falls by more than
// that as sun or moon rises, and night is never darker than its floor.
func TestIlluminanceRises(t *testing.T) {
	last, lastMoon := 0.0, 0.0
	for h := -90.0; h <= 90; h += 0.05 {
		e := clear(h)
		assert.GreaterOrEqual(t, e, 2e-3)
		assert.Greater(t, e, 0.99*last, "at %g degrees", h)
		m := MoonIlluminance(Lunar{Direction: Direction{ElevationDeg: h}, PhaseDeg: 40, ParallaxDeg: 0.97})
		assert.GreaterOrEqual(t, m, 0.98*lastMoon, "the moon at %g degrees", h)
		last, lastMoon = e, m
	}
	assert.True(t, math.IsNaN(SunIlluminance(math.NaN())))
	assert.Equal(t, 2e-3, clear(-50))
}

// More cloud is never brighter, by day and by night, and lists of illuminances
// have 10 to 25 klx on an overcast noon and 1e-4 lx on an overcast night.
func TestCloud(t *testing.T) {
	moon := Lunar{Direction: Direction{ElevationDeg: 50}, PhaseDeg: 20, ParallaxDeg: 0.95}
	for _, sun := range []float64{60, 2, -7, -40} {
		last := Light{math.Inf(1), math.Inf(1), math.Inf(1)}
		for _, c := range Clouds {
			l := LightAt(Direction{ElevationDeg: sun}, moon, c)
			assert.LessOrEqual(t, l.SunLx, last.SunLx)
			assert.Less(t, l.MoonLx, last.MoonLx)
			assert.Less(t, l.NightLx, last.NightLx)
			assert.Equal(t, l.SunLx+l.MoonLx+l.NightLx, l.TotalLx())
			last = l
		}
	}
	noon := LightAt(Direction{ElevationDeg: 60}, moon, Overcast).TotalLx()
	assert.True(t, noon > 1e4 && noon < 2.5e4, "overcast noon %g lx", noon)
	assert.Equal(t, 1e-4, LightAt(Direction{ElevationDeg: -40}, Lunar{Direction: Direction{ElevationDeg: -9}, ParallaxDeg: 1}, Overcast).TotalLx())
	assert.True(t, math.IsNaN(LightAt(Direction{}, moon, "rain").TotalLx()))
}
