package reckon

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"farhail/geo/earth"
	"farhail/geo/track"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

// A leg without a bearing leaves the place where it was and widens the ellipse by what
// a circle of its length has for a spread.
func TestLostLeg(t *testing.T) {
	o := Options{SigmaDistance: 0.05, SigmaBearingDeg: 3}
	for _, text := range []string{
		"north: true\npace: 0.8 m per step\n000 400 m\nbreak 375 paces @10:00 in the fog\n090 200 m\n",
		"north: true\npace: 0.8 m per step\nbearing,distance,note\n000,400 m,\nbreak,375 paces,in the fog\n090,200 m,\n",
		"north: true\nbearing,distance_m,note\n000,400,\nbreak,300,in the fog\n090,200,\n",
	} {
		l := parse(t, text)
		require.Len(t, l.Legs, 3)
		require.True(t, l.Legs[1].Lost())
		require.Equal(t, "in the fog", l.Legs[1].Note)
		require.Contains(t, l.Legs[1].Written(), "break 3")
		r, err := Run(l, o)
		require.NoError(t, err)
		require.InDelta(t, 400, r.NorthM, 1e-9)
		require.InDelta(t, 200, r.EastM, 1e-9)
		require.InDelta(t, 900, r.LengthM, 1e-9)
		plain, err := Run(parse(t, "north: true\n000 400 m\n090 200 m\n"), o)
		require.NoError(t, err)
		v := 300 * 300 * (1 + 0.05*0.05) / 2
		require.InDelta(t, plain.Covariance.NN+v, r.Covariance.NN, 1e-6)
		require.InDelta(t, plain.Covariance.EE+v, r.Covariance.EE, 1e-6)
		require.InDelta(t, plain.Covariance.NE, r.Covariance.NE, 1e-6)
		require.True(t, math.IsNaN(float64(r.Back[1].True)))
		require.InDelta(t, 300, r.Back[1].MapM, 1e-9)
		m, err := r.Stakes(3, 2)
		require.NoError(t, err)
		require.Zero(t, m.Strings[1].StringM)
	}
	// The spread of a circle, from many.
	rnd := rand.New(rand.NewPCG(5, 6))
	sum := 0.0
	for range 20000 {
		n := 300 * (1 + 0.05*rnd.NormFloat64()) * math.Cos(2*math.Pi*rnd.Float64())
		sum += n * n / 20000
	}
	require.InEpsilon(t, 300*300*(1+0.05*0.05)/2, sum, 0.03)
}

// What is known on the way tells where the lost leg went.
func TestLostLegFound(t *testing.T) {
	l := parse(t, "start: 42.5, 1.5\nnorth: true\n000 400 m\nbreak 300 m\n090 200 m\nat 42.5036 1.5061 ±10 m\n")
	r, err := Run(l, Options{SigmaDistance: 0.05, SigmaBearingDeg: 3})
	require.NoError(t, err)
	require.Less(t, earth.Distance(r.End, orb.Point{1.5061, 42.5036}), 12.0)
	require.Equal(t, 2, r.Fit.DOF)
	require.False(t, r.Slips.Significant)
	require.InDelta(t, 270, float64(r.Back[1].True), 6, "it had gone east")
	require.InDelta(t, 300, r.Back[1].MapM, 30)

	// Without a compass the heading begins anew after it.
	l = parse(t, "start: 42.5, 1.5\nnorth: true\ncompass: none\n000 400 m\nbreak 300 m\n090 200 m\n")
	r, err = Run(l, practised())
	require.NoError(t, err)
	o := practised()
	a, b := o.newVeer(), o.newVeer()
	a.walk(0, 400)
	b.walk(90, 200)
	v := 300 * 300 * (1 + o.SigmaDistance*o.SigmaDistance) / 2
	require.InDelta(t, a.covariance().NN+b.covariance().NN+v, r.Covariance.NN, 1e-6)
	require.InDelta(t, a.covariance().EE+b.covariance().EE+v, r.Covariance.EE, 1e-6)
}

// Loops spread what they miss over a lost leg too, and scores lay it along the track.
func TestLostLegElsewhere(t *testing.T) {
	text := "north: true\n000 400 m\n090 400 m\nbreak 410 m\n270 400 m\n"
	o := practised()
	o.Adjust = LeastSquares
	r, err := Run(parse(t, text), o)
	require.NoError(t, err)
	require.InDelta(t, -400, r.Legs[2].AdjustedNorthM, 5, "all but all of it is the lost leg's")
	require.InDelta(t, 0, float64(r.Back[1].True), 2)

	rnd := rand.New(rand.NewPCG(7, 8))
	fixes, _ := walked(rnd, orb.Point{1.5, 42.5}, time.Time{}, 1, [2]float64{0, 400}, [2]float64{90, 400}, [2]float64{180, 410}, [2]float64{270, 400})
	s, err := ScoreLog(parse(t, text), track.Track{Segments: []track.Segment{fixes}}, practised())
	require.NoError(t, err)
	require.InDelta(t, 400, s.Legs[1].TrackM, 15)
	require.InDelta(t, 400, s.Legs[3].TrackM, 15)
	require.Zero(t, s.Legs[2].MissM)
	require.Empty(t, s.Legs[2].Kind)
	require.True(t, math.IsNaN(s.Legs[2].BearingErrorDeg))
}
