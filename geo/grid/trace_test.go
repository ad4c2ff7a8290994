package grid_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"farhail/geo/grid"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func traceFrame() grid.Frame {
	return grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 500000, Y0: 4700000, DX: 10, DY: 20, Cols: 40, Rows: 30}
}

// polygonOf returns an area by columns and rows.
func polygonOf(f grid.Frame, rings ...[][2]float64) orb.Polygon {
	var out orb.Polygon
	for _, r := range rings {
		var ring orb.Ring
		for _, p := range r {
			ring = append(ring, f.Point(p[0], p[1]))
		}
		out = append(out, append(ring, ring[0]))
	}
	return out
}

// TestSpans: the centres of a square with a hole, counted by hand; a part outside
// the frame, an empty area, an unclosed ring and one without finite positions.
func TestSpans(t *testing.T) {
	f := traceFrame()
	cells := func(area orb.Polygon) (n int) {
		f.Spans(area, func(_, first, last int) { n += last - first + 1 })
		return n
	}
	square := [][2]float64{{1.5, 1.5}, {11.5, 1.5}, {11.5, 11.5}, {1.5, 11.5}}
	hole := [][2]float64{{4.5, 4.5}, {7.5, 4.5}, {7.5, 7.5}, {4.5, 7.5}}
	assert.Equal(t, 100, cells(polygonOf(f, square)))
	assert.Equal(t, 91, cells(polygonOf(f, square, hole)))
	assert.Equal(t, 91, cells(orb.Polygon{polygonOf(f, square)[0][:4], polygonOf(f, hole)[0][:4]}), "not closed")
	assert.Equal(t, 9, cells(polygonOf(f, [][2]float64{{-5, -5}, {2.5, -5}, {2.5, 2.5}, {-5, 2.5}})))
	assert.Equal(t, 40*30, cells(polygonOf(f, [][2]float64{{-5, -5}, {100, -5}, {100, 100}, {-5, 100}})))
	assert.Zero(t, cells(nil))
	assert.Zero(t, cells(orb.Polygon{{{math.NaN(), 1}, {1, math.Inf(1)}, {2, 2}}}))
}

// TestSpansOracle: random polygons with a hole against a second program's test of
// each centre.
func TestSpansOracle(t *testing.T) {
	f := traceFrame()
	rng := rand.New(rand.NewPCG(7, 3))
	star := func(radius float64, n int) [][2]float64 {
		var ring [][2]float64
		for i := range n {
			r := radius * (0.5 + 0.5*rng.Float64())
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			ring = append(ring, [2]float64{20 + r*cos, 15 + r*sin})
		}
		return ring
	}
	for range 40 {
		outer, inner := star(24, 9), star(5, 6)
		inside := make([]bool, f.Cols*f.Rows)
		f.Spans(polygonOf(f, outer, inner), func(row, first, last int) {
			for col := first; col <= last; col++ {
				require.False(t, inside[row*f.Cols+col], "a cell twice")
				inside[row*f.Cols+col] = true
			}
		})
		flat := func(ring [][2]float64) []float64 {
			var list []float64
			for _, p := range append(ring, ring[0]) {
				list = append(list, p[0], p[1])
			}
			return list
		}
		polygon := geom.NewPolygon([]geom.LineString{
			geom.NewLineString(geom.NewSequence(flat(outer), geom.DimXY)), geom.NewLineString(geom.NewSequence(flat(inner), geom.DimXY)),
		})
		for row := range f.Rows {
			for col := range f.Cols {
				want, err := geom.Contains(polygon.AsGeometry(), geom.XY{X: float64(col), Y: float64(row)}.AsPoint().AsGeometry())
				require.NoError(t, err)
				require.Equal(t, want, inside[row*f.Cols+col], "column %d, row %d", col, row)
			}
		}
	}
}

// TestAlong: the cells of a line touch each other, and a part outside is left out.
func TestAlong(t *testing.T) {
	f := traceFrame()
	var chain [][2]int
	f.Along(orb.LineString{f.Point(-10, 3), f.Point(25, 14), f.Point(30, 50)}, func(col, row int) { chain = append(chain, [2]int{col, row}) })
	require.NotEmpty(t, chain)
	for i, c := range chain[1:] {
		require.LessOrEqual(t, max(abs(c[0]-chain[i][0]), abs(c[1]-chain[i][1])), 1)
	}
	assert.Equal(t, 0, chain[0][0])
	assert.Equal(t, f.Rows-1, chain[len(chain)-1][1])
	f.Along(orb.LineString{{math.NaN(), 1}, {2, 2}}, func(int, int) { t.Fatal("no position") })
}

func abs(x int) int { return max(x, -x) }
