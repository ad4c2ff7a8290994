package earth

import (
	"fmt"
	"math"
	"math/cmplx"

	"github.com/paulmach/orb"
)

// TM is an ellipsoidal transverse Mercator projection: conformal, with scale k0
// along its central meridian. Made by NewTM or UTM; safe for concurrent use.
//
// It is Krüger's series in the third flattening n, taken to order 6. Within
// 3900 km of the central meridian a position is right to 5 nanometres (Karney
// 2011, abstract); further out the series slowly loses figures.
//
// Source: Karney, C. F. F. (2011), Transverse Mercator with an accuracy of a few
// nanometers, J. Geodesy 85, 475-485, doi:10.1007/s00190-011-0445-3. Equation
// numbers are his, given from memory.
type TM struct {
	lon0           float64 // central meridian [degrees]
	k0             float64
	falseE, falseN float64
	ξ0             float64 // rectifying latitude of the origin [radians]
}

// rectifyingM is A, the radius of the circle as long as the meridian [m], (14).
const rectifyingM = SemiMajorM / (1 + n) * (1 + n*n/4 + n*n*n*n/64 + n*n*n*n*n*n/256)

// e1 is the first eccentricity [1].
var e1 = math.Sqrt(e2)

const (
	n2 = n * n
	n3 = n2 * n
	n4 = n3 * n
	n5 = n4 * n
	n6 = n5 * n
)

// alpha takes the conformal sphere to the projection, (35).
var alpha = [6]float64{
	n/2 - 2*n2/3 + 5*n3/16 + 41*n4/180 - 127*n5/288 + 7891*n6/37800,
	13*n2/48 - 3*n3/5 + 557*n4/1440 + 281*n5/630 - 1983433*n6/1935360,
	61*n3/240 - 103*n4/140 + 15061*n5/26880 + 167603*n6/181440,
	49561*n4/161280 - 179*n5/168 + 6601661*n6/7257600,
	34729*n5/80640 - 3418889*n6/1995840,
	212378941 * n6 / 319334400,
}

// beta takes the projection to the conformal sphere, (36).
var beta = [6]float64{
	n/2 - 2*n2/3 + 37*n3/96 - n4/360 - 81*n5/512 + 96199*n6/604800,
	n2/48 + n3/15 - 437*n4/1440 + 46*n5/105 - 1118711*n6/3870720,
	17*n3/480 - 37*n4/840 - 209*n5/4480 + 5569*n6/90720,
	4397*n4/161280 - 11*n5/504 - 830251*n6/7257600,
	4583*n5/161280 - 108847*n6/3991680,
	20648693 * n6 / 638668800,
}

// NewTM returns the projection whose central meridian runs through origin, with
// scale k0 [1] on it; the origin gets the coordinates falseE, falseN [m].
func NewTM(origin orb.Point, k0, falseE, falseN float64) *TM {
	t := &TM{lon0: origin.Lon(), k0: k0, falseE: falseE, falseN: falseN}
	s := t.onSphere(origin)
	t.ξ0 = real(s.ζ + sinSeries(&alpha, s.ζ))
	return t
}

// UTM returns the grid of one zone [1 to 60] of the universal transverse
// Mercator system: scale 0.9996 on the central meridian, false easting 500 km,
// false northing 10 000 km in the south. It serves for positions outside its
// zone too, which is how one grid is kept over a search on a zone's edge. It
// panics if there is no such zone.
//
// Source: NGA.SIG.0012_2.0.0_UTMUPS (2014), section 3.
func UTM(zone int, south bool) *TM {
	if zone < 1 || zone > 60 {
		panic(fmt.Sprintf("earth: no UTM zone %d", zone))
	}
	falseN := 0.0
	if south {
		falseN = 10e6
	}
	return NewTM(orb.Point{float64(6*zone - 183), 0}, 0.9996, 500e3, falseN)
}

// Forward returns the easting and northing [m] of a position. A position outside
// the earth gives NaN; one on the equator 90 degrees from the central meridian is
// infinitely far.
func (t *TM) Forward(p orb.Point) (eastM, northM float64) {
	s := t.onSphere(p)
	ζ := s.ζ + sinSeries(&alpha, s.ζ) // (11)
	a := t.k0 * rectifyingM
	return t.falseE + a*imag(ζ), t.falseN + a*(real(ζ)-t.ξ0)
}

// Inverse returns the position at an easting and northing [m]; its longitude is
// in [-180, 180). Coordinates that are not finite give NaN.
func (t *TM) Inverse(eastM, northM float64) orb.Point {
	if !finite(eastM) || !finite(northM) {
		return nowhere()
	}
	a := t.k0 * rectifyingM
	ζ := complex((northM-t.falseN)/a+t.ξ0, (eastM-t.falseE)/a) // (15)
	ζ -= sinSeries(&beta, ζ)                                   // (11), inverted
	sinξ, cosξ := math.Sincos(real(ζ))
	sinhη := math.Sinh(imag(ζ))
	τ := geographic(sinξ / math.Hypot(sinhη, cosξ)) // (18)
	λ := math.Atan2(sinhη, cosξ)                    // (18)
	return orb.Point{Wrap180(t.lon0 + λ/degree), math.Atan(τ) / degree}
}

// ConvergenceDeg returns the grid convergence at a position [degrees, -180 to
// 180]: the true bearing of grid north, positive where it lies east of true
// north. NaN outside the earth.
func (t *TM) ConvergenceDeg(p orb.Point) float64 {
	s := t.onSphere(p)
	γ := math.Atan2(s.τ*s.sinλ, math.Hypot(1, s.τ)*s.cosλ) // (24), of the sphere
	γ -= cmplx.Phase(slope(s.ζ))                           // (24), of the series
	return Wrap180(γ / degree)
}

// Scale returns the point scale at a position [1]: grid length over ground
// length, the same in every direction. NaN outside the earth.
func (t *TM) Scale(p orb.Point) float64 {
	s := t.onSphere(p)
	sinφ, tanφ := math.Sin(p.Lat()*degree), math.Tan(p.Lat()*degree)
	k := math.Sqrt(1-e2*sinφ*sinφ) * math.Hypot(1, tanφ) / math.Hypot(s.τ, s.cosλ) // (25), of the sphere
	k *= rectifyingM / SemiMajorM * cmplx.Abs(slope(s.ζ))                          // (25), of the series
	return t.k0 * k
}

// conformed is a position on the conformal sphere, the first half of the way to
// the plane.
type conformed struct {
	τ          float64    // tangent of the conformal latitude
	sinλ, cosλ float64    // of the longitude from the central meridian
	ζ          complex128 // ξ' + iη', its spherical transverse Mercator
}

// onSphere takes a position to the conformal sphere.
func (t *TM) onSphere(p orb.Point) conformed {
	if !onEarth(p) {
		nan := math.NaN()
		return conformed{nan, nan, nan, complex(nan, nan)}
	}
	var s conformed
	s.τ = conformal(math.Tan(p.Lat() * degree))
	s.sinλ, s.cosλ = math.Sincos(Wrap180(p.Lon()-t.lon0) * degree)
	ξ := math.Atan2(s.τ, s.cosλ)                      // (10)
	η := math.Asinh(s.sinλ / math.Hypot(s.τ, s.cosλ)) // (10)
	s.ζ = complex(ξ, η)
	return s
}

// conformal turns the tangent of a latitude into that of its conformal latitude,
// (7) to (9).
func conformal(τ float64) float64 {
	σ := math.Sinh(e1 * math.Atanh(e1*τ/math.Hypot(1, τ)))
	return τ*math.Hypot(1, σ) - σ*math.Hypot(1, τ)
}

// geographic is the inverse of conformal, by Newton's method, (19) to (21).
func geographic(τc float64) float64 {
	if math.IsInf(τc, 0) {
		return τc // at a pole both are infinite
	}
	τ := τc / (1 - e2)
	// Two or three steps reach the last figure; the limit is for NaN's sake.
	for range 6 {
		c := conformal(τ)
		δ := (τc - c) / math.Hypot(1, c) *
			(1 + (1-e2)*τ*τ) / ((1 - e2) * math.Hypot(1, τ)) // (21)
		τ += δ
		if math.Abs(δ) <= 1e-16*math.Max(1, math.Abs(τ)) {
			break
		}
	}
	return τ
}

// sinSeries returns the sum of c[j-1] sin 2jζ by Clenshaw's recurrence.
func sinSeries(c *[6]float64, ζ complex128) complex128 {
	sin, cos := cmplx.Sin(2*ζ), cmplx.Cos(2*ζ)
	var b1, b2 complex128
	for j := len(c) - 1; j >= 0; j-- {
		b1, b2 = 2*cos*b1-b2+complex(c[j], 0), b1
	}
	return sin * b1
}

// slope returns dζ/dζ' of the forward series, 1 + the sum of 2j alpha_j cos 2jζ',
// by Clenshaw's recurrence. Its modulus and phase are the scale and turn of the
// series, p' and q' of (23).
func slope(ζ complex128) complex128 {
	cos := cmplx.Cos(2 * ζ)
	var b1, b2 complex128
	for j := len(alpha); j > 0; j-- {
		b1, b2 = 2*cos*b1-b2+complex(float64(2*j)*alpha[j-1], 0), b1
	}
	return 1 + cos*b1 - b2
}
