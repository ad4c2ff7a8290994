package earth

import (
	"math"

	"github.com/paulmach/orb"
)

// Covariance says how unsure a position is: the variances north and east and
// their covariance [m²]. The zero value is a position known exactly.
type Covariance struct {
	NN, NE, EE float64
}

// Plus returns the covariance of the sum of two independent errors.
func (c Covariance) Plus(o Covariance) Covariance {
	return Covariance{c.NN + o.NN, c.NE + o.NE, c.EE + o.EE}
}

// SigmaEllipse returns the ellipse of one standard deviation, which holds 39.3 %
// of a normal error in the plane. A covariance that holds NaN, or that no error
// can have (a negative variance), gives NaN.
//
// The axes are the square roots of the eigenvalues of the 2x2 matrix:
//
//	major², minor² = (NN + EE)/2 ± sqrt(((NN - EE)/2)² + NE²)
//	azimuth = atan2(2 NE, NN - EE) / 2
//
// Source: Mikhail, E. M. (1976), Observations and Least Squares, section 2.8,
// from memory.
func (c Covariance) SigmaEllipse() Ellipse {
	mean, half := (c.NN+c.EE)/2, math.Hypot((c.NN-c.EE)/2, c.NE)
	least := mean - half
	if least < 0 && least >= -1e-9*mean {
		least = 0 // a sure direction, rounded below zero
	}
	if least < 0 || math.IsNaN(least) {
		nan := math.NaN()
		return Ellipse{nan, nan, nan}
	}
	azimuth := math.Atan2(2*c.NE, c.NN-c.EE) / 2 / degree
	if azimuth < 0 {
		azimuth += 180
	}
	if azimuth >= 180 || azimuth == 0 {
		azimuth = 0
	}
	return Ellipse{math.Sqrt(mean + half), math.Sqrt(least), azimuth}
}

// Ellipse returns the ellipse that holds a share of a normal error in the plane:
// the sigma ellipse times sqrt(-2 ln(1 - probability)), 1.1774 for 0.5 and 2.4477
// for 0.95. A probability outside [0, 1) gives NaN.
//
// Source: the chi-square distribution of two degrees of freedom, 1 - exp(-x/2).
func (c Covariance) Ellipse(probability float64) Ellipse {
	if !(probability >= 0 && probability < 1) {
		nan := math.NaN()
		return Ellipse{nan, nan, nan}
	}
	k := math.Sqrt(-2 * math.Log1p(-probability))
	e := c.SigmaEllipse()
	e.MajorM *= k
	e.MinorM *= k
	return e
}

// Ellipse is an error ellipse: its semi-axes [m] and the true azimuth of the
// major one [degrees, 0 to 180); 0 for a circle.
type Ellipse struct {
	MajorM, MinorM, AzimuthDeg float64
}

// Outline returns the ellipse around centre as a closed ring of so many sides
// (at least 3), counter-clockwise: each corner lies at its length and bearing along the
// geodesic, so that a circle is a true circle on the ground. Longitudes run on
// beyond 180 where the ring crosses that meridian, so that it has no jump; a
// ring around a pole does not close. It is nil for NaN, a centre outside the
// earth, or fewer than 3 sides.
func (e Ellipse) Outline(centre orb.Point, sides int) orb.Ring {
	if sides < 3 || !onEarth(centre) || !finite(e.MajorM) || !finite(e.MinorM) || !finite(e.AzimuthDeg) {
		return nil
	}
	ring := make(orb.Ring, 0, sides+1)
	for i := range sides {
		// i counts against the clock, seen from above.
		sin, cos := math.Sincos(-2 * math.Pi * float64(i) / float64(sides))
		along, across := e.MajorM*cos, e.MinorM*sin
		turn := math.Atan2(across, along) / degree
		p, _ := Direct(centre, NewTrue(e.AzimuthDeg+turn), math.Hypot(along, across))
		p[0] = centre.Lon() + Wrap180(p.Lon()-centre.Lon())
		ring = append(ring, p)
	}
	return append(ring, ring[0])
}
