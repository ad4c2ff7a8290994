package walk

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/grid"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

// A line is a chain without a break from edge to edge, however far beyond the
// grid it begins, and as a barrier nothing crosses it.
func TestMarkLineIsTight(t *testing.T) {
	for seed := range 100 {
		r := rand.New(rand.NewPCG(uint64(seed), 5))
		h := level(31, 31, 30)
		mask := make([]bool, len(h.Z))
		// From west to east through the grid, with a bend, between the start and
		// the row that must stay out of reach.
		line := orb.LineString{h.Point(-40, 10+10*r.Float64()), h.Point(31*r.Float64(), 10+10*r.Float64()), h.Point(90, 10+10*r.Float64())}
		MarkLine(mask, h.Frame, line)
		f, err := Reach(background, h, Options{Rule: rule(t, "tobler"), Starts: []Start{{Col: 15, Row: 0}}, Barrier: mask, MaxSeconds: 1e6})
		require.NoError(t, err)
		for c := range 31 {
			require.True(t, math.IsNaN(float64(f.Seconds[30*31+c])), "seed %d", seed)
		}
	}
	h := level(5, 5, 30)
	mask := make([]bool, 25)
	MarkLine(mask, h.Frame, orb.LineString{h.Point(-9, -9), h.Point(90, -9), {math.NaN(), 1}, h.Point(2, 2)})
	require.NotContains(t, mask, true)
}

// An area holds the cells whose centres lie in it, but not those of its hole,
// and every cell of its edge.
func TestMarkArea(t *testing.T) {
	h := level(40, 40, 30)
	ring := func(c, r, radius float64) orb.Ring {
		var list orb.Ring
		for i := range 73 {
			sin, cos := math.Sincos(float64(i) * math.Pi / 36)
			list = append(list, h.Point(c+radius*cos, r+radius*sin))
		}
		return list
	}
	mask := make([]bool, len(h.Z))
	MarkArea(mask, h.Frame, orb.Polygon{ring(20, 20, 12.3), ring(20, 20, 6.2)})
	for i, in := range mask {
		d := math.Hypot(float64(i%40-20), float64(i/40-20))
		switch {
		case d > 13.1 || d < 5.4:
			require.False(t, in, "cell %d", i)
		case d > 6.3 && d < 12.2:
			require.True(t, in, "cell %d", i)
		}
	}
	// One that holds the whole grid.
	MarkArea(mask, h.Frame, orb.Polygon{ring(20, 20, 200)})
	require.NotContains(t, mask, false)
}

func TestWalkedAndArrived(t *testing.T) {
	const hour = 3600.0
	stops := []Stop{{2 * hour, 10 * hour, 0.8}, {4 * hour, 6 * hour, 0}, {20 * hour, math.Inf(1), 0.5}}
	for _, c := range [][2]float64{{0, 0}, {1, 1}, {2, 2}, {3, 2.8}, {4, 3.6}, {5, 3.6}, {6, 3.6}, {10, 6.8}, {12, 8.8}, {20, 16.8}, {22, 17.8}} {
		require.InDelta(t, c[1]*hour, Walked(c[0]*hour, stops), 1e-6, "%g h", c[0])
		if c[0] != 5 && c[0] != 6 { // at rest: the earliest time counts
			require.InDelta(t, c[0]*hour, Arrived(c[1]*hour, stops), 1e-6, "%g h", c[0])
		}
	}
	require.InDelta(t, 4*hour, Arrived(3.6*hour, stops), 1e-6)
	require.Equal(t, 77.0, Walked(77, nil))
	require.Equal(t, 77.0, Arrived(77, nil))
}

// Rests by the clock, also over the night in which clocks go back (Europe, 25
// October 2026, 03:00 to 02:00): eleven hours from 21:00 to 07:00.
func TestDaily(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Andorra")
	require.NoError(t, err)
	start := time.Date(2026, 10, 24, 15, 0, 0, 0, zone)
	got := Daily(start, 21*time.Hour, 7*time.Hour, 0, 48*3600)
	require.Equal(t, []Stop{{6 * 3600, 17 * 3600, 0}, {31 * 3600, 41 * 3600, 0}}, got)
	// It begins within a rest of the day before.
	got = Daily(time.Date(2026, 6, 1, 2, 0, 0, 0, zone), 21*time.Hour, 7*time.Hour, 0, 3600)
	require.Equal(t, []Stop{{-5 * 3600, 5 * 3600, 0}}, got)
	require.Zero(t, Walked(3600, got))
}

// The power of the body with the load at the lower speed is that without it at
// 1.34 m/s, 293.54 W for 70 kg (Pandolf, Givoni & Goldman 1977).
func TestLoadFactor(t *testing.T) {
	for _, load := range []float64{0, 10, 20, 35} {
		v := 1.34 * LoadFactor(70, load)
		share := load / 70
		require.InDelta(t, 293.54, 1.5*70+2*(70+load)*share*share+1.5*(70+load)*v*v, 0.005)
	}
	require.InDelta(t, 0.847, LoadFactor(70, 20), 5e-4)
	require.Zero(t, LoadFactor(70, 400))
	require.True(t, math.IsNaN(LoadFactor(0, 1)))
}

// A route begins at a start, ends at the cell, goes forward in time, and takes
// as long as its moves do.
func TestRoute(t *testing.T) {
	h := fractal(81, 7)
	o := Options{Rule: rule(t, "tobler"), Starts: middle(h), MaxSeconds: 1e6, Barrier: make([]bool, len(h.Z))}
	for c := 10; c < 81; c++ {
		o.Barrier[30*81+c] = true
	}
	f, err := Reach(background, h, o)
	require.NoError(t, err)
	s, err := newSearch(h, o)
	require.NoError(t, err)
	for _, to := range [][2]int{{70, 5}, {0, 0}, {40, 40}, {80, 80}, {41, 38}} {
		way, ok := f.Route(h.Point(float64(to[0]), float64(to[1])))
		require.True(t, ok)
		require.Len(t, way.Seconds, len(way.Line))
		require.Equal(t, h.Point(40, 40), way.Line[0])
		require.Equal(t, h.Point(float64(to[0]), float64(to[1])), way.Line[len(way.Line)-1])
		var length float64
		for i := 1; i < len(way.Line); i++ {
			c0, r0 := f.Cell(way.Line[i-1])
			c1, r1 := f.Cell(way.Line[i])
			from := int(math.Round(r0))*81 + int(math.Round(c0))
			step := move{int(math.Round(c1 - c0)), int(math.Round(r1 - r0)), 0}
			for k, m := range s.moves {
				if m.dc == step.dc && m.dr == step.dr {
					require.InDelta(t, way.Seconds[i]-way.Seconds[i-1], s.cost(from, k, &s.steps[from/81][k], math.Inf(1)), 0.01)
				}
			}
			d, _, _ := earth.Inverse(way.Line[i-1], way.Line[i])
			length += d
		}
		require.InDelta(t, length, way.LengthM, 1e-6)
	}
	_, ok := f.Route(h.Point(40, 30))
	require.False(t, ok, "on the barrier")
	_, ok = f.Route(h.Point(400, 30))
	require.False(t, ok, "off the grid")
}

func TestHandrails(t *testing.T) {
	h := level(101, 101, 30)
	r := rule(t, "tobler")
	f, err := Reach(background, h, Options{Rule: r, Starts: middle(h), GridLengths: true, MaxSeconds: 1e6})
	require.NoError(t, err)
	lines := []orb.LineString{
		{h.Point(0, 45), h.Point(50, 45), h.Point(100, 45)}, // past the start at 5 cells
		{h.Point(0, 0), h.Point(100, 0)},                    // never met
		{h.Point(50, 50), h.Point(50, 55)},                  // ends within
		{h.Point(20, 50), h.Point(80, 20)},                  // slanting
	}
	pace := 30 * r.Pace(0)
	radius := 20.0
	got := f.Handrails(lines, radius*pace)
	require.Len(t, got, 3)
	require.Equal(t, []int{0, 2, 3}, []int{got[0].Line, got[1].Line, got[2].Line})
	require.InDelta(t, 5*pace, got[0].ReachedS, 0.01*5*pace)
	require.Len(t, got[0].Exits, 2)
	for _, exit := range got[0].Exits {
		c, row := f.Cell(exit)
		require.InDelta(t, math.Sqrt(400-25), math.Abs(c-50), 1)
		require.InDelta(t, 45, row, 0.01)
	}
	require.Empty(t, got[1].Exits)
	require.Zero(t, got[1].ReachedS)
	require.Len(t, got[2].Exits, 2)
	// A line that leaves the terrain within the ring is open.
	edges := f.Handrails([]orb.LineString{{h.Point(50, 40), h.Point(50, -40)}, {h.Point(-9, 20), h.Point(40, 20)}}, 1e6)
	require.Len(t, edges[0].Edges, 1)
	require.Empty(t, edges[0].Exits)
	col, row := f.Cell(edges[0].Edges[0].Point)
	require.InDelta(t, 50, col, 0.01)
	require.InDelta(t, 0, row, 0.51)
	require.InDelta(t, 50*pace, edges[0].Edges[0].Seconds, 0.012*50*pace)
	require.Len(t, edges[1].Edges, 1)
}

// Andorra: with streams that nobody crosses no cell beyond them is reached, and
// with trails more ground is reached at every hour than without.
func TestAndorraTrailsAndStreams(t *testing.T) {
	dir := geotest.Shared(t)
	ground := andorra(t, dir)
	h := &ground.Heights
	trails, streams := lines(t, dir+"/data/landcover/andorra-trails.geojson"), lines(t, dir+"/data/landcover/andorra-waterways.geojson")
	mark := func(list []orb.LineString) []bool {
		mask := make([]bool, len(h.Z))
		for _, l := range list {
			MarkLine(mask, h.Frame, l)
		}
		return mask
	}
	from := orb.Point{1.55, 42.55}
	col, row := h.Cell(from)
	o := Options{Rule: rule(t, "irmischer-clarke-off"), MaxSeconds: 4 * 3600, Starts: []Start{{Col: int(math.Round(col)), Row: int(math.Round(row))}}}
	off, err := Reach(background, h, o)
	require.NoError(t, err)
	o.Trail, o.TrailRule = mark(trails), o.Rule.OnTrail()
	on, err := Reach(background, h, o)
	require.NoError(t, err)
	for hour := 1.0; hour <= 4; hour++ {
		a, b := off.Ring(hour*3600, from), on.Ring(hour*3600, from)
		t.Logf("%g h: %.2f km2 off trails, %.2f with them", hour, a.AreaM2/1e6, b.AreaM2/1e6)
		require.Greater(t, b.AreaM2, a.AreaM2)
		require.Greater(t, b.FarthestM, a.FarthestM)
	}
	// Where trails come first no cell is reached later with them.
	for i, s := range off.Seconds {
		if s == s {
			require.LessOrEqual(t, float64(on.Seconds[i]), float64(s)*(1+1e-6)+1e-3)
		}
	}
	o.Barrier = mark(streams)
	barred, err := Reach(background, h, o)
	require.NoError(t, err)
	want := flood(h, o.Barrier, o.Starts[0])
	for i, s := range barred.Seconds {
		if s == s {
			require.True(t, want[i], "cell %d lies across a stream", i)
			require.False(t, o.Barrier[i])
			require.GreaterOrEqual(t, s, on.Seconds[i])
		}
	}
	require.Less(t, barred.Reached, on.Reached)
	met := on.Handrails(trails, 2*3600)
	exits := 0
	for _, m := range met {
		exits += len(m.Exits)
		require.LessOrEqual(t, m.ReachedS, 7200.0)
	}
	t.Logf("after 2 h %d of %d trails can be met; they lead out at %d places", len(met), len(trails), exits)
	require.Positive(t, exits)
}

// What the cells' size costs on real ground: times against a four times finer
// solve of the same heights, Andorra at 3 arc-seconds.
func TestErrorOnRealGround(t *testing.T) {
	dir := geotest.Shared(t)
	if testing.Short() {
		t.Skip("a finer solve")
	}
	whole := andorra(t, dir).Heights
	const n, k = 121, 4
	part := grid.Frame{X0: 1.52, Y0: 42.6, DX: whole.DX, DY: whole.DY, Cols: n, Rows: n}
	fineFrame := grid.Frame{X0: part.X0, Y0: part.Y0, DX: part.DX / k, DY: part.DY / k, Cols: (n-1)*k + 1, Rows: (n-1)*k + 1}
	coarseH := &grid.Heights{Frame: part, Z: make([]float32, n*n)}
	fineH := &grid.Heights{Frame: fineFrame, Z: make([]float32, fineFrame.Cols*fineFrame.Rows)}
	for i := range coarseH.Z {
		coarseH.Z[i] = float32(whole.Sample(part.Point(float64(i%n), float64(i/n))))
	}
	for i := range fineH.Z {
		fineH.Z[i] = float32(coarseH.SampleCell(float64(i%fineFrame.Cols)/k, float64(i/fineFrame.Cols)/k))
	}
	for _, name := range []string{"irmischer-clarke-off", "tobler"} {
		o := Options{Rule: rule(t, name), Starts: middle(coarseH), MaxSeconds: 1e6}
		coarse, err := Reach(background, coarseH, o)
		require.NoError(t, err)
		o.Starts = middle(fineH)
		fine, err := Reach(background, fineH, o)
		require.NoError(t, err)
		var count, sum, squares, most float64
		for i, s := range coarse.Seconds {
			c, r := i%n, i/n
			e := float64(s)/float64(fine.Seconds[r*k*fineFrame.Cols+c*k]) - 1
			if e != e || math.Hypot(float64(c-n/2), float64(r-n/2)) < 10 {
				continue
			}
			count, sum, squares, most = count+1, sum+e, squares+e*e, math.Max(most, math.Abs(e))
		}
		mean := sum / count
		t.Logf("%s on real ground: mean %+.2f %%, sd %.2f %%, at most %.1f %% of a four times finer solve (%.0f cells)",
			name, 100*mean, 100*math.Sqrt(squares/count-mean*mean), 100*most, count)
		require.Less(t, math.Abs(mean), 0.05)
	}
}

// A line that weaves about a ring's edge leads out once within a cell, and one that
// leads out twice farther apart twice.
func TestExitsWithinACell(t *testing.T) {
	h := level(101, 101, 30)
	r := rule(t, "tobler")
	f, err := Reach(background, h, Options{Rule: r, Starts: middle(h), GridLengths: true, MaxSeconds: 1e6})
	require.NoError(t, err)
	weave := orb.LineString{h.Point(68, 50)}
	for _, col := range []float64{71, 69, 71, 69, 72} {
		weave = append(weave, h.Point(col, 50))
	}
	wide := orb.LineString{h.Point(60, 50), h.Point(75, 50), h.Point(75, 45), h.Point(60, 45)}
	met := f.Handrails([]orb.LineString{weave, wide}, 20.0*30*r.Pace(0))
	require.Len(t, met[0].Exits, 1)
	require.Len(t, met[1].Exits, 2)
}
