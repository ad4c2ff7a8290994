package reckon

import (
	"strconv"
	"strings"
)

// Pace says what a counted pace is worth. Sources differ in whether a pace is
// a step (US Army TC 3-25.26, "natural step") or two, the same foot coming down
// again (orienteering), so a log must state it.
type Pace struct {
	StepM  float64 // length of one step on level ground [m]
	Double bool    // the log counts every second step

	Runs int     // walks over a measured course that it was taken from; 0 = stated outright
	SD   float64 // standard deviation of their counts, a share of the mean; 0 for fewer than two
}

// Metres returns the length of one counted pace [m].
func (p Pace) Metres() float64 {
	if p.Double {
		return 2 * p.StepM
	}
	return p.StepM
}

// String returns the kind of pace counted, "single" or "double".
func (p Pace) String() string {
	if p.Double {
		return "double"
	}
	return "single"
}

// Plausible lengths of one step [m], from a small child's to a runner's. Own
// choice; outside them a unit or the kind of pace is wrong.
const minStepM, maxStepM = 0.15, 2.5

const paceForm = "write it like 116 per 100 m single, 58 per 100 m double, or 30 in per step"

// parsePace reads "116 per 100 m single" (paces in a distance) and "30 in per
// step", "1.5 m per double pace" (distance of a pace).
func parsePace(value word) (*Pace, error) {
	before, after, found := strings.Cut(strings.Join(strings.Fields(value.text), " "), " per ")
	if !found {
		return nil, value.fault("not a pace", paceForm)
	}
	p := &Pace{}
	left, right := strings.Fields(before), strings.Fields(after)
	var lengthM float64
	var ok, kind bool
	for _, side := range []*[]string{&left, &right} {
		if rest, double, said := cutKind(*side); said {
			*side, p.Double, kind = rest, double, true
		} else {
			*side = rest
		}
	}
	if count, counted := parseNumber(strings.Join(left, "")); counted {
		var course float64
		course, ok = parseLength(strings.Join(right, " "))
		lengthM = course / count
	} else {
		lengthM, ok = parseLength(before)
		switch strings.Join(right, " ") {
		case "step", "single":
			kind = true
		case "double":
			kind, p.Double = true, true
		case "pace":
		default:
			ok = false
		}
	}
	switch {
	case !ok:
		return nil, value.fault("not a pace", paceForm)
	case !kind:
		return nil, value.fault("a pace needs its kind, single (every step) or double (every second)", paceForm)
	}
	p.StepM = lengthM
	if p.Double {
		p.StepM /= 2
	}
	if !(p.StepM >= minStepM && p.StepM <= maxStepM) {
		return nil, value.fault("a step of "+strconv.FormatFloat(p.StepM, 'g', 3, 64)+" m is not a person's", "check the unit, and single or double")
	}
	return p, nil
}

// cutKind takes the kind of pace, and the word paces, off the end of words; one
// word always stays.
func cutKind(words []string) (rest []string, double, said bool) {
	n := len(words)
	if n > 1 && isPace(words[n-1]) {
		n--
	}
	if n > 1 && (words[n-1] == "single" || words[n-1] == "double") {
		return words[:n-1], words[n-1] == "double", true
	}
	return words[:n], false, false
}

// lengthUnits are the units of length in a log [m]; the inch and the rest of
// the yard are the international ones of 1959, mi is the statute mile, nm the nautical one.
// Names are in small letters; logs may write them in capitals.
var lengthUnits = map[string]float64{
	"m": 1, "metre": 1, "metres": 1, "meter": 1, "meters": 1,
	"km": 1000, "kilometre": 1000, "kilometres": 1000, "kilometer": 1000, "kilometers": 1000,
	"cm": 0.01, "in": 0.0254, "inch": 0.0254, "inches": 0.0254,
	"ft": 0.3048, "foot": 0.3048, "feet": 0.3048, "yd": 0.9144, "yds": 0.9144, "yard": 0.9144, "yards": 0.9144,
	"mi": 1609.344, "mile": 1609.344, "miles": 1609.344, "nm": 1852, "nmi": 1852,
}

// parseLength reads a length with its unit, "100 m" or "100m".
func parseLength(s string) (m float64, ok bool) {
	number, unit := cutUnit(strings.TrimSpace(s))
	scale, known := lengthUnits[strings.ToLower(strings.TrimRight(strings.TrimSpace(unit), "."))]
	v, ok := parseNumber(number)
	return v * scale, ok && known
}

// cutUnit parts a number from the unit written after it.
func cutUnit(s string) (number, unit string) {
	i := strings.IndexFunc(s, func(r rune) bool { return (r < '0' || r > '9') && r != '.' && r != '+' && r != '-' && r != ',' })
	if i < 0 {
		return s, ""
	}
	return s[:i], s[i:]
}

// parseNumber reads a plain number from 0 up, digits and a point: no exponents,
// no NaN.
func parseNumber(s string) (v float64, ok bool) {
	if s == "" || strings.Trim(s, "0123456789.") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil
}

// ParsePace reads a pace as it stands behind the header of a log, "116 per 100 m
// single". Errors are *[LogError].
func ParsePace(text string) (*Pace, error) { return parsePace(word{text, 1}) }
