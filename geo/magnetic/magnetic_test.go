package magnetic

import (
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/geotest"
)

// at2025 is a moment of a decimal year.
func at2025(t *testing.T, year float64) time.Time {
	t.Helper()
	y := int(year)
	start := time.Date(y, 1, 1, 0, 0, 0, 0, time.UTC)
	end := time.Date(y+1, 1, 1, 0, 0, 0, 0, time.UTC)
	when := start.Add(time.Duration(math.Round((year - float64(y)) * float64(end.Sub(start)))))
	require.InDelta(t, year, decimalYear(when), 1e-9)
	return when
}

func TestDeclinationCheck(t *testing.T) {
	geotest.Check(t, "magnetic-wmm2025", func(in []string) ([]any, error) {
		v, err := geotest.Floats(in)
		if err != nil {
			return nil, err
		}
		f, err := At(orb.Point{v[3], v[2]}, v[1]*1000, at2025(t, v[0]))
		return []any{f.DeclinationDeg, f.InclinationDeg, f.HorizontalNT, f.TotalNT}, err
	})
}

func TestDeclinationByDate(t *testing.T) {
	geotest.Check(t, "magnetic-date", func(in []string) ([]any, error) {
		v, err := geotest.Floats(in[1:])
		if err != nil {
			return nil, err
		}
		day, err := time.Parse(time.DateOnly, in[0])
		if err != nil {
			return nil, err
		}
		f, err := At(orb.Point{v[1], v[0]}, v[2], day)
		return []any{f.DeclinationDeg, f.InclinationDeg, f.HorizontalNT, f.TotalNT}, err
	})
}

// readRows reads the lines of numbers of one of the publisher's tables.
func readRows(t *testing.T, name string) [][]float64 {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(geotest.Shared(t), "data", "reference", name))
	require.NoError(t, err)
	var rows [][]float64
	for _, line := range strings.Split(string(data), "\n") {
		if line == "" || line[0] == '#' {
			continue
		}
		var row []float64
		for _, w := range strings.Fields(line) {
			v, err := strconv.ParseFloat(w, 64)
			require.NoError(t, err)
			row = append(row, v)
		}
		rows = append(rows, row)
	}
	return rows
}

// The publisher's test values: declination and inclination printed to 0.01
// degree, the components to 1e-6 nT. East and down agree to the last figure; the
// publisher's north differs from ours by up to 7e-4 nT, 3 parts in 1e8, for a
// reason that is not known: our slopes fulfil their identity to 1e-13 (below).
func TestOfficialValues(t *testing.T) {
	rows := readRows(t, "WMM2025_TEST_VALUES.txt")
	require.GreaterOrEqual(t, len(rows), 59)
	for i, r := range rows {
		p, h, years := orb.Point{r[3], r[2]}, r[1]*1000, r[0]-firstYear
		f, err := At(p, h, at2025(t, r[0]))
		require.NoError(t, err)
		assert.InDelta(t, r[4], f.DeclinationDeg, 0.006, "row %d", i+1)
		assert.InDelta(t, r[5], f.InclinationDeg, 0.006, "row %d", i+1)
		assert.InDelta(t, r[6], f.HorizontalNT, 1e-3, "row %d", i+1)
		assert.InDelta(t, r[10], f.TotalNT, 1e-3, "row %d", i+1)
		north, east, down := components(p, h, years)
		assert.InDelta(t, r[7], north, 1e-3, "row %d", i+1)
		assert.InDelta(t, r[8], east, 3e-6, "row %d", i+1)
		assert.InDelta(t, r[9], down, 3e-6, "row %d", i+1)
		// The yearly change: over one year, since it is linear in X, Y and Z.
		n2, e2, d2 := components(p, h, years+1)
		assert.InDelta(t, r[14], n2-north, 3e-6, "row %d", i+1)
		assert.InDelta(t, r[15], e2-east, 3e-6, "row %d", i+1)
		assert.InDelta(t, r[16], d2-down, 3e-6, "row %d", i+1)
	}
}

// The twelve rows of the technical report's table of test values.
func TestReportValues(t *testing.T) {
	rows := readRows(t, "WMM2025_TEST_VALUES-12rows.txt")
	require.Len(t, rows, 12)
	for i, r := range rows {
		p, h := orb.Point{r[3], r[2]}, r[1]*1000
		f, err := At(p, h, at2025(t, r[0]))
		require.NoError(t, err)
		north, east, down := components(p, h, r[0]-firstYear)
		for j, got := range []float64{north, east, down, f.HorizontalNT, f.TotalNT} {
			assert.InDelta(t, r[4+j], got, 0.0501, "row %d, column %d", i+1, 5+j)
		}
		assert.InDelta(t, r[9], f.InclinationDeg, 0.00501, "row %d", i+1)
		assert.InDelta(t, r[10], f.DeclinationDeg, 0.00501, "row %d", i+1)
	}
}

// The recurrences against the closed forms of the first degrees, Schmidt
// semi-normalised (any text of geomagnetism), and P/sin θ against P.
func TestLegendreFirstDegrees(t *testing.T) {
	for _, θ := range []float64{0, 0.3, 1, math.Pi / 2, 2.5, math.Pi} {
		s, c := math.Sincos(θ)
		l := legendre(c, s)
		for _, f := range []struct {
			n, m         int
			value, slope float64
		}{
			{1, 0, c, -s},
			{1, 1, s, c},
			{2, 0, (3*c*c - 1) / 2, -3 * c * s},
			{2, 1, math.Sqrt(3) * c * s, math.Sqrt(3) * (c*c - s*s)},
			{2, 2, math.Sqrt(3) / 2 * s * s, math.Sqrt(3) * s * c},
			{3, 0, (5*c*c*c - 3*c) / 2, -s * (15*c*c - 3) / 2},
			{3, 1, math.Sqrt(6) / 4 * s * (5*c*c - 1), math.Sqrt(6) / 4 * (c*(5*c*c-1) - 10*c*s*s)},
			{3, 3, math.Sqrt(10) / 4 * s * s * s, 3 * math.Sqrt(10) / 4 * s * s * c},
		} {
			assert.InDelta(t, f.value, l.value[f.n][f.m], 1e-14, "P%d%d at %v", f.n, f.m, θ)
			assert.InDelta(t, f.slope, l.slope[f.n][f.m], 1e-14, "P%d%d at %v", f.n, f.m, θ)
		}
		for n := 1; n <= degree; n++ {
			for m := 0; m <= n; m++ {
				if m > 0 {
					assert.InDelta(t, l.value[n][m], s*l.overSin[n][m], 1e-14, "P%d%d at %v", n, m, θ)
				}
				// sin θ dP/dθ = n cos θ P(n,m) - sqrt(n² - m²) P(n-1,m)
				want := float64(n)*c*l.value[n][m] - math.Sqrt(float64(n*n-m*m))*l.value[n-1][m]
				assert.InDelta(t, want, s*l.slope[n][m], 1e-13, "P%d%d at %v", n, m, θ)
			}
		}
	}
}

// At a pole the field is one arrow whatever the longitude: only the meridian it
// is measured from turns.
func TestPoles(t *testing.T) {
	for _, lat := range []float64{90, -90} {
		n0, e0, d0 := components(orb.Point{0, lat}, 0, 1)
		for _, lon := range []float64{30, 90, -120, 180} {
			n, e, d := components(orb.Point{lon, lat}, 0, 1)
			assert.InDelta(t, d0, d, 1e-6)
			assert.InDelta(t, math.Hypot(n0, e0), math.Hypot(n, e), 1e-6)
			turn := math.Atan2(e, n) - math.Atan2(e0, n0)
			assert.InDelta(t, 0, math.Remainder(turn*180/math.Pi-math.Copysign(lon, lon*lat), 360), 1e-6)
		}
		near, _, _ := components(orb.Point{0, lat * (1 - 1e-9)}, 0, 1)
		assert.InDelta(t, n0, near, 1e-3, "no jump at the pole")
	}
}

func TestRange(t *testing.T) {
	place := orb.Point{1.5, 42.5}
	for _, c := range []struct {
		when string
		ok   bool
	}{
		{"2024-12-31T23:59:59Z", false}, {"2025-01-01T00:00:00Z", true}, {"2029-12-31T23:59:59Z", true},
		{"2030-01-01T00:00:00Z", true}, {"2030-01-01T00:00:01Z", false}, {"2020-07-04T00:00:00Z", false},
		// The year is that of UTC, whatever the zone of the time.
		{"2025-01-01T00:30:00+01:00", false},
	} {
		when, err := time.Parse(time.RFC3339, c.when)
		require.NoError(t, err)
		_, err = At(place, 0, when)
		if c.ok {
			assert.NoError(t, err, c.when)
		} else {
			assert.ErrorIs(t, err, ErrOutOfDate, c.when)
		}
	}
	_, err := At(place, 0, time.Time{})
	assert.ErrorIs(t, err, ErrOutOfDate)
	ok := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		p orb.Point
		h float64
	}{{orb.Point{0, 91}, 0}, {orb.Point{math.NaN(), 0}, 0}, {orb.Point{math.Inf(1), 0}, 0}, {place, -1001}, {place, 851e3}, {place, math.NaN()}} {
		_, err := At(c.p, c.h, ok)
		assert.ErrorIs(t, err, ErrOutOfRange, "%v", c)
	}
	a, err := At(orb.Point{181.5, 42.5}, 0, ok)
	require.NoError(t, err)
	b, err := At(orb.Point{-178.5, 42.5}, 0, ok)
	require.NoError(t, err)
	assert.InDelta(t, b.DeclinationDeg, a.DeclinationDeg, 1e-9)
}

func TestDecimalYear(t *testing.T) {
	assert.Equal(t, 2028.0, decimalYear(time.Date(2028, 1, 1, 0, 0, 0, 0, time.UTC)))
	assert.InDelta(t, 2028+185/366.0, decimalYear(time.Date(2028, 7, 4, 0, 0, 0, 0, time.UTC)), 1e-12, "a leap year")
	assert.InDelta(t, 2027+184.5/365.0, decimalYear(time.Date(2027, 7, 4, 12, 0, 0, 0, time.UTC)), 1e-12)
}

// Where the compass fails: north of Ellesmere Island, and off Adelie Land, where
// the magnetic poles of 2025 lie.
func TestZones(t *testing.T) {
	when := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		p    orb.Point
		zone Zone
	}{
		{orb.Point{1.5, 42.5}, Normal}, {orb.Point{-90, 67}, Normal}, {orb.Point{-90, 67.5}, Caution}, {orb.Point{-90, 85}, Caution}, {orb.Point{-90, 85.5}, Blackout}, {orb.Point{140, 86}, Blackout}, {orb.Point{136, -64}, Blackout},
	} {
		f, err := At(c.p, 0, when)
		require.NoError(t, err)
		assert.Equal(t, c.zone, f.Zone, "%v: H %v nT", c.p, f.HorizontalNT)
		assert.Equal(t, "WMM2025", f.Model)
	}
}

// The error model worked out by hand.
func TestDeclinationError(t *testing.T) {
	assert.InDelta(t, 0.413, declinationError(16907), 0.0005)
	assert.InDelta(t, 0.353, declinationError(22725), 0.0005)
	assert.Greater(t, declinationError(100), 54.0)
}

func TestConcurrentUse(t *testing.T) {
	when := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	want, err := At(orb.Point{1.5, 42.5}, 0, when)
	require.NoError(t, err)
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for lat := -80.0; lat < 80; lat += 10 {
				_, err := At(orb.Point{0, lat}, 0, when)
				assert.NoError(t, err)
				got, err := At(orb.Point{1.5, 42.5}, 0, when)
				assert.NoError(t, err)
				assert.Equal(t, want, got)
			}
		})
	}
	wg.Wait()
}
