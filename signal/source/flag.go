package source

import (
	"fmt"
	"math"

	"farhail/signal/air"
)

// A Flag is a flag, a panel or a cloth that faces the eye. Luminance factors are
// those for the eye: see [Surface].
type Flag struct {
	WidthM, HeightM float64 // [m], > 0
	Reflectance     float64 // luminance factor of the cloth; fluorescent cloth may exceed 1
	Behind          float64 // luminance factor of what is behind it, > 0
	Lit             Lighting
	From, On        string // where the two factors are from; "": as given
	// Loose says that the cloth hangs from a pole or a branch, and that the wind
	// spreads it. A cloth that is not is spread out.
	Loose  bool
	WindMS float64 // of a loose cloth [m/s]
}

// HangingShare is the part of a loose cloth that shows in calm air, in folds. Own
// choice.
const HangingShare = 0.3

// Kind returns [KindFlag].
func (f Flag) Kind() Kind { return KindFlag }

// String describes the flag.
func (f Flag) String() string {
	s := fmt.Sprintf("flag %g x %g m, reflectance %.3g on %.3g", f.WidthM, f.HeightM, f.Reflectance, f.Behind)
	if f.Loose {
		s += fmt.Sprintf(", loose in %.3g m/s of wind", f.WindMS)
	}
	return s
}

// Check returns an error that names the first impossible value.
func (f Flag) Check() error {
	switch {
	case !(f.WidthM > 0) || math.IsInf(f.WidthM, 1):
		return fmt.Errorf("flag: width %g m is not a positive length", f.WidthM)
	case !(f.HeightM > 0) || math.IsInf(f.HeightM, 1):
		return fmt.Errorf("flag: height %g m is not a positive length", f.HeightM)
	case f.Loose && !(f.WindMS >= 0 && !math.IsInf(f.WindMS, 1)):
		return fmt.Errorf("flag: wind %g m/s is not a number from 0 up", f.WindMS)
	}
	return f.surface().check("flag")
}

// maxReflectance is above every fluorescent cloth's luminance factor (about
// 1.1), so that a percentage written without its sign is noticed.
const maxReflectance = 1.5

func (f Flag) surface() Surface {
	return Surface{Reflectance: f.Reflectance, Behind: f.Behind, Lit: f.Lit, From: f.From, On: f.On}
}

// Contrast returns the inherent luminance contrast against the background: see
// [Surface.Contrast].
func (f Flag) Contrast() float64 { return f.surface().Contrast() }

// Share returns the part of the cloth that shows: all of one that is spread out,
// and of a loose one from [HangingShare] in calm air to all where the wind makes
// it stream (Beaufort 3). A cloth that streams shows its edge to whoever looks
// along the wind; that is left out.
func (f Flag) Share() float64 {
	if !f.Loose {
		return 1
	}
	return HangingShare + (1-HangingShare)*air.Streams(f.WindMS)
}

// Toward returns the flag's area and contrast; a flag faces every eye. Where
// less than half of it shows the wind is what holds it back.
func (f Flag) Toward(View) Appearance {
	a := Appearance{AreaM2: f.WidthM * f.HeightM * f.Share(), Contrast: f.Contrast()}
	if f.Share() < 0.5 && a.Contrast != 0 {
		a.HeldBy = Wind
	}
	return a
}

// Factors lists what the flag's appearance rests on.
func (f Flag) Factors() []Factor {
	list := f.surface().factors()
	if f.Loose {
		list = append(list, Factor{Name: "share of the cloth that shows", Value: f.Share(),
			Source: "own choice: 0.3 hanging in calm air, all from 3.4 m/s on, where Beaufort 3 has light flags stand out"})
	}
	return list
}
