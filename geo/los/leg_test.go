package los

import (
	"math"
	"testing"

	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/grid"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// level is a plain at latitude 40 to 45 and longitude 0 to 5 without memory for
// its heights: legs do not look at them.
func level(perDegree int) *grid.Heights {
	d := 1 / float64(perDegree)
	return &grid.Heights{Frame: grid.Frame{X0: 0, Y0: 45, DX: d, DY: d, Cols: 5*perDegree + 1, Rows: 5*perDegree + 1}}
}

// fromGeodesic returns how far [cells] the pieces of a line leave the geodesic,
// sampled along it.
func fromGeodesic(h *grid.Heights, legs []leg) float64 {
	first, last := legs[0], legs[len(legs)-1]
	a, b := h.Point(first.col0, first.row0), h.Point(last.col1, last.row1)
	length, bearing, _ := earth.Inverse(a, b)
	worst := 0.0
	const steps = 500
	for i := 1; i < steps; i++ {
		p, _ := earth.Direct(a, bearing, length*float64(i)/steps)
		col, row := h.Cell(p)
		near := math.Inf(1)
		for _, l := range legs {
			dc, dr := l.col1-l.col0, l.row1-l.row0
			t := min(max(((col-l.col0)*dc+(row-l.row0)*dr)/(dc*dc+dr*dr), 0), 1)
			near = min(near, math.Hypot(l.col0+t*dc-col, l.row0+t*dr-row))
		}
		worst = max(worst, near)
	}
	return worst
}

// TestPieces: a line is cut where it would leave the geodesic by half a cell,
// at 42.5 N from about 46 km on 3 and 27 km on 1 arc-second cells, and then
// stays within half a cell of it.
func TestPieces(t *testing.T) {
	for _, c := range []struct {
		perDegree int
		limitM    float64
	}{{1200, 46e3}, {3600, 27e3}} {
		h := level(c.perDegree)
		shortest := math.Inf(1)
		for azimuth := 0.0; azimuth < 360; azimuth += 15 {
			for length := 10e3; length <= 150e3; length += 500 {
				middle := orb.Point{2.5, 42.5}
				from, _ := earth.Direct(middle, earth.NewTrue(azimuth+180), length/2)
				to, _ := earth.Direct(middle, earth.NewTrue(azimuth), length/2)
				e := &Eye{h: h}
				e.col, e.row = h.Cell(from)
				legs := e.legs(nil, columnRow(h, to)[0], columnRow(h, to)[1])
				if len(legs) > 1 {
					shortest = min(shortest, length)
				}
				if math.Mod(length, 10e3) == 0 {
					// Half a cell by the mean of its sides, counted here in columns and
					// rows, which differ by a third.
					require.LessOrEqual(t, fromGeodesic(h, legs), 0.6, "azimuth %g, %g m, %d pieces", azimuth, length, len(legs))
				}
				assert.InDelta(t, length, legs[len(legs)-1].to, 3e-5*length)
			}
		}
		assert.InDelta(t, c.limitM, shortest, 1e3, "%d cells a degree", c.perDegree)
	}
}

func columnRow(h *grid.Heights, p orb.Point) [2]float64 {
	col, row := h.Cell(p)
	return [2]float64{col, row}
}

// TestPiecesJoin: pieces follow on one another, in distance too, and their
// crossings are those of the whole way.
func TestPiecesJoin(t *testing.T) {
	h := level(1200)
	e := &Eye{h: h, col: 100, row: 3000}
	legs := e.legs(nil, 5900, 2900)
	require.Greater(t, len(legs), 3)
	columns := map[int]int{}
	for i, l := range legs {
		if i > 0 {
			assert.Equal(t, [3]float64{legs[i-1].col1, legs[i-1].row1, legs[i-1].to}, [3]float64{l.col0, l.row0, l.from})
		}
		a := l.axes(h.Cols)[0]
		for c := a.first; c <= a.last; c++ {
			columns[c]++
		}
	}
	assert.Len(t, columns, 5900-100-1)
	for c, n := range columns {
		assert.Equal(t, 1, n, "column %d", c)
	}
	// Near the poleward edge the geodesic leaves the grid; the pieces do not.
	edge := &Eye{h: h, col: 0, row: 0}
	for _, l := range edge.legs(nil, 6000, 0) {
		assert.Zero(t, l.row1)
	}
}

// TestAxes: which whole numbers lie strictly between two ends.
func TestAxes(t *testing.T) {
	cases := []struct{ from, to, first, last float64 }{
		{2, 5, 3, 4},
		{5, 2, 3, 4},
		{2, 3, 3, 2},
		{2, 2, 3, 1},
		{2.5, 2.7, 3, 2},
		{2.5, 4.5, 3, 4},
		{2 + 1e-12, 4, 3, 3},
		{2 - 1e-12, 4, 3, 3},
	}
	for _, c := range cases {
		l := leg{col0: c.from, row0: 7, col1: c.to, row1: 9, to: 100}
		a := l.axes(50)[0]
		if c.first > c.last {
			assert.Greater(t, a.first, a.last, "%+v", c)
			continue
		}
		assert.Equal(t, [2]int{int(c.first), int(c.last)}, [2]int{a.first, a.last}, "%+v", c)
	}
	// A later piece counts its start, so that no crossing falls between two.
	later := leg{col0: 5, row0: 7, col1: 2, row1: 9, from: 50, to: 100}
	a := later.axes(50)[0]
	assert.Equal(t, [2]int{3, 5}, [2]int{a.first, a.last})
}

// sixtyNorth is level ground around 60 N 10 E of the cells that tiles have there: 1
// arc-second from south to north, 2 from west to east.
func sixtyNorth() *grid.Heights {
	f := grid.Frame{X0: 9.1, Y0: 60.4, DX: 2. / 3600, DY: 1. / 3600, Cols: 3401, Rows: 3001}
	return &grid.Heights{Frame: f, Z: make([]float32, f.Cols*f.Rows)}
}

// TestGeodesicAt60N: lines of 50 km at 60 N run within half a cell of the geodesic
// of another program; what stands on it blocks them, and what stands on the line
// straight in degrees, up to 86 m aside, does not.
func TestGeodesicAt60N(t *testing.T) {
	h := sixtyNorth()
	geotest.Check(t, "los-geodesic", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		e := &Eye{h: h}
		e.col, e.row = h.Cell(orb.Point{10, 60})
		to := orb.Point{x[1], x[0]}
		legs := e.legs(nil, columnRow(h, to)[0], columnRow(h, to)[1])
		require.InDelta(t, 50000, legs[len(legs)-1].to, 1)
		for _, l := range legs {
			if x[2] <= l.to {
				s := (x[2] - l.from) / (l.to - l.from)
				p := h.Point(l.col0+s*(l.col1-l.col0), l.row0+s*(l.row1-l.row0))
				require.Equal(t, Hidden, pillar(h, p, to), "on the line")
				return []any{p.Lat(), p.Lon()}, nil
			}
		}
		return nil, nil
	})
	to := orb.Point{10.89600253902, 59.99696101414}
	assert.Equal(t, Hidden, pillar(h, orb.Point{10.44804522, 59.99924022}, to), "half way on the geodesic")
	assert.Equal(t, Seen, pillar(h, orb.Point{10.448, 59.9984805}, to), "half way in degrees")
}

// pillar returns whether a target is seen from 60 N 10 E past a high 3 by 3 cells.
func pillar(h *grid.Heights, at, to orb.Point) State {
	col, row := h.Cell(at)
	set := func(z float32) {
		for r := int(math.Round(row)) - 1; r <= int(math.Round(row))+1; r++ {
			for c := int(math.Round(col)) - 1; c <= int(math.Round(col))+1; c++ {
				h.Z[r*h.Cols+c] = z
			}
		}
	}
	set(2000)
	defer set(0)
	station := func(p orb.Point) Station {
		c := columnRow(h, p)
		return Station{Col: c[0], Row: c[1], HeightM: 1000}
	}
	return Line(h, station(orb.Point{10, 60}), station(to), DefaultOptions()).State
}
