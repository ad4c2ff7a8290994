package reckon

import (
	"fmt"
	"regexp"
	"strings"
)

const distanceForm = "write a number and m, km, ft, yd, mi, single paces or double paces, like 1000 m, or a time like 20 min at 4 km/h"

// A unit of distance is a length, or paces of a kind.
type distanceUnit struct {
	lengthM float64 // 0 for paces
	kind    string  // of paces: single, double, or "" for the log's
}

// parseUnit reads a unit off the front of words: m, metres, KM, "single paces".
// What stands behind it, a point or a comma, is dropped. It returns how many
// words it took, 0 where there is no unit.
func parseUnit(words []word) (u distanceUnit, n int) {
	if len(words) == 0 {
		return u, 0
	}
	name := func(i int) string { return strings.ToLower(strings.TrimRight(words[i].text, ".,;")) }
	if length, known := lengthUnits[name(0)]; known {
		return distanceUnit{lengthM: length}, 1
	}
	first := name(0)
	if (first == "single" || first == "double") && len(words) > 1 {
		if isPace(name(1)) {
			return distanceUnit{kind: first}, 2
		}
		return u, 0
	}
	switch first {
	case "step", "steps":
		return distanceUnit{kind: "single"}, 1
	case "pace", "paces":
		return u, 1
	}
	return u, 0
}

func isPace(s string) bool { return s == "pace" || s == "paces" || s == "step" || s == "steps" }

// distanceWords parts a number from the unit written onto it.
func distanceWords(words []word) (number word, unit []word) {
	text, glued := cutUnit(words[0].text)
	number = word{text, words[0].col}
	if glued == "" {
		return number, words[1:]
	}
	return number, append([]word{{glued, words[0].col + len([]rune(text))}}, words[1:]...)
}

// startsDistance says whether words begin with a number and a unit of distance,
// so that what stands before is no reading to be followed by another.
func startsDistance(words []word) bool {
	if len(words) == 0 {
		return false
	}
	number, unit := distanceWords(words)
	_, isNumber := parseNumber(number.text)
	_, n := parseUnit(unit)
	return isNumber && (n > 0 || len(unit) > 0 && timeUnit(unit[0].text) > 0)
}

// parseDistance takes the distance off the front of the words after a bearing.
func (p *parser) parseDistance(leg *Leg, words []word) (rest []word, err error) {
	if len(words) == 0 {
		return nil, &LogError{Text: "a leg without a distance", Advice: distanceForm}
	}
	at := words[0]
	number, after := distanceWords(words)
	v, ok := parseNumber(number.text)
	switch {
	case strings.Contains(number.text, ",") || strings.Count(number.text, ".") > 1:
		return nil, at.fault("not a distance", "write a decimal point, and thousands without a mark, like 1080.5 m")
	case !ok:
		return nil, at.fault("not a distance", distanceForm)
	case len(after) == 0:
		return nil, at.fault("a distance without a unit", distanceForm)
	}
	if timeUnit(after[0].text) > 0 {
		return p.parseTimed(leg, words)
	}
	unit, n := parseUnit(after)
	if n == 0 {
		return nil, at.fault(fmt.Sprintf("no unit of length %q", after[0].text), unitAdvice(number.text, after[0].text))
	}
	p.doubtThousands(number, after[:n])
	rest = after[n:]
	leg.WalkedM = v * unit.lengthM
	leg.written.count, leg.written.unitM = number.text, unit.lengthM
	if unit.lengthM == 0 {
		var pace *Pace
		pace, leg.Condition, rest = p.paceOn(rest)
		if leg.written.unitM, err = paceMetres(pace, unit.kind, at); err != nil {
			return nil, err
		}
		leg.WalkedM, leg.Paces = v*leg.written.unitM, v
		if len(rest) > 0 && (rest[0].text == "single" || rest[0].text == "double") {
			return nil, rest[0].fault("the kind of pace stands before the word paces", "write "+number.text+" "+rest[0].text+" paces, or begin the note with another word")
		}
	}
	return rest, tooLong(leg, at)
}

// tooLong refuses a leg that nobody walks.
func tooLong(leg *Leg, at word) error {
	if leg.WalkedM > maxLegM {
		return at.fault(fmt.Sprintf("a leg of %.0f km", leg.WalkedM/1000), "check the unit; a leg is at most 100 km")
	}
	return nil
}

// groupedThousands is how thousands are written where a point parts them.
var groupedThousands = regexp.MustCompile(`^[1-9][0-9]{0,2}[.][0-9]{3}$`)

// doubtThousands warns, once a log, of a number whose point may part thousands.
func (p *parser) doubtThousands(number word, unit []word) {
	if p.grouped || !groupedThousands.MatchString(number.text) {
		return
	}
	p.grouped = true
	name := join(unit)
	p.warn(number.col, fmt.Sprintf("%s %s is read as %s %s, a point is a decimal sign", number.text, name, strings.TrimRight(strings.TrimRight(number.text, "0"), "."), name),
		"write thousands without a mark, like "+strings.Replace(number.text, ".", "", 1)+" "+name)
}

// unitAdvice says what to do about a word that is no unit.
func unitAdvice(number, unit string) string {
	if _, digits := parseNumber(unit); digits {
		return "write thousands without a blank, like " + number + unit + " m"
	}
	if figures := letterFigures.Replace(unit); figures != unit {
		if _, digits := parseNumber(figures); digits {
			return letterAdvice
		}
	}
	return distanceForm
}

// paceMetres returns the length of one counted pace [m]. kind is single, double, or
// "" for that of the pace, which is nil where the log states none.
func paceMetres(pace *Pace, kind string, at word) (float64, error) {
	if pace == nil {
		e := at.fault("paces, but not how long they are", "add a line like pace: 116 per 100 m single")
		if kind == "" {
			e.Text = "a pace count without its kind and length"
		}
		return 0, e
	}
	counted := *pace
	if kind != "" {
		counted.Double = kind == "double"
	}
	return counted.Metres(), nil
}
