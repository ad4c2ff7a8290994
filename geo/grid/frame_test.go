package grid

import (
	"math"
	"math/rand/v2"
	"testing"

	"farhail/geo/earth"
	"farhail/geo/geotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// frames are grids of every kind, also over the 180th meridian and south.
var frames = map[string]Frame{
	"3 arc-seconds":        {X0: 1, Y0: 43, DX: 1.0 / 1200, DY: 1.0 / 1200, Cols: 1201, Rows: 1201},
	"over 180 degrees":     {X0: 179.5, Y0: -16, DX: 0.01, DY: 0.02, Cols: 101, Rows: 51},
	"west of 180 degrees":  {X0: -180.5, Y0: 60, DX: 0.01, DY: 0.01, Cols: 101, Rows: 51},
	"UTM north":            {CRS: CRS{Zone: 31}, X0: 350000, Y0: 4712000, DX: 50, DY: 25, Cols: 1000, Rows: 900},
	"UTM south":            {CRS: CRS{Zone: 19, South: true}, X0: 400000, Y0: 6300000, DX: 30, DY: 30, Cols: 700, Rows: 800},
	"UTM, a zone's width":  {CRS: CRS{Zone: 32}, X0: 200000, Y0: 5500000, DX: 100, DY: 100, Cols: 6001, Rows: 100},
	"one cell":             {X0: 7, Y0: 46, DX: 0.1, DY: 0.1, Cols: 1, Rows: 1},
	"all round the Earth":  {X0: -179.5, Y0: 89.5, DX: 1, DY: 1, Cols: 360, Rows: 180},
	"longitudes above 180": {X0: 200, Y0: 50, DX: 0.1, DY: 0.1, Cols: 41, Rows: 41},
}

func TestFrameRoundTrip(t *testing.T) {
	for name, f := range frames {
		t.Run(name, func(t *testing.T) {
			require.NoError(t, f.Validate())
			rng := rand.New(rand.NewPCG(1, 1))
			for range 500 {
				col, row := rng.Float64()*float64(f.Cols-1), rng.Float64()*float64(f.Rows-1)
				p := f.Point(col, row)
				require.True(t, p.Lon() >= -180 && p.Lon() <= 180, "%v", p)
				c, r := f.Cell(p)
				require.InDelta(t, col, c, 1e-6)
				require.InDelta(t, row, r, 1e-6)
				require.True(t, f.Inside(c, r))
				x, y := f.XY(col, row)
				c, r = f.CellXY(x, y)
				require.InDelta(t, col, c, 1e-7)
				require.InDelta(t, row, r, 1e-7)
			}
			// Two cells outside is outside, on each side.
			n, m := float64(f.Cols), float64(f.Rows)
			for _, out := range [][2]float64{{-1, 0}, {n, 0}, {0, -1}, {0, m}, {math.NaN(), 0}} {
				assert.False(t, f.Inside(out[0], out[1]))
			}
		})
	}
}

// TestMetres compares a cell's ground size with geodesics between the centres
// of cells around it.
func TestMetres(t *testing.T) {
	for name, f := range frames {
		// The meridians converge too much over a degree for one number.
		if name == "all round the Earth" {
			continue
		}
		t.Run(name, func(t *testing.T) {
			for _, row := range []int{0, f.Rows / 2, f.Rows - 1} {
				for _, col := range []int{0, f.Cols / 2, f.Cols - 1} {
					c, r := float64(col), float64(row)
					eastWest, _, _ := earth.Inverse(f.Point(c-0.5, r), f.Point(c+0.5, r))
					northSouth, _, _ := earth.Inverse(f.Point(c, r-0.5), f.Point(c, r+0.5))
					east, north := f.MetresAt(c, r)
					tolerance := 1e-6
					if f.OneScale() {
						tolerance = 4e-4 // as MetresAt promises
					}
					assert.InEpsilon(t, eastWest, east, tolerance, "column %d, row %d", col, row)
					assert.InEpsilon(t, northSouth, north, tolerance, "column %d, row %d", col, row)
					e, n := f.Metres(row)
					assert.InEpsilon(t, eastWest, e, 1.4e-3, "as Metres promises")
					assert.InDelta(t, e*n, f.AreaM2(row), 1e-9)
				}
			}
		})
	}
}

// TestAreaOfDegrees: the area of one degree by one between 42 and 43 N summed
// from cells, against the closed form for the ellipsoid's zone (Snyder 1987,
// eq. 3-12 for q, p. 16, from memory): a²(q2 - q1)/2 Δλ.
func TestAreaOfDegrees(t *testing.T) {
	const n = 1200
	f := Frame{X0: 1 + 0.5/n, Y0: 43 - 0.5/n, DX: 1.0 / n, DY: 1.0 / n, Cols: n, Rows: n}
	sum := 0.0
	for row := range f.Rows {
		sum += f.AreaM2(row) * n
	}
	e2 := earth.Flattening * (2 - earth.Flattening)
	e := math.Sqrt(e2)
	q := func(lat float64) float64 {
		s := math.Sin(lat * math.Pi / 180)
		return (1 - e2) * (s/(1-e2*s*s) - math.Log((1-e*s)/(1+e*s))/(2*e))
	}
	want := earth.SemiMajorM * earth.SemiMajorM * (q(43) - q(42)) / 2 * math.Pi / 180
	assert.InEpsilon(t, want, sum, 1e-7)
}

func TestBound(t *testing.T) {
	f := frames["3 arc-seconds"]
	b := f.Bound()
	assert.InDelta(t, 1-1.0/2400, b.Min.Lon(), 1e-12)
	assert.InDelta(t, 43+1.0/2400, b.Max.Lat(), 1e-12)
	// Every cell's corners lie in the box of a projected grid, by a metre.
	for _, name := range []string{"UTM north", "UTM south", "UTM, a zone's width"} {
		f := frames[name]
		b := f.Bound().Pad(1e-5)
		for _, c := range []float64{-0.5, 0, float64(f.Cols) / 3, float64(f.Cols) - 0.5} {
			for _, r := range []float64{-0.5, float64(f.Rows) / 2, float64(f.Rows) - 0.5} {
				assert.True(t, b.Contains(f.Point(c, r)), "%s: column %g, row %g", name, c, r)
			}
		}
	}
	assert.Greater(t, frames["over 180 degrees"].Bound().Max.Lon(), 180.0)
}

func TestValidate(t *testing.T) {
	good := frames["UTM north"]
	for name, change := range map[string]func(f *Frame){
		"no columns":        func(f *Frame) { f.Cols = 0 },
		"no rows":           func(f *Frame) { f.Rows = -1 },
		"no size":           func(f *Frame) { f.DX = 0 },
		"south up":          func(f *Frame) { f.DY = -30 },
		"not a number":      func(f *Frame) { f.X0 = math.NaN() },
		"infinite":          func(f *Frame) { f.DX = math.Inf(1) },
		"no place on Earth": func(f *Frame) { f.Y0 = 3e7 },
		"beyond the pole":   func(f *Frame) { *f = Frame{X0: 0, Y0: 91, DX: 1, DY: 1, Cols: 1, Rows: 1} },
		"twice round":       func(f *Frame) { *f = Frame{X0: 0, Y0: 10, DX: 1, DY: 1, Cols: 400, Rows: 1} },
		"zero value":        func(f *Frame) { *f = Frame{} },
	} {
		f := good
		change(&f)
		require.ErrorIs(t, f.Validate(), ErrFrame, name)
	}
}

func TestCRS(t *testing.T) {
	// EPSG data set: 4326 WGS 84, 32631 zone 31N, 32725 zone 25S.
	for code, want := range map[int]CRS{4326: {}, 32631: {Zone: 31}, 32725: {Zone: 25, South: true}, 32660: {Zone: 60}, 32701: {Zone: 1, South: true}} {
		got, ok := FromEPSG(code)
		assert.True(t, ok)
		assert.Equal(t, want, got)
		assert.Equal(t, code, got.EPSG())
	}
	for _, code := range []int{0, 3857, 32600, 32661, 32700, 32761, 2154} {
		_, ok := FromEPSG(code)
		assert.False(t, ok, "%d", code)
	}
	assert.Equal(t, "EPSG:32725", CRS{Zone: 25, South: true}.String())
}

// TestScale: on the central meridian the scale of UTM is 0.9996 by definition.
func TestScale(t *testing.T) {
	f := Frame{CRS: CRS{Zone: 31}, X0: 499000, Y0: 4700000, DX: 100, DY: 100, Cols: 21, Rows: 21}
	east, north := f.Metres(0)
	assert.InDelta(t, 100/0.9996, east, 1e-5)
	assert.InDelta(t, 100/0.9996, north, 1e-5)
	assert.True(t, f.OneScale())
	assert.False(t, frames["UTM, a zone's width"].OneScale())
	assert.False(t, frames["3 arc-seconds"].OneScale())
}

func TestMetresPerCellCheck(t *testing.T) {
	geotest.Check(t, "cell-metres", func(in []string) ([]any, error) {
		v, err := geotest.Floats(in)
		if err != nil {
			return nil, err
		}
		f := Frame{X0: v[0], Y0: v[1], DX: v[2], DY: v[2], Cols: 1, Rows: 1}
		east, north := f.Metres(0)
		return []any{east, north}, nil
	})
}
