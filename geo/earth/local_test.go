package earth

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestLocalRoundTrip(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for range 2000 {
		origin := randomPoint(rng)
		l := NewLocal(origin)
		p, _ := Direct(origin, NewTrue(rng.Float64()*360), rng.Float64()*299e3)
		e, n, err := l.Forward(p)
		require.NoError(t, err)
		require.Less(t, apartM(p, l.Inverse(e, n)), 1e-6)
	}
}

// Lengths from the origin against the geodesic: x²/(2R²) is the point scale, and
// the mean along a line from the origin is a third of it.
func TestLocalLengths(t *testing.T) {
	origin := orb.Point{1.5, 42.5}
	l := NewLocal(origin)
	for _, d := range []float64{1, 1e3, 15e3, 150e3, 299e3} {
		for b := 0.0; b < 360; b += 30 {
			p, _ := Direct(origin, NewTrue(b), d)
			e, n, err := l.Forward(p)
			require.NoError(t, err)
			excess := math.Hypot(e, n)/d - 1
			require.InDelta(t, e*e/(6*MeanRadiusM*MeanRadiusM), excess, 2e-6*(d/300e3)+2e-9, "%v m at %v", d, b)
			require.InDelta(t, 0, Wrap180(math.Atan2(e, n)/degree-b), 0.06*(d/300e3)*(d/300e3)+1e-6)
		}
	}
}

func TestLocalAcrossTheAntimeridian(t *testing.T) {
	l := NewLocal(orb.Point{179.95, -16.8})
	e, n, err := l.Forward(orb.Point{-179.95, -16.8})
	require.NoError(t, err)
	east, _ := MetresPerDegree(-16.8)
	assert.InDelta(t, 0.1*east, e, 1)
	assert.InDelta(t, 0, n, 5)
	assert.InDelta(t, -179.95, l.Inverse(e, n).Lon(), 1e-12)
}

func TestLocalRefuses(t *testing.T) {
	l := NewLocal(orb.Point{1.5, 42.5})
	far, _ := Direct(orb.Point{1.5, 42.5}, 90, 301e3)
	for _, p := range []orb.Point{far, {-178.5, -42.5}, {91.5, 0}, {1.5, 91}, {math.NaN(), 42}} {
		e, n, err := l.Forward(p)
		assert.ErrorIs(t, err, ErrTooFar, "%v", p)
		assert.True(t, math.IsNaN(e) && math.IsNaN(n))
	}
	_, _, err := NewLocal(orb.Point{0, 95}).Forward(orb.Point{0, 45})
	assert.ErrorIs(t, err, ErrTooFar)
}
