package cli

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// A Dimension is a kind of quantity: its units, and the values it allows. The
// zero value allows nothing; start from one of the variables below.
type Dimension struct {
	name    string
	example string
	units   []unit
	bare    bool // a number without a unit is allowed
	low     float64
	high    float64
	lowOpen bool // low itself is refused
}

// A unit turns a written number into the SI value: scale*(number - zero), or
// scale/number for a rate that stands for its period.
type unit struct {
	name  string
	scale float64
	rate  bool
	zero  float64 // what is written for 0
}

func dimension(name, example string, units ...unit) Dimension {
	return Dimension{name: name, example: example, units: units, low: math.Inf(-1), high: math.Inf(1)}
}

// The dimensions of the command line and the plan file. The foot is the
// international foot of 0.3048 m, the mile 5280 ft, the nautical mile 1852 m;
// a mil is 1/6400 of a circle.
var (
	// Length is in metres.
	Length = dimension("length", "5km",
		unit{name: "m", scale: 1}, unit{name: "km", scale: 1000}, unit{name: "ft", scale: 0.3048},
		unit{name: "yd", scale: 0.9144}, unit{name: "mi", scale: 1609.344}, unit{name: "NM", scale: 1852},
		unit{name: "cm", scale: 0.01}, unit{name: "mm", scale: 0.001})
	// Surface is in square metres.
	Surface = dimension("area", "12ha",
		unit{name: "m2", scale: 1}, unit{name: "ha", scale: 1e4}, unit{name: "km2", scale: 1e6}, unit{name: "cm2", scale: 1e-4})
	// Speed is in metres a second.
	Speed = dimension("speed", "3km/h",
		unit{name: "m/s", scale: 1}, unit{name: "km/h", scale: 1 / 3.6},
		unit{name: "mph", scale: 1609.344 / 3600}, unit{name: "kn", scale: 1852.0 / 3600})
	// Duration is in seconds.
	Duration = dimension("time", "30min",
		unit{name: "s", scale: 1}, unit{name: "min", scale: 60}, unit{name: "h", scale: 3600})
	// Period is in seconds; a rate stands for its period.
	Period = dimension("period", "1s, 60/min or 1Hz",
		unit{name: "s", scale: 1}, unit{name: "min", scale: 60}, unit{name: "h", scale: 3600},
		unit{name: "/s", scale: 1, rate: true}, unit{name: "/min", scale: 60, rate: true},
		unit{name: "/h", scale: 3600, rate: true}, unit{name: "Hz", scale: 1, rate: true})
	// Direction is in degrees.
	Direction = dimension("angle", "40deg",
		unit{name: "deg", scale: 1}, unit{name: "mil", scale: 360.0 / 6400})
	// Illuminance is in lux.
	Illuminance = dimension("illuminance", "12lx", unit{name: "lx", scale: 1})
	// Intensity is in candelas.
	Intensity = dimension("luminous intensity", "100cd", unit{name: "cd", scale: 1})
	// Flux is in lumens.
	Flux = dimension("luminous flux", "300lm", unit{name: "lm", scale: 1})
	// Luminance is in candelas a square metre.
	Luminance = dimension("luminance", "0.001cd/m2", unit{name: "cd/m2", scale: 1})
	// Power is in watts.
	Power = dimension("power", "100kW",
		unit{name: "W", scale: 1}, unit{name: "kW", scale: 1e3}, unit{name: "MW", scale: 1e6})
	// Mass is in kilograms.
	Mass = dimension("mass", "20kg",
		unit{name: "kg", scale: 1}, unit{name: "lb", scale: 0.45359237})
	// MassRate is in kilograms a second.
	MassRate = dimension("burning rate", "10g/s",
		unit{name: "g/s", scale: 1e-3}, unit{name: "kg/s", scale: 1})
	// Density is in things a square metre.
	Density = dimension("density", "800/ha",
		unit{name: "/ha", scale: 1e-4}, unit{name: "/m2", scale: 1}, unit{name: "/km2", scale: 1e-6})
	// SoundLevel is in decibels over 20 micropascals.
	SoundLevel = dimension("sound level", "115dB", unit{name: "dB", scale: 1})
	// Frequency is in hertz.
	Frequency = dimension("frequency", "3150Hz", unit{name: "Hz", scale: 1}, unit{name: "kHz", scale: 1000})
	// Temperature is in degrees Celsius.
	Temperature = dimension("temperature", "10C",
		unit{name: "C", scale: 1}, unit{name: "F", scale: 5.0 / 9, zero: 32})
	// Percent is a fraction of 1; its % must be written.
	Percent = dimension("percentage", "5%", unit{name: "%", scale: 0.01})
	// Number has no unit, and may be written in per cent.
	Number = dimension("number", "0.13", unit{name: "%", scale: 0.01}).Bare()
)

// Bare returns the dimension with numbers allowed that have no unit, in the SI
// unit, for keys and flags that are called by their unit.
func (d Dimension) Bare() Dimension { d.bare = true; return d }

// Positive returns the dimension without values of 0 and below.
func (d Dimension) Positive() Dimension { d.low, d.lowOpen = 0, true; return d }

// NotNegative returns the dimension without values below 0.
func (d Dimension) NotNegative() Dimension { d.low, d.lowOpen = 0, false; return d }

// AtMost returns the dimension without values above high, in its SI unit.
func (d Dimension) AtMost(high float64) Dimension { d.high = high; return d }

// Between returns the dimension with values from low to high only, in its SI
// unit.
func (d Dimension) Between(low, high float64) Dimension {
	d.low, d.high, d.lowOpen = low, high, false
	return d
}

// A QuantityError says what is wrong with a written quantity.
type QuantityError struct {
	Text    string // as written
	Message string
	Advice  string
}

// Error returns the text and what is wrong with it.
func (e *QuantityError) Error() string { return fmt.Sprintf("%q: %s", e.Text, e.Message) }

// Where returns no place: whoever read the text knows it.
func (e *QuantityError) Where() (file string, line, column int) { return "", 0, 0 }

// Offending returns the quantity as written.
func (e *QuantityError) Offending() string { return e.Text }

// Hint says how to write it.
func (e *QuantityError) Hint() string { return e.Advice }

var (
	numberPattern = regexp.MustCompile(`^[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?`)
	commaPattern  = regexp.MustCompile(`^[+-]?[0-9]+,[0-9]`)
	maxQuantity   = 200 // characters; longer text is not a quantity
)

// ParseQuantity reads a number with its unit ("5km", "100 cd", "2e-7lx", "3°")
// and returns it in the SI unit of the dimension, angles in degrees. The
// error is a *QuantityError.
func ParseQuantity(text string, d Dimension) (float64, error) {
	s := strings.TrimSpace(text)
	fail := func(message, hint string) (float64, error) {
		return math.NaN(), &QuantityError{Text: shorten(s), Message: message, Advice: hint}
	}
	if s == "" {
		return fail(d.oneOf()+" is missing", "write it like "+d.example)
	}
	if len(s) > maxQuantity {
		return fail("too long for a "+d.name, "write it like "+d.example)
	}
	if commaPattern.MatchString(s) {
		return fail("a comma in a number", "write a decimal point, and thousands without a mark: 1234.5")
	}
	digits := numberPattern.FindString(s)
	if digits == "" {
		return fail("not "+d.oneOf(), "write it like "+d.example)
	}
	name := strings.TrimSpace(s[len(digits):])
	v, err := strconv.ParseFloat(digits, 64)
	if err != nil || math.IsInf(v, 0) {
		return fail("too large a number", "write it like "+d.example)
	}
	switch u, ok := d.unit(name); {
	case ok && u.rate:
		v = u.scale / v
	case ok:
		v = (v - u.zero) * u.scale
	case name == "" && d.bare:
	case name == "":
		return fail(d.oneOf()+" needs its unit", d.unitAdvice())
	default:
		return fail(fmt.Sprintf("%q is not a unit of %s", shorten(name), d.name), d.unitHint(name))
	}
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return fail("out of range", "write it like "+d.example)
	}
	if message := d.refuse(v); message != "" {
		return fail(message, "write it like "+d.example)
	}
	return v, nil
}

// ParseSize reads a width and a height with one unit ("0.5x0.5m", "0.5 x 1 m").
func ParseSize(text string, d Dimension) (width, height float64, err error) {
	s := strings.ReplaceAll(strings.TrimSpace(text), "×", "x")
	a, b, found := strings.Cut(s, "x")
	unitAt := len(numberPattern.FindString(strings.TrimSpace(b)))
	if !found || unitAt == 0 {
		return math.NaN(), math.NaN(), &QuantityError{Text: shorten(s), Message: "not a width and a height", Advice: "write them like 0.5x0.5m"}
	}
	name := strings.TrimSpace(b)[unitAt:]
	if numberPattern.FindString(strings.TrimSpace(a)) == strings.TrimSpace(a) {
		a += name
	}
	if width, err = ParseQuantity(a, d); err == nil {
		height, err = ParseQuantity(b, d)
	}
	if err != nil {
		return math.NaN(), math.NaN(), err
	}
	return width, height, nil
}

// refuse says why a value is outside the dimension's range, or "".
func (d Dimension) refuse(v float64) string {
	switch {
	case d.lowOpen && v <= d.low:
		return fmt.Sprintf("%s above %s is needed", d.oneOf(), d.write(d.low))
	case v < d.low:
		return fmt.Sprintf("%s of at least %s is needed", d.oneOf(), d.write(d.low))
	case v > d.high:
		return fmt.Sprintf("%s of at most %s is needed", d.oneOf(), d.write(d.high))
	}
	return ""
}

// oneOf is the dimension's name with its article.
func (d Dimension) oneOf() string {
	if strings.ContainsAny(d.name[:1], "aeiou") {
		return "an " + d.name
	}
	return "a " + d.name
}

// write gives an SI value in the first unit of the dimension.
func (d Dimension) write(v float64) string {
	if d.bare {
		return strconv.FormatFloat(v, 'g', 6, 64)
	}
	return strconv.FormatFloat(v/d.units[0].scale, 'g', 6, 64) + d.units[0].name
}

func (d Dimension) unit(name string) (unit, bool) {
	name = strings.ReplaceAll(name, "²", "2")
	if name == "°" {
		name = "deg"
	}
	for _, u := range d.units {
		if u.name == name {
			return u, true
		}
	}
	return unit{}, false
}

func (d Dimension) unitNames() string {
	names := make([]string, len(d.units))
	for i, u := range d.units {
		names[i] = u.name
	}
	return strings.Join(names, ", ")
}

func (d Dimension) unitHint(name string) string {
	for _, u := range d.units {
		if strings.EqualFold(u.name, name) {
			return "did you mean " + u.name
		}
	}
	if len(d.units) == 0 {
		return "write it like " + d.example
	}
	return d.unitAdvice()
}

// unitAdvice says which units there are.
func (d Dimension) unitAdvice() string {
	if len(d.units) == 1 {
		return "write it in " + d.units[0].name + ", like " + d.example
	}
	return "write one of " + d.unitNames() + ", like " + d.example
}

// shorten keeps an offending text printable on one line.
func shorten(s string) string {
	const most = 60
	r := []rune(s)
	if len(r) <= most {
		return s
	}
	return string(r[:most]) + "…"
}
