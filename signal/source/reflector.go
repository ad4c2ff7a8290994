package source

import (
	"fmt"
	"math"
)

// A Reflector is a retroreflector that the observer's own lamp finds: what it
// sends back goes to the lamp, and is seen by eyes beside it. All fields are
// required.
type Reflector struct {
	AreaM2 float64 // [m2]
	// Reflectivity is the coefficient of retroreflection R_A [cd/(lx m2)]. New tape
	// for warning clothes has 330 at the least at an observation angle of 12' and an
	// entrance angle of 5 deg (EN ISO 20471). A lamp on the head of the eye is nearer
	// than 12' beyond some 25 m, and tape that is new sends back more; tape that is
	// worn, wet or turned aside less.
	Reflectivity float64
	LampCD       float64 // of the observer's lamp, toward the reflector [cd]
}

// Kind returns [KindReflector].
func (r Reflector) Kind() Kind { return KindReflector }

// String describes the reflector and the lamp.
func (r Reflector) String() string {
	return fmt.Sprintf("reflector of %.4g cm2 in the light of a lamp of %.4g cd", r.AreaM2*1e4, r.LampCD)
}

// Check returns an error that names the first impossible value.
func (r Reflector) Check() error {
	switch {
	case !(r.AreaM2 > 0) || math.IsInf(r.AreaM2, 1):
		return fmt.Errorf("reflector: area %g m2 is not a positive area", r.AreaM2)
	case !(r.Reflectivity > 0) || math.IsInf(r.Reflectivity, 1):
		return fmt.Errorf("reflector: reflectivity %g cd/(lx m2) is not a positive number", r.Reflectivity)
	case !(r.LampCD >= 0) || math.IsInf(r.LampCD, 1):
		return fmt.Errorf("reflector: headlamp of %g cd is not a number from 0 up", r.LampCD)
	}
	return nil
}

// ReturnCDLx returns the intensity that comes back for each lux on the reflector
// [cd/lx]: R_A A (CIE 54.2, coefficient of luminous intensity).
func (r Reflector) ReturnCDLx() float64 { return r.Reflectivity * r.AreaM2 }

// Toward returns the lamp and what comes back of its light.
func (r Reflector) Toward(View) Appearance {
	return Appearance{IntensityCD: r.LampCD, ReturnCDLx: r.ReturnCDLx()}
}

// Factors lists what the reflector's appearance rests on.
func (r Reflector) Factors() []Factor {
	return []Factor{
		{Name: "coefficient of retroreflection", Value: r.Reflectivity, Unit: "cd/(lx m2)", Source: "as given, or least of new tape at 12' and 5 deg, EN ISO 20471"},
		{Name: "intensity sent back", Value: r.ReturnCDLx(), Unit: "cd/lx", Source: "coefficient times area; the light goes through the haze twice"},
	}
}
