package sighting

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/signal/air"
	"farhail/signal/observer"
)

// Where each draw's own solution says that it is noticed, its look finds the signal
// half of the time: that is what noticed means. A light that falls below the floor of
// night practice there is found more often up to it, and never beyond.
func TestHalfOfLooksFindWhatIsNoticed(t *testing.T) {
	for name, q := range drawnQueries() {
		q.Ground = LineClear
		s := UsualSpread(q.Source.Kind())
		for i, d := range q.draws(s, 7) {
			noticedM := solve(t, d).Noticed.DistanceM
			finds, err := d.finds()
			require.NoError(t, err)
			near, far := finds(noticedM*0.999), finds(noticedM*1.001)
			assert.GreaterOrEqual(t, near, 0.499, "%s, draw %d", name, i)
			assert.LessOrEqual(t, far, 0.5, "%s, draw %d", name, i)
		}
	}
}

func TestLooks(t *testing.T) {
	dist := []float64{50, 200, 500, 1000, 2000, 4000, 8000, 16000}
	for name, q := range drawnQueries() {
		q.Ground = LineClear
		s := UsualSpread(q.Source.Kind())
		table, err := q.Looks(s, 7, dist)
		require.NoError(t, err)
		again, err := q.Looks(s, 7, dist)
		require.NoError(t, err)
		require.Equal(t, table, again)
		for i, row := range table {
			require.Len(t, row, Draws)
			for n, p := range row {
				require.True(t, p >= 0 && p <= 1, "%s %g m", name, dist[i])
				if i > 0 {
					require.LessOrEqual(t, p, table[i-1][n], "%s %g m", name, dist[i])
				}
			}
		}
		among := q
		among.Plants = air.Plants{StemsPerM2: 0.05, StemWidthM: 0.3}
		behind, err := among.Looks(s, 7, dist)
		require.NoError(t, err)
		assert.InDelta(t, float64(table[1][0])*among.Plants.Clear(200), float64(behind[1][0]), 0.002, name)
	}
}

// Chances that are not worked out, since a farther one is sure, are those that would be.
func TestSureLooksAreSure(t *testing.T) {
	var dist []float64
	for d := 5.0; d < 30e3; d *= 1.09 {
		dist = append(dist, d)
	}
	skipped := 0
	for name, q := range drawnQueries() {
		q.Ground = LineClear
		s := UsualSpread(q.Source.Kind())
		table, err := q.Looks(s, 7, dist)
		require.NoError(t, err)
		for n, d := range q.draws(s, 7) {
			finds, err := d.finds()
			require.NoError(t, err)
			skipped += d.sure(finds, dist)
			for i, m := range dist {
				p := finds(m)
				if p < faintChance {
					break
				}
				require.Equal(t, float32(p), table[i][n], "%s, draw %d at %g m", name, n, m)
			}
		}
	}
	assert.Greater(t, skipped, 20*Draws)
}

// Who is told where to look needs one glimpse: nine in ten at perceptible.
func TestLooksOfWhoIsTold(t *testing.T) {
	q := drawnQueries()["flag"]
	q.Ground, q.Told = LineClear, true
	at := solve(t, q).Perceptible.DistanceM
	table, err := q.Looks(Spread{}, 1, []float64{at})
	require.NoError(t, err)
	assert.InDelta(t, 0.9, float64(table[0][0]), 1e-4)
	assert.Equal(t, table[0][0], table[0][63], "nothing is uncertain")
}

// A law without lobe knows no chance: one up to where the signal is noticed.
func TestLooksWithoutLobe(t *testing.T) {
	q := drawnQueries()["flag"]
	q.Ground, q.Observer.Law = LineClear, observer.Taylor1964
	at := solve(t, q).Noticed.DistanceM
	table, err := q.Looks(Spread{}, 1, []float64{at * 0.99, at * 1.01})
	require.NoError(t, err)
	assert.Equal(t, []float32{1, 0}, []float32{table[0][5], table[1][5]})

	q.Air.VisibilityM = math.NaN()
	_, err = q.Looks(Spread{}, 1, []float64{1})
	assert.Error(t, err)
}
