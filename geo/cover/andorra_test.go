package cover_test

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"testing"

	"farhail/geo/cover"
	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/terrain"
	"farhail/geo/walk"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// andorra returns the terrain around a path above Encamp, and where that path is.
func andorra(t *testing.T) (*terrain.Terrain, orb.Point) {
	t.Helper()
	if testing.Short() {
		t.Skip("seconds of work on real terrain; the full run does it")
	}
	start := orb.Point{1.5711, 42.5555}
	h, err := terrain.Load(os.DirFS(filepath.Join(geotest.Shared(t), "data", "dem")), []string{"N42E001.hgt.zip"}, start.Bound().Pad(0.15))
	require.NoError(t, err)
	return h, start
}

// andorraFiles are all that tells of the ground.
var andorraFiles = []string{"andorra-landcover.geojson", "andorra-waterways.geojson", "andorra-trails.geojson", "andorra-roads.geojson"}

// TestAndorraStreamsHold: between two neighbours that are both free no stream runs,
// by its own line and not by cells, and every cell that is reached can be walked to
// over such neighbours. So nobody is across a stream, but by the bridges of the road
// file where that is given.
func TestAndorraStreamsHold(t *testing.T) {
	h, start := andorra(t)
	for _, files := range [][]string{andorraFiles[:2], andorraFiles} {
		m := landcover(t, files...)
		g := m.On(h.Frame, cover.Unknown)
		b := m.Stops(g, cover.StreamsStop)
		require.Greater(t, b.Water, 500)
		crossed := map[[2]int]bool{} // pairs of neighbours that a stream parts
		for _, l := range m.Lines {
			if l.Kind == cover.River || l.Kind == cover.Stream {
				partedPairs(g, l.Path, crossed)
			}
		}
		require.Greater(t, len(crossed), 500)
		through := 0
		for pair := range crossed {
			if !b.Mask[pair[0]] && !b.Mask[pair[1]] {
				through++
			}
		}
		if bridges := len(files) > 2; bridges {
			assert.Positive(t, b.Opened)
			assert.LessOrEqual(t, through, 4*b.Opened, "only around bridges")
		} else {
			assert.Zero(t, b.Opened)
			assert.Zero(t, through, "pairs of free neighbours with a stream between")
		}

		field := reachFrom(t, h, start, walk.Options{Barrier: b.Mask, Ground: g.Factors(cover.Slower(1.4, nil))}, 4*3600)
		open := reachFrom(t, h, start, walk.Options{}, 4*3600)
		assert.Less(t, field.Reached, open.Reached)
		free := flood(g, b.Mask, start)
		for i, s := range field.Seconds {
			if !math.IsNaN(float64(s)) {
				require.False(t, b.Mask[i])
				require.True(t, free[i], "a cell that only a jump leads to")
			}
		}
	}
}

// TestAndorraTrails: whoever keeps to the trails is farther off at every hour, over
// the same ground and with the same water not crossed.
func TestAndorraTrails(t *testing.T) {
	h, start := andorra(t)
	m := landcover(t, andorraFiles...)
	g := m.On(h.Frame, cover.Unknown)
	o := walk.Options{Barrier: m.Stops(g, cover.RiversStop).Mask, Ground: g.Factors(cover.Slower(1.4, nil))}
	off := reachFrom(t, h, start, o, 4*3600)
	rule, _ := walk.Named("irmischer-clarke-off")
	o.Trail, o.TrailRule = make([]bool, len(g.Class)), rule.OnTrail()
	for _, l := range m.Trails() {
		walk.MarkLine(o.Trail, g.Frame, l.Path)
	}
	on := reachFrom(t, h, start, o, 4*3600)
	farthest := func(f *walk.Field, hours float64, trail bool) (m float64) {
		for i, s := range f.Seconds {
			if float64(s) <= hours*3600 && o.Trail[i] == trail {
				d, _, _ := earth.Inverse(start, f.Point(float64(i%f.Cols), float64(i/f.Cols)))
				m = max(m, d)
			}
		}
		return m
	}
	for hours := 0.5; hours <= 4; hours += 0.5 {
		with, without := farthest(on, hours, true), max(farthest(off, hours, true), farthest(off, hours, false))
		t.Logf("%.1f h: on trails %.0f m, off trails %.0f m", hours, with, without)
		assert.Greater(t, with, without, "%.1f h", hours)
	}
}

// reachFrom walks off paths from a place.
func reachFrom(t *testing.T, h *terrain.Terrain, start orb.Point, o walk.Options, seconds float64) *walk.Field {
	t.Helper()
	var err error
	o.Rule, _ = walk.Named("irmischer-clarke-off")
	o.MaxSeconds = seconds
	o.Starts, err = walk.Within(h.Frame, start, earth.Ellipse{}, 0)
	require.NoError(t, err)
	f, err := walk.Reach(context.Background(), &h.Heights, o)
	require.NoError(t, err)
	return f
}

// partedPairs adds the pairs of neighbours whose centres' straight line a path
// crosses. It goes by the path's own crossings with the columns and rows through
// the centres.
func partedPairs(g *cover.Grid, path orb.LineString, pairs map[[2]int]bool) {
	add := func(col, row, col1, row1 int) {
		if col >= 0 && row >= 0 && col1 < g.Cols && row1 < g.Rows {
			pairs[[2]int{row*g.Cols + col, row1*g.Cols + col1}] = true
		}
	}
	for i := 1; i < len(path); i++ {
		c0, r0 := g.Cell(path[i-1])
		c1, r1 := g.Cell(path[i])
		for c := math.Ceil(min(c0, c1)); c <= max(c0, c1) && c0 != c1; c++ {
			r := r0 + (c-c0)/(c1-c0)*(r1-r0)
			add(int(c), int(math.Floor(r)), int(c), int(math.Floor(r))+1)
		}
		for r := math.Ceil(min(r0, r1)); r <= max(r0, r1) && r0 != r1; r++ {
			c := c0 + (r-r0)/(r1-r0)*(c1-c0)
			add(int(math.Floor(c)), int(r), int(math.Floor(c))+1, int(r))
		}
	}
}

// flood returns the free cells that steps to the four sides lead to.
func flood(g *cover.Grid, mask []bool, start orb.Point) []bool {
	col, row := g.Cell(start)
	seen := make([]bool, len(mask))
	queue := []int{int(math.Round(row))*g.Cols + int(math.Round(col))}
	seen[queue[0]] = true
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		for _, d := range [4][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
			c, r := at%g.Cols+d[0], at/g.Cols+d[1]
			if i := r*g.Cols + c; c >= 0 && r >= 0 && c < g.Cols && r < g.Rows && !seen[i] && !mask[i] {
				seen[i] = true
				queue = append(queue, i)
			}
		}
	}
	return seen
}
