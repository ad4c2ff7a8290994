// Package observer says how little light or contrast an eye can see: the
// published threshold laws, and the observer who uses one.
//
// A threshold depends on the luminance behind the signal, in cd/m2, and for
// an area also on the solid angle it fills, in steradians. The laboratory laws
// ([CrumeyPointLx], [CrumeyContrast], [AdrianContrast]) tell what half of all
// looks show to an observer who knows the place; the practical curves
// ([ICAOPointLx], [IALAPointLx]) already hold a trade's margin and replace the
// laboratory law, they do not multiply it. [Observer] is the default: Crumey
// 2014 times a field factor.
//
// Missing: sight away from the fixation point, age and adaptation of the
// person (Adrian's age factor is there by itself), optics, colour.
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
	Factor float64 // field factor F on the laboratory threshold; 0: DefaultFactor

	// A fixed threshold replaces every law and factor where it is set.
	FixedLx       float64 // of a point of light [lx]; 0: not set
	FixedContrast float64 // of an area, as a ratio; 0: not set
}

// Check returns an error that names the first impossible value.
func (o Observer) Check() error {
	switch {
	case !(o.Factor >= 0) || math.IsInf(o.Factor, 1):
		return fmt.Errorf("observer: field factor %g is not a positive number", o.Factor)
	case !(o.FixedLx >= 0) || math.IsInf(o.FixedLx, 1):
		return fmt.Errorf("observer: threshold %g lx is not a positive number", o.FixedLx)
	case !(o.FixedContrast >= 0) || math.IsInf(o.FixedContrast, 1):
		return fmt.Errorf("observer: contrast threshold %g is not a positive number", o.FixedContrast)
	}
	return nil
}

// F returns the field factor in use.
func (o Observer) F() float64 {
	if o.Factor == 0 {
		return DefaultFactor
	}
	return o.Factor
}

// PointLx returns the illuminance [lx] at which this observer sees half of all
// looks at a point of light of known place, against a background [cd/m2]:
// Crumey's law times the field factor.
func (o Observer) PointLx(backgroundCDM2 float64) float64 {
	return o.F() * CrumeyPointLx(backgroundCDM2)
}

// Contrast returns the luminance contrast at which this observer sees half of
// all looks at an area of known place that fills the given solid angle [sr],
// against a background [cd/m2]: Crumey's law times the field factor.
func (o Observer) Contrast(backgroundCDM2, solidAngleSR float64) float64 {
	return o.F() * CrumeyContrast(backgroundCDM2, solidAngleSR)
}
