package observer

import (
	"fmt"
	"math"
)

// Numbers of field glasses where nobody states them.
const (
	// glassTransmission is the share of the light that comes through: 0.9 for
	// coated glass of good make (common practice, no source).
	glassTransmission = 0.9
	// glassContrast is what stray light within leaves of an area's contrast: own
	// choice.
	glassContrast = 0.95
	// tremorLeft is what the unsteady hand leaves of a point's light: the image
	// moves over about twice its size. Own choice; on a stand it is 1.
	tremorLeft = 0.5
	// apparentFieldDeg is the field as the eye meets it: 50 degrees, which is 7.1
	// on the scene with seven times (common practice, no source).
	apparentFieldDeg = 50
)

// Optics are field glasses. The zero value is the naked eye.
type Optics struct {
	Magnification float64 // 7 of 7x50; 0: naked eye
	ObjectiveMM   float64 // 50 of 7x50, the width of the front lens [mm]
	OnStand       bool    // held by a stand, not by hand
}

// Naked reports whether there are none.
func (g Optics) Naked() bool { return g == Optics{} }

// Check returns an error that names the first impossible value.
func (g Optics) Check() error {
	switch {
	case g.Magnification == 0 && g.ObjectiveMM == 0:
		return nil
	case !(g.Magnification >= 1 && g.Magnification <= 60):
		return fmt.Errorf("optics: magnification %g is outside 1 to 60", g.Magnification)
	case !(g.ObjectiveMM >= 5 && g.ObjectiveMM <= 300):
		return fmt.Errorf("optics: front lens of %g mm is outside 5 to 300", g.ObjectiveMM)
	}
	return nil
}

// String describes the glasses.
func (g Optics) String() string {
	if g.Naked() {
		return "naked eye"
	}
	s := fmt.Sprintf("%gx%g", g.Magnification, g.ObjectiveMM)
	if g.OnStand {
		s += " on a stand"
	}
	return s
}

// ExitPupilMM returns the width of the beam that leaves the eyepiece [mm]:
// front lens over magnification. +Inf for the naked eye.
func (g Optics) ExitPupilMM() float64 {
	if g.Naked() {
		return math.Inf(1)
	}
	return g.ObjectiveMM / g.Magnification
}

// FieldDeg returns the width of the field on the scene [deg], 50 degrees over
// the magnification; 360 for the naked eye.
func (g Optics) FieldDeg() float64 {
	if g.Naked() {
		return 360
	}
	return apparentFieldDeg / g.Magnification
}

func (g Optics) magnified() float64 {
	if g.Naked() {
		return 1
	}
	return g.Magnification
}

// steady is what is left of a small signal's light by the hand that holds.
func (g Optics) steady() float64 {
	if g.Naked() || g.OnStand {
		return 1
	}
	return tremorLeft
}

// Dimming returns the share of a background's luminance [cd/m2] that the eye
// meets: the transmission, and where the exit pupil is narrower than the eye's
// own, the square of their ratio. 1 for the naked eye.
func (g Optics) Dimming(backgroundCDM2 float64) float64 {
	if g.Naked() {
		return 1
	}
	narrow := min(1, g.ExitPupilMM()/PupilMM(backgroundCDM2))
	return glassTransmission * narrow * narrow
}

// PointGain returns by how much more light of a point the eye meets through
// the glasses before a background [cd/m2]: magnification squared times
// [Optics.Dimming], which is (D/p)^2 t for an exit pupil narrower than the
// eye's p, and half of it held by hand. 1 for the naked eye.
func (g Optics) PointGain(backgroundCDM2 float64) float64 {
	m := g.magnified()
	return m * m * g.Dimming(backgroundCDM2) * g.steady()
}

// areaGain is by how much larger a solid angle the eye meets, for the part of
// the threshold that asks for light and not for contrast.
func (g Optics) areaGain() float64 {
	m := g.magnified()
	return m * m * g.steady()
}

// onScene returns what a lobe of the eye [sr] covers of the scene.
func (g Optics) onScene(lobeSR float64) float64 {
	if g.Naked() {
		return lobeSR
	}
	return min(lobeSR/(g.Magnification*g.Magnification), coneSR(g.FieldDeg()/2))
}

// PupilMM returns the width of the eye's own pupil before a background
// [cd/m2], in mm: 5 - 3 tanh(0.4 log10 B) (Le Grand, in Pokorny and Smith 1997,
// read in a public transcription), 2 to 8 mm. It differs by 1 mm between
// people, and old eyes open less: 5 mm in the dark at 70.
func PupilMM(backgroundCDM2 float64) float64 {
	return 5 - 3*math.Tanh(0.4*math.Log10(max(backgroundCDM2, CrumeyFloorCDM2)))
}
