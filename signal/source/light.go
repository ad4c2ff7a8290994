package source

import (
	"fmt"
	"math"

	"farhail/geo/earth"
)

// VisualTimeS is the constant a of Blondel and Rey's law [s]. Modern rules
// (ICAO Doc 9157 Part 4, IALA E-200-4) use 0.2; the first paper found 0.21.
const VisualTimeS = 0.2

// A Light is a lamp, a beacon or a torch. The zero value gives no light;
// IntensityCD is required, the rest may stay zero: steady, all round, burning
// for ever.
type Light struct {
	IntensityCD float64 // while lit, in the direction of the beam [cd]
	Flash       Flash
	Beam        Beam
	RatedS      float64 // burning time [s]; 0: not limited
}

// Flash is the rhythm of a light. The zero value is a steady light.
type Flash struct {
	OnS    float64 // length of one flash [s]
	EveryS float64 // from the start of a flash to the start of the next [s]; 0: not stated
}

// Beam is where a light shines: evenly within a cone, not at all beside it.
// The zero value shines all round.
type Beam struct {
	WidthDeg float64    // full angle of the cone [deg], up to 360; 0: all round
	Aimed    bool       // false: turned to the eye, and Azimuth is not used
	Azimuth  earth.True // of the axis
	TiltDeg  float64    // of the axis above the horizontal [deg]
}

// FromLumens returns the intensity [cd] of a flux [lm] spread evenly over a
// cone of the given full angle [deg]: flux / (2 pi (1 - cos(width/2))). A
// width of 0 spreads it all round, over 4 pi. Real beams are 2 to 4 times
// brighter on their axis, so a stated intensity or beam distance is better.
func FromLumens(fluxLM, widthDeg float64) float64 {
	if widthDeg == 0 {
		widthDeg = 360
	}
	return fluxLM / (2 * math.Pi * (1 - math.Cos(radians(widthDeg)/2)))
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
	s := fmt.Sprintf("light of %.4g cd", l.IntensityCD)
	if l.Flash.OnS > 0 {
		s += fmt.Sprintf(", flashes of %g s", l.Flash.OnS)
		if l.Flash.EveryS > 0 {
			s += fmt.Sprintf(" every %g s", l.Flash.EveryS)
		}
	}
	if l.Beam.WidthDeg > 0 {
		s += fmt.Sprintf(", beam %g deg wide", l.Beam.WidthDeg)
	}
	return s
}

// Check returns an error that names the first impossible value.
func (l Light) Check() error {
	switch {
	case !(l.IntensityCD >= 0) || math.IsInf(l.IntensityCD, 1):
		return fmt.Errorf("light: intensity %g cd is not a number from 0 up", l.IntensityCD)
	case !(l.Flash.OnS >= 0) || math.IsInf(l.Flash.OnS, 1):
		return fmt.Errorf("light: flash length %g s is not a number from 0 up", l.Flash.OnS)
	case !(l.Flash.EveryS >= 0) || math.IsInf(l.Flash.EveryS, 1):
		return fmt.Errorf("light: flash period %g s is not a number from 0 up", l.Flash.EveryS)
	case l.Flash.EveryS > 0 && l.Flash.OnS == 0:
		return fmt.Errorf("light: flash period of %g s without a flash length", l.Flash.EveryS)
	case l.Flash.EveryS > 0 && l.Flash.OnS >= l.Flash.EveryS:
		return fmt.Errorf("light: flash of %g s is not shorter than its period of %g s", l.Flash.OnS, l.Flash.EveryS)
	case !(l.Beam.WidthDeg >= 0 && l.Beam.WidthDeg <= 360):
		return fmt.Errorf("light: beam width %g deg is outside 0 to 360", l.Beam.WidthDeg)
	case !(l.Beam.TiltDeg >= -90 && l.Beam.TiltDeg <= 90):
		return fmt.Errorf("light: beam tilt %g deg is outside -90 to 90", l.Beam.TiltDeg)
	case l.Beam.Aimed && math.IsNaN(float64(l.Beam.Azimuth)):
		return fmt.Errorf("light: beam azimuth is not a number")
	case !(l.RatedS >= 0):
		return fmt.Errorf("light: rated time %g s is not a number from 0 up", l.RatedS)
	}
	return nil
}

// EffectiveCD returns the steady intensity [cd] that is seen as far as the
// light within its beam. For a flash of constant intensity it is
// I t / (a + t), a = [VisualTimeS] (Blondel and Rey, J. Phys. Theor. Appl. 1
// (1911) 530-550): a law of the threshold, about 25 % either way, for flashes
// that the eye takes one by one.
func (l Light) EffectiveCD() float64 {
	if l.Flash.OnS == 0 {
		return l.IntensityCD
	}
	return l.IntensityCD * l.Flash.OnS / (VisualTimeS + l.Flash.OnS)
}

// Burns reports whether the light still burns after the given time [s]. A
// rated time by ANSI/PLATO FL 1 ends where a tenth of the first light is left,
// so late hours are dimmer than this yes or no tells.
func (l Light) Burns(litForS float64) bool {
	return l.RatedS == 0 || litForS <= l.RatedS
}

// Narrow reports whether the beam leaves some direction dark.
func (b Beam) Narrow() bool { return b.WidthDeg > 0 && b.WidthDeg < 360 }

// edgeRad is what rounding may cost an eye on the very edge of a beam [rad].
const edgeRad = 1e-9

// Covers reports whether the beam reaches in the given direction. An azimuth
// of NaN means that the beam is turned to the eye in azimuth; its tilt still
// counts.
func (b Beam) Covers(azimuth earth.True, elevationDeg float64) bool {
	if !b.Narrow() {
		return true
	}
	turn := 0.0
	if b.Aimed && !math.IsNaN(float64(azimuth)) {
		turn = radians(float64(azimuth) - float64(b.Azimuth))
	}
	// The haversine of the angle between axis and eye keeps narrow beams exact.
	hav := sq(math.Sin(radians(elevationDeg-b.TiltDeg)/2)) +
		math.Cos(radians(b.TiltDeg))*math.Cos(radians(elevationDeg))*sq(math.Sin(turn/2))
	return 2*math.Asin(math.Sqrt(min(hav, 1))) <= radians(b.WidthDeg)/2+edgeRad
}

// Toward returns the steady intensity that the light sends to an eye.
func (l Light) Toward(v View) Appearance {
	switch {
	case !l.Burns(v.LitForS):
		return Appearance{Absent: BurntOut}
	case !l.Beam.Covers(v.Azimuth, v.ElevationDeg):
		return Appearance{Absent: OutsideBeam}
	}
	return Appearance{IntensityCD: l.EffectiveCD()}
}

// Factors lists what the light's appearance rests on.
func (l Light) Factors() []Factor {
	if l.Flash.OnS == 0 {
		return nil
	}
	return []Factor{{
		Name: "flash", Value: l.Flash.OnS / (VisualTimeS + l.Flash.OnS),
		Source: "Blondel and Rey 1911, a = 0.2 s",
	}}
}

func radians(deg float64) float64 { return deg * math.Pi / 180 }

func sq(x float64) float64 { return x * x }
