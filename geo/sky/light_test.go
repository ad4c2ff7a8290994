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

// At sunset open ground has 410 to 585 lx, at the end of civil twilight 2 to
// 3.5 lx (AMS Glossary of Meteorology, civil twilight).
func TestTwilightIlluminance(t *testing.T) {
	sunset := ClearSkyIlluminance(-50.0 / 60)
	assert.True(t, sunset > 410 && sunset < 585, "sunset %g lx", sunset)
	civil := ClearSkyIlluminance(-6)
	assert.True(t, civil > 2 && civil < 3.5, "civil twilight %g lx", civil)
}

// The rows of the table meet to 1 %, so the light never falls by more than
// that as the sun rises, and night is never darker than its floor.
func TestIlluminanceRises(t *testing.T) {
	last := 0.0
	for h := -90.0; h <= 90; h += 0.05 {
		e := ClearSkyIlluminance(h)
		assert.GreaterOrEqual(t, e, NightIlluminanceLx)
		assert.Greater(t, e, 0.99*last, "at %g degrees", h)
		last = e
	}
	assert.True(t, math.IsNaN(SunIlluminance(math.NaN())))
	assert.Equal(t, NightIlluminanceLx, ClearSkyIlluminance(-50))
}
