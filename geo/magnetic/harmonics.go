package magnetic

import (
	"math"

	"github.com/paulmach/orb"

	"farhail/geo/earth"
)

// degree is the highest degree and order of the model.
const degree = 12

// referenceM is the geomagnetic reference radius a [m], a defining constant of
// the model, not a measure of the earth.
const referenceM = 6371200.0

// coefficient is one term of the expansion.
type coefficient struct {
	n, m       int
	g, h       float64 // [nT] at the epoch
	gDot, hDot float64 // [nT/year]
}

// components returns the field [nT] north, east and down at a position and height
// above the ellipsoid, so many years after the epoch.
func components(p orb.Point, heightM, years float64) (north, east, down float64) {
	sinφ, cosφ := math.Sincos(p.Lat() * math.Pi / 180)
	x, z, r := geocentric(sinφ, cosφ, heightM)
	l := legendre(z/r, x/r)
	λ := p.Lon() * math.Pi / 180

	var sinmλ, cosmλ, power [degree + 1]float64
	for m := range sinmλ {
		sinmλ[m], cosmλ[m] = math.Sincos(float64(m) * λ)
		power[m] = math.Pow(referenceM/r, float64(m+2))
	}
	// The field of the sphere: minus the gradient of the potential, (10) to (12).
	for _, c := range wmm2025 {
		g, h := c.g+years*c.gDot, c.h+years*c.hDot // (9)
		along := power[c.n] * (g*cosmλ[c.m] + h*sinmλ[c.m])
		north += along * l.slope[c.n][c.m]
		east += power[c.n] * float64(c.m) * (g*sinmλ[c.m] - h*cosmλ[c.m]) * l.overSin[c.n][c.m]
		down -= along * float64(c.n+1) * l.value[c.n][c.m]
	}
	// Down on the sphere is not down on the ellipsoid: turn by the difference of
	// the latitudes, (17).
	sinψ, cosψ := (z*cosφ-x*sinφ)/r, (x*cosφ+z*sinφ)/r
	return north*cosψ - down*sinψ, east, north*sinψ + down*cosψ
}

// geocentric returns the distance from the axis, the height above the plane of the
// equator and the distance from the centre [m], (7) and (8).
func geocentric(sinφ, cosφ, heightM float64) (x, z, r float64) {
	const e2 = earth.Flattening * (2 - earth.Flattening)
	ν := earth.SemiMajorM / math.Sqrt(1-e2*sinφ*sinφ)
	x = (ν + heightM) * cosφ
	z = (ν*(1-e2) + heightM) * sinφ
	return x, z, math.Hypot(x, z)
}

// functions holds the associated Legendre functions at one colatitude θ.
type functions struct {
	value   [degree + 1][degree + 1]float64 // P, Schmidt semi-normalised
	slope   [degree + 1][degree + 1]float64 // dP/dθ
	overSin [degree + 1][degree + 1]float64 // P/sin θ for m > 0, finite at the poles
}

// legendre works out the functions from cos θ and sin θ by recurrence in the
// degree. P/sin θ has a recurrence of its own, so that nothing is divided by
// sin θ and the poles need no case.
//
// Source: Langel, R. A. (1987), The main field, in Jacobs, J. A. (ed.),
// Geomagnetism, vol. 1, section 2.2, from memory.
func legendre(cosθ, sinθ float64) *functions {
	l := new(functions)
	l.value[0][0] = 1
	for n := 1; n <= degree; n++ {
		for m := 0; m <= n; m++ {
			if m == n {
				c := 1.0
				if n > 1 {
					c = math.Sqrt(1 - 1/float64(2*n))
				}
				l.value[n][n] = c * sinθ * l.value[n-1][n-1]
				l.slope[n][n] = c * (sinθ*l.slope[n-1][n-1] + cosθ*l.value[n-1][n-1])
				l.overSin[n][n] = c * l.value[n-1][n-1]
				continue
			}
			a := float64(2*n - 1)
			b := math.Sqrt(float64((n-1)*(n-1) - m*m))
			c := math.Sqrt(float64(n*n - m*m))
			var value, slope, overSin float64 // of degree n-2
			if n > 1 {
				value, slope, overSin = l.value[n-2][m], l.slope[n-2][m], l.overSin[n-2][m]
			}
			l.value[n][m] = (a*cosθ*l.value[n-1][m] - b*value) / c
			l.slope[n][m] = (a*(cosθ*l.slope[n-1][m]-sinθ*l.value[n-1][m]) - b*slope) / c
			l.overSin[n][m] = (a*cosθ*l.overSin[n-1][m] - b*overSin) / c
		}
	}
	return l
}
