package sighting

import "math"

// largestSR bounds the solid angle of an area near the eye, where area over
// distance squared no longer is one; thresholds do not change with size there.
const largestSR = 1.5

// SolidAngleSR returns the solid angle [sr] that an area [m2] fills at a
// distance [m], at most 1.5.
func SolidAngleSR(areaM2, distM float64) float64 {
	return min(areaM2/(distM*distM), largestSR)
}

// contrastLeft returns the share of an area's contrast that haze of the given
// optical depth leaves: e^-d before a background as bright as the horizon
// (Koschmieder; AMS Glossary of Meteorology, visual-range formula; unevenly lit scenes
// err by 5 to 50 %), and before one that the horizon outshines by a ratio k
// 1 / (1 + k (e^d - 1)) (Duntley, JOSA 38 (1948) 179; Middleton, Vision through
// the Atmosphere, 1952; from memory). A ratio of 0 stands for 1.
func contrastLeft(depth, k float64) float64 {
	left := math.Exp(-depth)
	if k == 0 || k == 1 {
		return left
	}
	return left / (left - k*math.Expm1(-depth))
}

// hazeFor returns the optical depth that leaves the given share of a contrast,
// the inverse of [contrastLeft].
func hazeFor(share, k float64) float64 {
	if k == 0 {
		k = 1
	}
	return math.Log1p((1/share - 1) / k)
}

// apparentContrast returns the contrast that an area shows at a distance [m],
// with its sign.
func (w Watch) apparentContrast(distM float64) float64 {
	return w.look.Contrast * contrastLeft(w.extinction*distM, w.horizon)
}
