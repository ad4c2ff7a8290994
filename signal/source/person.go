package source

import (
	"fmt"
	"math"
	"slices"
)

// Posture is how a person is met.
type Posture string

// Postures.
const (
	Standing Posture = "standing"
	Sitting  Posture = "sitting"
	Lying    Posture = "lying"
)

// Postures lists them, the usual first.
var Postures = []Posture{Standing, Sitting, Lying}

// bodies are the areas that a clothed adult shows, to a level eye and to one
// straight above [m2]. A body of 1.75 m has 1.83 m2 of skin (Kubaha, Fiala and
// Lomas 2003, after Du Bois); a standing one shows 0.35 of the 0.725 of it that
// counts to an eye in front of it, 0.46 m2, and 0.08 of it, 0.11 m2, to one above
// (Fanger 1970, projected area factors; from memory). Clothes and a pack add a
// third or more. A person on the ground shows the front upward, and the side to a
// level eye. Rounded; own choice.
var bodies = map[Posture]struct{ levelM2, aboveM2 float64 }{
	Standing: {0.6, 0.2},
	Sitting:  {0.45, 0.35},
	Lying:    {0.35, 0.6},
}

// Clothing is a class of how clothes stand out.
type Clothing string

// Classes of clothing.
const (
	HighClothing   Clothing = "high"   // fluorescent
	MediumClothing Clothing = "medium" // a plain strong colour
	LowClothing    Clothing = "low"    // dark or earthy
)

// Clothes lists the classes with their luminance factors, the usual first. The
// classes are those of trials on land (Koester and others 2014), which give no
// figures; the factors are own choice: least of fluorescent orange-red by EN ISO
// 20471, and the Munsell values 4 and 3.
var Clothes = []Tone{
	{string(MediumClothing), MunsellFactor(4), "own choice for a plain strong colour: Munsell value 4 by ASTM D1535"},
	{string(HighClothing), 0.40, "own choice for the class: least of fluorescent orange-red, EN ISO 20471 table 2"},
	{string(LowClothing), MunsellFactor(3), "own choice for dark or earthy cloth: Munsell value 3 by ASTM D1535"},
}

// A Person is an adult in the open, seen by their clothes. Posture is required.
type Person struct {
	Posture Posture
	Surface
}

// Kind returns [KindPerson].
func (p Person) Kind() Kind { return KindPerson }

// String describes the person.
func (p Person) String() string {
	return fmt.Sprintf("person %s, clothes of reflectance %.3g on %.3g", p.Posture, p.Reflectance, p.Behind)
}

// Check returns an error that names the first impossible value.
func (p Person) Check() error {
	if !slices.Contains(Postures, p.Posture) {
		return fmt.Errorf("person: posture %q is not one of standing, sitting, lying", p.Posture)
	}
	return p.check("person")
}

// AreaM2 returns the area [m2] that the person shows to an eye at the given
// elevation [deg], from its level and its upright part. Within a third.
func (p Person) AreaM2(elevationDeg float64) float64 {
	b, e := bodies[p.Posture], radians(elevationDeg)
	return b.levelM2*math.Cos(e) + b.aboveM2*math.Abs(math.Sin(e))
}

// Toward returns the person's area and contrast.
func (p Person) Toward(v View) Appearance {
	return Appearance{AreaM2: p.AreaM2(v.ElevationDeg), Contrast: p.Contrast()}
}

// Factors lists what the person's appearance rests on.
func (p Person) Factors() []Factor {
	return append([]Factor{
		{Name: "area of the person seen level", Value: bodies[p.Posture].levelM2, Unit: "m2", Source: "own choice from Fanger 1970's projected areas, clothes added"},
		{Name: "area of the person seen from above", Value: bodies[p.Posture].aboveM2, Unit: "m2", Source: "own choice from Fanger 1970's projected areas, clothes added"},
	}, p.factors()...)
}
