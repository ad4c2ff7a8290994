package earth

import (
	"bufio"
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

func TestInverseCheck(t *testing.T) {
	for _, name := range []string{"earth-inverse", "earth-flinders"} {
		geotest.Check(t, name, func(in []string) ([]any, error) {
			v, err := geotest.Floats(in)
			if err != nil {
				return nil, err
			}
			d, dep, arr := Inverse(orb.Point{v[1], v[0]}, orb.Point{v[3], v[2]})
			return []any{d, float64(dep), float64(arr)}, nil
		})
	}
}

func TestDirectCheck(t *testing.T) {
	geotest.Check(t, "earth-direct", func(in []string) ([]any, error) {
		v, err := geotest.Floats(in)
		if err != nil {
			return nil, err
		}
		p, arr := Direct(orb.Point{v[1], v[0]}, True(v[2]), v[3])
		return []any{p.Lat(), p.Lon(), float64(arr)}, nil
	})
}

// readNumbers reads lines of numbers split by blanks or commas, leaving out a
// header line.
func readNumbers(t *testing.T, path string) [][]float64 {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	var rows [][]float64
	for s := bufio.NewScanner(f); s.Scan(); {
		var row []float64
		for _, w := range strings.FieldsFunc(s.Text(), func(r rune) bool { return r == ' ' || r == ',' }) {
			x, err := strconv.ParseFloat(w, 64)
			if err != nil {
				row = nil
				break
			}
			row = append(row, x)
		}
		if row != nil {
			rows = append(rows, row)
		}
	}
	return rows
}

// Karney, C. F. F. (2010), Test set for geodesics, doi:10.5281/zenodo.32156, a
// choice of 60 lines that has near-antipodal, polar and very short ones. Its
// lengths are printed to 0.1 micrometre, and right to 15 nanometres where the
// program that it tests is.
func TestGeodTest(t *testing.T) {
	rows := readNumbers(t, filepath.Join(geotest.Shared(t), "data", "reference", "GeodTest-60.dat"))
	require.Len(t, rows, 60)
	for i, r := range rows {
		from, to := orb.Point{r[1], r[0]}, orb.Point{r[4], r[3]}
		d, dep, arr := Inverse(from, to)
		assert.InDelta(t, r[6], d, 1e-7, "line %d: length", i+1)
		end, endArr := Direct(from, NewTrue(r[2]), r[6])
		assert.Less(t, apartM(end, to), 1.5e-7, "line %d: end", i+1)
		// Bearings at the ends of very short, near-antipodal and polar lines
		// turn fast; what they move the end by is what counts.
		assert.Less(t, math.Abs(Wrap180(float64(dep)-r[2]))*degree*math.Abs(r[8]), 1e-6, "line %d: departure", i+1)
		assert.Less(t, math.Abs(Wrap180(float64(arr)-r[5]))*degree*math.Abs(r[8]), 1e-6, "line %d: arrival", i+1)
		if math.Abs(end.Lat()) < 89.9 {
			assert.InDelta(t, 0, Wrap180(float64(endArr)-r[5]), 1e-8, "line %d: arrival by Direct", i+1)
		}
	}
}

// 208 lines of 0.1 m to 100 km computed with GeographicLib 2.1.2, GeodSolve.
func TestShortGeodesics(t *testing.T) {
	rows := readNumbers(t, filepath.Join(geotest.Shared(t), "data", "reference", "geod-short-geodsolve.csv"))
	require.Len(t, rows, 208)
	for i, r := range rows {
		from, to := orb.Point{r[1], r[0]}, orb.Point{r[5], r[4]}
		d, dep, arr := Inverse(from, to)
		assert.InDelta(t, r[3], d, 2e-8, "row %d: length", i+1)
		assert.Less(t, math.Abs(Wrap180(float64(dep)-r[2]))*degree*d, 3e-8, "row %d: departure", i+1)
		assert.Less(t, math.Abs(Wrap180(float64(arr)-r[6]))*degree*d, 3e-8, "row %d: arrival", i+1)
		end, _ := Direct(from, NewTrue(r[2]), r[3])
		assert.Less(t, apartM(end, to), 2e-8, "row %d: end", i+1)
	}
}

// apartM is the distance of two positions that nearly coincide, from their
// differences in degrees, so that a fault in Inverse cannot hide one in Direct.
func apartM(p, q orb.Point) float64 {
	east, north := MetresPerDegree(p.Lat())
	return math.Hypot(Wrap180(p.Lon()-q.Lon())*east, (p.Lat()-q.Lat())*north)
}

func TestDirectInverseClose(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 2000 {
		from := randomPoint(rng)
		b := NewTrue(rng.Float64() * 360)
		d := math.Pow(10, rng.Float64()*7.2-1) // 0.1 m to 16 000 km
		to, arrival := Direct(from, b, d)
		d2, dep2, arr2 := Inverse(from, to)
		require.InDelta(t, d, d2, 1e-7, "%v %v %v", from, b, d)
		require.InDelta(t, 0, Wrap180(float64(dep2-b))*degree*math.Min(d, 1e6), 1e-6, "%v %v %v", from, b, d)
		require.InDelta(t, 0, Wrap180(float64(arr2-arrival))*degree*math.Min(d, 1e6), 1e-6, "%v %v %v", from, b, d)

		// The way back is as long and leaves in the opposite of the arrival.
		d3, dep3, _ := Inverse(to, from)
		require.InDelta(t, d2, d3, 1e-8)
		require.InDelta(t, 0, Wrap180(float64(dep3-arr2.Back()))*degree*math.Min(d, 1e6), 1e-6)

		back, _ := Direct(to, arrival, -d)
		require.Less(t, apartM(back, from), 1e-7)
	}
}

// randomPoint is a position evenly spread over the globe, the last thousandth
// before the poles left out because bearings there have no meaning to compare.
func randomPoint(rng *rand.Rand) orb.Point {
	return orb.Point{rng.Float64()*360 - 180, math.Asin(1.998*rng.Float64()-0.999) / degree}
}

func TestGeodesicRefuses(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	good := orb.Point{1.5, 42.5}
	for _, bad := range []orb.Point{{0, 90.000001}, {0, -91}, {nan, 0}, {0, nan}, {inf, 0}, {0, inf}} {
		for _, pair := range [][2]orb.Point{{bad, good}, {good, bad}} {
			d, dep, arr := Inverse(pair[0], pair[1])
			assert.True(t, math.IsNaN(d) && math.IsNaN(float64(dep)) && math.IsNaN(float64(arr)), "%v", pair)
		}
		p, arr := Direct(bad, 0, 1)
		assert.True(t, math.IsNaN(p.Lon()) && math.IsNaN(p.Lat()) && math.IsNaN(float64(arr)), "%v", bad)
	}
	for _, bad := range []float64{nan, inf} {
		p, _ := Direct(good, True(bad), 1)
		assert.True(t, math.IsNaN(p.Lat()))
		p, _ = Direct(good, 0, bad)
		assert.True(t, math.IsNaN(p.Lat()))
	}
}

func TestZeroLength(t *testing.T) {
	for _, p := range []orb.Point{{1.5, 42.5}, {0, 90}, {180, 0}} {
		d, dep, arr := Inverse(p, p)
		assert.Zero(t, d)
		assert.True(t, math.IsNaN(float64(dep)) && math.IsNaN(float64(arr)))
	}
	d, _, _ := Inverse(orb.Point{180, 10}, orb.Point{-180, 10})
	assert.Zero(t, d, "the same meridian written twice")
}
