package source

import (
	"fmt"
	"math"
	"strings"
)

// A Light is a lamp, a beacon or a torch. The zero value gives no light;
// IntensityCD is required, the rest may stay zero: steady, all round, of a
// colour that does not count, burning for ever.
type Light struct {
	IntensityCD float64 // while lit, where the beam is brightest, with a fresh battery [cd]
	Flash       Flash
	Beam        Beam
	Colour      Colour
	RatedS      float64 // burning time [s]; 0: not limited, but by Battery.Output
	Battery     Battery
}

// FromBeamDistance returns the intensity [cd] of a lamp with the given beam
// distance [m], which is where its light falls to 0.25 lx: I = d^2 / 4
// (ANSI/PLATO FL 1, 2019, beam distance).
func FromBeamDistance(distM float64) float64 {
	return distM * distM * beamDistanceLx
}

const beamDistanceLx = 0.25

// Kind returns [KindLight].
func (l Light) Kind() Kind { return KindLight }

// String describes the light.
func (l Light) String() string {
	parts := []string{strings.TrimLeft(string(l.Colour)+" light", " ") + fmt.Sprintf(" of %.4g cd", l.IntensityCD)}
	if s := l.Flash.String(); s != "" {
		parts = append(parts, s)
	}
	if s := l.Beam.String(); s != "" {
		parts = append(parts, s)
	}
	return strings.Join(parts, ", ")
}

// Check returns an error that names the first impossible value.
func (l Light) Check() error {
	switch {
	case !(l.IntensityCD >= 0) || math.IsInf(l.IntensityCD, 1):
		return fmt.Errorf("light: intensity %g cd is not a number from 0 up", l.IntensityCD)
	case !(l.RatedS >= 0):
		return fmt.Errorf("light: rated time %g s is not a number from 0 up", l.RatedS)
	case l.RatedS > 0 && len(l.Battery.Output) > 0:
		return fmt.Errorf("light: a rated time of %g s beside a table of the output, which has its own end", l.RatedS)
	}
	for _, check := range []func() error{l.Flash.check, l.Beam.check, l.Colour.check, l.Battery.check} {
		if err := check(); err != nil {
			return err
		}
	}
	return nil
}

// EffectiveCD returns the steady intensity [cd] that is seen as far as the
// light where its beam is brightest, with a fresh battery: see [Flash.Share].
func (l Light) EffectiveCD() float64 {
	return l.IntensityCD * l.Flash.Share()
}

// Toward returns the steady intensity that the light sends to an eye.
func (l Light) Toward(v View) Appearance {
	output, share := l.Output(v.LitForS), l.Beam.Share(v.Azimuth, v.ElevationDeg)
	switch {
	case output == 0:
		return Appearance{Absent: BurntOut}
	case share == 0:
		return Appearance{Absent: OutsideBeam}
	}
	return Appearance{IntensityCD: l.EffectiveCD() * output * share, ScotopicRatio: l.Colour.ScotopicRatio()}
}

// Factors lists what the light's appearance rests on, whatever the side.
func (l Light) Factors() []Factor {
	if l.Flash.OnS == 0 {
		return nil
	}
	return []Factor{{Name: "flash", Value: l.Flash.Share(), Source: l.Flash.source()}}
}

// FactorsToward lists what beam and battery leave of the light on one side and
// at one hour of its burning.
func (l Light) FactorsToward(v View) []Factor {
	var list []Factor
	if f, ok := l.Beam.factor(v.Azimuth, v.ElevationDeg); ok {
		list = append(list, f)
	}
	return append(list, l.batteryFactors(v.LitForS)...)
}

func radians(deg float64) float64 { return deg * math.Pi / 180 }

func sq(x float64) float64 { return x * x }
