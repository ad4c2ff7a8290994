package earth

import (
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/geotest"
)

func TestMercatorCheck(t *testing.T) {
	tm := NewTM(orb.Point{0, 0}, 1, 0, 0)
	geotest.Check(t, "earth-mercator", func(in []string) ([]any, error) {
		v, err := geotest.Floats(in)
		if err != nil {
			return nil, err
		}
		p := orb.Point{v[1], v[0]}
		e, n := tm.Forward(p)
		return []any{e, n, tm.ConvergenceDeg(p), tm.Scale(p)}, nil
	})
}

func TestUTMCheck(t *testing.T) {
	geotest.Check(t, "earth-utm", func(in []string) ([]any, error) {
		v, err := geotest.Floats([]string{in[0], in[2], in[3]})
		if err != nil {
			return nil, err
		}
		tm := UTM(int(v[0]), in[1] == "yes")
		p := orb.Point{v[2], v[1]}
		e, n := tm.Forward(p)
		return []any{e, n, tm.ConvergenceDeg(p), tm.Scale(p)}, nil
	})
}

// The UTM rows of a table computed with GeographicLib 2.1.2, GeoConvert.
func TestUTMReference(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(geotest.Shared(t), "data", "reference", "mgrs-geoconvert.csv"))
	require.NoError(t, err)
	rows := 0
	for _, line := range strings.Split(strings.TrimSpace(string(data)), "\n")[1:] {
		before, after, _ := strings.Cut(line, `"`)
		_, after, _ = strings.Cut(after, `"`)
		pos := strings.Split(before, ",")
		rest := strings.Split(after, ",")
		grid := strings.Fields(rest[4])
		if len(grid[0]) < 2 {
			continue // polar
		}
		rows++
		p := orb.Point{number(t, pos[1]), number(t, pos[0])}
		zone := int(number(t, strings.TrimRight(grid[0], "ns")))
		tm := UTM(zone, strings.HasSuffix(grid[0], "s"))
		e, n := tm.Forward(p)
		assert.InDelta(t, number(t, grid[1]), e, 6e-7, line)
		assert.InDelta(t, number(t, grid[2]), n, 6e-7, line)
		assert.InDelta(t, number(t, rest[5]), tm.ConvergenceDeg(p), 6e-12, line)
		assert.InDelta(t, number(t, rest[6]), tm.Scale(p), 6e-14, line)
		assert.Less(t, apartM(p, tm.Inverse(e, n)), 5e-9, line)
	}
	assert.Equal(t, 20, rows)
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	require.NoError(t, err)
	return x
}

// (2a + b)/3, to the decimetre that the constant is given to.
func TestMeanRadius(t *testing.T) {
	assert.InDelta(t, SemiMajorM*(3-Flattening)/3, MeanRadiusM, 0.05)
}

// The length of the quarter meridian of WGS84 is 10 001 965.7293 m (Snyder 1987,
// p. 17, for GRS80 10 001 965.7293; from memory).
func TestQuarterMeridian(t *testing.T) {
	_, north := NewTM(orb.Point{0, 0}, 1, 0, 0).Forward(orb.Point{0, 90})
	assert.InDelta(t, 10001965.7293, north, 0.0001)
	d, _, _ := Inverse(orb.Point{10, 0}, orb.Point{10, 90})
	assert.InDelta(t, d, north, 1e-8, "a meridian is a geodesic")
}

func TestMercatorRoundTrip(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	worst := 0.0
	for range 5000 {
		p := orb.Point{rng.Float64()*360 - 180, math.Asin(2*rng.Float64()-1) / degree}
		origin := orb.Point{p.Lon() + (rng.Float64()-0.5)*60, rng.Float64()*180 - 90}
		tm := NewTM(origin, 0.9996, 500e3, 0)
		worst = math.Max(worst, apartM(p, tm.Inverse(tm.Forward(p))))
		e, n := tm.Forward(origin)
		require.InDelta(t, 500e3, e, 1e-9)
		require.InDelta(t, 0, n, 1e-9)
	}
	assert.Less(t, worst, 1e-8, "30 degrees either side")
}

// Mirror images in the equator and the central meridian have the same scale
// and opposite coordinates.
func TestMercatorSymmetric(t *testing.T) {
	tm := NewTM(orb.Point{0, 0}, 1, 0, 0)
	for lat := 0.0; lat < 90; lat += 7 {
		for lon := 0.0; lon <= 40; lon += 5 {
			e, n := tm.Forward(orb.Point{lon, lat})
			for _, s := range [][2]float64{{1, -1}, {-1, 1}, {-1, -1}} {
				p := orb.Point{s[0] * lon, s[1] * lat}
				e2, n2 := tm.Forward(p)
				require.InDelta(t, s[0]*e, e2, 1e-9)
				require.InDelta(t, s[1]*n, n2, 1e-9)
				require.InDelta(t, tm.Scale(orb.Point{lon, lat}), tm.Scale(p), 1e-14)
				require.InDelta(t, s[0]*s[1]*tm.ConvergenceDeg(orb.Point{lon, lat}), tm.ConvergenceDeg(p), 1e-12)
			}
		}
	}
}

// Scale and convergence against what they mean: the image of a metre north.
func TestScaleIsTheDerivative(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 300 {
		p := orb.Point{rng.Float64()*50 - 25, rng.Float64()*170 - 85}
		tm := NewTM(orb.Point{0, 0}, 0.9996, 0, 0)
		q, _ := Direct(p, 0, 0.5)
		r, _ := Direct(p, 180, 0.5)
		e1, n1 := tm.Forward(q)
		e2, n2 := tm.Forward(r)
		require.InDelta(t, tm.Scale(p), math.Hypot(e1-e2, n1-n2), 1e-8)
		gridBearing := math.Atan2(e1-e2, n1-n2) / degree
		require.InDelta(t, tm.ConvergenceDeg(p), -gridBearing, 1e-6)
	}
}

func TestMercatorOverThePole(t *testing.T) {
	tm := NewTM(orb.Point{20, 89.9}, 1, 0, 0)
	for _, p := range []orb.Point{{20, 90}, {-160, 89.5}, {110, 89.99}, {-70, 88}} {
		e, n := tm.Forward(p)
		q := tm.Inverse(e, n)
		assert.Less(t, apartM(p, q), 1e-8, "%v", p)
	}
	assert.InDelta(t, 1, tm.Scale(orb.Point{77, 90}), 1e-14)
	_, n := tm.Forward(orb.Point{-160, 89.9}) // straight over the pole
	d, _, _ := Inverse(orb.Point{20, 89.9}, orb.Point{-160, 89.9})
	assert.InDelta(t, d, n, 1e-8)
}

func TestMercatorRefuses(t *testing.T) {
	tm := UTM(31, false)
	for _, p := range []orb.Point{{0, 91}, {math.NaN(), 0}, {0, math.NaN()}} {
		e, n := tm.Forward(p)
		assert.True(t, math.IsNaN(e) && math.IsNaN(n))
		assert.True(t, math.IsNaN(tm.Scale(p)) && math.IsNaN(tm.ConvergenceDeg(p)))
	}
	assert.True(t, math.IsNaN(tm.Inverse(math.NaN(), 0).Lat()))
	assert.True(t, math.IsNaN(tm.Inverse(0, math.Inf(1)).Lon()))
	for _, zone := range []int{0, 61, -1} {
		assert.Panics(t, func() { UTM(zone, false) })
	}
}

func TestMetresPerDegreeCheck(t *testing.T) {
	geotest.Check(t, "earth-degree", func(in []string) ([]any, error) {
		v, err := geotest.Floats(in)
		if err != nil {
			return nil, err
		}
		east, north := MetresPerDegree(v[0])
		return []any{north, east}, nil
	})
	e, n := MetresPerDegree(90)
	assert.InDelta(t, 0, e, 1e-9)
	assert.Greater(t, n, 111690.0)
	e, n = MetresPerDegree(90.1)
	assert.True(t, math.IsNaN(e) && math.IsNaN(n))
}
