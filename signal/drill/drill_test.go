package drill

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/prob"
	"farhail/geo/track"
)

// hills is invented ground with slopes of all kinds, a void and a lake, in UTM.
func hills(cellM float64, cells int) (*grid.Heights, []bool, []float32) {
	f := grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 400_000, Y0: 4_700_000, DX: cellM, DY: cellM, Cols: cells, Rows: cells}
	h := &grid.Heights{Frame: f, Z: make([]float32, cells*cells)}
	water, seconds := make([]bool, cells*cells), make([]float32, cells*cells)
	for i := range h.Z {
		x, y := float64(i%cells)*cellM, float64(i/cells)*cellM
		h.Z[i] = float32(1000 + 120*math.Sin(x/230)*math.Sin(y/310) + 40*math.Sin(x/90))
		seconds[i] = float32(x)
		water[i] = math.Hypot(x-600, y-700) < 90
	}
	for row := cells / 3; row < cells/3+4; row++ {
		for col := cells / 2; col < cells/2+4; col++ {
			h.Z[row*cells+col] = float32(math.NaN())
		}
	}
	return h, water, seconds
}

// slope is the oracle: Horn's difference written out; NaN where a height is missing.
func slope(h *grid.Heights, col, row int) float64 {
	if col < 1 || row < 1 || col > h.Cols-2 || row > h.Rows-2 {
		return math.NaN()
	}
	east, north := h.Metres(row)
	z := func(c, r int) float64 { return h.At(col+c, row+r) }
	dx := (z(1, -1) + 2*z(1, 0) + z(1, 1) - z(-1, -1) - 2*z(-1, 0) - z(-1, 1)) / (8 * east)
	dy := (z(-1, -1) + 2*z(0, -1) + z(1, -1) - z(-1, 1) - 2*z(0, 1) - z(1, 1)) / (8 * north)
	return math.Atan(math.Hypot(dx, dy)+0*z(0, 0)) * 180 / math.Pi
}

// steepest is the oracle of how steep a cell is: its slope and the falls to its
// neighbours; NaN where a height is missing.
func steepest(h *grid.Heights, col, row int) float64 {
	most := slope(h, col, row)
	if math.IsNaN(most) {
		return most
	}
	east, north := h.Metres(row)
	for _, to := range [][2]int{{-1, -1}, {0, -1}, {1, -1}, {-1, 0}, {1, 0}, {-1, 1}, {0, 1}, {1, 1}} {
		run := math.Hypot(float64(to[0])*east, float64(to[1])*north)
		most = max(most, math.Atan(math.Abs(h.At(col+to[0], row+to[1])-h.At(col, row))/run)*180/math.Pi)
	}
	return most
}

func TestAllowedGroundKeepsItsDistances(t *testing.T) {
	for _, cellM := range []float64{10, 25, 60} {
		h, water, seconds := hills(cellM, 60)
		cliffs, closed := make([]bool, len(water)), make([]bool, len(water))
		cliffs[17*h.Cols+20], closed[40*h.Cols+11] = true, true
		g, err := Allow(h, Limits{Water: water, Cliffs: cliffs, Closed: closed, Seconds: seconds, WithinS: 1500})
		require.NoError(t, err)
		require.Equal(t, cellM <= 35, g.Checkable)
		cliffDeg := 40.0
		if !g.Checkable {
			cliffDeg = 30
		}
		slopes := make([]float64, len(g.Allowed))
		for i := range slopes {
			slopes[i] = steepest(h, i%h.Cols, i/h.Cols)
		}
		east, north := h.Metres(h.Rows / 2)
		half := math.Hypot(east, north) / 2
		near := math.Hypot(50+half, half)
		some := 0
		for i, ok := range g.Allowed {
			col, row := i%h.Cols, i/h.Cols
			want := float64(seconds[i]) <= 1500 && !math.IsNaN(h.At(col, row)) && !closed[i]
			for j := range g.Allowed {
				c, r := j%h.Cols, j/h.Cols
				d := math.Hypot(float64(c-col)*east, float64(r-row)*north)
				s := slopes[j]
				if water[j] && d <= 30+2*half || cliffs[j] && d <= 50+2*half || !(s <= 25) && d <= near || s > cliffDeg && d <= near {
					want = false
				}
			}
			require.Equal(t, want, ok, "cell %d, %d of %g m", col, row, cellM)
			if ok {
				some++
			}
		}
		require.Greater(t, some, 0)
		require.Equal(t, len(g.Allowed), some+g.Voids+g.Closed+g.Water+g.Cliffs+g.Steep+g.OutOfReach)
	}
	h, water, seconds := hills(25, 20)
	_, err := Allow(h, Limits{Seconds: seconds, WithinS: 1})
	require.ErrorIs(t, err, ErrWaterNotKnown)
	_, err = Allow(h, Limits{Water: water[1:], Seconds: seconds, WithinS: 1})
	require.Error(t, err)
}

// TestWallOfOneCell: a wall that rises from one cell to the next, straight or across,
// keeps people away, though the slope over three cells is half as steep and would let
// them stand at its foot. Measured from the corners of each cell to the wall itself.
func TestWallOfOneCell(t *testing.T) {
	const cells, cellM = 40, 30.0
	for _, tc := range []struct {
		name     string
		wallM    float64
		across   bool
		refused  func(*Ground) int
		smoothed float64 // the slope over three cells
	}{
		{"50 m, straight", 50, false, func(g *Ground) int { return g.Cliffs }, 39.8},
		{"20 m, straight", 20, false, func(g *Ground) int { return g.Steep }, 18.4},
		{"50 m, across", 50, true, func(g *Ground) int { return g.Cliffs }, 41.5},
		{"25 m, across", 25, true, func(g *Ground) int { return g.Steep }, 23.9},
	} {
		h := &grid.Heights{Frame: grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 500_000, Y0: 4_700_000, DX: cellM, DY: cellM, Cols: cells, Rows: cells}, Z: make([]float32, cells*cells)}
		above := func(col, row int) bool { return tc.across && col+row >= cells || !tc.across && col >= cells/2 }
		for i := range h.Z {
			if above(i%cells, i/cells) {
				h.Z[i] = float32(tc.wallM)
			}
		}
		most := 0.0
		for i := range h.Z {
			if s := slope(h, i%cells, i/cells); s > most {
				most = s
			}
		}
		require.InDelta(t, tc.smoothed, most, 0.1, tc.name)
		g, err := Allow(h, Limits{Water: make([]bool, cells*cells), Seconds: make([]float32, cells*cells), WithinS: 1})
		require.NoError(t, err)
		require.Positive(t, tc.refused(g), tc.name)
		east, north := h.Metres(cells / 2)
		nearest := math.Inf(1)
		for i, ok := range g.Allowed {
			if !ok {
				continue
			}
			// The wall is somewhere between two centres of which one is above.
			for j := range h.Z {
				col, row := j%cells, j/cells
				for _, to := range [][2]int{{1, 0}, {0, 1}, {1, 1}, {1, -1}} {
					c, r := col+to[0], row+to[1]
					if c < cells && r >= 0 && r < cells && above(col, row) != above(c, r) {
						nearest = min(nearest, cornersToLine(i%cells, i/cells, col, row, c, r, east, north))
					}
				}
			}
		}
		require.Greater(t, nearest, 50.0, tc.name)
		require.Less(t, nearest, 80.0, tc.name+": no farther than the cells ask for")
	}
}

// cornersToLine returns how near a cell's corners come to the line between the centres
// of two others [m].
func cornersToLine(col, row, c0, r0, c1, r1 int, east, north float64) float64 {
	best := math.Inf(1)
	for _, corner := range [][2]float64{{-0.5, -0.5}, {0.5, -0.5}, {-0.5, 0.5}, {0.5, 0.5}} {
		x, y := (float64(c0-col)-corner[0])*east, (float64(r0-row)-corner[1])*north
		dx, dy := float64(c1-c0)*east, float64(r1-r0)*north
		k := min(1, max(0, -(x*dx+y*dy)/(dx*dx+dy*dy)))
		best = min(best, math.Hypot(x+k*dx, y+k*dy))
	}
	return best
}

// slanted is a surface with more probability to the east.
func slanted(t *testing.T, f grid.Frame) *prob.Surface {
	mass := make([]float64, f.Cols*f.Rows)
	for i := range mass {
		mass[i] = float64(i % f.Cols)
	}
	s, err := prob.FromWeights(f, mass, 0.1)
	require.NoError(t, err)
	return s
}

func TestDrawsFollowTheSurfaceOnAllowedGround(t *testing.T) {
	h, water, seconds := hills(25, 80)
	g, err := Allow(h, Limits{Water: water, Seconds: seconds, WithinS: 1e9})
	require.NoError(t, err)
	for name, f := range map[string]grid.Frame{"same": g.Frame, "coarse": func() grid.Frame { f, _ := prob.Coarse(g.Frame, 700); return f }()} {
		s := slanted(t, f)
		hide, err := NewHiding(s, g)
		require.NoError(t, err)
		// Expected share of each eighth of the map, by plain sums.
		var want, got [8]float64
		all := 0.0
		for i, ok := range g.Allowed {
			if !ok {
				continue
			}
			col, row := f.Cell(g.Point(float64(i%g.Cols), float64(i/g.Cols)))
			m := s.Mass[int(math.Round(row))*f.Cols+int(math.Round(col))]
			want[i%g.Cols/10] += m
			all += m
		}
		const n = 20_000
		for k := range n {
			p := hide.Draw(7, k)
			require.True(t, g.Allowed[p.Row*g.Cols+p.Col])
			col, row := g.Cell(p.Point)
			require.InDelta(t, float64(p.Col), col, 0.501)
			require.InDelta(t, float64(p.Row), row, 0.501)
			got[p.Col/10] += 1.0 / n
		}
		for i := range want {
			assert.InDelta(t, want[i]/all, got[i], 0.012, "%s, eighth %d", name, i)
		}
		assert.Greater(t, hide.Share, 0.0)
		assert.Less(t, hide.Share, 1.0)
		assert.Equal(t, hide.Draw(7, 3), hide.Draw(7, 3))
		assert.NotEqual(t, hide.Draw(7, 3), hide.Draw(8, 3))
	}
	g.Allowed = make([]bool, len(g.Allowed))
	_, err = NewHiding(slanted(t, g.Frame), g)
	require.ErrorIs(t, err, ErrNowhere)
}

// TestFoundByHourAgainstDice throws for each drill and hour.
func TestFoundByHourAgainstDice(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	const drills, hours = 20_000, 4
	chances, want := make([][]float64, hours), make([]float64, hours)
	for hour := range chances {
		chances[hour] = make([]float64, drills)
	}
	for i := range drills {
		luck, missed := r.Float64(), 1.0
		for hour := range hours {
			missed *= 1 - 0.4*r.Float64()
			chances[hour][i] = 1 - missed
			if luck < 1-missed {
				want[hour] += 1. / drills
			}
		}
	}
	got, plusMinus, err := FoundByHour(chances)
	require.NoError(t, err)
	for hour := range got {
		assert.InDelta(t, want[hour], got[hour], 0.012, "hour %d", hour)
		assert.InDelta(t, 0.001, plusMinus[hour], 0.0005)
	}
	for _, bad := range [][][]float64{{{0.5}}, {{0.5, 2}}, {{0.5, 0.5}, {0.4, 0.5}}, {{0.5, 0.5}, {0.5, 0.5, 0.5}}, {{math.NaN(), 0}}} {
		_, _, err = FoundByHour(bad)
		require.Error(t, err)
	}
}

// walk is a track of points so many metres east and north of a place, a minute
// apart.
func walk(name string, at orb.Point, start time.Time, points ...[2]float64) track.Track {
	local := earth.NewLocal(at)
	var s track.Segment
	for i, p := range points {
		f := track.At(local.Inverse(p[0], p[1]))
		if !start.IsZero() {
			f.Time = start.Add(time.Duration(i) * time.Minute)
		}
		s = append(s, f)
	}
	return track.Track{Name: name, Segments: []track.Segment{s}}
}

func TestPasses(t *testing.T) {
	at := orb.Point{1.5, 42.5}
	start := time.Date(2026, 11, 24, 9, 0, 0, 0, time.UTC)
	tracks := []track.Track{
		walk("by", at, start, [2]float64{-300, 40}, [2]float64{300, 40}, [2]float64{300, 900}),
		walk("far", at, start, [2]float64{-300, 2000}, [2]float64{300, 2000}),
		walk("unclocked", at, time.Time{}, [2]float64{0, -100}, [2]float64{0, 100}),
		{Name: "empty"},
		walk("one fix", at, start, [2]float64{30, 40}),
	}
	passes, err := Passes(tracks, at, 50, nil)
	require.NoError(t, err)
	require.Len(t, passes, 4)
	by := passes[0]
	assert.InDelta(t, 40, by.ClosestM, 0.01)
	assert.WithinDuration(t, start.Add(30*time.Second), by.At, 100*time.Millisecond)
	assert.InDelta(t, 60, by.InSightM, 10, "the chord of a circle of 50 m, 40 m from its middle")
	assert.WithinDuration(t, start.Add(27*time.Second), by.FirstSeen, time.Second)
	assert.InDelta(t, 2000, passes[1].ClosestM, 0.1)
	assert.Zero(t, passes[1].InSightM)
	assert.InDelta(t, 0, passes[2].ClosestM, 0.01)
	assert.True(t, passes[2].At.IsZero())
	assert.InDelta(t, 100, passes[2].InSightM, 10)
	assert.InDelta(t, 50, passes[3].ClosestM, 0.01)

	// A wall to the west of the place hides the first half.
	local := earth.NewLocal(at)
	east := func(p orb.Point) bool { x, _, err := local.Forward(p); return err == nil && x > 0 }
	passes, err = Passes(tracks[:1], at, 50, east)
	require.NoError(t, err)
	assert.InDelta(t, 30, passes[0].InSightM, 5)
	_, err = Passes(tracks[:1], orb.Point{80, 0}, 50, nil)
	require.ErrorIs(t, err, earth.ErrTooFar)
}

func TestFound(t *testing.T) {
	at := orb.Point{1.5, 42.5}
	start := time.Date(2026, 11, 24, 9, 0, 0, 0, time.UTC)
	near, far := earth.NewLocal(at).Inverse(60, 60), earth.NewLocal(at).Inverse(600, 0)
	reports := []Report{
		{"late", start.Add(3 * time.Hour), near}, {"wrong place", start.Add(time.Hour), far},
		{"first", start.Add(2 * time.Hour), near}, {"before", start.Add(-time.Hour), near}, {"no time", time.Time{}, near},
	}
	r, s, ok := Found(reports, at, start, FoundWithinM)
	require.True(t, ok)
	assert.Equal(t, "first", r.Who)
	assert.Equal(t, 7200.0, s)
	_, s, ok = Found(reports[1:2], at, start, FoundWithinM)
	assert.False(t, ok)
	assert.True(t, math.IsNaN(s))
}

func TestJudge(t *testing.T) {
	f := grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 400_000, Y0: 4_700_000, DX: 100, DY: 100, Cols: 10, Rows: 10}
	hidden := f.Point(8.2, 3.1)
	start := time.Date(2026, 11, 24, 9, 0, 0, 0, time.UTC)
	s := Judge(Drill{Hidden: hidden, Start: start, Map: slanted(t, f),
		Passes:  []Pass{{Who: "a", ClosestM: 90}, {Who: "b", ClosestM: 20, InSightM: 35}},
		Reports: []Report{{"b", start.Add(time.Hour), hidden}}})
	assert.Equal(t, 3600.0, s.FoundS)
	assert.Equal(t, "b", s.FoundBy)
	assert.Equal(t, 20.0, s.ClosestM)
	assert.Equal(t, "b", s.ClosestBy)
	// One column in ten is likelier, and half of its own counts: r = 0.15.
	assert.InDelta(t, 0.7, s.RankScore, 1e-3)

	none := Judge(Drill{Hidden: hidden, Start: start})
	assert.True(t, math.IsNaN(none.FoundS))
	assert.True(t, math.IsNaN(none.RankScore))
	assert.True(t, math.IsInf(none.ClosestM, 1))
}
