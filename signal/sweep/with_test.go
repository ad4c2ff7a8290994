package sweep

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestSearchedWithWatchers: somebody who watches counts for a search as somebody who
// walks and has the same chances at each offset does.
func TestSearchedWithWatchers(t *testing.T) {
	p := passing(t, solve(t, forest(0.4, 12)))
	r := rand.New(rand.NewPCG(31, 31))
	way := func(watcher int) Way {
		w := Way{Passing: p, Watcher: watcher}
		for range 4 {
			w.Points = append(w.Points, Point{120 * r.Float64(), 120 * r.Float64()})
		}
		return w
	}
	ways := []Way{way(0), way(1), way(2)}
	var at []Point
	for range 60 {
		at = append(at, Point{160*r.Float64() - 20, 160*r.Float64() - 20})
	}
	one, err := Operation{Ways: ways[:1]}.Search(t.Context(), at)
	require.NoError(t, err)
	nobody, err := Operation{}.Search(t.Context(), at)
	require.NoError(t, err)
	all := search(t, Operation{Ways: ways}, at)
	more := 0.0
	for cell := range at {
		legs := hazardsByLeg(ways, at[cell])
		var watchers [][]float64
		for w := 1; w < 3; w++ {
			chance := make([]float64, offsets)
			for i := range chance {
				sum := 0.0
				for _, h := range legs[w] {
					sum += h[i]
				}
				chance[i] = -math.Expm1(-sum)
			}
			watchers = append(watchers, chance)
		}
		got, err := one.With(cell, watchers)
		require.NoError(t, err)
		assert.InDelta(t, all[cell], got, 1e-6)
		more = max(more, got-one.POD()[cell])
		alone, err := one.With(cell, nil)
		require.NoError(t, err)
		assert.InDelta(t, one.POD()[cell], alone, 1e-9)
		still, err := nobody.With(cell, watchers)
		require.NoError(t, err)
		want, err := AtLeastOne(watchers)
		require.NoError(t, err)
		assert.InDelta(t, want, still, 1e-12)
	}
	assert.Greater(t, more, 0.2)
	_, err = one.With(0, [][]float64{{0.5}})
	assert.Error(t, err)
}
