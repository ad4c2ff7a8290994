// Package earth is the one figure of the earth that farhail measures on: the
// WGS84 ellipsoid, its geodesics, bearings with their north in the type, the
// transverse Mercator frames in which areas and buffers are worked out,
// curvature with refraction, and the error ellipses of a position.
//
// Start with Inverse (distance and bearing between two positions), Direct (the
// position at a bearing and distance) and NewLocal (metres east and north
// around a point).
//
// Positions are orb.Point, longitude first, WGS84 degrees; heights are kept
// apart by the callers. Lengths are metres, bearings degrees clockwise from the
// north that their type names. A position outside the earth (latitude beyond
// ±90, longitude not finite) gives NaN, never a number that looks right.
//
// Not here: other datums and ellipsoids (everything farhail reads is WGS84),
// and great circles on a sphere, which are up to 0.56 % wrong in length.
package earth

import (
	"math"

	"github.com/paulmach/orb"
)

// SemiMajorM is the equatorial radius a of WGS84 [m], a defining constant.
// Source: NGA.STND.0036_1.0.0_WGS84 (2014), table 3.1.
const SemiMajorM = 6378137.0

// Flattening is the flattening f of WGS84 [1], a defining constant.
// Source: NGA.STND.0036_1.0.0_WGS84 (2014), table 3.1 (1/f = 298.257223563).
const Flattening = 1 / 298.257223563

// MeanRadiusM is the mean radius (2a + b)/3 of the ellipsoid [m], rounded to a
// decimetre, the radius of curvature drop and horizon unless a caller gives
// another. Source: Moritz, H. (2000), Geodetic Reference System 1980, J. Geodesy
// 74, 128-133 (6 371 008.7714 m; WGS84 gives the same to a millimetre). Rivals:
// 6 371 000 m (rounded) and the equatorial radius, which makes the drop 0.1 %
// smaller and is what raster tools use.
const MeanRadiusM = 6371008.8

const (
	// eccentricity squared, e² = f (2 - f)
	e2 = Flattening * (2 - Flattening)
	// third flattening, n = f / (2 - f)
	n = Flattening / (2 - Flattening)

	degree = math.Pi / 180
)

// MetresPerDegree returns the ground length of one degree of longitude and of
// one degree of latitude [m] at latDeg [degrees, -90 to 90] on the ellipsoid:
// the length of the parallel's degree, N cos φ, and of the meridian's, M, for a
// step so small that M does not change. Outside the range both are NaN.
//
// Source: Snyder, J. P. (1987), Map Projections: A Working Manual, USGS
// Professional Paper 1395, equations (4-18) to (4-21), p. 24-25, from memory.
func MetresPerDegree(latDeg float64) (eastM, northM float64) {
	if !(math.Abs(latDeg) <= 90) {
		return math.NaN(), math.NaN()
	}
	sinφ, cosφ := math.Sincos(latDeg * degree)
	w2 := 1 - e2*sinφ*sinφ
	ν := SemiMajorM / math.Sqrt(w2) // (4-20), radius in the prime vertical
	ρ := ν * (1 - e2) / w2          // (4-18), radius in the meridian
	return ν * cosφ * degree, ρ * degree
}

// onEarth reports whether p is a position: latitude within ±90 and a finite
// longitude of any turn. NaN is neither.
func onEarth(p orb.Point) bool {
	return math.Abs(p.Lat()) <= 90 && !math.IsInf(p.Lon(), 0) && !math.IsNaN(p.Lon())
}

// nowhere is the position given back where there is none.
func nowhere() orb.Point { return orb.Point{math.NaN(), math.NaN()} }
