package observer

import "math"

// Hecht's law has one branch for cones and one for rods, C (1 + sqrt(K B))^2
// with log C = -8.35 and -9.80 in footcandles, log K = -5.90 and -1.90 in
// 1/nanolamberts (Hecht, JOSA 37 (1947) 59; read in several public
// transcriptions of Schaefer, PASP 102 (1990) 212, that agree).
const (
	footcandleLx  = 1 / (0.3048 * 0.3048)
	nanolambertCD = 1e-5 / math.Pi // in cd/m2

	hechtConeLx, hechtConeK = 4.466836e-9 * footcandleLx, 1.258925e-6 / nanolambertCD
	hechtRodLx, hechtRodK   = 1.584893e-10 * footcandleLx, 1.258925e-2 / nanolambertCD
)

// HechtPointLx returns the illuminance [lx] at which a point of light is seen
// against a background [cd/m2] by an eye that is used to the dark: the lower
// branch of Hecht's law.
func HechtPointLx(backgroundCDM2 float64) float64 {
	return min(HechtConePointLx(backgroundCDM2), hechtRodLx*hechtGrowth(hechtRodK*backgroundCDM2))
}

// HechtConePointLx returns the same for cones alone.
func HechtConePointLx(backgroundCDM2 float64) float64 {
	return hechtConeLx * hechtGrowth(hechtConeK*backgroundCDM2)
}

func hechtGrowth(x float64) float64 {
	s := 1 + math.Sqrt(max(x, 0))
	return s * s
}

// UnadaptedFactor returns by how much thresholds before a background [cd/m2]
// are higher for an eye that comes from the light and sees with its cones
// alone, Hecht's cone branch over the lower of his two: 1 from twilight up
// (0.005 cd/m2), 3.3 on a moonless night (0.001), up to 24 in full darkness.
//
// It is the state of some two to ten minutes after the light; in the first minute or two
// an eye sees less still, and after half an hour the factor is 1. For
// areas it is a lower bound, since rods add up light over more of the field
// (own choice to use it for them).
func UnadaptedFactor(backgroundCDM2 float64) float64 {
	b := max(backgroundCDM2, CrumeyFloorCDM2)
	return HechtConePointLx(b) / HechtPointLx(b)
}
