package cli

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// aims are directions in the sky as people write them.
var aims = []struct {
	text               string
	azimuth, elevation float64
}{
	{"180/45", 180, 45}, {" 90 / 0 ", 90, 0}, {"0/-90", 0, -90}, {"360/90", 360, 90}, {"12.5deg/-5°", 12.5, -5}, {"1600mil/800 mil", 90, 45},
}

func TestParseAim(t *testing.T) {
	for _, c := range aims {
		azimuth, elevation, err := ParseAim(c.text)
		require.NoError(t, err, c.text)
		require.InDelta(t, c.azimuth, azimuth, 1e-9, c.text)
		require.InDelta(t, c.elevation, elevation, 1e-9, c.text)
	}
	for text, says := range map[string]string{
		"": "not an azimuth", "180": "not an azimuth", "180,45": "not an azimuth", "/": "missing", "180/": "missing",
		"361/0": "at most 360", "-1/0": "at least 0", "180/91": "at most 90", "180/-91": "at least -90", "180/45m": "not a unit",
		"south/45": "not a", "1/2/3": "not a unit", "0x10/5": "not a unit",
	} {
		azimuth, elevation, err := ParseAim(text)
		var q *QuantityError
		require.True(t, errors.As(err, &q), "%q: %v", text, err)
		require.NotEmpty(t, q.Hint())
		require.True(t, math.IsNaN(azimuth) && math.IsNaN(elevation), text)
		require.ErrorContains(t, err, says, text)
	}
}

// FuzzParseAim: what is read is a direction, and reads back.
func FuzzParseAim(f *testing.F) {
	for _, c := range aims {
		f.Add(c.text)
	}
	f.Add("1e400/0")
	f.Add("nan/inf")
	f.Fuzz(func(t *testing.T, s string) {
		azimuth, elevation, err := ParseAim(s)
		if err != nil {
			require.True(t, math.IsNaN(azimuth) && math.IsNaN(elevation))
			return
		}
		require.True(t, azimuth >= 0 && azimuth <= 360 && elevation >= -90 && elevation <= 90, "%q: %g/%g", s, azimuth, elevation)
		a, e, err := ParseAim(fmt.Sprintf("%v/%v", azimuth, elevation))
		require.NoError(t, err)
		require.Equal(t, [2]float64{azimuth, elevation}, [2]float64{a, e})
	})
}
