package source

import (
	"farhail/geo/earth"
)

// Kind names a kind of signal.
type Kind string

// The kinds of signal.
const (
	KindLight     Kind = "light"
	KindFlag      Kind = "flag"
	KindFire      Kind = "fire"
	KindSmoke     Kind = "smoke"
	KindPerson    Kind = "person"
	KindSymbol    Kind = "symbol"
	KindReflector Kind = "reflector"

	KindMirror  Kind = "mirror"
	KindWhistle Kind = "whistle" // heard, and not a Source: see Whistle
	KindShout   Kind = "shout"
)

// ByDay reports whether signals of this kind are made for daylight, so that
// the bright background applies where nobody states another.
func (k Kind) ByDay() bool {
	switch k {
	case KindFlag, KindSmoke, KindPerson, KindSymbol, KindMirror:
		return true
	}
	return false
}

// A Source is a signal.
type Source interface {
	// Kind names the kind of signal.
	Kind() Kind
	// String describes the signal in a few words with units, for a table.
	String() string
	// Check returns an error that names the first impossible value.
	Check() error
	// Toward returns what the signal shows to an eye on the given side.
	Toward(v View) Appearance
	// Factors lists the assumptions that enter the appearance, for print.
	Factors() []Factor
}

// A View is the side of a signal that an observer meets.
type View struct {
	Azimuth      earth.True // bearing from the signal to the eye; NaN: the signal is turned to the eye
	ElevationDeg float64    // of the eye as seen from the signal [deg]
	LitForS      float64    // how long the signal has burnt [s]
}

// An Appearance is what an eye can see of a signal. Either IntensityCD or
// AreaM2 is set: points of light are judged by the illuminance at the eye,
// areas by contrast and angular size.
type Appearance struct {
	IntensityCD float64 // steady intensity that a point of light is worth [cd]
	AreaM2      float64 // projected area of an extended target [m2]
	Contrast    float64 // (signal - background) / background luminance, -1 or more
	Absent      Absence // why nothing is shown; "" when something is
	HeldBy      Absence // what makes it so small or thin that the eye ends it; "" for nothing

	// ScotopicRatio is that of a point of light, scotopic over photopic; 0: its
	// colour is not stated and does not count.
	ScotopicRatio float64
	// ReturnCDLx is the intensity that a reflector sends back for each lux on it
	// [cd/lx]; IntensityCD is then that of the lamp beside the eye. 0: it shines
	// itself.
	ReturnCDLx float64
}

// Point reports whether the appearance is a point of light.
func (a Appearance) Point() bool { return a.AreaM2 == 0 }

// Absence is the reason why a signal shows nothing.
type Absence string

// Reasons to show nothing.
const (
	OutsideBeam Absence = "beam"    // the eye is outside the cone of light
	BurntOut    Absence = "battery" // the lamp has burnt for its rated time
	Wind        Absence = "wind"    // too little of it for cloth to stream, too much for smoke to stand
	NoSun       Absence = "sun"     // it is down or hidden, or a mirror cannot throw its light there
)

// A Factor is one number that entered a result, with where it is from.
type Factor struct {
	Name   string
	Value  float64
	Unit   string // "" for a ratio
	Source string
}
