package sighting

import (
	"math"

	"farhail/signal/source"
)

// largestSR bounds the solid angle of an area near the eye, where area over
// distance squared no longer is one; thresholds do not change with size there.
const largestSR = 1.5

// SolidAngleSR returns the solid angle [sr] that an area [m2] fills at a
// distance [m], at most 1.5.
func SolidAngleSR(areaM2, distM float64) float64 {
	return min(areaM2/(distM*distM), largestSR)
}

// ApparentContrast returns what is left of an inherent contrast after the
// given distance [m]: C e^(-s d) (Koschmieder; AMS Glossary of Meteorology,
// visual-range formula). It holds against the horizon sky, and against ground
// whose own haze is as bright as the horizon; unevenly lit scenes err by 5 to
// 50 %.
func ApparentContrast(contrast, distM, extinction float64) float64 {
	return contrast * math.Exp(-extinction*distM)
}

// ContrastM returns the distance [m] at which the apparent contrast of an area
// equals the threshold for its angular size, or 0 where it is below the
// threshold however near. The threshold takes a solid angle [sr] and must not
// rise with it.
func ContrastM(look source.Appearance, threshold func(solidAngleSR float64) float64, extinction float64) float64 {
	c := math.Abs(look.Contrast)
	// surplus falls with distance: the haze grows and the size shrinks.
	surplus := func(distM float64) float64 {
		return ApparentContrast(c, distM, extinction) - threshold(SolidAngleSR(look.AreaM2, distM))
	}
	least := threshold(largestSR)
	if !(c > least) {
		return 0
	}
	// No area is seen farther than one so large that its size does not count.
	return farthest(math.Log(c/least)/extinction, func(distM float64) bool { return surplus(distM) > 0 })
}

// contrastLeft returns the share of an area's contrast that haze of the given
// optical depth leaves: e^-d before a background as bright as the horizon
// (Koschmieder), and before one that the horizon outshines by a ratio k
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
