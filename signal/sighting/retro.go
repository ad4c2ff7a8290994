package sighting

import (
	"math"

	"farhail/signal/source"
)

// pointLx returns what a point of light gives at the eye [lx], as far as sizeM
// through hazeM of air: by its own light (Allard), or by that of the eye's lamp,
// which spreads and is weakened on the way there and again on the way back, I R
// e^(-2 s d) / d^4 with the intensity R that comes back for each lux.
func pointLx(look source.Appearance, sizeM, hazeM, extinction float64) float64 {
	left := math.Exp(-extinction*hazeM) / (sizeM * sizeM)
	if look.ReturnCDLx > 0 {
		return look.IntensityCD * left * (look.ReturnCDLx * left)
	}
	return look.IntensityCD * left
}

// pointM returns the distance [m] at which a point of light gives an illuminance
// [lx]. The root of a reflector's equation is Allard's law, of the roots of
// intensity and illuminance.
func pointM(look source.Appearance, lx, extinction float64) float64 {
	if look.ReturnCDLx > 0 {
		return LuminousM(math.Sqrt(look.IntensityCD*look.ReturnCDLx), math.Sqrt(lx), extinction)
	}
	return LuminousM(look.IntensityCD, lx, extinction)
}

// SentBackCD returns the intensity [cd] that a reflector sends back at a distance
// [m] in the light of the lamp beside the eye, and of any other light its own.
func SentBackCD(look source.Appearance, distM, extinction float64) float64 {
	if look.ReturnCDLx > 0 {
		return look.ReturnCDLx * IlluminanceLx(look.IntensityCD, distM, extinction)
	}
	return look.IntensityCD
}
