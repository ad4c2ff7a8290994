package earth

import "math"

// DefaultRefraction is the coefficient k of terrestrial refraction [1], the
// curvature of a light ray over that of the earth. 0.13 is Gauss's value for
// daytime lines well above the ground, the usual one of land survey (Brunner,
// F. K., ed. (1984), Geodetic Refraction, Springer, from memory). Rivals: 1/7
// (raster tools; curvature coefficient 6/7), 0.17 (nautical tables), 0.25
// (radio, "4/3 earth"). Over hot ground k nears 0, on cold still nights it
// passes 0.25; at 10 km the range 0 to 0.25 moves the line by 1 m either way.
const DefaultRefraction = 0.13

// DropM returns how far [m] the ground at sea level lies below the line of
// sight that starts level with it, distM [m] away:
//
//	drop = d² (1 - k) / (2 R)
//
// with refraction coefficient k [1] and earth radius radiusM [m]. The parabola
// is within 1 mm of the circle up to 18 km, and 7 m too small at 300 km.
func DropM(distM, k, radiusM float64) float64 {
	return distM * distM * (1 - k) / (2 * radiusM)
}

// HorizonM returns how far off [m] the sea horizon of an eye heightM [m] above
// the sea lies:
//
//	distance = sqrt(2 R h / (1 - k))
//
// the inverse of DropM. Two heights see each other over a flat sea as far as
// the sum of their horizons. It is +Inf for k = 1 (a ray as curved as the
// earth) and NaN for a negative height or k above 1.
func HorizonM(heightM, k, radiusM float64) float64 {
	return math.Sqrt(2 * radiusM * heightM / (1 - k))
}
