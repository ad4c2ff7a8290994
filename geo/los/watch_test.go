package los_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"farhail/geo/grid"
	"farhail/geo/los"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestSeenByAny: what several eyes see is what each of them sees alone, put
// together cell by cell.
func TestSeenByAny(t *testing.T) {
	for seed := range uint64(6) {
		rng := rand.New(rand.NewPCG(seed, 77))
		h := &grid.Heights{Frame: grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 4e5, Y0: 4.7e6, DX: 30, DY: 25, Cols: 50, Rows: 41}}
		for range h.Cols * h.Rows {
			z := float32(60 * rng.Float64())
			if rng.IntN(60) == 0 {
				z = float32(math.NaN())
			}
			h.Z = append(h.Z, z)
		}
		var eyes []los.Station
		for len(eyes) < 4 {
			at := los.Station{Col: float64(rng.IntN(h.Cols)), Row: float64(rng.IntN(h.Rows)), HeightM: 40}
			if !math.IsNaN(h.SampleCell(at.Col, at.Row)) {
				eyes = append(eyes, at)
			}
		}
		radius := []float64{400, math.Inf(1)}[seed%2]
		got, err := los.SeenByAny(context.Background(), h, eyes, 1, radius, los.DefaultOptions())
		require.NoError(t, err)
		require.Len(t, got.Eyes, len(eyes))
		seenBy, unknown, within := make([]int, len(h.Z)), make([]bool, len(h.Z)), make([]bool, len(h.Z))
		only := make([]int, len(h.Z))
		for i, at := range eyes {
			a, err := los.SeenArea(context.Background(), h, at, 1, radius, los.DefaultOptions())
			require.NoError(t, err)
			assert.Equal(t, []int{a.Cells, a.Seen, a.Unknown}, []int{got.Eyes[i].Cells, got.Eyes[i].Seen, got.Eyes[i].Unknown})
			assert.Equal(t, a.AreaM2, got.Eyes[i].AreaM2)
			for k, s := range a.State {
				cell := (k/a.Frame.Cols+a.Row0)*h.Cols + k%a.Frame.Cols + a.Col0
				within[cell] = within[cell] || s != los.Beyond
				unknown[cell] = unknown[cell] || s == los.Unknown
				if s == los.Seen {
					seenBy[cell]++
					only[cell] = i
				}
			}
		}
		cells, seen, open := 0, 0, 0
		alone := make([]int, len(eyes))
		for cell, n := range seenBy {
			col, row := cell%h.Cols-got.Col0, cell/h.Cols-got.Row0
			if col < 0 || row < 0 || col >= got.Frame.Cols || row >= got.Frame.Rows {
				require.False(t, within[cell])
				continue
			}
			want := los.Beyond
			switch {
			case n > 0:
				want = los.Seen
				seen++
			case unknown[cell]:
				want = los.Unknown
				open++
			case within[cell]:
				want = los.Hidden
			}
			if want != los.Beyond {
				cells++
			}
			if n == 1 {
				alone[only[cell]]++
			}
			k := row*got.Frame.Cols + col
			require.Equal(t, want, got.State[k])
			require.Equal(t, n, int(got.SeenBy[k]))
		}
		assert.Equal(t, []int{cells, seen, open}, []int{got.Cells, got.Seen, got.Unknown})
		east, north := h.Metres(0)
		assert.InEpsilon(t, float64(seen)*east*north, got.AreaM2, 1e-4)
		for i, n := range alone {
			assert.InDelta(t, float64(n)*east*north, got.Eyes[i].AloneM2, 1e-4*float64(n)*east*north+1e-9)
		}
	}
}

// TestSeenByNobody: no eye, or one off the ground, is an error.
func TestSeenByNobody(t *testing.T) {
	h := &grid.Heights{Frame: grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 4e5, Y0: 4.7e6, DX: 30, DY: 30, Cols: 3, Rows: 3}, Z: make([]float32, 9)}
	_, err := los.SeenByAny(context.Background(), h, nil, 0, 100, los.DefaultOptions())
	assert.ErrorIs(t, err, los.ErrOptions)
	_, err = los.SeenByAny(context.Background(), h, []los.Station{{Col: 1, Row: 1}}, 0, 0, los.DefaultOptions())
	assert.ErrorIs(t, err, los.ErrOptions)
	_, err = los.SeenByAny(context.Background(), h, []los.Station{{Col: 1, Row: 1}, {Col: 9, Row: 1}}, 0, 100, los.DefaultOptions())
	assert.ErrorIs(t, err, los.ErrNoGround)
	ended, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = los.SeenByAny(ended, h, []los.Station{{Col: 1, Row: 1}}, 0, 100, los.DefaultOptions())
	assert.ErrorIs(t, err, context.Canceled)
}
