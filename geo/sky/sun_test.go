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
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/earth"
	"farhail/geo/geotest"
)

func sunAt(t *testing.T, in []string) Direction {
	t.Helper()
	lat, err := strconv.ParseFloat(in[0], 64)
	require.NoError(t, err)
	lon, err := strconv.ParseFloat(in[1], 64)
	require.NoError(t, err)
	at, err := time.Parse(time.RFC3339, in[2])
	require.NoError(t, err)
	return Sun(orb.Point{lon, lat}, at)
}

func TestSunHorizons(t *testing.T) {
	geotest.Check(t, "sky-sun", func(in []string) ([]any, error) {
		d := sunAt(t, in)
		return []any{float64(d.Azimuth), d.ApparentDeg}, nil
	})
}

func TestSunSPA(t *testing.T) {
	geotest.Check(t, "sky-sun-spa", func(in []string) ([]any, error) {
		d := sunAt(t, in)
		return []any{float64(d.Azimuth), d.ElevationDeg, d.ApparentDeg}, nil
	})
}

// The whole of JPL Horizons' table, every tenth day from 1900 to 2100, a third
// of it with the sun above the horizon.
func TestSunHorizonsWhole(t *testing.T) {
	f, err := os.Open(filepath.Join(geotest.Shared(t), "data", "ephemeris", "horizons-Sun.txt"))
	require.NoError(t, err)
	defer f.Close()
	place := orb.Point{-81, 29}
	rows, inside := 0, false
	worstAz, worstEl := 0.0, 0.0
	for s := bufio.NewScanner(f); s.Scan(); {
		line := s.Text()
		switch {
		case strings.HasPrefix(line, "$$SOE"):
			inside = true
			continue
		case strings.HasPrefix(line, "$$EOE"):
			inside = false
		}
		if !inside {
			continue
		}
		at, err := time.Parse("2006-Jan-02 15:04", strings.TrimSpace(line[:18]))
		require.NoError(t, err, line)
		fields := strings.Fields(line)
		az, err := strconv.ParseFloat(fields[len(fields)-2], 64)
		require.NoError(t, err, line)
		el, err := strconv.ParseFloat(fields[len(fields)-1], 64)
		require.NoError(t, err, line)
		d := Sun(place, at)
		worstAz = max(worstAz, math.Abs(earth.Wrap180(float64(d.Azimuth)-az)))
		worstEl = max(worstEl, math.Abs(d.ApparentDeg-el))
		rows++
	}
	t.Logf("%d rows, largest difference %.4f deg in azimuth, %.4f deg in elevation", rows, worstAz, worstEl)
	assert.Equal(t, 7305, rows)
	assert.Less(t, worstAz, 0.01)
	assert.Less(t, worstEl, 0.01)
}

// At the minutes of sunrise and sunset that the United States Naval
// Observatory prints, the centre of the sun passes 50 arc minutes below the
// horizon: 34 of refraction and 16 of radius.
func TestSunRiseSet(t *testing.T) {
	f, err := os.Open(filepath.Join(geotest.Shared(t), "data", "ephemeris", "usno-riseset-all.txt"))
	require.NoError(t, err)
	defer f.Close()
	rows := 0
	for s := bufio.NewScanner(f); s.Scan(); {
		fields := strings.Fields(s.Text())
		if len(fields) != 5 || fields[0] != "Sun" {
			continue
		}
		lon, err := strconv.ParseFloat(fields[1], 64)
		require.NoError(t, err)
		lat, err := strconv.ParseFloat(fields[2], 64)
		require.NoError(t, err)
		at, err := time.Parse("2006-01-02T15:04Z", fields[3])
		require.NoError(t, err)
		place := orb.Point{lon, lat}
		const half = 45 * time.Second // the minute is rounded, some tables by UT1
		before, after := Sun(place, at.Add(-half)).ElevationDeg, Sun(place, at.Add(half)).ElevationDeg
		if fields[4] == "s" {
			before, after = after, before
		}
		// Near the poles the sun takes minutes for the 0.005 degrees to which
		// both are known.
		assert.Less(t, before, -50.0/60+0.005, s.Text())
		assert.Greater(t, after, -50.0/60-0.005, s.Text())
		rows++
	}
	t.Logf("%d sunrises and sunsets", rows)
	assert.Greater(t, rows, 1000)
}

// The sun stands over the tropic at the June solstice and its elevation is
// symmetric about noon: a check of signs that needs no table.
func TestSunSigns(t *testing.T) {
	noon := time.Date(2026, 6, 21, 12, 2, 0, 0, time.UTC) // equation of time -1.8 min
	d := Sun(orb.Point{0, 60}, noon)
	assert.InDelta(t, 180, float64(d.Azimuth), 0.3)
	assert.InDelta(t, 90-60+23.44, d.ElevationDeg, 0.02)
	assert.Greater(t, d.ApparentDeg, d.ElevationDeg)
	morning := Sun(orb.Point{0, 0}, noon.Add(-4*time.Hour))
	assert.InDelta(t, 60, float64(morning.Azimuth), 15, "in the north-east from the equator")
	assert.Greater(t, morning.ElevationDeg, 0.0)
	zone := time.FixedZone("", 7200)
	assert.Equal(t, d, Sun(orb.Point{0, 60}, noon.In(zone)), "a zone does not move the sun")
	assert.True(t, math.IsNaN(Sun(orb.Point{math.NaN(), 0}, noon).ElevationDeg))
}

// Meeus example 16.a p. 107 treats the sun's lower limb at an apparent 0.5
// degrees: refraction by Bennett 28.754 arc minutes, true elevation 1.24 arc
// minutes (from memory). Saemundsson's inverse must lead back within its 4
// arc seconds.
func TestRefraction(t *testing.T) {
	trueDeg := 0.5 - 28.754/60
	assert.InDelta(t, 0.5, trueDeg+Refraction(trueDeg), 4.0/3600)
	assert.InDelta(t, 0, Refraction(90), 1e-9)
	for h := -95.0; h < 90; h += 0.01 {
		assert.GreaterOrEqual(t, Refraction(h), Refraction(h+0.01), "falls with elevation, no step at %g", h)
	}
}
