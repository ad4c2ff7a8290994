package reckon

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

// practised are the errors of a practised walker with a compass: pacing good to
// 3 %, bearings to 2 degrees. Own choice.
func practised() Options { return Options{SigmaDistance: 0.03, SigmaBearingDeg: 2} }

// wander returns a random log of true bearings from a place.
func wander(r *rand.Rand, start orb.Point) *Log {
	l := &Log{Name: "random", Start: start, North: True}
	for range 1 + r.IntN(12) {
		l.Legs = append(l.Legs, Leg{Line: 1, North: True, BearingDeg: 360 * r.Float64(), WalkedM: 20 + 900*r.Float64()})
	}
	return l
}

func nowhere() orb.Point { return orb.Point{math.NaN(), math.NaN()} }

// A loop cancels what is common to all legs: scale and bearing bias add
// nothing. Closed exactly by walking a polygon.
func TestLoopCancelsBias(t *testing.T) {
	for sides := 3; sides < 9; sides++ {
		l := &Log{Start: nowhere()}
		for i := range sides {
			l.Legs = append(l.Legs, Leg{North: True, BearingDeg: earth.Wrap360(17 + 360*float64(i)/float64(sides)), WalkedM: 700})
		}
		o := practised()
		free, err := Run(l, o)
		require.NoError(t, err)
		o.ScaleBias, o.BearingBiasDeg = 0.2, 10
		biased, err := Run(l, o)
		require.NoError(t, err)
		require.InDelta(t, free.Covariance.NN, biased.Covariance.NN, 1e-9)
		require.InDelta(t, free.Covariance.NE, biased.Covariance.NE, 1e-9)
		require.InDelta(t, free.Covariance.EE, biased.Covariance.EE, 1e-9)
		require.Greater(t, free.Sigma.MinorM, 1.0)
	}
}

// On one line the common errors are along and across the whole of it.
func TestBiasOnALine(t *testing.T) {
	r, err := work("060 1000 m; 060 2000 m", Options{ScaleBias: 0.04, BearingBiasDeg: 1})
	require.NoError(t, err)
	require.InDelta(t, 120, r.Sigma.MajorM, 1e-9)
	require.InDelta(t, 3000*math.Pi/180, r.Sigma.MinorM, 1e-9)
	require.InDelta(t, 60, r.Sigma.AzimuthDeg, 1e-9)
}

// The covariance is what many walks with such errors show.
func TestCovarianceSimulated(t *testing.T) {
	l := parse(t, "north: true\n060 1000 m\n130 800 m\n045 600 m\n")
	o := Options{SigmaDistance: 0.03, SigmaBearingDeg: 2, ScaleBias: 0.02, BearingBiasDeg: 1.5}
	want, err := Run(l, o)
	require.NoError(t, err)
	r := rand.New(rand.NewPCG(4, 5))
	const n = 40000
	var nn, ne, ee float64
	for range n {
		scale, turn := 1+o.ScaleBias*r.NormFloat64(), o.BearingBiasDeg*r.NormFloat64()
		walked := &Log{Start: nowhere()}
		for _, leg := range l.Legs {
			leg.WalkedM *= scale * (1 + o.SigmaDistance*r.NormFloat64())
			leg.BearingDeg += turn + o.SigmaBearingDeg*r.NormFloat64()
			walked.Legs = append(walked.Legs, leg)
		}
		got, err := Run(walked, Options{})
		require.NoError(t, err)
		dn, de := got.NorthM-want.NorthM, got.EastM-want.EastM
		nn, ne, ee = nn+dn*dn/n, ne+dn*de/n, ee+de*de/n
	}
	// A variance of 40 000 draws has a standard deviation of 0.7 %.
	size := want.Covariance.NN + want.Covariance.EE
	require.InDelta(t, want.Covariance.NN, nn, 0.025*size)
	require.InDelta(t, want.Covariance.NE, ne, 0.025*size)
	require.InDelta(t, want.Covariance.EE, ee, 0.025*size)
}

// A log walked back leg by leg in the other order returns to its start: exactly
// by the sums, and by geodesics to what the turn of the meridians leaves, which
// back bearings at each leg's own end take away.
func TestReversedLogReturns(t *testing.T) {
	for seed := range 100 {
		r := rand.New(rand.NewPCG(uint64(seed), 9))
		l := wander(r, orb.Point{360*r.Float64() - 180, 120*r.Float64() - 60})
		out, err := Run(l, Options{})
		require.NoError(t, err)
		back := &Log{Start: out.End, North: True}
		from := l.Start
		var bearings []float64
		for _, s := range out.Legs {
			_, _, arrival := earth.Inverse(from, s.To)
			bearings = append(bearings, float64(arrival.Back()))
			from = s.To
		}
		for i := len(out.Legs) - 1; i >= 0; i-- {
			back.Legs = append(back.Legs, Leg{North: True, BearingDeg: bearings[i], WalkedM: out.Legs[i].MapM})
		}
		home, err := Run(back, Options{})
		require.NoError(t, err)
		d, _, _ := earth.Inverse(home.End, l.Start)
		require.Less(t, d, 1e-6)

		both := &Log{Start: nowhere(), Legs: l.Legs}
		for i := len(l.Legs) - 1; i >= 0; i-- {
			leg := l.Legs[i]
			leg.BearingDeg = earth.Wrap360(leg.BearingDeg + 180)
			both.Legs = append(both.Legs, leg)
		}
		sums, err := Run(both, Options{})
		require.NoError(t, err)
		require.InDelta(t, 0, math.Hypot(sums.NorthM, sums.EastM), 1e-9)
	}
}

// The way home leads home: along its bearing and distance the geodesic from the
// end meets the start.
func TestHomeLeadsHome(t *testing.T) {
	for seed := range 100 {
		r := rand.New(rand.NewPCG(uint64(seed), 10))
		l := wander(r, orb.Point{1.5, 42.5})
		l.Pace = &Pace{StepM: 0.8, Double: true}
		got, err := Run(l, Options{})
		require.NoError(t, err)
		p, _ := earth.Direct(got.End, got.Home.True, got.Home.DistanceM)
		d, _, _ := earth.Inverse(p, l.Start)
		require.Less(t, d, 1e-6)
		require.InDelta(t, got.Home.DistanceM/1.6, got.Home.Paces, 1e-9)
		// Sums and geodesics part by N·E/R and E²/2R at most, times tan φ.
		require.InDelta(t, math.Hypot(got.NorthM, got.EastM), got.Home.DistanceM, 2*got.LengthM*got.LengthM/earth.MeanRadiusM)
	}
}

// Least squares is the compass rule where along and across errors are equal
// and grow with the root of the length: C = k·L·I, so 1 leg stands for its
// metres. Legs cut into equal pieces with one sigma make it so.
func TestLeastSquaresIsCompassRule(t *testing.T) {
	o := Options{SigmaDistance: 0.05, SigmaBearingDeg: 0.05 * 180 / math.Pi}
	l := &Log{Start: nowhere()}
	for _, leg := range []struct{ deg, pieces float64 }{{76, 8}, {144, 5}, {241, 7}, {322, 7}} {
		for range int(leg.pieces) {
			l.Legs = append(l.Legs, Leg{North: True, BearingDeg: leg.deg, WalkedM: 10})
		}
	}
	o.Adjust = Compass
	compass, err := Run(l, o)
	require.NoError(t, err)
	o.Adjust = LeastSquares
	squares, err := Run(l, o)
	require.NoError(t, err)
	require.Greater(t, compass.Closure.LengthM, 1.0)
	for i := range compass.Legs {
		require.InDelta(t, compass.Legs[i].AdjustedNorthM, squares.Legs[i].AdjustedNorthM, 1e-9)
		require.InDelta(t, compass.Legs[i].AdjustedEastM, squares.Legs[i].AdjustedEastM, 1e-9)
	}
}

// Whatever the rule, adjusted legs close.
func TestAdjustedLegsClose(t *testing.T) {
	for seed := range 60 {
		l := wander(rand.New(rand.NewPCG(uint64(seed), 12)), nowhere())
		for _, how := range []Adjustment{Compass, Transit, LeastSquares} {
			o := practised()
			o.Adjust = how
			got, err := Run(l, o)
			require.NoError(t, err)
			var n, e float64
			for _, s := range got.Legs {
				n, e = n+s.AdjustedNorthM, e+s.AdjustedEastM
			}
			require.InDelta(t, 0, n, 1e-8, how)
			require.InDelta(t, 0, e, 1e-8, how)
		}
	}
}

// Legs due north and south have no easting to share; nothing becomes NaN.
func TestTransitWithoutEasting(t *testing.T) {
	r, err := work("000 100 m; 180 90 m", Options{Adjust: Transit})
	require.NoError(t, err)
	require.InDelta(t, 100-10*100.0/190, r.Legs[0].AdjustedNorthM, 1e-9)
	require.InDelta(t, 0, r.Legs[1].AdjustedEastM, 1e-9)
}

// The end chains geodesics: 10 km due east at 60 N turn the meridian by 0.1552
// degrees, so that the second leg due north begins on another meridian than the
// sum of the two would say. The figure is from the spherical formula dλ·sin φ.
func TestMeridianTurns(t *testing.T) {
	l := &Log{Start: orb.Point{10, 60}, Legs: []Leg{{North: True, BearingDeg: 90, WalkedM: 10000}}}
	r, err := Run(l, Options{})
	require.NoError(t, err)
	_, _, arrival := earth.Inverse(l.Start, r.End)
	require.InDelta(t, 0.1552, float64(arrival)-90, 2e-4)
	require.InDelta(t, 10000, r.EastM, 1e-9)
	require.InDelta(t, 0, r.NorthM, 1e-9)
	require.InDelta(t, 270.1552, float64(r.Home.True), 2e-4)
}

func TestNorths(t *testing.T) {
	model := func(p orb.Point, when time.Time) (float64, error) {
		if when.IsZero() {
			return 0, errors.New("no time")
		}
		return 10 + p.Lon(), nil
	}
	at := "start: 0.0, 20.0\n"
	for _, tc := range []struct {
		name, text string
		deg        float64 // true bearing of the first leg
		home       float64 // magnetic way home
	}{
		{"true", at + "north: true\n090 100 m", 90, math.NaN()},
		{"magnetic 350 with 15 E is true 005", "north: magnetic\ndeclination: 15E\n350 100 m", 5, 170},
		{"8 W", "north: magnetic\ndeclination: 8W\n098 100 m", 90, 278},
		{"true log with a declination, way home by compass", "north: true\ndeclination: 12E\n090 100 m", 90, 258},
		{"brought to the date", "north: magnetic\ndate: 2025-01-01\ndeclination: 3.2E in 2015, 0.2E a year\n000 100 m", 5.2, 180},
		{"degrees and minutes", "north: magnetic\ndeclination: 3d30'W\n010 100 m", 6.5, 190},
		{"by the model", at + "north: magnetic\ndate: 2026-01-01\n000 100 m", 30, 180},
		{"the log's own comes first", at + "north: magnetic\ndate: 2026-01-01\ndeclination: 1E\n000 100 m", 1, 180},
		{"grid", at + "north: grid\n090 100 m", 88.5, math.NaN()},
		{"one leg of another north", at + "north: true\ndeclination: 4E\n090G 100 m", 88.5, 264.5},
	} {
		t.Run(tc.name, func(t *testing.T) {
			l := parse(t, tc.text)
			r, err := Run(l, Options{Declination: model, Convergence: func(orb.Point) float64 { return -1.5 }})
			require.NoError(t, err)
			require.InDelta(t, tc.deg, float64(r.Legs[0].Bearing), 2e-3)
			if math.IsNaN(tc.home) {
				require.True(t, math.IsNaN(float64(r.Home.Magnetic)))
			} else {
				require.InDelta(t, tc.home, float64(r.Home.Magnetic), 2e-3)
			}
			if l.Placed() {
				require.InDelta(t, 0, earth.Wrap180(float64(r.Home.True)+1.5-float64(r.Home.Grid)), 1e-9)
			} else {
				require.True(t, math.IsNaN(float64(r.Home.Grid)))
			}
		})
	}
}

// The declination is asked for where and when each leg begins.
func TestDeclinationByLeg(t *testing.T) {
	l := parse(t, "start: 0.0, 20.0\nnorth: magnetic\ndate: 2026-01-01 UTC\n000 1 km @10:00\n000 1 km\n")
	var asked []string
	_, err := Run(l, Options{Declination: func(p orb.Point, when time.Time) (float64, error) {
		asked = append(asked, fmt.Sprintf("%.3f %s", p.Lat(), when.Format("15:04")))
		return 0, nil
	}})
	require.NoError(t, err)
	// Noon stands for a leg without a time; 1 km is 0.009 degrees at the equator.
	// After the two legs and the straight way home come the legs of the way back.
	require.Equal(t, []string{"0.000 10:00", "0.009 12:00", "0.018 10:00", "0.018 10:00", "0.009 10:00"}, asked)
}

func TestRunErrors(t *testing.T) {
	for _, tc := range []struct {
		name, text string
		cause      error
		line       int
	}{
		{"no declination", "start: 0.0, 20.0\nnorth: magnetic\n000 1 m", ErrNoDeclination, 3},
		{"no declination for one leg", "north: true\n000 1 m\n000M 1 m", ErrNoDeclination, 3},
		{"no date for the change", "north: magnetic\ndeclination: 3E in 2015, 0.1E a year\n000 1 m", ErrNoDeclination, 3},
		{"no convergence", "north: grid\n000 1 m", ErrNoConvergence, 2},
	} {
		t.Run(tc.name, func(t *testing.T) {
			_, err := Run(parse(t, tc.text), Options{Convergence: func(orb.Point) float64 { return 0 }})
			require.ErrorIs(t, err, tc.cause)
			var e *LogError
			require.ErrorAs(t, err, &e)
			require.Equal(t, tc.line, e.Line)
			require.NotEmpty(t, e.Hint())
		})
	}
	ended := errors.New("the model ends in 2029")
	model := func(orb.Point, time.Time) (float64, error) { return 0, ended }
	_, err := Run(parse(t, "start: 0.0, 20.0\ndate: 2031-01-01\nnorth: magnetic\n000 1 m"), Options{Declination: model})
	require.ErrorIs(t, err, ended)
	// Bearings are true, only the way home misses the model.
	r, err := Run(parse(t, "start: 0.0, 20.0\ndate: 2031-01-01\nnorth: true\n000 1 m"), Options{Declination: model})
	require.NoError(t, err)
	require.True(t, math.IsNaN(float64(r.Home.Magnetic)))
	require.Len(t, r.Warnings, 1)
	require.Contains(t, r.Warnings[0].Text, "2029")

	_, err = work("000 1 m", Options{SigmaDistance: -1})
	require.ErrorContains(t, err, "error of distance")
	_, err = work("000 1 m", Options{Adjust: "guess"})
	require.ErrorContains(t, err, "guess")
	_, err = work("000 1 m", Options{Adjust: LeastSquares})
	require.ErrorIs(t, err, ErrNoError)
}

func TestSincos(t *testing.T) {
	for deg := -720.0; deg <= 720; deg += 7.5 {
		sin, cos := sincos(deg)
		require.InDelta(t, math.Sin(deg*math.Pi/180), sin, 1e-14)
		require.InDelta(t, math.Cos(deg*math.Pi/180), cos, 1e-14)
		require.False(t, sin == 0 && math.Signbit(sin) || cos == 0 && math.Signbit(cos), "%g", deg)
		if math.Mod(deg, 90) == 0 {
			require.Zero(t, sin*cos)
		}
	}
}

// A log that ends where it began has no way home, and misses nothing.
func TestNothingMissing(t *testing.T) {
	l, err := ParseLog(strings.NewReader("north: true\npace: 30 in per step\n000 0 m\n"), "")
	require.NoError(t, err)
	r, err := Run(l, Options{Close: true})
	require.NoError(t, err)
	require.Zero(t, r.Home.DistanceM)
	require.True(t, math.IsNaN(float64(r.Home.True)))
	require.Zero(t, r.Closure.LengthM)
	require.Zero(t, r.Home.Paces)
}
