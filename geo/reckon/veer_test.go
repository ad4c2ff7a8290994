package reckon

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"farhail/geo/earth"
	"farhail/geo/geotest"

	"github.com/stretchr/testify/require"
)

// One straight leg is the worm-like chain.
func TestVeerIsWormLikeChain(t *testing.T) {
	geotest.Check(t, "reckon-veer", func(in []string) ([]any, error) {
		v := geotest.Numbers(t, in)
		stepM, stepDeg, lengthM := v[0], v[1], v[2]
		o := Options{Heading: Heading{None: true, TurnDeg: stepDeg * math.Sqrt(100/stepM)}}
		w := o.newVeer()
		w.walk(0, lengthM)
		return []any{math.Sqrt(w.size)}, nil
	})
}

// A leg walked in pieces is the leg, and with no turn a veer is dead reckoning with
// its errors common to all legs.
func TestVeerInPieces(t *testing.T) {
	o := Options{SigmaBearingDeg: 5, ScaleBias: 0.1, Heading: Heading{None: true, TurnDeg: 60}}
	whole, pieces := o.newVeer(), o.newVeer()
	whole.walk(30, 700)
	whole.walk(110, 300)
	for range 70 {
		pieces.walk(30, 10)
	}
	for range 30 {
		pieces.walk(110, 10)
	}
	require.InDelta(t, 0, math.Hypot(real(whole.mean-pieces.mean), imag(whole.mean-pieces.mean)), 1e-9)
	a, b := whole.covariance(), pieces.covariance()
	require.InDelta(t, a.NN, b.NN, 1e-6)
	require.InDelta(t, a.NE, b.NE, 1e-6)
	require.InDelta(t, a.EE, b.EE, 1e-6)

	l := parse(t, "north: true\n030 700 m\n110 300 m\n")
	straight, err := Run(l, Options{SigmaDistance: 0.03, ScaleBias: 0.02, BearingBiasDeg: 1})
	require.NoError(t, err)
	veers, err := Run(l, Options{SigmaDistance: 0.03, ScaleBias: 0.02, BearingBiasDeg: 1, Heading: Heading{None: true, TurnDeg: 1e-3}})
	require.NoError(t, err)
	// What is left is of the fourth order in 1 degree.
	require.InDelta(t, straight.Covariance.NN, veers.Covariance.NN, 1e-3*straight.Covariance.NN)
	require.InDelta(t, straight.Covariance.NE, veers.Covariance.NE, 1e-3*straight.Covariance.NN)
	require.InDelta(t, straight.Covariance.EE, veers.Covariance.EE, 1e-3*straight.Covariance.EE)
}

// The short form of the moments meets the long one.
func TestVeerSeries(t *testing.T) {
	v := &veer{kappa2: 2}
	a, b := v.parts(0.99999e-4), v.parts(1.00001e-4)
	for _, p := range [][2]float64{{a.one, b.one}, {a.two, b.two}, {a.three, b.three}, {a.four, b.four}, {a.fade, b.fade}} {
		require.InEpsilon(t, p[1], p[0], 5e-5)
	}
	long := v.parts(2e-4)
	x := 2e-4
	require.InEpsilon(t, x*x*(1-5*x/3+7*x*x/4), long.three, 1e-10)
	require.InEpsilon(t, x*(1-5*x/2+7*x*x/2), long.four, 1e-9)
}

// Mean and covariance are what many walks show that are stepped metre by metre, and
// the 95 % ellipse, normal though the places are not, holds about its share.
func TestVeerSimulated(t *testing.T) {
	legs := []struct{ deg, m float64 }{{20, 400}, {75, 250}, {330, 150}}
	for _, turn := range []float64{15, 40, DefaultTurnDeg} {
		o := Options{SigmaDistance: 0.05, SigmaBearingDeg: 8, ScaleBias: 0.04, Heading: Heading{None: true, TurnDeg: turn}}
		v := o.newVeer()
		for _, l := range legs {
			v.walk(earth.NewTrue(l.deg), l.m)
		}
		c := v.covariance()
		r := rand.New(rand.NewPCG(3, uint64(turn)))
		const walks, stepM = 4000, 2.0
		var places [][2]float64
		var mn, me float64
		sd := turn * math.Pi / 180 * math.Sqrt(stepM/100)
		for range walks {
			n, e, heading := 0.0, 0.0, o.SigmaBearingDeg*math.Pi/180*r.NormFloat64()
			scale := 1 + o.ScaleBias*r.NormFloat64()
			for _, l := range legs {
				long := scale * (1 + o.SigmaDistance*r.NormFloat64())
				for range int(l.m / stepM) {
					// half of a step's turn before it and half behind it
					heading += sd / math.Sqrt2 * r.NormFloat64()
					sin, cos := math.Sincos(l.deg*math.Pi/180 + heading)
					n, e = n+long*stepM*cos, e+long*stepM*sin
					heading += sd / math.Sqrt2 * r.NormFloat64()
				}
			}
			mn, me = mn+n/walks, me+e/walks
			places = append(places, [2]float64{n, e})
		}
		var nn, ne, ee float64
		inside := 0
		for _, p := range places {
			dn, de := p[0]-mn, p[1]-me
			nn, ne, ee = nn+dn*dn/walks, ne+dn*de/walks, ee+de*de/walks
			dn, de = p[0]-real(v.mean), p[1]-imag(v.mean)
			if (c.EE*dn*dn-2*c.NE*dn*de+c.NN*de*de)/(c.NN*c.EE-c.NE*c.NE) < -2*math.Log(0.05) {
				inside++
			}
		}
		size := math.Sqrt(c.NN + c.EE)
		t.Logf("turn %g deg: mean %.0f %.0f (walks %.0f %.0f), covariance %.0f %.0f %.0f (%.0f %.0f %.0f), %.1f %% inside the 95 %% ellipse",
			turn, real(v.mean), imag(v.mean), mn, me, c.NN, c.NE, c.EE, nn, ne, ee, 100*float64(inside)/walks)
		require.InDelta(t, real(v.mean), mn, 4*size/math.Sqrt(walks))
		require.InDelta(t, imag(v.mean), me, 4*size/math.Sqrt(walks))
		// A variance of 4000 draws has a standard deviation of 2.2 %.
		require.InDelta(t, c.NN, nn, 0.08*size*size)
		require.InDelta(t, c.NE, ne, 0.08*size*size)
		require.InDelta(t, c.EE, ee, 0.08*size*size)
		require.InDelta(t, 0.95, float64(inside)/walks, 0.045)
	}
}

func TestNoCompass(t *testing.T) {
	head := "start: 42.5, 1.5\nnorth: true\n"
	l := parse(t, head+"compass: none, turn 40deg per 25 m\n000 500 m\n")
	require.Equal(t, Heading{None: true, TurnDeg: 80}, l.Heading)
	r, err := Run(l, practised())
	require.NoError(t, err)
	with, err := Run(parse(t, head+"000 500 m\n"), practised())
	require.NoError(t, err)
	require.Greater(t, r.Ellipse95.MajorM, 5*with.Ellipse95.MajorM)
	require.Less(t, r.Home.DistanceM, 0.5*with.Home.DistanceM, "the mean stays near the start")
	require.True(t, math.IsNaN(r.CommonShare))
	require.Equal(t, with.NorthM, r.NorthM)

	// The flag's does the same, and a break takes the party out of it.
	flag, err := Run(parse(t, head+"000 500 m\n"), Options{SigmaDistance: 0.03, SigmaBearingDeg: 2, Heading: Heading{None: true, TurnDeg: 80}})
	require.NoError(t, err)
	require.Equal(t, r.Covariance, flag.Covariance)
	broken, err := Run(parse(t, head+"compass: none\n000 500 m\nbreak\nat 42.6, 1.5 ±10 m\n090 10 m\n"), practised())
	require.NoError(t, err)
	require.Less(t, broken.Ellipse95.MajorM, 40.0)

	for text, word := range map[string]string{
		"compass: none\n000 500 m\nat 42.6, 1.5 ±10 m\n": "not joined",
	} {
		_, err := Run(parse(t, head+text), practised())
		require.ErrorIs(t, err, ErrVeers)
		require.ErrorContains(t, err, word)
	}
	_, err = Run(l, Options{Adjust: Compass})
	require.ErrorIs(t, err, ErrVeers)
}

func TestStatedErrors(t *testing.T) {
	l := parse(t, "north: true\nsigma-distance: 4%\nsigma-bearing: 40 mil\nscale-bias: 2 %\nbearing-bias: 1.5deg\n000 5 m\n")
	require.Equal(t, Errors{0.04, 2.25, 0.02, 1.5}, l.Errors)
	for _, head := range []string{
		"sigma-distance: 4", "sigma-distance: 4deg", "sigma-distance: 400%", "sigma-bearing: 4%", "bearing-bias: 100deg", "scale-bias: -1%",
		"compass: suunto", "compass: none, turn 4", "compass: none, turn 400deg per 100 m", "compass: none, turn 4deg per 0 m", "compass: none, turn 4deg per hour",
	} {
		_, err := ParseLog(strings.NewReader("north: true\n"+head+"\n000 5 m\n"), "log")
		var e *LogError
		require.ErrorAs(t, err, &e, head)
		require.Equal(t, 2, e.Line, head)
		require.NotEmpty(t, e.Hint(), head)
	}
	require.True(t, math.IsNaN(parse(t, "000 5 m").Errors.SigmaDistance))
}
