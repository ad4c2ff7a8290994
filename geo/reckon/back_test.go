package reckon

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

// The way home by legs leads home: each from where the last one ends.
func TestBackLeadsHome(t *testing.T) {
	for seed := range 60 {
		r := rand.New(rand.NewPCG(uint64(seed), 21))
		l := wander(r, orb.Point{360*r.Float64() - 180, 120*r.Float64() - 60})
		if seed%2 == 1 { // a known place in the middle bends the legs
			l.Known = []Known{{Line: 1, After: (len(l.Legs) + 1) / 2, Kind: At, Point: l.Start, SigmaM: 50}}
		}
		got, err := Run(l, practised())
		require.NoError(t, err)
		require.Len(t, got.Back, len(l.Legs))
		at := got.End
		for _, b := range got.Back {
			at, _ = earth.Direct(at, b.True, b.MapM)
			require.Less(t, earth.Distance(at, b.To), 1e-5)
		}
		require.Less(t, earth.Distance(at, l.Start), 0.5, "the start is known to its own error, here 0")
	}
}

// Without a place back bearings and lengths are those of the legs, or of the
// adjusted ones, and their sums cancel.
func TestBackInPlainSums(t *testing.T) {
	for _, how := range []Adjustment{"", Compass, Transit, LeastSquares} {
		o := practised()
		o.Adjust = how
		r, err := Run(parse(t, traverse), o)
		require.NoError(t, err)
		var n, e float64
		for _, b := range r.Back {
			sin, cos := sincos(float64(b.True))
			n, e = n+b.MapM*cos, e+b.MapM*sin
		}
		if how == "" {
			require.InDelta(t, -r.NorthM, n, 1e-9)
			require.InDelta(t, -r.EastM, e, 1e-9)
			require.InDelta(t, 256, float64(r.Back[3].True), 1e-9)
			continue
		}
		require.InDelta(t, 0, math.Hypot(n, e), 1e-9)
	}
}

// The compass in hand, slopes and paces of the way back.
func TestBackByCompassAndPaces(t *testing.T) {
	l := parse(t, strings.Join([]string{
		"north: magnetic", "declination: 4E", "pace: 0.8 m per step", "pace uphill: 0.6 m per step", "pace downhill: 0.9 m per step",
		"350 300 paces uphill slope +75%", "090 100 m", "200 100 paces snow",
	}, "\n"))
	r, err := Run(l, Options{})
	require.NoError(t, err)
	require.Len(t, r.Back, 3)
	last := r.Back[2]
	require.Equal(t, 0, last.Leg)
	require.InDelta(t, 170, float64(last.Magnetic), 1e-9)
	require.InDelta(t, 174, float64(last.True), 1e-9)
	require.InDelta(t, 180, last.WalkedM, 1e-9)
	require.InDelta(t, 144, last.MapM, 1e-9)
	require.InDelta(t, 200, last.Paces, 1e-9, "downhill on the way back")
	require.InDelta(t, 125, r.Back[1].Paces, 1e-9)
	require.InDelta(t, 100, r.Back[0].Paces, 1e-9)
	require.True(t, math.IsNaN(float64(last.Grid)))
}

// A stretch that was not logged is told as one, straight.
func TestBackOverABreak(t *testing.T) {
	r, err := Run(parse(t, "start: 40.0, -30.0\nnorth: true\n000 1000 m\nbreak\nat 40.05 -30.0 ±20 m\n090 500 m\n"), practised())
	require.NoError(t, err)
	require.Len(t, r.Back, 3)
	require.True(t, r.Back[1].Unlogged)
	require.InDelta(t, r.Gaps[0].DistanceM, r.Back[1].MapM, 1e-6)
	require.InDelta(t, 180, float64(r.Back[1].True), 1e-6)
	require.InDelta(t, 500, r.Back[0].MapM, 1e-6)
	require.InDelta(t, 180, float64(r.Back[2].True), 1e-6)
	at := r.End
	for _, b := range r.Back {
		at, _ = earth.Direct(at, b.True, b.MapM)
	}
	require.Less(t, earth.Distance(at, orb.Point{-30, 40}), 1e-5)
}

// Whatever the log and the patch, the stake map lies on the patch with room to
// spare, closes by its last string, and the next larger round scale would not fit.
func TestStakesFit(t *testing.T) {
	for seed := range 300 {
		rnd := rand.New(rand.NewPCG(uint64(seed), 22))
		l := wander(rnd, nowhere())
		r, err := Run(l, practised())
		require.NoError(t, err)
		side, other := math.Exp(4*rnd.Float64()-1), math.Exp(4*rnd.Float64()-1)
		m, err := r.Stakes(side, other)
		require.NoError(t, err)
		long, short := math.Max(side, other), math.Min(side, other)
		if !m.LongSideEast {
			long, short = short, long
		}
		e, n := m.FirstEastM, m.FirstNorthM
		for i, s := range append(m.Strings, m.Home) {
			require.InDelta(t, 0, math.Max(0, stakeMargin*long-e), 1e-9)
			require.InDelta(t, 0, math.Max(0, e-(1-stakeMargin)*long), 1e-9)
			require.InDelta(t, 0, math.Max(0, stakeMargin*short-n), 1e-9)
			require.InDelta(t, 0, math.Max(0, n-(1-stakeMargin)*short), 1e-9)
			if i < len(l.Legs) {
				require.InDelta(t, r.Legs[i].MapM, s.StringM*m.Scale, 1e-6)
				require.InDelta(t, 0, earth.Wrap180(float64(s.True)-float64(r.Legs[i].Bearing)), 1e-9)
			}
			sin, cos := sincos(float64(s.True))
			e, n = e+s.StringM*sin, n+s.StringM*cos
		}
		require.InDelta(t, m.FirstEastM, e, 1e-9)
		require.InDelta(t, m.FirstNorthM, n, 1e-9)
		// One step larger: 2 for 5, 1 for 2, 0.5 for 1.
		larger := m.Scale / 2
		if digit := m.Scale / math.Pow(10, math.Floor(math.Log10(m.Scale)+1e-9)); math.Abs(digit-5) < 1e-6 {
			larger = m.Scale / 2.5
		}
		wide, high, free := m.WideM*m.Scale/larger, m.HighM*m.Scale/larger, 1-2*stakeMargin
		L, S := math.Max(side, other)*free, math.Min(side, other)*free
		require.False(t, wide <= L && high <= S || wide <= S && high <= L, "seed %d: 1 in %g fits too", seed, larger)
	}
}

func TestStakes(t *testing.T) {
	r, err := work("000 900 m; 090 600 m; 180 300 m", Options{})
	require.NoError(t, err)
	m, err := r.Stakes(3, 2)
	require.NoError(t, err)
	// 900 m over 2.7 m is 333, 600 over 1.8 is 333: 1 in 500.
	require.Equal(t, 500.0, m.Scale)
	require.False(t, m.LongSideEast)
	require.InDelta(t, 1.8, m.Strings[0].StringM, 1e-12)
	require.InDelta(t, 0.6, m.Strings[2].StringM, 1e-12)
	require.InDelta(t, math.Hypot(600, 600)/500, m.Home.StringM, 1e-12)
	require.InDelta(t, 225, float64(m.Home.True), 1e-9)
	_, err = r.Stakes(3, 0)
	require.ErrorIs(t, err, ErrNoPatch)
	still, err := work("000 0 m", Options{})
	require.NoError(t, err)
	_, err = still.Stakes(3, 2)
	require.ErrorIs(t, err, ErrNowhere)

	// A break is a string too, and an adjusted loop ends at its first stake.
	broken, err := Run(parse(t, "start: 40.0, -30.0\nnorth: true\n000 1000 m\nbreak\nat 40.05 -30.0 ±20 m\n090 500 m\n"), practised())
	require.NoError(t, err)
	m, err = broken.Stakes(3, 2)
	require.NoError(t, err)
	require.Len(t, m.Strings, 3)
	require.True(t, m.Strings[1].Gap)
	loop, err := Run(parse(t, traverse), Options{Adjust: Compass})
	require.NoError(t, err)
	m, err = loop.Stakes(3, 2)
	require.NoError(t, err)
	require.Less(t, m.Home.StringM, 1e-9)
}

func TestRoundScale(t *testing.T) {
	for v, want := range map[float64]float64{1: 1, 1.01: 2, 2.01: 5, 5.01: 10, 333: 500, 0.03: 0.05, 0.1: 0.1, 9999: 10000, 10000: 10000} {
		require.Equal(t, want, roundScale(v), v)
	}
}
