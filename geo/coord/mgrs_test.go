package coord

import (
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/golang/geo/s2"
	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/tzneal/coordconv"

	"farhail/geo/earth"
	"farhail/geo/geotest"
)

func TestMGRSCheck(t *testing.T) {
	geotest.Check(t, "coord-mgrs", func(in []string) ([]any, error) {
		v, err := geotest.Floats(in)
		if err != nil {
			return nil, err
		}
		return []any{MGRS(orb.Point{v[1], v[0]}, int(v[2]))}, nil
	})
}

func reference(t *testing.T, name string) [][]string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(geotest.Shared(t), "data", "reference", name))
	require.NoError(t, err)
	var rows [][]string
	for _, line := range strings.Split(strings.TrimSpace(string(data)), "\n")[1:] {
		if before, after, quoted := strings.Cut(line, `"`); quoted {
			_, after, _ = strings.Cut(after, `",`)
			line = before + "-," + after // the note may hold commas
		}
		rows = append(rows, strings.Split(line, ","))
	}
	return rows
}

func float(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// 25 positions with zone edges, both exceptions and both poles: GeographicLib
// 2.1.2, GeoConvert.
func TestGeoConvert(t *testing.T) {
	rows := reference(t, "mgrs-geoconvert.csv")
	require.Len(t, rows, 25)
	for _, r := range rows {
		p := orb.Point{float(t, r[1]), float(t, r[0])}
		assert.Equal(t, r[3], MGRS(p, 5))
		assert.Equal(t, r[4], MGRS(p, 3))
		assert.Equal(t, r[5], MGRS(p, 8))
		grid := strings.Fields(r[6])
		e, n, conv, scale := float(t, grid[1]), float(t, grid[2]), float(t, r[7]), float(t, r[8])
		if u, err := UTMOf(p, 0); err == nil {
			assert.Equal(t, strings.TrimLeft(grid[0], "0"), strconv.Itoa(u.Zone)+u.Hemisphere[:1])
			assert.InDelta(t, e, u.EastingM, 6e-7)
			assert.InDelta(t, n, u.NorthingM, 6e-7)
			assert.InDelta(t, conv, u.ConvergenceDeg, 6e-12)
			assert.InDelta(t, scale, u.Scale, 6e-14)
		} else {
			u, err := UPSOf(p)
			require.NoError(t, err)
			assert.Equal(t, grid[0], u.Hemisphere[:1])
			assert.InDelta(t, e, u.EastingM, 6e-7)
			assert.InDelta(t, n, u.NorthingM, 6e-7)
			assert.InDelta(t, conv, u.ConvergenceDeg, 6e-12)
			// Close to the pole the scale comes from a difference of 2000 km
			// coordinates: 1e-10.
			assert.InDelta(t, scale, u.Scale, 1e-10)
		}
		got, err := Parse(r[5])
		require.NoError(t, err)
		d, _, _ := earth.Inverse(p, got.Point)
		assert.Less(t, d, 0.00075, "%s", r[5])
	}
}

// 19 references read to their centres: GeographicLib 2.1.2, GeoConvert.
func TestGeoConvertParse(t *testing.T) {
	rows := reference(t, "mgrs-parse-geoconvert.csv")
	require.Len(t, rows, 19)
	for _, r := range rows {
		got, err := Parse(r[0])
		require.NoError(t, err, r[0])
		assert.Equal(t, NotationMGRS, got.Notation)
		d, _, _ := earth.Inverse(orb.Point{float(t, r[2]), float(t, r[1])}, got.Point)
		assert.Less(t, d, 1e-7, r[0])
		digits := strings.Count(strings.Map(func(c rune) rune {
			if isDigit(c) {
				return '#'
			}
			return '.'
		}, r[0][2:]), "#")
		assert.Equal(t, math.Pow10(5-digits/2), got.SquareM, r[0])
		d, _, _ = earth.Inverse(orb.Point{float(t, r[4]), float(t, r[3])}, got.Point)
		assert.InDelta(t, got.SquareM/math.Sqrt2, d, got.SquareM/math.Sqrt2*0.01, "corner of %s", r[0])
	}
}

// coordconv ports Geotrans. It adds half a millimetre before it cuts, so that
// the last digit may differ by one in a few rows in a thousand.
func TestMGRSAgainstGeotrans(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	differ := 0
	for range 4000 {
		p := anywhere(rng)
		if rng.IntN(4) == 0 { // more of Norway and Svalbard
			p = orb.Point{rng.Float64() * 45, 55 + 29*rng.Float64()}
		}
		want, err := coordconv.DefaultMGRSConverter.ConvertFromGeodetic(s2.LatLngFromDegrees(p.Lat(), p.Lon()), 5)
		require.NoError(t, err)
		got := MGRS(p, 5)
		if got != want {
			differ++
		}
		require.Equal(t, want[:len(want)-10], got[:len(got)-10], "%v", p)
		pos, err := Parse(got)
		require.NoError(t, err)
		corner, err := coordconv.DefaultMGRSConverter.ConvertToGeodetic(got)
		require.NoError(t, err)
		d, _, _ := earth.Inverse(pos.Point, orb.Point{corner.Lng.Degrees(), corner.Lat.Degrees()})
		require.InDelta(t, math.Sqrt(0.5), d, 0.02, got)
	}
	assert.Less(t, differ, 20)
}

// The centre of a square lies in it, at every precision and everywhere; its
// corners do too, and the one opposite does not.
func TestSquareRoundTrip(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	for range 1000 {
		p := anywhere(rng)
		for digits := 1; digits <= maxMGRSDigits; digits++ {
			ref := MGRS(p, digits)
			pos, err := Parse(ref)
			require.NoError(t, err, ref)
			require.Equal(t, math.Pow10(5-digits), pos.SquareM)
			d, _, _ := earth.Inverse(p, pos.Point)
			require.LessOrEqual(t, d, pos.SquareM*0.72, ref)
			u, err := UTMOf(p, 0)
			// A centre across a zone's or band's edge has another reference.
			if c, e2 := UTMOf(pos.Point, 0); err == nil && e2 == nil && c.Zone == u.Zone && c.Band == u.Band {
				require.Equal(t, ref, MGRS(pos.Point, digits))
				tm := earth.UTM(u.Zone, u.Hemisphere == "south")
				corner := tm.Inverse(c.EastingM-pos.SquareM/2, c.NorthingM-pos.SquareM/2)
				if k, err := UTMOf(corner, 0); err == nil && k.Zone == u.Zone && k.Band == u.Band {
					require.Equal(t, ref, MGRS(corner, digits), "south-west corner")
				}
			}
		}
	}
}

// Every square whose centre lies in a zone, for each set of letters, the wide
// zones and their narrow neighbours: its reference is its own and reads back.
func TestEverySquare(t *testing.T) {
	for _, zone := range []int{1, 2, 3, 4, 5, 6, 31, 32, 33, 35, 37, 60} {
		seen := map[string]bool{}
		for _, south := range []bool{false, true} {
			tm := earth.UTM(zone, south)
			for e := 50e3; e < 1000e3; e += 100e3 {
				for n := 50e3; n < 10e6; n += 100e3 {
					p := tm.Inverse(e, n)
					if south != (p.Lat() < 0) || !inUTM(p.Lat()) || zoneOf(p) != zone {
						continue
					}
					ref := MGRS(p, 0)
					require.False(t, seen[ref], ref)
					seen[ref] = true
					pos, err := Parse(ref)
					require.NoError(t, err, ref)
					d, _, _ := earth.Inverse(p, pos.Point)
					require.Less(t, d, 1e-6, ref)
				}
			}
		}
		require.Greater(t, len(seen), 780, "zone %d", zone)
	}
}

// The same reference spaced in every way.
func TestMGRSSpacing(t *testing.T) {
	want, err := Parse("31TCH6874325047")
	require.NoError(t, err)
	assert.Equal(t, 1.0, want.SquareM)
	for _, s := range []string{"31T CH 68743 25047", "31TCH 68743 25047", "31 T CH 6874325047", "31tch6874325047", " MGRS 31T CH 68743 25047 ", "USNG 31TCH 68743 25047"} {
		got, err := Parse(s)
		require.NoError(t, err, s)
		assert.Equal(t, want, got, s)
	}
	one, err := Parse("4QFJ1234567890")
	require.NoError(t, err)
	padded, err := Parse("04QFJ1234567890")
	require.NoError(t, err)
	assert.Equal(t, one, padded)
}

// At 84 N the grid is UPS, at 80 S it is UTM.
func TestLimitsOfUTM(t *testing.T) {
	assert.Equal(t, "ZBA1577643401", MGRS(orb.Point{10, 84}, 5))
	assert.True(t, strings.HasPrefix(MGRS(orb.Point{10, math.Nextafter(84, 0)}, 5), "33X"))
	assert.True(t, strings.HasPrefix(MGRS(orb.Point{0.5, -80}, 5), "31C"))
	assert.True(t, strings.HasPrefix(MGRS(orb.Point{0.5, math.Nextafter(-80, -90)}, 5), "B"))
	// The last row south of the equator is not the first one north of it.
	assert.Equal(t, "31MEV0000099999", MGRS(orb.Point{3, -1e-20}, 5))
	assert.Equal(t, "31NEA0000000000", MGRS(orb.Point{3, 0}, 5))
	assert.Equal(t, "60NZF3396700000", MGRS(orb.Point{179.9999, 0}, 5))
	// The meridian that parts the polar zones: a nanometre west of it is not
	// another square.
	for _, text := range []string{"B2000000 1000000", "Z2000000 2100000", "B2000000 3000000"} {
		pos, err := Parse(text)
		require.NoError(t, err)
		assert.Equal(t, text[:1], MGRS(pos.Point, 5)[:1], text)
		u, err := UPSOf(pos.Point)
		require.NoError(t, err)
		assert.Equal(t, text[:1], u.Letter, text)
	}
	assert.Panics(t, func() { MGRS(orb.Point{0, 0}, 9) })
	assert.Panics(t, func() { MGRS(orb.Point{0, 0}, -1) })
}

// Polar references from many goroutines: the race detector watches.
func TestPolarIsSafeForConcurrentUse(t *testing.T) {
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			p := orb.Point{10, 85}
			if i%2 == 0 {
				p[1] = -85
			}
			for range 50 {
				_, err := Parse(MGRS(p, 5))
				assert.NoError(t, err)
			}
		})
	}
	wg.Wait()
}

// A metre square whose north-west corner alone reaches into its band: where
// parallels run aslant on the grid.
func TestSquareOnABandEdge(t *testing.T) {
	for _, p := range []orb.Point{{20, 72}, {10, 72}, {20, 64}, {-70.2, -72}, {5.9, 48}, {0.1, 40}} {
		got, err := Parse(MGRS(p, 5))
		require.NoError(t, err)
		d, _, _ := earth.Inverse(p, got.Point)
		assert.Less(t, d, 0.75)
	}
}

// TestSquareLetters: the letters of a square are those of references in it, and
// coordinates that no square holds have none.
func TestSquareLetters(t *testing.T) {
	p := orb.Point{12.58, 51.4}
	u, err := UTMOf(p, 0)
	require.NoError(t, err)
	assert.Equal(t, MGRS(p, 0)[3:], SquareLetters(u.Zone, u.EastingM, u.NorthingM))
	for _, c := range []struct{ e, n float64 }{{99_999, 5e6}, {900_000, 5e6}, {500_000, -1}, {500_000, 10e6}, {math.NaN(), 5e6}, {500_000, math.NaN()}} {
		assert.Empty(t, SquareLetters(33, c.e, c.n), "%v", c)
	}
}
