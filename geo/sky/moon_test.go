package sky

import (
	"bufio"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/soniakeys/unit"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/earth"
	"farhail/geo/geotest"
)

// ephemeris opens a table of the shared ephemeris data.
func ephemeris(t *testing.T, name string) *bufio.Scanner {
	t.Helper()
	f, err := os.Open(filepath.Join(geotest.Shared(t), "data", "ephemeris", name))
	require.NoError(t, err)
	t.Cleanup(func() { f.Close() })
	return bufio.NewScanner(f)
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

func TestMoonHorizons(t *testing.T) {
	direction := func(in []string) ([]any, error) {
		at, err := time.Parse(time.RFC3339, in[2])
		d := Moon(orb.Point{number(t, in[1]), number(t, in[0])}, at)
		return []any{float64(d.Azimuth), d.ApparentDeg}, err
	}
	geotest.Check(t, "sky-moon", direction)
	geotest.Check(t, "sky-moon-tropics", direction)
}

// Both of JPL Horizons' tables whole: two days, every five minutes.
func TestMoonHorizonsWhole(t *testing.T) {
	for name, place := range map[string]orb.Point{"horizons-Moon_N29_W081.txt": {-81, 29}, "horizons-Moon_N15_E075.txt": {75, 15}} {
		rows, inside := 0, false
		worstAz, worstEl := 0.0, 0.0
		for s := ephemeris(t, name); s.Scan(); {
			line := s.Text()
			if strings.HasPrefix(line, "$$") {
				inside = strings.HasPrefix(line, "$$SOE")
				continue
			}
			if !inside {
				continue
			}
			at, err := time.Parse("2006-Jan-02 15:04", strings.TrimSpace(line[:18]))
			require.NoError(t, err, line)
			fields := strings.Fields(line)
			az, el := number(t, fields[len(fields)-2]), number(t, fields[len(fields)-1])
			d := Moon(place, at)
			worstAz = max(worstAz, math.Abs(earth.Wrap180(float64(d.Azimuth)-az))*math.Cos(el*math.Pi/180))
			worstEl = max(worstEl, math.Abs(d.ApparentDeg-el))
			rows++
		}
		t.Logf("%s: %d rows, largest difference %.4f deg across, %.4f deg in elevation", name, rows, worstAz, worstEl)
		assert.Equal(t, 577, rows)
		assert.Less(t, worstAz, 0.02)
		assert.Less(t, worstEl, 0.02)
	}
}

// The United States Naval Observatory's apparent places of the moon from
// Atlanta, 2008, at 0 h.
func TestMoonTopocentric(t *testing.T) {
	geotest.Check(t, "sky-moon-place", func(in []string) ([]any, error) {
		at, err := time.Parse(time.RFC3339, in[0])
		α, δ := placeFrom(orb.Point{-(84 + 24.6/60), 33 + 45.6/60}, at)
		return []any{α.Deg(), δ.Deg()}, err
	})
}

func placeFrom(p orb.Point, at time.Time) (unit.RA, unit.Angle) {
	m := momentOf(at)
	α, δ, π := m.moon()
	return m.topocentric(p, α, δ, π)
}

// At the Observatory's instants of new moon, quarters and full moon the disc
// is dark, half lit and full. The quarters are those of the longitude, so that
// the lit half is exact to the moon's latitude and the sun's parallax.
func TestMoonPhases(t *testing.T) {
	want := []float64{0, 0.5, 1, 0.5}
	worst, rows := 0.0, 0
	for s := ephemeris(t, "moonphases.txt"); s.Scan(); {
		fields := strings.Fields(s.Text())
		at, err := time.Parse("2006-01-02T15:04:05.000Z", fields[1])
		require.NoError(t, err)
		if at.Year() < 1900 {
			continue
		}
		quarter := int(number(t, fields[0]))
		m := Moon(orb.Point{0, 45}, at)
		worst = max(worst, math.Abs(m.LitFraction-want[quarter]))
		assert.InDelta(t, []float64{180, 90, 0, 90}[quarter], m.PhaseDeg, 5.5, "the latitude is up to 5.3 degrees")
		rows++
	}
	t.Logf("%d phases, lit fraction within %.4f", rows, worst)
	assert.Greater(t, rows, 400)
	assert.Less(t, worst, 0.0035)
}

// Meeus, example 48.a p. 347: 1992 April 12, 0 h dynamical time; lit 0.6786,
// with the phase angle 69.0756 degrees.
func TestMoonLit(t *testing.T) {
	at := time.Date(1992, 4, 12, 0, 0, 0, 0, time.UTC).Add(-time.Duration(deltaTS * float64(time.Second)))
	m := Moon(orb.Point{0, 0}, at)
	assert.InDelta(t, 0.6786, m.LitFraction, 1e-4)
	assert.InDelta(t, 0.991990, m.ParallaxDeg, 1e-5, "example 47.a p. 342")
	assert.InDelta(t, 69.0756, m.PhaseDeg, 0.16, "the angle at the earth instead of that at the moon")
}

func TestMoonUnknown(t *testing.T) {
	m := Moon(orb.Point{math.NaN(), 0}, time.Unix(0, 0))
	assert.True(t, math.IsNaN(m.ElevationDeg))
	assert.False(t, math.IsNaN(m.LitFraction), "the phase needs no place")
}
