package walk

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"

	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/grid"

	"github.com/stretchr/testify/require"
)

var background = context.Background()

func rule(t testing.TB, name string) Rule {
	t.Helper()
	r, ok := Named(name)
	require.True(t, ok, name)
	return r
}

// level returns flat ground in a UTM zone, cells of one metre size.
func level(cols, rows int, cell float64) *grid.Heights {
	f := grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 500000, Y0: 4700000, DX: cell, DY: cell, Cols: cols, Rows: rows}
	return &grid.Heights{Frame: f, Z: make([]float32, cols*rows)}
}

func middle(h *grid.Heights) []Start { return []Start{{Col: h.Cols / 2, Row: h.Rows / 2}} }

// random returns rough ground, with gaps, barriers and trails about it.
func random(r *rand.Rand) (*grid.Heights, Options) {
	h := level(3+r.IntN(9), 3+r.IntN(9), 30)
	if r.IntN(2) == 0 {
		h.Frame.CRS, h.Frame.X0, h.Frame.Y0 = grid.CRS{}, 1.5, 60
		h.Frame.DX, h.Frame.DY = 0.0008, 0.0004
	}
	n := len(h.Z)
	o := Options{Neighbours: 16, Rule: rules[r.IntN(len(rules))], TrailRule: rules[r.IntN(len(rules))], MaxSeconds: 1e6,
		Barrier: make([]bool, n), Trail: make([]bool, n), GridLengths: r.IntN(2) == 0}
	if r.IntN(2) == 0 {
		o.MaxSlopeDeg = 25
	}
	for i := range h.Z {
		h.Z[i] = r.Float32() * 20
		if r.IntN(12) == 0 {
			h.Z[i] = float32(math.NaN())
		}
		o.Barrier[i] = r.IntN(8) == 0
		o.Trail[i] = r.IntN(3) == 0
	}
	for range 1 + r.IntN(3) {
		o.Starts = append(o.Starts, Start{Col: r.IntN(h.Cols), Row: r.IntN(h.Rows), DelayS: float64(r.IntN(3)) * 50})
	}
	return h, o
}

// slow is the oracle: it knows the moves from the package comment only, and
// relaxes every move of every cell until nothing changes (Bellman-Ford).
func slow(h *grid.Heights, o Options) []float64 {
	best := make([]float64, len(h.Z))
	walkable := func(c, r int) bool {
		if c < 0 || r < 0 || c >= h.Cols || r >= h.Rows {
			return false
		}
		return !math.IsNaN(h.At(c, r)) && !o.Barrier[r*h.Cols+c]
	}
	for i := range best {
		best[i] = math.Inf(1)
	}
	for _, s := range o.Starts {
		if walkable(s.Col, s.Row) {
			best[s.Row*h.Cols+s.Col] = math.Min(best[s.Row*h.Cols+s.Col], s.DelayS)
		}
	}
	size := func(row int) (east, north float64) {
		if o.GridLengths && h.CRS.Zone != 0 {
			return h.DX, h.DY
		}
		return h.Metres(row)
	}
	walked := func(rise, length float64, trail bool) float64 {
		rule := o.Rule
		if trail {
			rule = o.TrailRule
		} else if o.MaxSlopeDeg > 0 && math.Atan(math.Abs(rise)/length)*180/math.Pi > o.MaxSlopeDeg {
			return math.Inf(1)
		}
		return length / rule.Speed(rise/length)
	}
	onTrail := func(c, r int) bool { return o.Trail[r*h.Cols+c] }
	for changed := true; changed; {
		changed = false
		for r := range h.Rows {
			for c := range h.Cols {
				for dr := -2; dr <= 2; dr++ {
					for dc := -2; dc <= 2; dc++ {
						square := dc*dc + dr*dr
						if !walkable(c, r) || !walkable(c+dc, r+dr) || square != 1 && square != 2 && square != 5 {
							continue
						}
						e0, n0 := size(r)
						e1, n1 := size(r + dr)
						length := math.Hypot(float64(dc)*(e0+e1)/2, float64(dr)*(n0+n1)/2)
						trail := onTrail(c, r) && onTrail(c+dc, r+dr)
						rise := h.At(c+dc, r+dr) - h.At(c, r)
						cost := 0.0
						switch square {
						case 1:
							cost = walked(rise, length, trail)
						case 2:
							if !walkable(c+dc, r) && !walkable(c, r+dr) {
								continue
							}
							cost = walked(rise, length, trail)
						case 5:
							// The cells on either side of half way.
							ac, ar, bc, br := c+dc/2, r, c+dc/2, r+dr
							if dr == 2 || dr == -2 {
								ac, ar, bc, br = c, r+dr/2, c+dc, r+dr/2
							}
							if !walkable(ac, ar) || !walkable(bc, br) {
								continue
							}
							trail = trail && (onTrail(ac, ar) || onTrail(bc, br))
							half := (h.At(ac, ar)+h.At(bc, br))/2 - h.At(c, r)
							cost = walked(half, length/2, trail) + walked(rise-half, length/2, trail)
						}
						if t := best[r*h.Cols+c] + cost; t < best[(r+dr)*h.Cols+c+dc]*(1-1e-13) {
							best[(r+dr)*h.Cols+c+dc] = t
							changed = true
						}
					}
				}
			}
		}
	}
	return best
}

func TestReachOracle(t *testing.T) {
	n := 300
	if testing.Short() {
		n = 60
	}
	for seed := range n {
		h, o := random(rand.New(rand.NewPCG(uint64(seed), 7)))
		want := slow(h, o)
		f, err := Reach(background, h, o)
		if err != nil {
			require.ErrorIs(t, err, ErrNoStart)
			for _, w := range want {
				require.True(t, math.IsInf(w, 1), "seed %d", seed)
			}
			continue
		}
		reached := 0
		for i, w := range want {
			if math.IsInf(w, 1) {
				require.True(t, math.IsNaN(float64(f.Seconds[i])), "seed %d cell %d", seed, i)
				continue
			}
			reached++
			require.InDelta(t, w, f.Seconds[i], 1e-6*w, "seed %d cell %d", seed, i)
		}
		require.Equal(t, reached, f.Reached)
	}
}

// The shape of reach on flat ground, against two other programs.
func TestElongation(t *testing.T) {
	if testing.Short() {
		t.Skip("a million cells")
	}
	geotest.Check(t, "walk-elongation", func(in []string) ([]any, error) {
		half, err := strconv.Atoi(in[0])
		if err != nil {
			return nil, err
		}
		h := level(2*half+1, 2*half+1, 1)
		o := Options{Neighbours: 16, Rule: rule(t, "tobler"), Starts: middle(h), GridLengths: true, MaxSeconds: 1e6}
		f, err := Reach(background, h, o)
		if err != nil {
			return nil, err
		}
		pace := o.Rule.Pace(0)
		var n, inside int
		var sum, squares, most float64
		radius := float64(half)
		for i, s := range f.Seconds {
			d := math.Hypot(float64(i%h.Cols-half), float64(i/h.Cols-half))
			if float64(s) <= pace*radius {
				inside++
			}
			if d <= 10 {
				continue
			}
			e := float64(s)/(pace*d) - 1
			n, sum, squares, most = n+1, sum+e, squares+e*e, math.Max(most, e)
		}
		require.InDelta(t, Elongation16Worst, most, 1e-4)
		return []any{100 * sum / float64(n), 100 * most, 100 * math.Sqrt(squares/float64(n)),
			float64(inside) / (math.Pi * radius * radius)}, nil
	})
}

// What is reached is what a flood over side neighbours reaches, whatever the
// barriers: no move jumps or squeezes through.
func TestBarriersNeverJumped(t *testing.T) {
	for seed := range 200 {
		r := rand.New(rand.NewPCG(uint64(seed), 11))
		h := level(24, 24, 30)
		barrier := make([]bool, len(h.Z))
		for i := range h.Z {
			switch r.IntN(10) {
			case 0, 1, 2:
				barrier[i] = true
			case 3:
				h.Z[i] = float32(math.NaN())
			}
		}
		o := Options{Neighbours: 16, Rule: rule(t, "tobler"), Starts: []Start{{Col: r.IntN(24), Row: r.IntN(24)}}, Barrier: barrier, MaxSeconds: 1e6}
		f, err := Reach(background, h, o)
		if err != nil {
			require.ErrorIs(t, err, ErrNoStart)
			continue
		}
		want := flood(h, barrier, o.Starts[0])
		for i, s := range f.Seconds {
			require.Equal(t, want[i], !math.IsNaN(float64(s)), "seed %d cell %d", seed, i)
		}
	}
}

func flood(h *grid.Heights, barrier []bool, start Start) []bool {
	in := make([]bool, len(h.Z))
	todo := [][2]int{{start.Col, start.Row}}
	for len(todo) > 0 {
		c, r := todo[0][0], todo[0][1]
		todo = todo[1:]
		if c < 0 || r < 0 || c >= h.Cols || r >= h.Rows {
			continue
		}
		i := r*h.Cols + c
		if in[i] || barrier[i] || math.IsNaN(float64(h.Z[i])) {
			continue
		}
		in[i] = true
		todo = append(todo, [2]int{c + 1, r}, [2]int{c - 1, r}, [2]int{c, r + 1}, [2]int{c, r - 1})
	}
	return in
}

// A line of barrier cells from side to side that touch by corners only, as a
// stream drawn on a grid does, is tight in any direction.
func TestThinBarrierIsTight(t *testing.T) {
	for slope := -1.0; slope <= 1; slope += 0.1 {
		h := level(41, 41, 30)
		barrier := make([]bool, len(h.Z))
		row := func(c int) int { return 20 + int(math.Round(slope*float64(c-20)*0.9)) }
		for c := range 41 {
			barrier[row(c)*41+c] = true
		}
		f, err := Reach(background, h, Options{Neighbours: 16, Rule: rule(t, "tobler"), Starts: []Start{{Col: 20, Row: 0}}, Barrier: barrier, MaxSeconds: 1e6})
		require.NoError(t, err)
		for i, s := range f.Seconds {
			if i/41 >= row(i%41) {
				require.True(t, math.IsNaN(float64(s)), "slope %g cell %d", slope, i)
			}
		}
	}
}

// A knight's move walks down into a gully one cell wide and out again.
func TestKnightDoesNotSkipGully(t *testing.T) {
	h := level(3, 2, 10)
	h.Z[1], h.Z[4] = -8, -8
	r := rule(t, "tobler")
	s, err := newSearch(h, Options{Neighbours: 16, Rule: r, GridLengths: true, MaxSeconds: 1e6})
	require.NoError(t, err)
	knight := slices.Index(s.moves, move{2, 1, 2})
	half := math.Sqrt(500) / 2
	// The table that stands for the rule is good to 1e-6.
	require.InEpsilon(t, half*(r.Pace(-8/half)+r.Pace(8/half)), s.cost(0, knight, &s.steps[0][knight], math.Inf(1)), 1e-6)
}

// A longer search changes nothing that a shorter one
// found, and finds no cell nearer than its end.
func TestMonotoneInTime(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	h := level(60, 60, 30)
	for i := range h.Z {
		h.Z[i] = 40 * r.Float32()
	}
	o := Options{Neighbours: 16, Rule: rule(t, "irmischer-clarke-off"), Starts: middle(h), MaxSeconds: 300}
	short, err := Reach(background, h, o)
	require.NoError(t, err)
	o.MaxSeconds = 900
	long, err := Reach(background, h, o)
	require.NoError(t, err)
	require.Greater(t, long.Reached, short.Reached)
	for i, s := range short.Seconds {
		if math.IsNaN(float64(s)) {
			require.False(t, long.Seconds[i] <= 300, "cell %d", i)
			continue
		}
		require.Equal(t, s, long.Seconds[i])
	}
	var last Ring
	for seconds := 0.0; seconds <= 800; seconds += 50 {
		ring := long.Ring(seconds, h.Point(30, 30))
		require.GreaterOrEqual(t, ring.AreaM2, last.AreaM2)
		require.GreaterOrEqual(t, ring.FarthestM, last.FarthestM)
		last = ring
	}
}

// Several starts with delays are the best of each alone; their order is of no
// account; a speed factor divides the time.
func TestStarts(t *testing.T) {
	for seed := range 40 {
		h, o := random(rand.New(rand.NewPCG(uint64(seed), 3)))
		o.Starts = []Start{{Col: 0, Row: 0, DelayS: 0}, {Col: 2, Row: 2, DelayS: 40}, {Col: h.Cols - 1, Row: 1, DelayS: 90}}
		all, err := Reach(background, h, o)
		if err != nil {
			continue
		}
		want := make([]float64, len(h.Z))
		for i := range want {
			want[i] = math.Inf(1)
		}
		for _, s := range o.Starts {
			one := o
			one.Starts = []Start{{Col: s.Col, Row: s.Row}}
			one.Factor = 2
			f, err := Reach(background, h, one)
			if err != nil {
				continue
			}
			for i, v := range f.Seconds {
				if v == v {
					want[i] = math.Min(want[i], s.DelayS+2*float64(v))
				}
			}
		}
		o.Starts[0], o.Starts[2] = o.Starts[2], o.Starts[0]
		again, err := Reach(background, h, o)
		require.NoError(t, err)
		for i, v := range all.Seconds {
			require.Equal(t, math.Float32bits(v), math.Float32bits(again.Seconds[i]))
			if v != v {
				require.True(t, math.IsInf(want[i], 1))
				continue
			}
			require.InDelta(t, want[i], v, 1e-5*(1+want[i]))
		}
	}
}

func TestOpen(t *testing.T) {
	r := rule(t, "tobler")
	pace := 30 * r.Pace(0)
	gap := level(21, 21, 30)
	gap.Z[10*21+14] = float32(math.NaN())
	for _, tc := range []struct {
		name   string
		h      *grid.Heights
		starts []Start
		want   float64 // cells walked until open
	}{
		{"edge", level(21, 21, 30), []Start{{Col: 10, Row: 10}}, 10},
		{"near the edge", level(21, 21, 30), []Start{{Col: 10, Row: 2}}, 2},
		{"no data", gap, []Start{{Col: 10, Row: 10}}, 3},
		{"delay", gap, []Start{{Col: 10, Row: 10, DelayS: 4 * pace}}, 7},
		{"a start beyond the edge", gap, []Start{{Col: 10, Row: 10}, {Col: 21, Row: 3, DelayS: pace}}, 1},
		{"a start without data", gap, []Start{{Col: 10, Row: 10}, {Col: 14, Row: 10}}, 0},
	} {
		t.Run(tc.name, func(t *testing.T) {
			f, err := Reach(background, tc.h, Options{Neighbours: 16, Rule: r, Starts: tc.starts, GridLengths: true, MaxSeconds: 1e6})
			require.NoError(t, err)
			require.InDelta(t, tc.want*pace, f.OpenS, 1e-3)
			require.True(t, f.Open(f.OpenS))
			require.False(t, f.Open(f.OpenS-1))
		})
	}
	t.Run("closed", func(t *testing.T) {
		f, err := Reach(background, level(21, 21, 30), Options{Neighbours: 16, Rule: r, Starts: []Start{{Col: 10, Row: 10}}, MaxSeconds: 9 * pace})
		require.NoError(t, err)
		require.True(t, math.IsInf(f.OpenS, 1))
	})
}

func TestReachErrors(t *testing.T) {
	h := level(3, 3, 30)
	good := Options{Neighbours: 16, Rule: rule(t, "tobler"), Starts: middle(h), MaxSeconds: 10}
	for word, change := range map[string]func(*Options){
		"no walking rule": func(o *Options) { o.Rule = Rule{} },
		"no walking rule for the trails": func(o *Options) {
			o.Trail = make([]bool, 9)
		},
		"barriers":       func(o *Options) { o.Barrier = make([]bool, 8) },
		"trails are not": func(o *Options) { o.Trail = make([]bool, 8); o.TrailRule = o.Rule },
		"time":           func(o *Options) { o.MaxSeconds = math.NaN() },
		"factor":         func(o *Options) { o.Factor = -1 },
		"greatest slope": func(o *Options) { o.MaxSlopeDeg = 90 },
		"no start":       func(o *Options) { o.Starts = nil },
	} {
		o := good
		change(&o)
		_, err := Reach(background, h, o)
		require.ErrorContains(t, err, word)
	}
	_, err := Reach(background, &grid.Heights{}, good)
	require.ErrorContains(t, err, "no cells")
	stopped, stop := context.WithCancel(background)
	stop()
	_, err = Reach(stopped, h, good)
	require.ErrorIs(t, err, context.Canceled)
}

func TestWithin(t *testing.T) {
	f := level(41, 41, 10).Frame
	centre := f.Point(20, 20)
	one, err := Within(f, centre, earth.Ellipse{}, 5)
	require.NoError(t, err)
	require.Equal(t, []Start{{Col: 20, Row: 20, DelayS: 5}}, one)

	// Between two centres both are starts.
	two, err := Within(f, f.Point(20.5, 20), earth.Ellipse{MajorM: math.NaN()}, 0)
	require.NoError(t, err)
	require.ElementsMatch(t, []Start{{Col: 20, Row: 20}, {Col: 21, Row: 20}}, two)

	// 50 m along 60 degrees, 20 m across, and 7.1 m for the cells' own size:
	// every centre by its own distance and bearing, the UTM grid's convergence
	// included.
	e := earth.Ellipse{MajorM: 50, MinorM: 20, AzimuthDeg: 60}
	starts, err := Within(f, centre, e, 0)
	require.NoError(t, err)
	in := map[[2]int]bool{}
	for _, s := range starts {
		in[[2]int{s.Col, s.Row}] = true
	}
	require.Len(t, in, len(starts), "no cell twice")
	for r := range f.Rows {
		for c := range f.Cols {
			d, b, _ := earth.Inverse(centre, f.Point(float64(c), float64(r)))
			sin, cos := math.Sincos((float64(b) - 60) * math.Pi / 180)
			want := d == 0 || math.Hypot(d*cos/57.07, d*sin/27.07) <= 1
			require.Equal(t, want, in[[2]int{c, r}], "column %d row %d", c, r)
		}
	}
	// π·57·27 m² hold 49 cells of 100 m².
	require.InDelta(t, 49, len(starts), 4)

	// A start off the terrain is known to be so.
	off, err := Within(f, f.Point(43, 20), earth.Ellipse{MajorM: 40, MinorM: 40}, 0)
	require.NoError(t, err)
	require.Contains(t, off, Start{Col: 43, Row: 20})
	require.Contains(t, off, Start{Col: 40, Row: 20})
}

// One field serves for all walkers: a field walked at their own speed gives
// the same rings.
func TestRings(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	h := level(80, 80, 30)
	for i := range h.Z {
		h.Z[i] = 25 * r.Float32()
	}
	from := h.Point(40, 40)
	afterS := []float64{300, 600}
	o := Options{Neighbours: 16, Rule: rule(t, "irmischer-clarke-off"), Starts: middle(h), MaxSeconds: RingSeconds(afterS, Walkers())}
	f, err := Reach(background, h, o)
	require.NoError(t, err)
	rings := Rings(f, from, afterS, Walkers(), nil)
	require.Len(t, rings, 6)
	for i, w := range Walkers() {
		o.Factor = w.Factor
		own, err := Reach(background, h, o)
		require.NoError(t, err)
		for j, after := range afterS {
			got, want := rings[3*j+i], own.Ring(after, from)
			require.Equal(t, w.Name, got.By)
			require.Equal(t, after, got.AfterS)
			require.InEpsilon(t, want.AreaM2, got.AreaM2, 1e-3)
			require.InEpsilon(t, want.FarthestM, got.FarthestM, 1e-5)
			require.False(t, got.Open)
		}
	}
	// The usual walker at 600 s on flat ground would be at 600·0.7785 m/s.
	require.Less(t, rings[4].FarthestM, 600*o.Rule.Speed(-0.02))
}
