package place

import (
	"math"
	"math/bits"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// chances makes a random instance with several states.
func chances(seed uint64, cells, sites, states int) Chances {
	r := rand.New(rand.NewPCG(seed, 2))
	c := Chances{Weights: make([]float64, cells), States: make([]float64, states)}
	for i := range c.Weights {
		c.Weights[i] = r.Float64()
	}
	for i := range c.States {
		c.States[i] = 1 / float64(states)
	}
	for range sites {
		var n Noticing
		for cell := range cells {
			if r.Float64() > 0.3 {
				continue
			}
			n.Cells = append(n.Cells, int32(cell))
			for range states {
				n.P = append(n.P, r.Float32())
			}
		}
		c.Seen = append(c.Seen, n)
	}
	return c
}

// plainWorth is the oracle: the objective as it is written down.
func plainWorth(c Chances, sites []int) float64 {
	worth := 0.0
	for cell, w := range c.Weights {
		for s, share := range c.States {
			missed := 1.0
			for _, site := range sites {
				for i, at := range c.Seen[site].Cells {
					if int(at) == cell {
						missed *= 1 - float64(c.Seen[site].P[i*len(c.States)+s])
					}
				}
			}
			worth += w * share * (1 - missed)
		}
	}
	return worth
}

func members(mask uint) (list []int) {
	for ; mask != 0; mask &= mask - 1 {
		list = append(list, bits.TrailingZeros(mask))
	}
	return list
}

func TestChancesAgainstEnumeration(t *testing.T) {
	for seed := range uint64(200) {
		r := rand.New(rand.NewPCG(seed, 3))
		c := chances(seed, 4+int(seed%20), 4+int(seed%5), 1+int(seed%4))
		ask := Ask{Count: 1 + int(seed%4)}
		if seed%3 == 1 {
			ask.Fixed = []int{int(seed) % c.sites()}
		}
		if seed%2 == 1 {
			ask.Costs, ask.Budget = make([]float64, c.sites()), 4
			for i := range ask.Costs {
				ask.Costs[i] = 0.5 + 2*r.Float64()
			}
		}
		best := 0.0
		for mask := uint(0); mask < 1<<c.sites(); mask++ {
			sites := members(mask)
			if len(sites) > ask.Count || !ask.fits(0, ask.spent(sites)) || len(ask.Fixed) > 0 && mask&(1<<ask.Fixed[0]) == 0 {
				continue
			}
			best = max(best, plainWorth(c, sites))
		}
		plain, err := prepared(c, ask, greedy)
		require.NoError(t, err)
		require.GreaterOrEqual(t, plain.Bound, best-1e-9, "seed %d: the bound is below the best", seed)
		if len(ask.Costs) == 0 && len(ask.Fixed) == 0 {
			k := float64(ask.Count)
			require.GreaterOrEqual(t, plain.Covered, (1-math.Pow(1-1/k, k))*best-1e-9, "seed %d", seed)
		}
		swapped := exchange(c, ask, plain, gains(prefixed(c, ask), c.sites(), ask.Fixed))
		require.GreaterOrEqual(t, swapped.Covered, plain.Covered, "seed %d", seed)
		got, err := Choose(c, ask)
		require.NoError(t, err)
		require.True(t, got.Exact)
		require.InDelta(t, best, got.Covered, 1e-8, "seed %d", seed)
		require.InDelta(t, plainWorth(c, got.Sites()), got.Covered, 1e-9, "seed %d", seed)
		require.True(t, ask.fits(0, ask.spent(got.Sites())), "seed %d: within the budget", seed)
	}
}

func TestLazyGreedyOfChancesEqualsPlain(t *testing.T) {
	for seed := range uint64(30) {
		c := chances(seed, 200, 40, 3)
		got, err := Greedy(c, 6)
		require.NoError(t, err)
		require.Equal(t, plainGreedy(c, 6), got.Picks, "seed %d", seed)
	}
}

// With chances of 0 and 1 in one state, chances are sets.
func TestChancesOfOneAreSets(t *testing.T) {
	for seed := range uint64(50) {
		p := instance(seed, 30, 12, 0.2)
		c := Chances{Weights: p.Weights}
		for _, s := range p.Sets {
			var n Noticing
			for i := range p.Weights {
				if s.Has(i) {
					n.Cells, n.P = append(n.Cells, int32(i)), append(n.P, 1)
				}
			}
			c.Seen = append(c.Seen, n)
		}
		want, err := Exact(p, 3)
		require.NoError(t, err)
		got, err := Exact(c, 3)
		require.NoError(t, err)
		require.InDelta(t, want.Covered, got.Covered, 1e-9, "seed %d", seed)
	}
}

// Two lamps that are both missed on a hazy day are worth less than two that
// are missed on different days, though each is as good by itself.
func TestSharedStatesLowerTheWorth(t *testing.T) {
	both := Chances{Weights: []float64{1}, States: []float64{0.5, 0.5}, Seen: []Noticing{
		{Cells: []int32{0}, P: []float32{1, 0}}, {Cells: []int32{0}, P: []float32{1, 0}},
	}}
	got, err := Choose(both, Ask{Count: 2})
	require.NoError(t, err)
	assert.Equal(t, 0.5, got.Covered)
	both.Seen[1].P = []float32{0, 1}
	got, err = Choose(both, Ask{Count: 2})
	require.NoError(t, err)
	assert.Equal(t, 1.0, got.Covered)
}

func TestFaultsOfChances(t *testing.T) {
	good := chances(1, 5, 2, 2)
	for name, spoil := range map[string]func(c *Chances){
		"a weight":   func(c *Chances) { c.Weights = []float64{-1, 1, 1, 1, 1} },
		"the shares": func(c *Chances) { c.States = []float64{0.5, 0.6} },
		"a chance":   func(c *Chances) { c.Seen = []Noticing{{Cells: []int32{0}, P: []float32{2, 0}}} },
		"the order":  func(c *Chances) { c.Seen = []Noticing{{Cells: []int32{1, 1}, P: make([]float32, 4)}} },
		"a cell":     func(c *Chances) { c.Seen = []Noticing{{Cells: []int32{9}, P: make([]float32, 2)}} },
		"the number": func(c *Chances) { c.Seen = []Noticing{{Cells: []int32{1}, P: make([]float32, 3)}} },
	} {
		bad := good
		spoil(&bad)
		_, err := Choose(bad, Ask{Count: 1})
		require.Error(t, err, name)
	}
	_, err := Choose(Nearest{Weights: []float64{1}, DistM: [][]float64{{math.NaN()}}}, Ask{Count: 1})
	require.Error(t, err)
}

// rowed turns an instance into one whose chances stand in shared rows.
func rowed(c Chances) Chances {
	out := Chances{Weights: c.Weights, States: c.States}
	for _, seen := range c.Seen {
		n := Noticing{Cells: seen.Cells, Row: make([]int32, len(seen.Cells))}
		for i := range seen.Cells {
			n.Row[i] = int32(len(out.Rows))
			out.Rows = append(out.Rows, seen.P[i*len(c.States):(i+1)*len(c.States)])
		}
		out.Seen = append(out.Seen, n)
	}
	return out
}

func TestRowsAreChances(t *testing.T) {
	for seed := range uint64(20) {
		c := chances(seed, 30, 8, 4)
		plain, err := Choose(c, Ask{Count: 3})
		require.NoError(t, err)
		rows, err := Choose(rowed(c), Ask{Count: 3})
		require.NoError(t, err)
		assert.Equal(t, plain, rows)
		assert.InDelta(t, plainWorth(c, []int{2}), rowed(c).Alone(2), 1e-12)
		worth := 0.0
		for cell, p := range rowed(c).ByCell(rows.Sites()) {
			worth += c.Weights[cell] * p
		}
		assert.InDelta(t, rows.Covered, worth, 1e-9)
	}
	for _, fault := range []func(c *Chances){
		func(c *Chances) { c.Seen[0].Row[0] = int32(len(c.Rows)) },
		func(c *Chances) { c.Rows[3] = c.Rows[3][:2] },
		func(c *Chances) { c.Rows[3] = []float32{0, 2, 0, 0} },
		func(c *Chances) { c.Seen[1].Row = c.Seen[1].Row[1:] },
		func(c *Chances) { c.Seen[1].P = []float32{1} },
	} {
		c := rowed(chances(1, 30, 8, 4))
		fault(&c)
		_, err := Choose(c, Ask{Count: 3})
		assert.Error(t, err)
	}
}

// prefixed is the state in which what is fixed stands.
func prefixed(o Objective, a Ask) state {
	s, _ := standing(o, a.Fixed)
	return s
}
