package coord

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/golang/geo/s2"
	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/tzneal/coordconv"

	"farhail/geo/earth"
	"farhail/geo/geotest"
)

func TestGridCheck(t *testing.T) {
	geotest.Check(t, "coord-grid", func(in []string) ([]any, error) {
		pos, err := Parse(strings.Join(in, " "))
		if err != nil {
			return nil, err
		}
		return []any{pos.Point.Lat(), pos.Point.Lon(), MGRS(pos.Point, 5)}, nil
	})
}

// Zones at their edges, and the wide ones of Norway and Svalbard, with the bands:
// NGA.STND.0037 (2014), and the rows of the shared GeoConvert table.
func TestZones(t *testing.T) {
	for _, c := range []struct {
		lat, lon float64
		zone     int
		band     string
	}{
		{0, -180, 1, "N"}, {0, 180, 1, "N"}, {0, 179.9999, 60, "N"}, {0, 0, 31, "N"}, {-1e-9, -1e-9, 30, "M"},
		{55.9999, 5, 31, "U"}, {56, 2.9999, 31, "V"}, {56, 3, 32, "V"}, {63.9999, 11.9999, 32, "V"}, {60, 12, 33, "V"}, {64, 5, 31, "W"},
		{71.9999, 8, 32, "W"}, {72, 8.9999, 31, "X"}, {72, 9, 33, "X"}, {75, 20.9999, 33, "X"}, {75, 21, 35, "X"},
		{75, 33, 37, "X"}, {83.9999, 41.9999, 37, "X"}, {75, 42, 38, "X"}, {75, -0.0001, 30, "X"},
		{-80, 0, 31, "C"}, {-72.0001, 0, 31, "C"}, {-72, 0, 31, "D"}, {40, 0, 31, "T"}, {39.9999, 0, 31, "S"},
	} {
		u, err := UTMOf(orb.Point{c.lon, c.lat}, 0)
		require.NoError(t, err)
		assert.Equal(t, c.zone, u.Zone, "%v %v", c.lat, c.lon)
		assert.Equal(t, c.band, u.Band, "%v %v", c.lat, c.lon)
		assert.Equal(t, c.lat < 0, u.Hemisphere == "south")
	}
}

// The other implementation of UTM, a port of the Geotrans of the National
// Geospatial-Intelligence Agency, within 20 nanometres everywhere.
func TestUTMAgainstGeotrans(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	for range 3000 {
		p := anywhere(rng)
		u, err := UTMOf(p, 0)
		if !inUTM(p.Lat()) {
			require.ErrorIs(t, err, ErrPolar)
			continue
		}
		require.NoError(t, err)
		want, err := coordconv.DefaultUTMConverter.ConvertFromGeodetic(s2.LatLngFromDegrees(p.Lat(), p.Lon()), 0)
		require.NoError(t, err)
		require.Equal(t, want.Zone, u.Zone, "%v", p)
		require.InDelta(t, want.Easting, u.EastingM, 2e-8)
		require.InDelta(t, want.Northing, u.NorthingM, 2e-8)
	}
}

func TestForcedZone(t *testing.T) {
	p := orb.Point{5.999, 45} // zone 31, on the edge of 32
	own, err := UTMOf(p, 0)
	require.NoError(t, err)
	assert.Equal(t, 31, own.Zone)
	next, err := UTMOf(p, 32)
	require.NoError(t, err)
	assert.Equal(t, 32, next.Zone)
	want, err := coordconv.DefaultUTMConverter.ConvertFromGeodetic(s2.LatLngFromDegrees(45, 5.999), 32)
	require.NoError(t, err)
	assert.InDelta(t, want.Easting, next.EastingM, 2e-8)
	assert.InDelta(t, own.NorthingM, next.NorthingM, 20)
	assert.Less(t, next.ConvergenceDeg, 0.0)
	assert.Greater(t, own.ConvergenceDeg, 0.0)

	// Across the date line zone 60 and zone 1 are neighbours.
	_, err = UTMOf(orb.Point{-179.9, 10}, 60)
	assert.NoError(t, err)

	for _, zone := range []int{28, 34, 61, -1} {
		_, err := UTMOf(p, zone)
		assert.ErrorIs(t, err, ErrZoneFar, "%d", zone)
	}
	_, err = UTMOf(orb.Point{2, 45}, 33) // 13 degrees from 15 E
	assert.ErrorIs(t, err, ErrZoneFar)
	_, err = UTMOf(orb.Point{0, 84}, 31)
	assert.ErrorIs(t, err, ErrPolar)
	_, err = UTMOf(orb.Point{0, 91}, 0)
	assert.ErrorIs(t, err, ErrOffEarth)
}

func TestUTMRoundTrip(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	for range 2000 {
		p := anywhere(rng)
		u, err := UTMOf(p, 0)
		if err != nil {
			continue
		}
		forms := []string{fmt.Sprintf("%d %s %.3f %.3f", u.Zone, u.Hemisphere, u.EastingM, u.NorthingM)}
		if u.Band != "S" {
			forms = append(forms,
				fmt.Sprintf("%d%s %.3f %.3f", u.Zone, u.Band, u.EastingM, u.NorthingM),
				fmt.Sprintf("UTM %d %s %.3fE, %.3fN", u.Zone, u.Band, u.EastingM, u.NorthingM))
		}
		for _, s := range forms {
			got, err := Parse(s)
			require.NoError(t, err, s)
			require.Equal(t, NotationUTM, got.Notation)
			d, _, _ := earth.Inverse(p, got.Point)
			require.Less(t, d, 0.00072, s)
		}
	}
}

// Coordinates cut to whole metres may fall just outside their band or grid.
func TestCutCoordinatesAtAnEdge(t *testing.T) {
	for text, lat := range map[string]float64{
		"31T 500000 4427757": 40, // 40 N is at 4427757.2
		"Z 2115776 1343401":  84, // 84 N 10 E is at 2115776.1 1343401.4
		"n 2115776 1343401":  84,
	} {
		got, err := Parse(text)
		require.NoError(t, err, text)
		assert.InDelta(t, lat, got.Point.Lat(), 1e-5, text)
	}
}

// The letter S names band S and, for many, south: both readings are offered,
// and each of them reads.
func TestAmbiguousS(t *testing.T) {
	_, err := Parse("59S 500000 4000000")
	var e *Error
	require.ErrorAs(t, err, &e)
	assert.Contains(t, e.Message, "36.14472 N")
	assert.Contains(t, e.Message, "54.14810 S")
	assert.Equal(t, "write 59 north 500000 4000000 or 59F 500000 4000000", e.Hint())
	for text, lat := range map[string]float64{"59 north 500000 4000000": 36.14, "59F 500000 4000000": -54.14, "59 south 500000 4000000": -54.14} {
		got, err := Parse(text)
		require.NoError(t, err)
		assert.InDelta(t, lat, got.Point.Lat(), 0.01)
	}
}

func TestUPSAgainstGeotrans(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for range 500 {
		p := orb.Point{rng.Float64()*360 - 180, 84 + 6*rng.Float64()}
		if rng.IntN(2) == 0 {
			p[1] = -80 - 10*rng.Float64()
		}
		u, err := UPSOf(p)
		require.NoError(t, err)
		s := fmt.Sprintf("%s %.3f %.3f", u.Letter, u.EastingM, u.NorthingM)
		got, err := Parse(s)
		require.NoError(t, err, s)
		require.Equal(t, NotationUPS, got.Notation)
		d, _, _ := earth.Inverse(p, got.Point)
		require.Less(t, d, 0.00075, s)
	}
	_, err := UPSOf(orb.Point{0, 83.99999})
	assert.ErrorIs(t, err, ErrNotPolar)
	_, err = UPSOf(orb.Point{0, -80})
	assert.ErrorIs(t, err, ErrNotPolar)
	_, err = UPSOf(orb.Point{math.NaN(), 85})
	assert.ErrorIs(t, err, ErrOffEarth)
}

// Scale and convergence of UPS against what they mean.
func TestUPSScaleIsTheDerivative(t *testing.T) {
	for _, p := range []orb.Point{{10, 84}, {-120, 87}, {179, 89.9}, {30, -80.001}, {-100, -85}} {
		q, _ := earth.Direct(p, 0, 0.5)
		r, _ := earth.Direct(p, 180, 0.5)
		if !inUTM(q.Lat()) && !inUTM(r.Lat()) {
			u, err := UPSOf(p)
			require.NoError(t, err)
			a, err := UPSOf(q)
			require.NoError(t, err)
			b, err := UPSOf(r)
			require.NoError(t, err)
			e, n := a.EastingM-b.EastingM, a.NorthingM-b.NorthingM
			assert.InDelta(t, u.Scale, math.Hypot(e, n), 1e-7, "%v", p)
			assert.InDelta(t, 0, earth.Wrap180(u.ConvergenceDeg+math.Atan2(e, n)*180/math.Pi), 1e-6, "%v", p)
		}
	}
}

// The forms in which people write one coordinate.
func TestUTMForms(t *testing.T) {
	want, err := Parse("31T 368743 4725047")
	require.NoError(t, err)
	for _, text := range []string{
		"31 T 368743 4725047", "31t368743 4725047", "31T 368743mE 4725047mN", "31T 368743 m E, 4725047 m N",
		"31 north 368743 4725047", "31N 368743 4725047", "31 N, 368743, 4725047", "31 Nord 368743 4725047", "31T north 368743 4725047",
		"UTM 31T E 368743 N 4725047", "UTM zone 31N: 368743, 4725047", "zone 31 north 368743 4725047", "31T E368743 N4725047",
		"31T 0368743 4725047", "368743 4725047 31T", "368743E 4725047N 31T", "368743mE 4725047mN, zone 31 north",
		"4725047N 368743E 31T", "31T 4725047N 368743E", "31T 368743/4725047", "WGS84 UTM 31T 368743 4725047",
	} {
		got, err := Parse(text)
		require.NoError(t, err, text)
		assert.Equal(t, want.Point, got.Point, text)
		assert.Equal(t, NotationUTM, got.Notation, text)
	}
	south, err := Parse("59G 625676.332 5432405.140")
	require.NoError(t, err)
	for _, text := range []string{"59S south 625676.332 5432405.140", "59G south 625676.332 5432405.140", "59 Süd 625676.332 5432405.140", "625676.332 5432405.140 59 south"} {
		got, err := Parse(text)
		require.NoError(t, err, text)
		assert.Equal(t, south.Point, got.Point, text)
	}
	bandS, err := Parse("31S north 500000 4000000")
	require.NoError(t, err)
	assert.InDelta(t, 36.14, bandS.Point.Lat(), 0.01)
}
