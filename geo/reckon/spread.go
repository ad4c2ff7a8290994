package reckon

import (
	"math"

	"farhail/geo/earth"
)

// legCovariance returns the covariance of a leg's end [m²]. With u along the
// leg and v across it, in north and east,
//
//	u = (cos t, sin t)   v = (-sin t, cos t)
//	C = sd² u uᵀ + (d·st)² v vᵀ
//
// for the standard deviations sd of its length d and st of its bearing t in
// radians. The small-angle form: at 3 degrees across is 0.05 % too wide. Source:
// propagation of variance, Mikhail 1976, Observations and Least Squares,
// chapter 4, from memory.
//
// A leg without a bearing ends somewhere on the circle about its beginning, which has
// the variance d²/2 north and east: the ellipse of that is a disc, not the ring.
func (o Options) legCovariance(s Step) earth.Covariance {
	if math.IsNaN(float64(s.Bearing)) {
		v := s.MapM * s.MapM * (1 + o.SigmaDistance*o.SigmaDistance) / 2
		return earth.Covariance{NN: v, EE: v}
	}
	along := o.SigmaDistance * s.MapM
	across := o.SigmaBearingDeg * math.Pi / 180 * s.MapM
	sin, cos := sincos(float64(s.Bearing))
	a, b := along*along, across*across
	return earth.Covariance{
		NN: a*cos*cos + b*sin*sin,
		NE: (a - b) * sin * cos,
		EE: a*sin*sin + b*cos*cos,
	}
}

// commonCovariance returns the part that errors common to all legs add. Each
// leg is wrong by the same share or turned by the same angle, so the sum is too,
// and only the net displacement (N, E) counts:
//
//	C = ss² (N,E)(N,E)ᵀ + sb² (-E,N)(-E,N)ᵀ
func (o Options) commonCovariance(n, e float64) earth.Covariance {
	bias := o.BearingBiasDeg * math.Pi / 180
	a, b := o.ScaleBias*o.ScaleBias, bias*bias
	return earth.Covariance{
		NN: a*n*n + b*e*e,
		NE: (a - b) * n * e,
		EE: a*e*e + b*n*n,
	}
}

// Adjustment is a way to spread over the legs what a closed log misses its
// start by. "" is none.
type Adjustment string

const (
	// Compass gives each leg a part by its length (Bowditch 1808).
	Compass Adjustment = "compass"
	// Transit gives each leg a part of the northing by its northing, and of
	// the easting by its easting.
	Transit Adjustment = "transit"
	// LeastSquares gives each leg a part by its covariance, which is the
	// compass rule where lengths and bearings are equally good.
	LeastSquares Adjustment = "least-squares"
)

// adjust fills in the adjusted legs, whose sums are zero. sum is the covariance
// of the closure, the sum of the legs'; errors common to all legs are not in
// it, because they cancel around a loop.
func (r *Result) adjust(how Adjustment, leg []earth.Covariance, sum earth.Covariance) error {
	var norths, easts float64
	for _, s := range r.Legs {
		norths += math.Abs(s.NorthM)
		easts += math.Abs(s.EastM)
	}
	var λn, λe float64 // λ = (ΣC)⁻¹ c; the correction of a leg is -C λ
	if how == LeastSquares {
		det := sum.NN*sum.EE - sum.NE*sum.NE
		if !(det > 0) {
			return ErrNoError
		}
		λn = (sum.EE*r.NorthM - sum.NE*r.EastM) / det
		λe = (sum.NN*r.EastM - sum.NE*r.NorthM) / det
	}
	for i := range r.Legs {
		s := &r.Legs[i]
		var n, e float64
		switch how {
		case Compass:
			part := share(s.MapM, r.LengthM)
			n, e = r.NorthM*part, r.EastM*part
		case Transit:
			n, e = r.NorthM*share(s.NorthM, norths), r.EastM*share(s.EastM, easts)
		case LeastSquares:
			n, e = leg[i].NN*λn+leg[i].NE*λe, leg[i].NE*λn+leg[i].EE*λe
		}
		s.AdjustedNorthM, s.AdjustedEastM = s.NorthM-n, s.EastM-e
	}
	return nil
}

// share returns |part| / whole, 0 where there is nothing to share.
func share(part, whole float64) float64 {
	if whole == 0 {
		return 0
	}
	return math.Abs(part) / whole
}
