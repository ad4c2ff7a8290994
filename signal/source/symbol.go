package source

import (
	"fmt"
	"math"
)

// A Symbol is a ground-to-air symbol of survivors, laid flat on the ground for
// somebody above. All fields are required.
type Symbol struct {
	Letter  string  // one of [Letters]
	LengthM float64 // of the symbol, and of the square that it fills [m]
	StrokeM float64 // width of its lines [m]
	Surface
}

// LeastSymbolM is how long a ground-to-air symbol must be at the least [m] (ICAO
// Annex 12, appendix, 2.3).
const LeastSymbolM = 2.5

// StrokeShare is the width of a symbol's lines over its length where none is
// stated: 1 to 6 (survival manuals; common practice).
const StrokeShare = 1.0 / 6

// A Letter is a symbol of the code.
type Letter struct {
	Name    string
	Meaning string
	lines   float64 // length of its lines over its own
}

// Letters lists the ground-air code for survivors (ICAO Annex 12, 8th ed.,
// appendix, 2.1). How long their lines are is by letters as high as wide, the V
// and the Y of straight strokes, the arrow with a head of two 0.4 of its length.
var Letters = []Letter{
	{"V", "require assistance", 2 * math.Hypot(1, 0.5)},
	{"X", "require medical assistance", 2 * math.Sqrt2},
	{"N", "no or negative", 2 + math.Sqrt2},
	{"Y", "yes or affirmative", 0.5 + 2*math.Hypot(0.5, 0.5)},
	{"arrow", "proceeding in this direction", 1.8},
}

func (s Symbol) letter() (Letter, bool) {
	for _, l := range Letters {
		if l.Name == s.Letter {
			return l, true
		}
	}
	return Letter{}, false
}

// Meaning returns what the symbol says to the crew; "" for none of the code.
func (s Symbol) Meaning() string {
	l, _ := s.letter()
	return l.Meaning
}

// Kind returns [KindSymbol].
func (s Symbol) Kind() Kind { return KindSymbol }

// String describes the symbol.
func (s Symbol) String() string {
	return fmt.Sprintf("symbol %s (%s), %.3g m long, lines %.3g m wide, reflectance %.3g on %.3g", s.Letter, s.Meaning(), s.LengthM, s.StrokeM, s.Reflectance, s.Behind)
}

// Check returns an error that names the first impossible value.
func (s Symbol) Check() error {
	_, known := s.letter()
	switch {
	case !known:
		return fmt.Errorf("symbol: %q is not one of V, X, N, Y, arrow", s.Letter)
	case !(s.LengthM > 0) || math.IsInf(s.LengthM, 1):
		return fmt.Errorf("symbol: length %g m is not a positive length", s.LengthM)
	case !(s.StrokeM > 0) || !(s.StrokeM < s.LengthM/2):
		return fmt.Errorf("symbol: lines %g m wide do not make a symbol %g m long", s.StrokeM, s.LengthM)
	}
	return s.check("symbol")
}

// AreaM2 returns the area [m2] of the symbol's lines, where they cross counted
// twice.
func (s Symbol) AreaM2() float64 {
	l, _ := s.letter()
	return l.lines * s.LengthM * s.StrokeM
}

// Toward returns the symbol's area and contrast: foreshortened to an eye whose
// direction is known, square on to one that is not. To an eye no higher than
// itself it shows nothing.
func (s Symbol) Toward(v View) Appearance {
	a := Appearance{AreaM2: s.AreaM2(), Contrast: s.Contrast()}
	if math.IsNaN(float64(v.Azimuth)) {
		return a
	}
	seen := math.Sin(radians(v.ElevationDeg))
	if !(seen > 0) {
		a.Contrast = 0
		return a
	}
	a.AreaM2 *= seen
	return a
}

// Factors lists what the symbol's appearance rests on.
func (s Symbol) Factors() []Factor {
	return append([]Factor{
		{Name: "area of the symbol's lines", Value: s.AreaM2(), Unit: "m2", Source: "letters as high as wide, by length and width of the lines"},
	}, s.factors()...)
}
