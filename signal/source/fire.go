package source

import (
	"fmt"
	"math"
)

// FlameLuminanceCDM2 is the luminance of a wood flame that is taken where none
// is stated [cd/m2]. It is the low end of 500 to 5000, an engineering choice:
// no photometry of a camp fire was found. A scene with a fire at exposure
// value 9 is 64 cd/m2 on average, soot at 1300 K radiates 647 cd/m2, and the
// light of the radiated heat gives the same order. The intensity is uncertain
// by a factor 5 either way.
const FlameLuminanceCDM2 = 500

// A Fire is the flame of a wood fire, seen by night as a point of light. By
// day its smoke shows and its flame does not. HeatW and BedM are required.
type Fire struct {
	HeatW         float64 // heat release [W]; dry wood gives about 13 MJ/kg
	BedM          float64 // diameter of the burning bed [m]
	LuminanceCDM2 float64 // of the flame [cd/m2]; 0: FlameLuminanceCDM2
}

// Kind returns [KindFire].
func (f Fire) Kind() Kind { return KindFire }

// String describes the fire.
func (f Fire) String() string {
	return fmt.Sprintf("fire of %.4g kW on a bed of %g m", f.HeatW/1000, f.BedM)
}

// Check returns an error that names the first impossible value, or says that
// the bed is too wide for one flame to stand on.
func (f Fire) Check() error {
	switch {
	case !(f.HeatW > 0) || math.IsInf(f.HeatW, 1):
		return fmt.Errorf("fire: heat release %g W is not a positive power", f.HeatW)
	case !(f.BedM > 0) || math.IsInf(f.BedM, 1):
		return fmt.Errorf("fire: bed of %g m is not a positive length", f.BedM)
	case !(f.LuminanceCDM2 >= 0) || math.IsInf(f.LuminanceCDM2, 1):
		return fmt.Errorf("fire: flame luminance %g cd/m2 is not a number from 0 up", f.LuminanceCDM2)
	case f.HeightM() <= 0:
		return fmt.Errorf("fire: a bed of %g m is too wide for %.4g kW, no flame stands on it", f.BedM, f.HeatW/1000)
	}
	return nil
}

// HeightM returns the height [m] that the flame reaches half the time in calm
// air, 0.235 Q^(2/5) - 1.02 D with Q in kW and D in m (Heskestad, Fire Safety
// J. 5 (1983) 103-108, as in NUREG-1805 chapter 3). It is negative where the
// bed is too wide for the heat.
func (f Fire) HeightM() float64 {
	return 0.235*math.Pow(f.HeatW/1000, 0.4) - 1.02*f.BedM
}

// IntensityCD returns the horizontal intensity [cd]: luminance times the area
// of a triangle as wide as the bed and as high as the flame.
func (f Fire) IntensityCD() float64 {
	return f.luminance() * f.BedM * f.HeightM() / 2
}

func (f Fire) luminance() float64 {
	if f.LuminanceCDM2 == 0 {
		return FlameLuminanceCDM2
	}
	return f.LuminanceCDM2
}

// Toward returns the flame's intensity, the same on every side.
func (f Fire) Toward(View) Appearance {
	return Appearance{IntensityCD: f.IntensityCD()}
}

// Factors lists what the flame's appearance rests on.
func (f Fire) Factors() []Factor {
	return []Factor{
		{Name: "flame height", Value: f.HeightM(), Unit: "m", Source: "Heskestad 1983"},
		{Name: "flame luminance", Value: f.luminance(), Unit: "cd/m2", Source: "own choice: the low end of 500 to 5000; the intensity is uncertain by a factor 5"},
	}
}
