package source

import (
	"fmt"
	"math"
)

// A Lighting says how the light on a thing compares with that on what is behind
// it.
type Lighting string

// The lightings. The zero value is Alike.
const (
	Alike    Lighting = "alike"    // both lie or stand in the same light
	Shade    Lighting = "shade"    // the thing in shade, sunlit ground behind it
	Sun      Lighting = "sun"      // the thing in the sun, shaded ground behind it
	Overcast Lighting = "overcast" // it stands upright before level ground under an even cloud
)

// Lightings lists them, the usual first.
var Lightings = []Lighting{Alike, Shade, Sun, Overcast}

// shadeRatio is direct sun over open shade: 10 000 and 1000 footcandles (Smith,
// Modern Optical Engineering, figure 12.9b).
const shadeRatio = 10

// overcastUpright is the light on an upright face over that on level ground under
// a sky whose luminance is (1 + 2 sin elevation) / 3 of the zenith's (Moon and
// Spencer 1942, the CIE overcast sky): (pi/2 + 4/3) / (7 pi/3) = 0.396. Half of
// what the ground sends back is added.
const overcastUpright = (math.Pi/2 + 4.0/3) / (7 * math.Pi / 3)

// A Surface is how bright a thing is and what is behind it. Luminance factors are
// those for the eye, not broadband albedo: green plants are bright only in the
// near infrared, and are 0.03 to 0.10 to the eye.
type Surface struct {
	Reflectance float64  // luminance factor; fluorescent cloth may exceed 1
	Behind      float64  // of what is behind it, > 0
	Lit         Lighting // "": Alike
	From, On    string   // where the two factors are from; "": as given
}

// Ratio returns the light on the thing over that on what is behind it.
func (s Surface) Ratio() float64 {
	switch s.Lit {
	case Shade:
		return 1.0 / shadeRatio
	case Sun:
		return shadeRatio
	case Overcast:
		return overcastUpright + s.Behind/2
	}
	return 1
}

// Contrast returns the inherent luminance contrast, (bt q - bb) / bb with the
// ratio q of the light on the two: -1 for black and 0 for a thing that only
// colour tells apart (AMS Glossary of Meteorology, visual-range formula).
func (s Surface) Contrast() float64 {
	return (s.Reflectance*s.Ratio() - s.Behind) / s.Behind
}

// check returns an error that names the first impossible value of a thing.
func (s Surface) check(thing string) error {
	switch {
	case !(s.Reflectance >= 0 && s.Reflectance <= maxReflectance):
		return fmt.Errorf("%s: reflectance %g is outside 0 to %g", thing, s.Reflectance, maxReflectance)
	case !(s.Behind > 0 && s.Behind <= maxReflectance):
		return fmt.Errorf("%s: reflectance behind it, %g, is outside 0 to %g", thing, s.Behind, maxReflectance)
	case s.Lit != "" && s.Lit != Alike && s.Lit != Shade && s.Lit != Sun && s.Lit != Overcast:
		return fmt.Errorf("%s: light on it, %q, is not known", thing, s.Lit)
	}
	return nil
}

// factors lists what the contrast rests on.
func (s Surface) factors() []Factor {
	list := []Factor{
		{Name: "luminance factor", Value: s.Reflectance, Source: or(s.From, "as given")},
		{Name: "luminance factor behind it", Value: s.Behind, Source: or(s.On, "as given")},
	}
	how := "in the same light"
	switch s.Lit {
	case Shade, Sun:
		how = "direct sun 10 times open shade (Smith, Modern Optical Engineering, figure 12.9b)"
	case Overcast:
		how = "upright before level ground under the CIE overcast sky: 0.396, and half of what the ground sends back"
	}
	if s.Lit != "" && s.Lit != Alike {
		list = append(list, Factor{Name: "light on it over light behind it", Value: s.Ratio(), Source: how})
		how = "with that light"
	}
	return append(list, Factor{Name: "inherent contrast", Value: s.Contrast(), Source: how + " (AMS Glossary, visual-range formula)"})
}

func or(text, otherwise string) string {
	if text == "" {
		return otherwise
	}
	return text
}
