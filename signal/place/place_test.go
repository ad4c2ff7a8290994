package place

import (
	"math"
	"math/bits"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// instance makes a random placement problem.
func instance(seed uint64, watchers, sites int, density float64) Problem {
	r := rand.New(rand.NewPCG(seed, 1))
	p := Problem{Weights: make([]float64, watchers), Sets: make([]Set, sites)}
	for i := range p.Weights {
		p.Weights[i] = math.Floor(r.Float64() * 100)
	}
	for i := range p.Sets {
		p.Sets[i] = NewSet(watchers)
		for j := range watchers {
			if r.Float64() < density {
				p.Sets[i].Add(j)
			}
		}
	}
	return p
}

// enumerate is the oracle: the best cover over every subset of n sites or
// fewer, with no cuts.
func enumerate(p Problem, n int) float64 {
	best := 0.0
	for mask := uint(0); mask < 1<<len(p.Sets); mask++ {
		if bits.OnesCount(mask) > n {
			continue
		}
		sum := 0.0
		for w, weight := range p.Weights {
			for s := range p.Sets {
				if mask&(1<<s) != 0 && p.Sets[s].Has(w) {
					sum += weight
					break
				}
			}
		}
		best = max(best, sum)
	}
	return best
}

// reached returns what sites are worth together.
func reached(o Objective, sites []int) float64 {
	_, c := standing(o, sites)
	return c.Covered
}

func TestExactEqualsEnumerationAndBoundsHold(t *testing.T) {
	for seed := range uint64(200) {
		n := 1 + int(seed%4)
		p := instance(seed, 5+int(seed%60), 4+int(seed%7), 0.15)
		want := enumerate(p, n)
		exact, err := Exact(p, n)
		require.NoError(t, err)
		require.InDelta(t, want, exact.Covered, 1e-9, "seed %d", seed)

		greedy, err := Greedy(p, n)
		require.NoError(t, err)
		require.LessOrEqual(t, greedy.Covered, want+1e-9, "seed %d", seed)
		require.GreaterOrEqual(t, greedy.Bound, want-1e-9, "seed %d: the bound is below the best", seed)
		// Nemhauser, Wolsey and Fisher 1978, theorem 4.2.
		k := float64(n)
		require.GreaterOrEqual(t, greedy.Covered, (1-math.Pow(1-1/k, k))*want-1e-9, "seed %d", seed)
	}
}

// plainGreedy computes every gain afresh in every round.
func plainGreedy(o Objective, n int) []Pick {
	s := o.start()
	var picks []Pick
	for range n {
		best := Pick{-1, 0}
		for i := range o.sites() {
			if g := s.gain(i); g > best.Gain*(1+tie) {
				best = Pick{i, g}
			}
		}
		if best.Candidate < 0 {
			break
		}
		s.add(best.Candidate)
		picks = append(picks, best)
	}
	return picks
}

func TestLazyGreedyEqualsPlainGreedy(t *testing.T) {
	for seed := range uint64(100) {
		p := instance(seed, 300, 60, 0.05)
		c, err := Greedy(p, 8)
		require.NoError(t, err)
		require.Equal(t, plainGreedy(p, 8), c.Picks, "seed %d", seed)
	}
}

func TestGreedyFindsTheTextbookTrap(t *testing.T) {
	// Two sites that share the watchers between them beat the largest set:
	// greedy takes the middle one first and cannot reach all six.
	p := Problem{Weights: []float64{1, 1, 1, 1, 1, 1}}
	for _, members := range [][]int{{0, 1, 2}, {3, 4, 5}, {1, 2, 3, 4}} {
		s := NewSet(6)
		for _, m := range members {
			s.Add(m)
		}
		p.Sets = append(p.Sets, s)
	}
	greedy, err := Greedy(p, 2)
	require.NoError(t, err)
	exact, err := Exact(p, 2)
	require.NoError(t, err)
	assert.Equal(t, []Pick{{2, 4}, {0, 1}}, greedy.Picks)
	assert.Equal(t, 5.0, greedy.Covered)
	assert.Equal(t, 6.0, greedy.Bound)
	assert.InDelta(t, 1-5.0/6, greedy.Gap(), 1e-12)
	assert.Equal(t, []Pick{{0, 3}, {1, 3}}, exact.Picks)
	assert.Equal(t, 0.0, exact.Gap())
}

func TestTiesGoInInputOrder(t *testing.T) {
	p := Problem{Weights: []float64{1, 1, 1}, Sets: []Set{NewSet(3), NewSet(3), NewSet(3)}}
	for i := range p.Sets {
		p.Sets[i].Add(2 - i)
	}
	c, err := Greedy(p, 3)
	require.NoError(t, err)
	assert.Equal(t, []Pick{{0, 1}, {1, 1}, {2, 1}}, c.Picks)
}

func TestEdges(t *testing.T) {
	p := instance(3, 10, 4, 0.3)
	for name, c := range map[string]struct {
		p Problem
		n int
	}{"no sites": {Problem{Weights: p.Weights}, 2}, "none wanted": {p, 0}, "nobody looks": {Problem{Sets: []Set{{}}}, 1}} {
		t.Run(name, func(t *testing.T) {
			got, err := Greedy(c.p, c.n)
			require.NoError(t, err)
			assert.Empty(t, got.Picks)
			assert.Zero(t, got.Covered)
			assert.Zero(t, got.Bound)
		})
	}
	more, err := Greedy(p, 100)
	require.NoError(t, err)
	assert.LessOrEqual(t, len(more.Picks), 4)
	assert.Zero(t, more.Gap(), "all sites chosen: nothing can be better")

	_, err = Greedy(Problem{Weights: []float64{math.NaN()}}, 1)
	require.ErrorIs(t, err, ErrWeights)
	_, err = Exact(Problem{Weights: []float64{-1}}, 1)
	require.ErrorIs(t, err, ErrWeights)
	_, err = Choose(p, Ask{Count: 1, Fixed: []int{0, 1}})
	require.ErrorIs(t, err, ErrAsk)
	_, err = Choose(p, Ask{Count: 3, Fixed: []int{0, 0}})
	require.ErrorIs(t, err, ErrAsk)
	_, err = Choose(p, Ask{Count: 1, Costs: []float64{1, 1, 0, 1}})
	require.ErrorIs(t, err, ErrAsk)
}

// Seen areas of 5 km on cells of 30 m, 87 000 cells each, in a million cells:
// hills hide about half of each in patches.
func large() Problem {
	const side = 1000
	p := Problem{Weights: make([]float64, side*side), Sets: make([]Set, 1000)}
	r := rand.New(rand.NewPCG(9, 9))
	for i := range p.Weights {
		p.Weights[i] = r.Float64()
	}
	const radius = 5000 / 30
	for i := range p.Sets {
		p.Sets[i] = NewSet(len(p.Weights))
		x, y, a, b := r.IntN(side), r.IntN(side), 10+20*r.Float64(), 10+20*r.Float64()
		for row := max(0, y-radius); row < min(side, y+radius+1); row++ {
			for col := max(0, x-radius); col < min(side, x+radius+1); col++ {
				dx, dy := float64(col-x), float64(row-y)
				if dx*dx+dy*dy <= radius*radius && math.Sin(dx/a)+math.Sin(dy/b) > 0 {
					p.Sets[i].Add(row*side + col)
				}
			}
		}
	}
	return p
}

func BenchmarkThreeOfThousandSitesMillionCells(b *testing.B) { benchChoose(b, 3) }

func BenchmarkTenOfThousandSitesMillionCells(b *testing.B) { benchChoose(b, 10) }

func benchChoose(b *testing.B, count int) {
	p := large()
	for b.Loop() {
		c, err := Choose(p, Ask{Count: count})
		require.NoError(b, err)
		b.ReportMetric(c.Gap(), "gap")
	}
}
