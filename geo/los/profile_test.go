package los

import (
	"math"
	"math/rand/v2"
	"testing"

	"farhail/geo/grid"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestProfile: a profile holds what its sight says: the least gap over what hides,
// the first place that blocks, and ends that meet the ground.
func TestProfile(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 9))
	for name, f := range frames(60, 50) {
		h := &grid.Heights{Frame: f, Z: hills(rng, f.Cols, f.Rows, f.DX/30, 0)}
		if f.CRS.LonLat() {
			h.Z = hills(rng, f.Cols, f.Rows, f.DX*3000, 0)
		}
		o := DefaultOptions()
		o.Screen = canopies(rng, h, 30)
		for range 40 {
			at := Station{Col: 59 * rng.Float64(), Row: 49 * rng.Float64(), HeightM: 20}
			target := Station{Col: 59 * rng.Float64(), Row: 49 * rng.Float64(), HeightM: 30}
			e, err := NewEye(h, at, o)
			require.NoError(t, err)
			s, p := e.Sight(target), e.Profile(target)
			last := p[len(p)-1]
			assert.InDelta(t, s.DistanceM, last.DistanceM, 1e-9)
			assert.InDelta(t, 20, p[0].LineM-p[0].GroundM, 1e-9)
			assert.InDelta(t, 30, last.LineM-last.GroundM, 1e-9)
			gap, blocked, voids := math.NaN(), math.NaN(), 0
			for i, place := range p[1 : len(p)-1] {
				require.GreaterOrEqual(t, place.DistanceM, p[i].DistanceM)
				require.False(t, place.OverM < place.GroundM-1e-3, "the screen is above the ground")
				if math.IsNaN(place.OverM) {
					voids++
					continue
				}
				if g := place.LineM - place.OverM; !(g >= gap) {
					gap = g
				}
				if math.IsNaN(blocked) && place.OverM > place.LineM+tieM*place.DistanceM/s.DistanceM {
					blocked = place.DistanceM
				}
			}
			assert.Equal(t, s.Voids, voids, name)
			if s.State == Unknown {
				continue
			}
			assert.InDelta(t, s.ClearanceM, gap, 1e-6)
			if s.State == Hidden {
				assert.InDelta(t, s.BlockedAtM, blocked, 1e-6)
			} else {
				assert.True(t, math.IsNaN(blocked))
			}
		}
	}
	// The sag over 10 km of sea, by the formula.
	sea := &grid.Heights{Frame: frames(101, 1)["30 m"], Z: make([]float32, 101)}
	sea.DX = 100
	e, err := NewEye(sea, Station{HeightM: 10}, DefaultOptions())
	require.NoError(t, err)
	p := e.Profile(Station{Col: 100, HeightM: 10})
	d := p[len(p)-1].DistanceM
	assert.InDelta(t, 10-d*d/4*0.87/2/6371008.8, p[50].LineM, 1e-6)
	assert.Len(t, e.Profile(Station{HeightM: 3}), 1)
}
