package cover_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"farhail/geo/cover"
	"farhail/geo/grid"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// crossable reports whether somebody who may step to the four sides, and over a
// corner where one of the cells beside it is free, gets from the west edge of a
// frame to its east edge. It is the walker's own rule, written again.
func crossable(f grid.Frame, mask []bool) bool {
	seen := make([]bool, len(mask))
	var queue []int
	for row := range f.Rows {
		if i := row * f.Cols; !mask[i] {
			seen[i] = true
			queue = append(queue, i)
		}
	}
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		c, r := at%f.Cols, at/f.Cols
		if c == f.Cols-1 {
			return true
		}
		for dr := -1; dr <= 1; dr++ {
			for dc := -1; dc <= 1; dc++ {
				c1, r1 := c+dc, r+dr
				if c1 < 0 || r1 < 0 || c1 >= f.Cols || r1 >= f.Rows {
					continue
				}
				i := r1*f.Cols + c1
				if seen[i] || mask[i] || dc != 0 && dr != 0 && mask[r*f.Cols+c1] && mask[r1*f.Cols+c] {
					continue
				}
				seen[i] = true
				queue = append(queue, i)
			}
		}
	}
	return false
}

// TestStops: what each word stops. A river, a stream and a river's bed narrower
// than a cell each part the frame from north to south; a pond does not.
func TestStops(t *testing.T) {
	f := field()
	across := line(f, [2]float64{20, -3}, [2]float64{24.3, 12}, [2]float64{18.2, 27}, [2]float64{30, 44})
	river, stream, cliff := [2]string{`"waterway":"river"`, across}, [2]string{`"waterway":"stream"`, across}, [2]string{`"natural":"cliff"`, across}
	bed := [2]string{`"waterway":"riverbank"`, polygon(box(f, 25.6, -2, 26.2, 42))}
	lake := [2]string{`"natural":"water"`, polygon(box(f, 25.6, -2, 31, 42))}
	pond := [2]string{`"natural":"water"`, polygon(box(f, 4.6, 4.6, 9.4, 9.4))}
	for _, c := range []struct {
		name    string
		feature [2]string
		stops   []bool // of each word
	}{
		{"river", river, []bool{false, false, true, true}},
		{"stream", stream, []bool{false, false, false, true}},
		{"cliff", cliff, []bool{true, true, true, true}},
		{"river's bed", bed, []bool{false, false, true, true}},
		{"lake", lake, []bool{false, true, true, true}},
		{"sea shore", [2]string{`"natural":"coastline"`, across}, []bool{false, true, true, true}},
		{"pond", pond, []bool{false, false, false, false}},
	} {
		m := read(t, osm(c.feature))
		g := m.On(f, cover.Unknown)
		for i, word := range cover.Crossings() {
			b := m.Stops(g, word)
			assert.Equal(t, !c.stops[i], crossable(f, b.Mask), "%s, %s", c.name, word)
			if c.name == "pond" && word != cover.AllCrossed {
				assert.Equal(t, 25, b.Water, "%s", word) // centres 5 to 9, and no edge: it is wide enough
			}
			if c.name == "cliff" {
				assert.Positive(t, b.Cliffs)
				assert.Zero(t, b.Water)
			}
		}
	}
}

// TestIsland: an island that is mapped as a wood in a lake without a hole is
// walked on.
func TestIsland(t *testing.T) {
	f := field()
	m := read(t, osm([2]string{`"natural":"water"`, polygon(box(f, 4.5, 4.5, 34.5, 34.5))}, [2]string{`"landuse":"forest"`, polygon(box(f, 14.5, 14.5, 20.5, 20.5))}))
	b := m.Stops(m.On(f, cover.Unknown), cover.RiversStop)
	assert.Equal(t, 900-36, b.Water)
	assert.False(t, b.Mask[17*f.Cols+17])
}

// TestBridge: a bridge opens a river for a cell around it, a trail without one
// does not; a cliff is opened by any trail that crosses it, and only there.
func TestBridge(t *testing.T) {
	f := field()
	river := [2]string{`"waterway":"river"`, line(f, [2]float64{30, -3}, [2]float64{30.4, 44})}
	way := line(f, [2]float64{28, 20}, [2]float64{33, 20.4})
	trail, bridge := [2]string{`"highway":"path","bridge":"no"`, way}, [2]string{`"highway":"path","bridge":"yes"`, way}
	for _, c := range []struct {
		name     string
		features [][2]string
		opened   int
		through  bool
	}{
		{"trail", [][2]string{river, trail}, 0, false},
		{"bridge", [][2]string{river, bridge}, 3, true},
		{"trail by a lake", [][2]string{trail, {`"natural":"water"`, polygon(box(f, 30.2, -3, 30.7, 44))}}, 0, true},
		{"trail up a cliff", [][2]string{trail, {`"natural":"cliff"`, line(f, [2]float64{30, -3}, [2]float64{30.4, 44})}}, 0, true},
		{"bridge below a cliff", [][2]string{river, bridge, {`"natural":"cliff"`, line(f, [2]float64{40, -3}, [2]float64{40, 44})}}, 3, false},
	} {
		m := read(t, osm(c.features...))
		b := m.Stops(m.On(f, cover.Unknown), cover.RiversStop)
		assert.Equal(t, c.opened, b.Opened, c.name)
		assert.Equal(t, c.name == "trail", b.Cut > 0, c.name)
		assert.Equal(t, c.through, crossable(f, b.Mask), c.name)
	}
	assert.Len(t, read(t, osm(river, bridge)).Trails(), 1)
}

// TestWideRiver: a tagged width counts where it is more than a cell: a river of
// 110 m takes the centres within 55 m of its line, five columns or six of 20 m.
func TestWideRiver(t *testing.T) {
	f := field()
	east, _ := f.Metres(0)
	for width, columns := range map[string]int{"": 1, "15": 1, "110 m": 5, "wide": 1} {
		m := read(t, osm([2]string{`"waterway":"river","width":"` + width + `"`, line(f, [2]float64{30, -10}, [2]float64{30, 50})}))
		b := m.Stops(m.On(f, cover.Unknown), cover.RiversStop)
		require.InDelta(t, 20, east, 0.02)
		n := 0
		for col := range f.Cols {
			if b.Mask[20*f.Cols+col] {
				n++
			}
		}
		assert.Equal(t, columns, n, "%q", width)
	}
}

// TestNarrowWater: a lake that runs from north to south, here ten cells wide and
// there a tenth of one, is crossed nowhere, whatever its shape and its islands; and
// its wide parts do not spread over their shores.
func TestNarrowWater(t *testing.T) {
	f := field()
	rng := rand.New(rand.NewPCG(6, 4))
	spread := 0
	for range 300 {
		var west, east [][2]float64
		middle := 20 + 20*rng.Float64()
		for row := -3.0; row <= 43; row += 0.5 + 3*rng.Float64() {
			half := 0.05 + 0.3*rng.Float64()
			if rng.IntN(3) == 0 {
				half = 5 * rng.Float64()
			}
			middle = min(max(middle+4*(rng.Float64()-0.5), 12), 48)
			west, east = append(west, [2]float64{middle - half, row}), append(east, [2]float64{middle + half, row})
		}
		slices.Reverse(east)
		m := read(t, osm([2]string{`"natural":"water"`, polygon(ring(f, append(west, east...)...))}))
		g := m.On(f, cover.Unknown)
		b := m.Stops(g, cover.LakesStop)
		require.False(t, crossable(f, b.Mask))
		for i, marked := range b.Mask {
			if c, r := i%f.Cols, i/f.Cols; marked && g.Class[i] != cover.Water && blockBeside(g, c, r) {
				spread++
			}
		}
	}
	assert.Less(t, spread, 300*20, "cells of a shore beside water two cells wide")
}

// blockBeside reports whether a block of two by two cells of water touches a cell.
func blockBeside(g *cover.Grid, col, row int) bool {
	water := func(c, r int) bool {
		return c >= 0 && r >= 0 && c < g.Cols && r < g.Rows && g.Class[r*g.Cols+c] == cover.Water
	}
	for r := row - 2; r <= row+1; r++ {
		for c := col - 2; c <= col+1; c++ {
			if water(c, r) && water(c+1, r) && water(c, r+1) && water(c+1, r+1) {
				return true
			}
		}
	}
	return false
}
