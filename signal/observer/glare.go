package observer

import "math"

// PigmentBrown is the pigmentation p of brown eyes in [VeilCDM2]: 0 for black
// ones, 1 for blue, 1.2 for very light blue.
const PigmentBrown = 0.5

// glareAgeYears is the age of the eye where nobody states one, that of the
// young observer of the standard.
const glareAgeYears = 25

// VeilCDM2 returns the luminance [cd/m2] that light scattered within the eye
// lays over the scene: for a source that gives the eye the given illuminance
// [lx] from an angle off the line of sight [deg], an age [years; 0: 25] and
// [PigmentBrown]. It adds to the background and to the signal alike.
//
// The general disability glare equation of CIE 146:2002 (Vos and van den Berg;
// read in several public transcriptions that agree):
//
//	L = E (10/a^3 + (5/a^2 + 0.1 p/a) (1 + (A/62.5)^4) + 0.0025 p)
//
// for 0.1 to 100 degrees; NaN outside. Between people it differs by a factor 2.
func VeilCDM2(lx, angleDeg, ageYears float64) float64 {
	if !(angleDeg >= 0.1 && angleDeg <= 100) {
		return math.NaN()
	}
	if ageYears == 0 {
		ageYears = glareAgeYears
	}
	a, aged := angleDeg, 1+math.Pow(ageYears/62.5, 4)
	return lx * (10/(a*a*a) + (5/(a*a)+0.1*PigmentBrown/a)*aged + 0.0025*PigmentBrown)
}

// ContrastLoss returns by how much more contrast an area must have on the scene
// than it shows to the eye, before a background [cd/m2]: glare washes it out,
// (B + veil) / B, and glasses by their stray light. 1 for a naked eye without
// glare.
func (o Observer) ContrastLoss(backgroundCDM2 float64) float64 {
	loss := 1 + o.VeilCDM2/max(backgroundCDM2, CrumeyFloorCDM2)
	if !o.Optics.Naked() {
		loss /= glassContrast
	}
	return loss
}

// Where the searcher's own lamp falls: dark ground a few steps ahead, own
// choice.
const (
	ownLampFactor = 0.1 // luminance factor of the lit ground
	ownLampAwayM  = 3.0 // from the eye to it
	ownLampEyeM   = 1.7 // height of the eye
)

// OwnLamp returns what a lamp on the searcher's own head throws back from the
// ground: the illuminance at the eye [lx] for a flux [lm], and the angle below
// the level [deg] where it comes from. The lit patch of luminance factor 0.1
// lies 3 m from the eye and is diffuse (own choice); what haze and rain throw
// back is not counted, and breath or a wet hat brim can exceed it by far.
func OwnLamp(fluxLM float64) (lx, angleDeg float64) {
	const down = ownLampEyeM / ownLampAwayM // sine of the angle, and the ground's cosine
	return ownLampFactor * fluxLM / math.Pi * down / (ownLampAwayM * ownLampAwayM), math.Asin(down) / degree
}
