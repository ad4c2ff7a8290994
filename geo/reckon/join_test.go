package reckon

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// joinLog makes a log of random legs with a known point after every fifth, true
// but for the errors that draw gives, and what it would be without errors.
func joinLog(t *testing.T, r *rand.Rand, legs int, o Options, spoil func(i int, bearing, metres float64) (float64, float64)) *Log {
	t.Helper()
	var b strings.Builder
	b.WriteString("start: 40 -30\nnorth: true\n")
	at := orb.Point{-30, 40}
	for i := range legs {
		bearing, metres := math.Round(r.Float64()*359), 100+math.Round(r.Float64()*400)
		trueM := metres * (1 + o.SigmaDistance*r.NormFloat64())
		trueDeg := bearing + o.SigmaBearingDeg*r.NormFloat64()
		at, _ = earth.Direct(at, earth.NewTrue(trueDeg), trueM)
		written, m := spoil(i, bearing, metres)
		fmt.Fprintf(&b, "%g %g m\n", earth.Wrap360(written), m)
		if i%5 == 4 {
			p, _ := earth.Direct(at, earth.NewTrue(90), 5*r.NormFloat64())
			p, _ = earth.Direct(p, earth.NewTrue(0), 5*r.NormFloat64())
			fmt.Fprintf(&b, "at %.9f %.9f ±5 m\n", p.Lat(), p.Lon())
		}
	}
	l, err := ParseLog(strings.NewReader(b.String()), "log.txt")
	require.NoError(t, err)
	return l
}

func asWritten(_ int, bearing, metres float64) (float64, float64) { return bearing, metres }

// The chain gives what weighted least squares over all legs at once gives.
func TestJoinAgainstDenseLeastSquares(t *testing.T) {
	o := Options{SigmaDistance: 0.05, SigmaBearingDeg: 3, ScaleBias: 0.03, BearingBiasDeg: 2}
	for seed := range uint64(20) {
		l := joinLog(t, rand.New(rand.NewPCG(seed, 1)), 12, o, asWritten)
		r, err := Run(l, o)
		require.NoError(t, err)
		alone, err := Run(&Log{Name: l.Name, Start: l.Start, North: l.North, Legs: l.Legs}, o)
		require.NoError(t, err)

		// Unknowns: a correction of each leg north and east, and the two common errors.
		n := 2*len(l.Legs) + 2
		prior := mat.NewDense(n, n, nil)
		for i, s := range alone.Legs {
			c := o.legCovariance(s)
			prior.Set(2*i, 2*i, c.NN)
			prior.Set(2*i, 2*i+1, c.NE)
			prior.Set(2*i+1, 2*i, c.NE)
			prior.Set(2*i+1, 2*i+1, c.EE)
		}
		turn := o.BearingBiasDeg * math.Pi / 180
		prior.Set(n-2, n-2, o.ScaleBias*o.ScaleBias)
		prior.Set(n-1, n-1, turn*turn)
		design := mat.NewDense(2*len(l.Known), n, nil)
		misses := mat.NewVecDense(2*len(l.Known), nil)
		end := mat.NewDense(2, n, nil)
		row := func(m *mat.Dense, at, legs int) {
			for i := range legs {
				s := alone.Legs[i]
				m.Set(at, 2*i, 1)
				m.Set(at+1, 2*i+1, 1)
				m.Set(at, n-2, m.At(at, n-2)+s.NorthM)
				m.Set(at, n-1, m.At(at, n-1)-s.EastM)
				m.Set(at+1, n-2, m.At(at+1, n-2)+s.EastM)
				m.Set(at+1, n-1, m.At(at+1, n-1)+s.NorthM)
			}
		}
		for k, known := range l.Known {
			row(design, 2*k, known.After)
			d, b, _ := earth.Inverse(alone.Legs[known.After-1].To, known.Point)
			sin, cos := math.Sincos(float64(b) * math.Pi / 180)
			misses.SetVec(2*k, d*cos)
			misses.SetVec(2*k+1, d*sin)
		}
		row(end, 0, len(l.Legs))
		var pa, s, gain, x, covered, left mat.Dense
		pa.Mul(prior, design.T())
		s.Mul(design, &pa)
		for i := range 2 * len(l.Known) {
			s.Set(i, i, s.At(i, i)+25)
		}
		var inverse mat.Dense
		require.NoError(t, inverse.Inverse(&s))
		gain.Mul(&pa, &inverse)
		x.Mul(&gain, misses)
		var moved mat.Dense
		moved.Mul(end, &x)
		var chi mat.Dense
		var weighed mat.Dense
		weighed.Mul(&inverse, misses)
		chi.Mul(misses.T(), &weighed)
		covered.Mul(&gain, design)
		covered.Mul(&covered, prior)
		left.Sub(prior, &covered)
		var cov mat.Dense
		cov.Mul(end, &left)
		var full mat.Dense
		full.Mul(&cov, end.T())

		d, b, _ := earth.Inverse(alone.End, r.End)
		sin, cos := math.Sincos(float64(b) * math.Pi / 180)
		require.InDelta(t, moved.At(0, 0), d*cos, 0.01, "seed %d", seed)
		require.InDelta(t, moved.At(1, 0), d*sin, 0.01, "seed %d", seed)
		require.InEpsilon(t, chi.At(0, 0), r.Fit.ChiSquare, 1e-3, "seed %d", seed)
		// The fit's plane turns no meridians, the plain sums do: 1e-5 over 4 km.
		require.InEpsilon(t, full.At(0, 0), r.Covariance.NN, 1e-4, "seed %d", seed)
		require.InEpsilon(t, full.At(1, 1), r.Covariance.EE, 1e-4, "seed %d", seed)
		require.Equal(t, 4, r.Fit.DOF)
	}
}

// One leg and a known point at its end: the weighted mean of the two.
func TestJoinOfOneLeg(t *testing.T) {
	to, _ := earth.Direct(orb.Point{-30, 40}, 0, 1030)
	l, err := ParseLog(strings.NewReader(fmt.Sprintf("start: 40 -30\nnorth: true\n000 1000 m\nat %.9f %.9f ±20 m\n", to.Lat(), to.Lon())), "log.txt")
	require.NoError(t, err)
	r, err := Run(l, Options{SigmaDistance: 0.04, SigmaBearingDeg: 1})
	require.NoError(t, err)
	// Leg 1000 ± 40, point 1030 ± 20: weights 1 and 4, 1024 m; chi-square 30²/(40² + 20²).
	d, _, _ := earth.Inverse(l.Start, r.End)
	require.InDelta(t, 1024, d, 0.01)
	require.InDelta(t, 0.45, r.Fit.ChiSquare, 1e-3)
	require.InDelta(t, 1/(1/1600.0+1/400.0), r.Covariance.NN, 1e-6)
	require.InDelta(t, 1024, r.Legs[0].AdjustedNorthM, 0.01)
	require.InDelta(t, 30, r.Fit.Rows[0].MissM, 0.01)
	// A residual over its deviation: 30/sqrt(40² + 20²).
	require.InDelta(t, 30/math.Sqrt(2000), r.Fit.Rows[0].Standardised, 1e-3)
}

// With a true log the sum of squares is a chi-square: its mean is the degrees of
// freedom, and P is even.
func TestFitOfTrueLogs(t *testing.T) {
	o := Options{SigmaDistance: 0.05, SigmaBearingDeg: 3}
	chi, below, n := 0.0, 0, 200
	for seed := range uint64(n) {
		r, err := Run(joinLog(t, rand.New(rand.NewPCG(seed, 2)), 40, o, asWritten), o)
		require.NoError(t, err)
		chi += r.Fit.ChiSquare / float64(r.Fit.DOF)
		if r.Fit.P < 0.1 {
			below++
		}
	}
	require.InDelta(t, 1, chi/float64(n), 0.06)
	require.InDelta(t, 0.1, float64(below)/float64(n), 0.05)
}

// A leg whose bearing was written back to front is the one that a change would
// mend most, or in the same stretch between two known points.
func TestFitPointsAtTheBadLeg(t *testing.T) {
	o := Options{SigmaDistance: 0.05, SigmaBearingDeg: 3}
	stretch, n := 0, 100
	for seed := range uint64(n) {
		r := rand.New(rand.NewPCG(seed, 3))
		bad := r.IntN(40)
		l := joinLog(t, r, 40, o, func(i int, bearing, metres float64) (float64, float64) {
			if i == bad {
				bearing += 180
			}
			return bearing, metres
		})
		got, err := Run(l, o)
		require.NoError(t, err)
		require.Less(t, got.Fit.P, 0.01, "seed %d", seed)
		worst := 0
		for i, s := range got.Fit.Legs {
			if s.Shock > got.Fit.Legs[worst].Shock {
				worst = i
			}
		}
		if worst/5 == bad/5 {
			stretch++
		}
	}
	require.GreaterOrEqual(t, stretch, 95, "of %d", n)
}

// A line that was crossed moves the log across it and not along it; bearings to
// two marks put it where they cross; after a break the log goes on.
func TestJoinToLinesMarksAndBreaks(t *testing.T) {
	o := Options{SigmaDistance: 0.05, SigmaBearingDeg: 3}
	run := func(text string) *Result {
		l, err := ParseLog(strings.NewReader(text), "log.txt")
		require.NoError(t, err)
		r, err := Run(l, o)
		require.NoError(t, err)
		return r
	}
	start := orb.Point{-30, 40}
	at := func(bearing, m float64) orb.Point {
		p, _ := earth.Direct(start, earth.NewTrue(bearing), m)
		return p
	}
	write := func(p orb.Point) string { return fmt.Sprintf("%.9f %.9f", p.Lat(), p.Lon()) }
	head := "start: 40 -30\nnorth: true\n"

	// A stream from west to east 950 m north of the start.
	north := at(0, 950)
	west, _ := earth.Direct(north, 270, 500)
	east, _ := earth.Direct(north, 90, 500)
	r := run(head + "000 1000 m\non " + write(west) + " to " + write(east) + " ±5 m\n")
	d, b, _ := earth.Inverse(start, r.End)
	require.InDelta(t, 950.5, d, 0.2) // 50² : 5² pulls it to within half a metre
	require.InDelta(t, 0, earth.Wrap180(float64(b)), 0.01)
	require.InDelta(t, 50, r.Fit.Rows[0].MissM, 0.1)
	require.Less(t, r.Covariance.NN, 25.1)
	require.InEpsilon(t, math.Pow(1000*3*math.Pi/180, 2), r.Covariance.EE, 1e-3)

	// Marks 1 km east and 1 km north of the true place.
	place := at(10, 1100)
	m1, _ := earth.Direct(place, 90, 1000)
	m2, _ := earth.Direct(place, 0, 1000)
	marks := "mark church: " + write(m1) + "\nmark spire: " + write(m2) + "\n"
	r = run("start: 40 -30\nnorth: true\n" + marks + "000 1000 m\nresection church 090T, spire 000T ±0.5deg\n")
	d, _, _ = earth.Inverse(place, r.End)
	require.Less(t, d, 12.0, "%v", r.Fit)
	require.Equal(t, 2, r.Fit.DOF)

	// A break: the log goes on from a point 2 km off, and only that counts.
	on := at(45, 2000)
	r = run(head + "000 1000 m\nbreak\nat " + write(on) + " ±10 m\n090 100 m\n")
	want, _ := earth.Direct(on, 90, 100)
	d, _, _ = earth.Inverse(want, r.End)
	require.InDelta(t, 0, d, 1e-3) // positions are written with nine decimals
	require.InDelta(t, 100+25, r.Covariance.EE, 1e-6)
	require.Len(t, r.Gaps, 1)
	require.Nil(t, r.Fit)

	_, err := ParseLog(strings.NewReader("north: true\n000 1000 m\nat 40 -30 ±5 m\n"), "log.txt")
	if err == nil {
		l, _ := ParseLog(strings.NewReader("north: true\n000 1000 m\nat 40 -30 ±5 m\n"), "log.txt")
		_, err = Run(l, o)
	}
	require.Error(t, err)
}
