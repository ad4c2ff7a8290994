package grid

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/require"
)

var (
	lonLat = Frame{X0: 1.5, Y0: 42.6, DX: 1.0 / 1200, DY: 1.0 / 1200}
	utm    = Frame{CRS: CRS{Zone: 31}, X0: 380000, Y0: 4710000, DX: 30, DY: 50}
)

func sized(f Frame, cols, rows int) Frame {
	f.Cols, f.Rows = cols, rows
	return f
}

// rows turns a drawing into values: a digit is a value, '.' is no data, '+' is
// +Inf.
func drawn(f Frame, lines ...string) (Frame, []float32) {
	f = sized(f, len(lines[0]), len(lines))
	var v []float32
	for _, l := range lines {
		for _, c := range l {
			switch c {
			case '.':
				v = append(v, float32(math.NaN()))
			case '+':
				v = append(v, float32(math.Inf(1)))
			default:
				v = append(v, float32(c-'0'))
			}
		}
	}
	return f, v
}

// requireOutline checks what Outline promises of every result: valid rings,
// their direction, and every cell centre on its right side.
func requireOutline(t *testing.T, f Frame, v []float32, level float64) orb.MultiPolygon {
	t.Helper()
	shape := Outline(f, v, level)
	var polygons []geom.Polygon
	for _, p := range shape {
		var lines []geom.LineString
		for i, ring := range p {
			require.Equal(t, ring[0], ring[len(ring)-1], "closed")
			if i == 0 {
				require.Equal(t, orb.CCW, ring.Orientation(), "outer ring")
			} else {
				require.Equal(t, orb.CW, ring.Orientation(), "hole")
			}
			xy := make([]float64, 0, 2*len(ring))
			for _, q := range ring {
				xy = append(xy, q[0], q[1])
			}
			lines = append(lines, geom.NewLineString(geom.NewSequence(xy, geom.DimXY)))
		}
		polygons = append(polygons, geom.NewPolygon(lines))
	}
	require.NoError(t, geom.NewMultiPolygon(polygons).Validate())
	for row := range f.Rows {
		for col := range f.Cols {
			x := float64(v[row*f.Cols+col])
			require.Equal(t, x <= level, covers(shape, f.Point(float64(col), float64(row))), "column %d row %d, value %g", col, row, x)
		}
	}
	return shape
}

// covers is the even-odd rule over all rings, an oracle that knows nothing of
// outer rings and holes.
func covers(shape orb.MultiPolygon, p orb.Point) bool {
	in := false
	for _, polygon := range shape {
		for _, ring := range polygon {
			for i := range len(ring) - 1 {
				a, b := ring[i], ring[i+1]
				if a[1] > p[1] != (b[1] > p[1]) && p[0] < a[0]+(p[1]-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
					in = !in
				}
			}
		}
	}
	return in
}

func TestOutline(t *testing.T) {
	for _, tc := range []struct {
		name  string
		lines []string
		holes []int // number of holes of each polygon, in order
	}{
		{"nothing", []string{"99", "99"}, nil},
		{"no data", []string{"..", ".+"}, nil},
		{"one cell", []string{"1"}, []int{0}},
		{"all", []string{"111", "111"}, []int{0}},
		{"value at the level", []string{"595", "959", "595"}, []int{0, 0, 0, 0, 0}},
		{"hole", []string{"11111", "19991", "19991", "11111"}, []int{1}},
		{"no-data hole", []string{"111", "1.1", "111"}, []int{1}},
		{"two holes in a row", []string{"11111", "19191", "11111"}, []int{2}},
		{"island in a hole", []string{"1111111", "1999991", "1991991", "1999991", "1111111"}, []int{1, 0}},
		{"hole in an island in a hole", []string{
			"111111111", "199999991", "191111191", "191991191", "191111191", "199999991", "111111111"}, []int{1, 1}},
		{"hole east of a bay", []string{"1111111", "9991191", "1111111", "1111111"}, []int{1}},
		{"saddle joined", []string{"09", "90"}, []int{0}},
		{"saddle apart", []string{"49", "94"}, []int{0, 0}},
		{"saddle beside no data", []string{"0.", ".0"}, []int{0, 0}},
	} {
		for name, base := range map[string]Frame{"lonlat": lonLat, "utm": utm} {
			t.Run(tc.name+" "+name, func(t *testing.T) {
				f, v := drawn(base, tc.lines...)
				var holes []int
				for _, p := range requireOutline(t, f, v, 5) {
					holes = append(holes, len(p)-1)
				}
				require.Equal(t, tc.holes, holes)
			})
		}
	}
}

func TestOutlinePlace(t *testing.T) {
	// Between 2 and 8 the level 5 lies half way, between 4 and 8 a quarter;
	// towards no data and the edge half way whatever the value.
	f, v := drawn(Frame{X0: 0, Y0: 0, DX: 1, DY: 1}, "24.", "88.")
	shape := Outline(f, v, 5)
	require.Len(t, shape, 1)
	require.InDeltaSlice(t, []float64{-0.5, 0.5}, []float64{shape.Bound().Min[0], shape.Bound().Max[1]}, 1e-12)
	require.InDelta(t, 1.5, shape.Bound().Max[0], 1e-12)
	require.Contains(t, shape[0][0], orb.Point{0, -0.5})
	require.Contains(t, shape[0][0], orb.Point{1, -0.25})
}

// Random fields, continuous and of few values (many saddles and values at the
// level), with and without gaps.
func TestOutlineRandom(t *testing.T) {
	n := 400
	if testing.Short() {
		n = 100
	}
	for seed := range n {
		r := rand.New(rand.NewPCG(uint64(seed), 1))
		base := lonLat
		if seed%2 == 1 {
			base = utm
		}
		f := sized(base, 1+r.IntN(14), 1+r.IntN(14))
		v := make([]float32, f.Cols*f.Rows)
		for i := range v {
			switch {
			case seed%3 == 0:
				v[i] = float32(r.IntN(3)) // level 1 is met exactly
			default:
				v[i] = r.Float32() * 2
			}
			if seed%5 == 0 && r.IntN(6) == 0 {
				v[i] = float32(math.NaN())
			}
		}
		requireOutline(t, f, v, 1)
	}
}

// The area of a disc's outline tends to πr². A chord s of a circle cuts off
// s³/12r of it, so sides of at most √2 cells lose at most s²/6r² = 1/3r² of the
// area.
func TestOutlineDisc(t *testing.T) {
	for _, r := range []float64{5, 20, 80} {
		n := int(2*r) + 5
		f := Frame{X0: -float64(n / 2), Y0: float64(n / 2), DX: 1, DY: 1, Cols: n, Rows: n}
		v := make([]float32, n*n)
		for i := range v {
			v[i] = float32(math.Hypot(float64(i%n-n/2), float64(i/n-n/2)))
		}
		shape := requireOutline(t, f, v, r)
		require.Len(t, shape, 1)
		require.InEpsilon(t, math.Pi*r*r, shoelace(shape), 1/(3*r*r), "radius %g", r)
	}
}

func shoelace(shape orb.MultiPolygon) float64 {
	var sum float64
	for _, polygon := range shape {
		for _, ring := range polygon {
			for i := range len(ring) - 1 {
				sum += (ring[i][0]*ring[i+1][1] - ring[i+1][0]*ring[i][1]) / 2
			}
		}
	}
	return sum
}

func TestOutlineWrongSize(t *testing.T) {
	require.Panics(t, func() { Outline(sized(lonLat, 2, 2), make([]float32, 3), 1) })
}
