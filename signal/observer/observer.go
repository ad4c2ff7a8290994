package observer

import (
	"fmt"
	"math"
)

// DefaultFactor is the field factor F on Crumey's laboratory threshold: 1.4 to
// 2.4 for practised observers, 2 typical (Crumey, MNRAS 442 (2014) 2600-2619,
// section 1).
const DefaultFactor = 2

// Observer is a person who looks. The zero value is a practised observer with
// naked eyes.
type Observer struct {
	Law      Law     // threshold law; "": Crumey2014
	Factor   float64 // field factor F on the laboratory threshold; 0: DefaultFactor
	AgeYears float64 // raises the threshold by AdrianAge, up to 75; 0: not counted
	// Unadapted eyes come from the light: [UnadaptedFactor].
	Unadapted bool
	VeilCDM2  float64 // what glare lays over the scene [cd/m2]: VeilCDM2
	Optics    Optics  // zero: the naked eye
	// ScotopicRatio is that of the light that is looked for (S/P); 0: its colour
	// is not stated: ColourFactor.
	ScotopicRatio float64

	// A fixed threshold replaces every law and factor where it is set.
	FixedLx       float64 // of a point of light [lx]; 0: not set
	FixedContrast float64 // of an area, as a ratio; 0: not set
}

// Check returns an error that names the first impossible value.
func (o Observer) Check() error {
	switch {
	case !(o.Factor >= 0) || math.IsInf(o.Factor, 1):
		return fmt.Errorf("observer: field factor %g is not a positive number", o.Factor)
	case !(o.AgeYears >= 0 && o.AgeYears <= 75):
		return fmt.Errorf("observer: age %g is outside 0 to 75 years, where thresholds are known", o.AgeYears)
	case !(o.FixedLx >= 0) || math.IsInf(o.FixedLx, 1):
		return fmt.Errorf("observer: threshold %g lx is not a positive number", o.FixedLx)
	case !(o.FixedContrast >= 0) || math.IsInf(o.FixedContrast, 1):
		return fmt.Errorf("observer: contrast threshold %g is not a positive number", o.FixedContrast)
	case !(o.VeilCDM2 >= 0) || math.IsInf(o.VeilCDM2, 1):
		return fmt.Errorf("observer: veiling luminance %g cd/m2 is not a number from 0 up", o.VeilCDM2)
	case !o.Optics.Naked() && (o.FixedLx > 0 || o.FixedContrast > 0):
		return fmt.Errorf("observer: a fixed threshold and field glasses both say what the eye needs")
	}
	if !(o.ScotopicRatio >= 0) || math.IsInf(o.ScotopicRatio, 1) {
		return fmt.Errorf("observer: scotopic ratio %g of a light is not a number from 0 up", o.ScotopicRatio)
	}
	return o.Optics.Check()
}

// F returns the field factor in use.
func (o Observer) F() float64 {
	switch {
	case o.Factor != 0:
		return o.Factor
	case o.Law == Taylor1964:
		return TaylorUntrained
	}
	return DefaultFactor
}

// SeenCDM2 returns the luminance [cd/m2] that the eye meets where the scene has
// the given one [cd/m2]: with glare added, and dimmed by field glasses.
func (o Observer) SeenCDM2(backgroundCDM2 float64) float64 {
	b := backgroundCDM2 + o.VeilCDM2
	return b * o.Optics.Dimming(b)
}

// PointGain returns by how much more light of a point field glasses bring to
// the eye before a background [cd/m2], 1 without them.
func (o Observer) PointGain(backgroundCDM2 float64) float64 {
	return o.Optics.PointGain(backgroundCDM2 + o.VeilCDM2)
}

// AdaptationFactor returns the factor on the threshold for eyes not used to
// the dark before a background [cd/m2], 1 for others.
func (o Observer) AdaptationFactor(backgroundCDM2 float64) float64 {
	if !o.Unadapted {
		return 1
	}
	return UnadaptedFactor(o.SeenCDM2(backgroundCDM2))
}

// AgeFactor returns the factor on the threshold for the observer's age, 1
// where none is stated.
func (o Observer) AgeFactor() float64 {
	if o.AgeYears == 0 {
		return 1
	}
	return AdrianAge(o.AgeYears)
}

// factors returns what the laboratory law is multiplied by.
func (o Observer) factors(backgroundCDM2 float64) float64 {
	return o.F() * o.AgeFactor() * o.AdaptationFactor(backgroundCDM2)
}

// PointLx returns the illuminance [lx] at which this observer sees half of all
// looks at a point of light of known place, against a background [cd/m2]: the
// law times field factor, age, adaptation and colour, over what field glasses gain.
// Fixed thresholds and practical laws stand for nine looks in ten and are
// divided by the 1.616 of that.
func (o Observer) PointLx(backgroundCDM2 float64) float64 {
	i := o.Law.info()
	if o.FixedLx > 0 {
		return o.FixedLx / reliable
	}
	lx := i.pointLx(o.SeenCDM2(backgroundCDM2)) / o.PointGain(backgroundCDM2)
	if i.practice {
		return lx / reliable
	}
	return o.factors(backgroundCDM2) * o.ColourFactor(backgroundCDM2) * lx
}

// Contrast returns the luminance contrast at which this observer sees half of
// all looks at an area of known place that fills the given solid angle [sr],
// against a background [cd/m2]: the law times field factor, age and
// adaptation, through glare and glasses.
func (o Observer) Contrast(backgroundCDM2, solidAngleSR float64) float64 {
	return o.Before(backgroundCDM2).Contrast(solidAngleSR, 0)
}
