package source

import (
	"fmt"
	"math"
)

// A Flag is a flag, a panel or a cloth spread out and facing the eye, lit by
// the same light as what is behind it. Luminance factors are those for the
// eye, not broadband albedo: green plants are bright only in the near
// infrared, and are 0.03 to 0.10 to the eye.
type Flag struct {
	WidthM, HeightM float64 // [m], > 0
	Reflectance     float64 // luminance factor of the cloth; fluorescent cloth may exceed 1
	Behind          float64 // luminance factor of what is behind it, > 0
}

// Kind returns [KindFlag].
func (f Flag) Kind() Kind { return KindFlag }

// String describes the flag.
func (f Flag) String() string {
	return fmt.Sprintf("flag %g x %g m, reflectance %g on %g", f.WidthM, f.HeightM, f.Reflectance, f.Behind)
}

// Check returns an error that names the first impossible value.
func (f Flag) Check() error {
	switch {
	case !(f.WidthM > 0) || math.IsInf(f.WidthM, 1):
		return fmt.Errorf("flag: width %g m is not a positive length", f.WidthM)
	case !(f.HeightM > 0) || math.IsInf(f.HeightM, 1):
		return fmt.Errorf("flag: height %g m is not a positive length", f.HeightM)
	case !(f.Reflectance >= 0 && f.Reflectance <= maxReflectance):
		return fmt.Errorf("flag: reflectance %g is outside 0 to %g", f.Reflectance, maxReflectance)
	case !(f.Behind > 0 && f.Behind <= maxReflectance):
		return fmt.Errorf("flag: reflectance behind it, %g, is outside 0 to %g", f.Behind, maxReflectance)
	}
	return nil
}

// maxReflectance is above every fluorescent cloth's luminance factor (about
// 1.1), so that a percentage written without its sign is noticed.
const maxReflectance = 1.5

// Contrast returns the inherent luminance contrast (bt - bb) / bb against the
// background, -1 for black and 0 for a flag that only colour tells apart (AMS
// Glossary of Meteorology, visual-range formula).
func (f Flag) Contrast() float64 {
	return (f.Reflectance - f.Behind) / f.Behind
}

// Toward returns the flag's area and contrast; a flag faces every eye.
func (f Flag) Toward(View) Appearance {
	return Appearance{AreaM2: f.WidthM * f.HeightM, Contrast: f.Contrast()}
}

// Factors lists what the flag's appearance rests on.
func (f Flag) Factors() []Factor {
	return []Factor{{
		Name: "inherent contrast", Value: f.Contrast(),
		Source: "flag and background in the same light (AMS Glossary, visual-range formula)",
	}}
}
