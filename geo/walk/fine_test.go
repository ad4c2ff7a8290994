package walk

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"farhail/geo/grid"

	"github.com/stretchr/testify/require"
)

// On flat ground no time is too long, and none too short by more than the
// stated elongation, in any direction.
func TestShapeOnFlatGround(t *testing.T) {
	half := 250
	if testing.Short() {
		half = 60
	}
	h := level(2*half+1, 2*half+1, 10)
	o := Options{Rule: rule(t, "tobler"), Starts: middle(h), GridLengths: true, MaxSeconds: 1e6}
	f, err := Reach(background, h, o)
	require.NoError(t, err)
	least, most := math.Inf(1), math.Inf(-1)
	for i, s := range f.Seconds {
		d := math.Hypot(float64(i%h.Cols-half), float64(i/h.Cols-half))
		if d == 0 {
			continue
		}
		e := float64(s)/(10*d*o.Rule.Pace(0)) - 1
		least, most = math.Min(least, e), math.Max(most, e)
	}
	t.Logf("times on flat ground are from %+.3f %% to %+.3f %% of the straight line's", 100*least, 100*most)
	require.GreaterOrEqual(t, least, -Elongation80Worst)
	require.LessOrEqual(t, most, 1e-5)
	// The worst gap, between (1, 0) and (5, 1).
	require.InDelta(t, 1/math.Cos(math.Atan(0.2)/2)-1, Elongation80Worst, 1e-5)
}

// On a plane walkers zigzag: the speed up the fall line is what the rule's
// velocities give by their convex hull, on or off the grid's axes. Tobler's
// function at 40 %: 1.3235 km/h.
func TestPlaneZigzag(t *testing.T) {
	for _, turn := range []float64{0, 10, 26.57, 45} {
		sin, cos := math.Sincos(turn * math.Pi / 180)
		h := level(121, 121, 30)
		for i := range h.Z {
			h.Z[i] = float32(0.4 * 30 * (float64(i%121)*sin - float64(i/121)*cos))
		}
		r := rule(t, "tobler")
		f, err := Reach(background, h, Options{Rule: r, Starts: middle(h), GridLengths: true, MaxSeconds: 1e6})
		require.NoError(t, err)
		// A cell 50 cells up or down the fall line.
		for _, sign := range []float64{1, -1} {
			c, w := 60+int(math.Round(sign*50*sin)), 60-int(math.Round(sign*50*cos))
			east, north := float64(c-60)*30, float64(60-w)*30
			along := east*sin + north*cos
			speed := math.Abs(along) / float64(f.Seconds[w*121+c]) * 3.6
			want := 3.6 / r.ZigzagPace(0.4*sign)
			require.InEpsilon(t, want, speed, Elongation80Worst+0.002, "turned %g, sign %g", turn, sign)
		}
	}
}

// slow80 is the oracle of the 80 moves: it knows them from the package comment
// only, asks the rule without a table, and relaxes every move of every cell
// until nothing changes.
func slow80(h *grid.Heights, o Options) []float64 {
	best := make([]float64, len(h.Z))
	open := func(c, r int) bool {
		return c >= 0 && r >= 0 && c < h.Cols && r < h.Rows && !math.IsNaN(h.At(c, r)) && !o.Barrier[r*h.Cols+c]
	}
	for i := range best {
		best[i] = math.Inf(1)
	}
	for _, s := range o.Starts {
		if open(s.Col, s.Row) {
			best[s.Row*h.Cols+s.Col] = math.Min(best[s.Row*h.Cols+s.Col], s.DelayS)
		}
	}
	type spot struct{ z, ground float64 }
	at := func(c, r int) spot { return spot{h.At(c, r), float64(o.Ground[r*h.Cols+c])} }
	cost := func(c, r, dc, dr int) float64 {
		e0, n0 := h.Metres(r)
		e1, n1 := h.Metres(r + dr)
		n := max(dc, -dc, dr, -dr)
		leg := math.Hypot(float64(dc)*(e0+e1)/2, float64(dr)*(n0+n1)/2) / float64(n)
		trail := o.Trail[r*h.Cols+c] && o.Trail[(r+dr)*h.Cols+c+dc]
		spots := []spot{at(c, r)}
		for i := 1; i < n; i++ {
			x, y := float64(c)+float64(i*dc)/float64(n), float64(r)+float64(i*dr)/float64(n)
			c0, r0, c1, r1 := int(math.Floor(x)), int(math.Floor(y)), int(math.Ceil(x)), int(math.Ceil(y))
			if !open(c0, r0) || !open(c1, r1) {
				return math.Inf(1)
			}
			trail = trail && (o.Trail[r0*h.Cols+c0] || o.Trail[r1*h.Cols+c1])
			a, b, w := at(c0, r0), at(c1, r1), x-float64(c0)+y-float64(r0)
			spots = append(spots, spot{a.z*(1-w) + b.z*w, a.ground*(1-w) + b.ground*w})
		}
		if n == 1 && dc != 0 && dr != 0 && !open(c+dc, r) && !open(c, r+dr) {
			return math.Inf(1)
		}
		spots = append(spots, at(c+dc, r+dr))
		var sum float64
		for i := range n {
			slope := (spots[i+1].z - spots[i].z) / leg
			switch {
			case trail:
				sum += leg * o.TrailRule.ZigzagPace(slope)
			case o.MaxSlopeDeg > 0 && math.Abs(slope) > math.Tan(o.MaxSlopeDeg*math.Pi/180):
				return math.Inf(1)
			default:
				sum += leg * o.Rule.ZigzagPace(slope) * (spots[i].ground + spots[i+1].ground) / 2
			}
		}
		return sum / (1 + Elongation80Worst)
	}
	known := map[[4]int]float64{}
	for changed := true; changed; {
		changed = false
		for r := range h.Rows {
			for c := range h.Cols {
				if math.IsInf(best[r*h.Cols+c], 1) {
					continue
				}
				for dr := -5; dr <= 5; dr++ {
					for dc := -5; dc <= 5; dc++ {
						if gcd(max(dc, -dc), max(dr, -dr)) != 1 || !open(c+dc, r+dr) {
							continue
						}
						key := [4]int{c, r, dc, dr}
						d, ok := known[key]
						if !ok {
							d = cost(c, r, dc, dr)
							known[key] = d
						}
						if t := best[r*h.Cols+c] + d; t < best[(r+dr)*h.Cols+c+dc]*(1-1e-13) {
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

func TestReach80Oracle(t *testing.T) {
	n := 60
	if testing.Short() {
		n = 8
	}
	for seed := range n {
		r := rand.New(rand.NewPCG(uint64(seed), 8))
		h, o := random(r)
		o.Neighbours, o.GridLengths = 80, false
		// naismith-langmuir jumps at 5 degrees, which the table smears.
		for o.Rule.Name == "naismith-langmuir" || o.TrailRule.Name == "naismith-langmuir" {
			o.Rule, o.TrailRule = rules[r.IntN(len(rules))], rules[r.IntN(len(rules))]
		}
		o.Ground = make([]float32, len(h.Z))
		for i := range o.Ground {
			o.Ground[i] = 1 + float32(r.IntN(3))/2
		}
		want := slow80(h, o)
		f, err := Reach(background, h, o)
		if err != nil {
			require.ErrorIs(t, err, ErrNoStart)
			continue
		}
		for i, w := range want {
			if math.IsInf(w, 1) {
				require.True(t, math.IsNaN(float64(f.Seconds[i])), "seed %d cell %d", seed, i)
				continue
			}
			require.InDelta(t, w, f.Seconds[i], 1e-4*w+1e-3, "seed %d cell %d", seed, i)
		}
	}
}

// The per-metre rule with 16 moves over the heights of their ends, by its
// formula alone: T = 0.72 dS + 6 dH up + 1.9998 dH down to a slope of -0.2125,
// -1.9998 dH below (GRASS r.walk -k; the same to 1.3e-6 on 1201 x 1201 cells).
func TestGridProgramOracle(t *testing.T) {
	const n = 24
	for seed := range 4 {
		h := fractal(n, uint64(seed))
		f, err := Reach(background, h, Options{Rule: rule(t, "langmuir-per-metre"), Neighbours: 16, EndHeights: true, GridLengths: true, Starts: middle(h), MaxSeconds: 1e6})
		require.NoError(t, err)
		best := make([]float64, n*n)
		for i := range best {
			best[i] = math.Inf(1)
		}
		best[n/2*n+n/2] = 0
		for changed := true; changed; {
			changed = false
			for i := range best {
				for j := range best {
					dc, dr := j%n-i%n, j/n-i/n
					if q := dc*dc + dr*dr; q != 1 && q != 2 && q != 5 {
						continue
					}
					d, rise := 30*math.Hypot(float64(dc), float64(dr)), float64(h.Z[j])-float64(h.Z[i])
					weight := 6.0
					if rise < 0 {
						weight = 1.9998
						if rise/d < -0.2125 {
							weight = -1.9998
						}
					}
					if t := best[i] + 0.72*d + weight*rise; t < best[j]-1e-9 {
						best[j], changed = t, true
					}
				}
			}
		}
		for i, w := range best {
			require.InDelta(t, w, f.Seconds[i], 1e-5*w)
		}
	}
}

// No barrier is jumped by the long moves either, and lines of cells that touch
// by their corners are tight.
func TestBarriers80(t *testing.T) {
	for seed := range 200 {
		r := rand.New(rand.NewPCG(uint64(seed), 21))
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
		o := Options{Rule: rule(t, "tobler"), Starts: []Start{{Col: r.IntN(24), Row: r.IntN(24)}}, Barrier: barrier, MaxSeconds: 1e6}
		f, err := Reach(background, h, o)
		if err != nil {
			continue
		}
		want := flood(h, barrier, o.Starts[0])
		for i, s := range f.Seconds {
			require.Equal(t, want[i], !math.IsNaN(float64(s)), "seed %d cell %d", seed, i)
		}
	}
}

// Ground that takes twice as long doubles the time, but not on trails; ground
// that nobody crosses is a barrier.
func TestGround(t *testing.T) {
	h := level(41, 41, 30)
	ground := make([]float32, len(h.Z))
	for i := range ground {
		ground[i] = 2
	}
	trail := make([]bool, len(h.Z))
	for c := 20; c < 41; c++ {
		trail[20*41+c] = true
	}
	r := rule(t, "tobler")
	o := Options{Rule: r, Starts: middle(h), MaxSeconds: 1e6}
	bare, err := Reach(background, h, o)
	require.NoError(t, err)
	o.Ground = ground
	slow, err := Reach(background, h, o)
	require.NoError(t, err)
	o.Trail, o.TrailRule = trail, r
	trails, err := Reach(background, h, o)
	require.NoError(t, err)
	for i, s := range bare.Seconds {
		require.InDelta(t, 2*s, slow.Seconds[i], 1e-3)
		require.LessOrEqual(t, trails.Seconds[i], slow.Seconds[i]+1e-3)
		require.GreaterOrEqual(t, trails.Seconds[i], s-1e-3)
	}
	require.InDelta(t, bare.Seconds[20*41+40], trails.Seconds[20*41+40], 1e-3)
	for c := range 41 {
		ground[10*41+c] = float32(math.Inf(1))
	}
	wall, err := Reach(background, h, o)
	require.NoError(t, err)
	for i, s := range wall.Seconds {
		require.Equal(t, i/41 > 10, !math.IsNaN(float64(s)))
	}
	ground[5] = 0
	_, err = Reach(background, h, o)
	require.ErrorContains(t, err, "ground factor of cell 5 is 0")
}

// How far off times on rough ground are, against a four times finer solve of
// the same bilinear ground.
func TestErrorOnRoughGround(t *testing.T) {
	if testing.Short() {
		t.Skip("a finer solve")
	}
	const n, k = 101, 4
	h := fractal(n, 4)
	fine := level((n-1)*k+1, (n-1)*k+1, 30/k)
	for i := range fine.Z {
		fine.Z[i] = float32(h.SampleCell(float64(i%fine.Cols)/k, float64(i/fine.Cols)/k))
	}
	for _, neighbours := range []int{80, 16} {
		o := Options{Rule: rule(t, "tobler"), Neighbours: neighbours, Starts: middle(h), GridLengths: true, MaxSeconds: 1e6}
		coarse, err := Reach(background, h, o)
		require.NoError(t, err)
		o.Starts, o.Neighbours = middle(fine), 80
		best, err := Reach(background, fine, o)
		require.NoError(t, err)
		var sum, squares, least, most float64
		count := 0.0
		for r := range n {
			for c := range n {
				if math.Hypot(float64(c-n/2), float64(r-n/2)) < 10 {
					continue
				}
				e := float64(coarse.Seconds[r*n+c])/float64(best.Seconds[r*k*fine.Cols+c*k]) - 1
				count, sum, squares, least, most = count+1, sum+e, squares+e*e, math.Min(least, e), math.Max(most, e)
			}
		}
		mean := sum / count
		t.Logf("%d neighbours on rough ground: mean %+.2f %%, sd %.2f %%, from %+.2f %% to %+.2f %% of a four times finer solve (%.0f cells)",
			neighbours, 100*mean, 100*math.Sqrt(squares/count-mean*mean), 100*least, 100*most, count)
		if neighbours == 80 {
			require.Less(t, math.Abs(mean), 0.08)
		}
	}
}

func ExampleRule_ZigzagPace() {
	r, _ := Named("tobler")
	fmt.Printf("%.4f km/h straight up, %.4f km/h in zigzags\n", 3.6/r.MapPace(0.4), 3.6/r.ZigzagPace(0.4))
	// Output: 1.2420 km/h straight up, 1.3235 km/h in zigzags
}
