package reckon

import (
	"errors"
	"math"
	"math/cmplx"
	"slices"

	"farhail/geo/earth"
)

// DefaultTurnDeg is the standard deviation of the heading after 100 m of a walker
// who has nothing to keep it by [degrees]. It makes the heading's memory (the
// persistence length 2·100 m / turn²) just 100 m, after about which people began
// to circle in forest under cloud (Souman, Frissen, Sreenivasa and Ernst 2009,
// Current Biology 19, 1538-1542, by its press notice). No published figure was
// found: own choice, wide either way. People in the sun kept straight.
const DefaultTurnDeg = 81

// ErrVeers says that known places cannot be joined to a log that was walked
// without a compass.
var ErrVeers = errors.New("reckon: no least squares for a walker without a compass")

// A veer is where a walker without a compass may be, who turns as the log says,
// so that what the heading has lost on one leg it lacks on all that follow. With
// the heading a random walk of variance κ² per metre and no preferred side (Kallie,
// Schrater and Legge 2007, J. Exp. Psychol. HPP 33, 183-200, for the model: an
// error at the beginning and one that grows step by step; Souman and others 2009
// for the side), places are complex numbers north + i·east, and the first two
// moments of the sum Z of the legs are exact. With W = exp(iθ) the heading's error
// at a leg's beginning, c = κ²/2, and
//
//	g1 = (1 - e^-cL)/c                 E of the leg over W
//	g2 = 2/c (L - g1)                  E of its square length
//	g3 = E of its square, g4 = E of leg times heading at its end
//
// a leg of length L in direction u = exp(it) changes them by
//
//	E|Z|² += 2 Re(E[Z W*] u* g1) + g2      E Z² += 2 E[Z W] u g1 + u² E[W²] g3
//
// One leg's g2 is the worm-like chain of polymer physics (Kratky and Porod 1949).
type veer struct {
	kappa2          float64    // [rad²/m]
	initial         float64    // variance of the heading at the beginning [rad²]
	lengthVar       float64    // of a leg's length, relative
	scaleVar        float64    // of all lengths, relative
	walkedM         float64    // since the beginning
	mean, square    complex128 // E Z, E Z²
	size            float64    // E |Z|²
	withBack, withW complex128 // E[Z W*], E[Z W]
	ownSize         float64    // what errors of single lengths add
	ownSquare       complex128
}

// newVeer returns a veer that begins with a bearing taken well but for the errors
// of one.
func (o Options) newVeer() *veer {
	turn := o.Heading.TurnDeg
	if turn == 0 {
		turn = DefaultTurnDeg
	}
	const rad = math.Pi / 180
	return &veer{
		kappa2:    turn * turn * rad * rad / 100,
		initial:   (o.SigmaBearingDeg*o.SigmaBearingDeg + o.BearingBiasDeg*o.BearingBiasDeg) * rad * rad,
		lengthVar: o.SigmaDistance * o.SigmaDistance,
		scaleVar:  o.ScaleBias * o.ScaleBias,
	}
}

// walk adds a leg in a direction and returns how far it leads on the mean [m].
func (v *veer) walk(bearing earth.True, lengthM float64) (meanM float64) {
	sin, cos := sincos(float64(bearing))
	u := complex(cos, sin)
	g := v.parts(lengthM)
	spread := v.initial + v.kappa2*v.walkedM // variance of the heading
	w1 := math.Exp(-spread / 2)              // E W
	w2 := complex(math.Exp(-2*spread), 0)    // E W²

	meanM = w1 * g.one
	v.mean += u * complex(meanM, 0)
	v.size += 2*real(v.withBack*cmplx.Conj(u))*g.one + g.two
	v.square += 2*v.withW*u*complex(g.one, 0) + u*u*w2*complex(g.three, 0)
	v.withBack = v.withBack*complex(g.fade, 0) + u*complex(g.one, 0)
	v.withW = v.withW*complex(g.fade, 0) + u*w2*complex(g.four, 0)
	v.ownSize += v.lengthVar * g.two
	v.ownSquare += u * u * w2 * complex(v.lengthVar*g.three, 0)
	v.walkedM += lengthM
	return meanM
}

// covariance of the place about its mean [m²].
func (v *veer) covariance() earth.Covariance {
	sum := v.size*(1+v.scaleVar) + v.ownSize - real(v.mean*cmplx.Conj(v.mean))
	diff := v.square*complex(1+v.scaleVar, 0) + v.ownSquare - v.mean*v.mean
	return earth.Covariance{NN: (sum + real(diff)) / 2, NE: imag(diff) / 2, EE: (sum - real(diff)) / 2}
}

// veerParts are the moments of a leg in the heading's own direction.
type veerParts struct{ one, two, three, four, fade float64 }

func (v *veer) parts(l float64) veerParts {
	c := v.kappa2 / 2
	x := c * l
	if x < 1e-4 { // series, where the closed forms cancel; the next terms are below 1e-9
		return veerParts{
			one: l * (1 - x/2 + x*x/6), two: l * l * (1 - x/3 + x*x/12),
			three: l * l * (1 - 5*x/3 + 7*x*x/4), four: l * (1 - 5*x/2 + 7*x*x/2), fade: math.Exp(-x),
		}
	}
	one := -math.Expm1(-x) / c
	return veerParts{
		one: one, two: 2 / c * (l - one),
		three: 2 / c * (-math.Expm1(-4*x)/(4*c) + math.Exp(-x)*math.Expm1(-3*x)/(3*c)),
		four:  -math.Exp(-x) * math.Expm1(-3*x) / (3 * c), fade: math.Exp(-x),
	}
}

// veered finishes the result of a log that was walked without a compass. What is
// known on the way cannot be joined: a heading that has gone far round is not
// near to anything that is linear in it.
func (r *Result) veered(l *Log, v *veer, o Options) (*Result, error) {
	if i := slices.IndexFunc(l.Known, func(k Known) bool { return !k.Break }); i >= 0 {
		return nil, &LogError{File: l.Name, Line: l.Known[i].Line, Text: "a known place, and no compass: the two are not joined", Advice: "write a line break above it, and the log goes on from there", Err: ErrVeers}
	}
	if o.Adjust != "" {
		return nil, &LogError{File: l.Name, Text: "no compass: what a loop misses is not spread over its legs", Advice: "leave --adjust away", Err: ErrVeers}
	}
	r.Covariance = r.Covariance.Plus(v.covariance())
	r.CommonShare = math.NaN()
	r.ellipses()
	if o.Close {
		r.close(earth.Covariance{})
	}
	r.goHome(l, o)
	return r, nil
}
