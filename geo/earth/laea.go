package earth

import (
	"math"

	"github.com/paulmach/orb"
)

// LAEA is the Lambert azimuthal equal-area projection of the ellipsoid, oblique:
// equal areas on the ground are equal areas on the grid.
type LAEA struct {
	lon0           float64 // of the origin [degrees]
	sinB, cosB     float64 // of the origin's authalic latitude
	qPole, rq, d   float64
	falseE, falseN float64
}

// NewLAEA returns the projection with its origin at a position, where the
// coordinates are falseE and falseN [m]. The origin lies between 85 S and 85 N:
// the polar forms have formulas of their own, which are not here.
//
// Formulas: IOGP Publication 373-7-2, Geomatics Guidance Note 7 part 2, method
// 9820; the same as Snyder 1987, USGS Professional Paper 1395, (24-17) on.
func NewLAEA(origin orb.Point, falseE, falseN float64) *LAEA {
	p := &LAEA{lon0: origin.Lon(), falseE: falseE, falseN: falseN, qPole: authalicQ(90)}
	sinφ, cosφ := math.Sincos(origin.Lat() * degree)
	p.rq = SemiMajorM * math.Sqrt(p.qPole/2)
	p.sinB = authalicQ(origin.Lat()) / p.qPole
	p.cosB = math.Sqrt(1 - p.sinB*p.sinB)
	p.d = SemiMajorM * cosφ / math.Sqrt(1-e2*sinφ*sinφ) / (p.rq * p.cosB)
	return p
}

// EuropeLAEA returns ETRS89 / LAEA Europe, EPSG:3035, in which European land
// cover is published. ETRS89 differs from WGS84 by less than 1 m, its ellipsoid
// GRS80 by 0.1 mm.
func EuropeLAEA() *LAEA { return NewLAEA(orb.Point{10, 52}, 4321000, 3210000) }

// Forward returns the easting and northing [m] of a position, NaN at the
// origin's antipode. It agrees with PROJ within 1 mm over Europe.
func (p *LAEA) Forward(at orb.Point) (eastM, northM float64) {
	sinB := authalicQ(at.Lat()) / p.qPole
	cosB := math.Sqrt(max(0, 1-sinB*sinB))
	sinλ, cosλ := math.Sincos((at.Lon() - p.lon0) * degree)
	b := p.rq * math.Sqrt(2/(1+p.sinB*sinB+p.cosB*cosB*cosλ))
	if math.IsInf(b, 0) {
		return math.NaN(), math.NaN()
	}
	return p.falseE + b*p.d*cosB*sinλ, p.falseN + b/p.d*(p.cosB*sinB-p.sinB*cosB*cosλ)
}
