package grid

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// rolling are smooth values with noise and, in some cells, none.
func rolling(rng *rand.Rand, f Frame, voids float64) []float32 {
	v := make([]float32, f.Cols*f.Rows)
	a, b := 6*rng.Float64(), 6*rng.Float64()
	for i := range v {
		x, y := float64(i%f.Cols), float64(i/f.Cols)
		v[i] = float32(50 + 30*math.Sin(x/5+a)*math.Cos(y/7+b) + 8*rng.Float64())
		if rng.Float64() < voids {
			v[i] = float32(math.NaN())
		}
	}
	return v
}

func polygons(shape orb.MultiPolygon) geom.MultiPolygon {
	var list []geom.Polygon
	for _, p := range shape {
		var rings []geom.LineString
		for _, ring := range p {
			rings = append(rings, lineString(orb.LineString(ring)))
		}
		list = append(list, geom.NewPolygon(rings))
	}
	return geom.NewMultiPolygon(list)
}

func lineString(line orb.LineString) geom.LineString {
	var xy []float64
	for _, q := range line {
		xy = append(xy, q[0], q[1])
	}
	return geom.NewLineString(geom.NewSequence(xy, geom.DimXY))
}

// TestContour: every position of a contour has the level by bilinear heights, lines
// are simple, and those of two levels do not cross; a cone's are circles.
func TestContour(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	for _, frame := range []Frame{lonLat, utm} {
		f := sized(frame, 40, 30)
		h := Heights{Frame: f, Z: rolling(rng, f, 0.02)}
		var all []geom.MultiLineString
		positions := 0
		for _, level := range []float64{30, 45, 50, 71} {
			var lines []geom.LineString
			for _, line := range contour(t, f, h.Z, level) {
				require.GreaterOrEqual(t, len(line), 2)
				lines = append(lines, lineString(line))
				for _, p := range line {
					positions++
					// 1 % of a cell is how far an outline keeps from a centre.
					require.InDelta(t, level, h.Sample(p), 0.9, "at %v", p)
				}
			}
			m := geom.NewMultiLineString(lines)
			require.NoError(t, m.Validate())
			require.True(t, m.IsSimple())
			for _, other := range all {
				d, ok := geom.Distance(m.AsGeometry(), other.AsGeometry())
				require.True(t, ok && d > 0, "levels do not touch")
			}
			all = append(all, m)
		}
		assert.Greater(t, positions, 500)
	}
	f := sized(utm, 61, 61)
	cone := make([]float32, 61*61)
	for i := range cone {
		cone[i] = float32(1000 - math.Hypot(30*float64(i%61-30), 50*float64(i/61-30)))
	}
	lines := contour(t, f, cone, 500)
	require.Len(t, lines, 1)
	require.Equal(t, lines[0][0], lines[0][len(lines[0])-1], "closed")
	for _, p := range lines[0] {
		col, row := f.Cell(p)
		require.InDelta(t, 500, math.Hypot(30*(col-30), 50*(row-30)), 1.5)
	}
	// Cut by the grid's edge: an open line that ends in the outer centres.
	half := sized(utm, 31, 61)
	part := make([]float32, 31*61)
	for i := range part {
		part[i] = cone[i/31*61+i%31]
	}
	lines = contour(t, half, part, 500)
	require.Len(t, lines, 1)
	for _, p := range []orb.Point{lines[0][0], lines[0][len(lines[0])-1]} {
		col, _ := half.Cell(p)
		require.InDelta(t, 30, col, 1e-6)
	}
}

// TestSimplify: valid polygons stay valid, no position is off by more than what was
// asked for, every ring is there, and much is left out.
func TestSimplify(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 2))
	before, after := 0, 0
	for i := range 40 {
		f := sized([]Frame{lonLat, utm}[i%2], 20+rng.IntN(60), 20+rng.IntN(60))
		v := rolling(rng, f, []float64{0, 0.02, 0.2}[i%3])
		offM := []float64{1, 20, 60, 400}[i%4]
		shape := Outline(f, v, 45)
		got := simplify(t, shape, offM)
		require.NoError(t, polygons(got).Validate(), "case %d", i)
		require.Len(t, got, len(shape))
		for p := range shape {
			require.Len(t, got[p], len(shape[p]))
			for r, ring := range shape[p] {
				s := got[p][r]
				require.GreaterOrEqual(t, len(s), 4)
				require.Equal(t, ring.Orientation(), s.Orientation())
				before, after = before+len(ring), after+len(s)
				requireWithin(t, f, ring, s, offM)
			}
		}
	}
	t.Logf("%d of %d positions are left", after, before)
	assert.Less(t, after, before*2/3)
	assert.Nil(t, simplify(t, nil, 10))
	shape := Outline(sized(lonLat, 3, 3), make([]float32, 9), 1)
	assert.Equal(t, shape, simplify(t, shape, 0))
}

func contour(t *testing.T, f Frame, v []float32, level float64) orb.MultiLineString {
	lines, err := Contour(t.Context(), f, v, level)
	require.NoError(t, err)
	return lines
}

func simplify(t *testing.T, shape orb.MultiPolygon, offM float64) orb.MultiPolygon {
	got, err := Simplify(t.Context(), shape, offM)
	require.NoError(t, err)
	return got
}

// TestEndedContext: nothing is drawn after the context's end.
func TestEndedContext(t *testing.T) {
	f := sized(utm, 3, 3)
	v := []float32{1, 1, 1, 1, 5, 1, 1, 1, 1}
	ended, end := context.WithCancel(t.Context())
	end()
	_, err := Contour(ended, f, v, 3)
	require.ErrorIs(t, err, context.Canceled)
	_, err = OutlineUntil(ended, f, v, 3)
	require.ErrorIs(t, err, context.Canceled)
	_, err = Simplify(ended, Outline(f, v, 3), 100)
	require.ErrorIs(t, err, context.Canceled)
}

// requireWithin fails where a position is far from all sides of the simpler ring.
func requireWithin(t *testing.T, f Frame, ring, simple orb.Ring, offM float64) {
	east, north := f.Metres(f.Rows / 2)
	at := func(p orb.Point) [2]float64 {
		col, row := f.Cell(p)
		return [2]float64{col * east, row * north}
	}
	for _, p := range ring {
		least := math.Inf(1)
		for i := 1; i < len(simple); i++ {
			least = min(least, aside(at(p), at(simple[i-1]), at(simple[i])))
		}
		require.LessOrEqual(t, least, offM*1.002)
	}
}
