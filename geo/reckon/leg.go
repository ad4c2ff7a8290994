package reckon

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"farhail/geo/earth"
)

// maxLegM is the longest leg [m]. Own choice: nobody walks further on one
// bearing, and a wrong unit shows.
const maxLegM = 100e3

// wideReadings is how far a reading may lie from the mean before it is told
// [degrees]. Own choice.
const wideReadings = 15

func (p *parser) parseLeg(words []word, comment string) error {
	leg := Leg{Line: p.line, North: p.log.North}
	rest, err := p.parseBearing(&leg, words)
	if err != nil {
		return err
	}
	if rest, err = p.parseDistance(&leg, rest); err != nil {
		return err
	}
	// Time and slope stand before the note, in any order, once each.
	timed, sloped := false, false
	for len(rest) > 0 {
		w := rest[0]
		switch {
		case strings.HasPrefix(w.text, "@") && !timed:
			if leg.Time, err = p.parseClock(w); err != nil {
				return err
			}
			timed = true
			rest = rest[1:]
			continue
		case w.text == "slope" && !sloped && len(rest) > 1 && strings.ContainsAny(rest[1].text[:1], "+-0123456789."):
			if leg.Slope, err = parseSlope(rest[1]); err != nil {
				return err
			}
			sloped = true
			rest = rest[2:]
			continue
		}
		break
	}
	leg.Note = strings.TrimSpace(join(rest) + " " + comment)
	p.log.Legs = append(p.log.Legs, leg)
	return nil
}

const bearingForm = "begin a leg with a bearing like 060, N76d00'E or 350,010, then a distance like 1000 m"

// parseBearing takes the bearing off the front of a leg's words.
func (p *parser) parseBearing(leg *Leg, words []word) (rest []word, err error) {
	first, n := words[0], 1
	text := first.text
	if len(text) == 1 && strings.ContainsAny(text, "NSns") {
		// A quadrant with blanks: N 76 E, N 76d 00' E.
		for n < len(words) && n < 5 && !strings.ContainsAny(text[1:], "EWew") {
			text += words[n].text
			n++
		}
	}
	// Several readings with blanks: 350, 010.
	for n < len(words) && (strings.HasSuffix(text, ",") || strings.HasPrefix(words[n].text, ",")) {
		text += words[n].text
		n++
	}
	at := word{text, first.col}
	var readings []float64
	for _, part := range strings.Split(text, ",") {
		deg, north, ok := parseReading(part)
		if !ok {
			return nil, at.fault("not a bearing", bearingForm)
		}
		if deg > 360 {
			return nil, at.fault(fmt.Sprintf("a bearing is from 0 to 360, not %g", deg), bearingForm)
		}
		if north != "" {
			if len(readings) > 0 && north != leg.North {
				return nil, at.fault("readings from different norths", "write each as a leg of its own, or convert them")
			}
			leg.North = north
		}
		readings = append(readings, deg)
	}
	mean, err := earth.MeanBearing(readings)
	if err != nil {
		e := at.fault("the readings point opposite ways and have no mean", "was one of them a back bearing")
		e.Err = err
		return nil, e
	}
	leg.BearingDeg = mean
	if len(readings) == 1 {
		// The mean of one would come back through sine and cosine.
		leg.BearingDeg = earth.Wrap360(readings[0])
	}
	for _, r := range readings {
		if d := math.Abs(earth.Wrap180(r - mean)); d > wideReadings {
			p.warn(at.col, fmt.Sprintf("readings %s differ by up to %.0f degrees from their mean", text, d), "a comma separates readings; decimals need a point")
			break
		}
	}
	return words[n:], nil
}

// parseReading reads one bearing: degrees, or a quadrant like N76d00'E, each
// with T, M or G after it for its own north ("" when not said).
func parseReading(s string) (deg float64, north North, ok bool) {
	norths := map[byte]North{'T': True, 'M': Magnetic, 'G': Grid}
	if s == "" {
		return 0, "", false
	}
	if n, found := norths[s[len(s)-1]]; found {
		north, s = n, s[:len(s)-1]
	}
	if s == "" || !strings.ContainsAny(s[:1], "NSns") {
		deg, ok = parseAngle(s)
		return deg, north, ok
	}
	from, to := strings.ToUpper(s[:1]), strings.ToUpper(s[len(s)-1:])
	if len(s) < 3 || to != "E" && to != "W" {
		return 0, "", false
	}
	angle, ok := parseAngle(s[1 : len(s)-1])
	if !ok || angle > 90 {
		return 0, "", false
	}
	switch from + to {
	case "NE":
		deg = angle
	case "SE":
		deg = 180 - angle
	case "SW":
		deg = 180 + angle
	case "NW":
		deg = 360 - angle
	}
	return deg, north, true
}

var angleMarks = strings.NewReplacer("deg", "d", "°", "d", "º", "d", "′", "'", "’", "'", "″", `"`, "”", `"`, "''", `"`)

// parseAngle reads degrees from 0 up: 76, 76.5, 76d, 76d00', 76d00'30". Minutes
// and seconds must be below 60, and only the last part has decimals.
func parseAngle(s string) (deg float64, ok bool) {
	s = angleMarks.Replace(s)
	scale := 1.0
	for _, mark := range []string{"d", "'", `"`} {
		before, after, found := strings.Cut(s, mark)
		if !found {
			if mark != "d" {
				return 0, false
			}
			return parseNumber(s)
		}
		v, good := parseNumber(before)
		if !good || mark != "d" && v >= 60 || after != "" && v != math.Trunc(v) {
			return 0, false
		}
		deg += v / scale
		if after == "" {
			return deg, true
		}
		s, scale = after, scale*60
	}
	return 0, false
}

const distanceForm = "write a number and m, km, ft, yd, mi, single paces or double paces, like 1000 m"

// parseDistance takes the distance off the front of the words after a bearing.
func (p *parser) parseDistance(leg *Leg, words []word) (rest []word, err error) {
	if len(words) == 0 {
		return nil, &LogError{Text: "a leg without a distance", Advice: distanceForm}
	}
	at := words[0]
	number, unit := cutUnit(at.text)
	n := 1
	if unit == "" && n < len(words) {
		unit = words[n].text
		n++
	}
	v, ok := parseNumber(number)
	if !ok {
		return nil, at.fault("not a distance", distanceForm)
	}
	kind := ""
	if (unit == "single" || unit == "double") && n < len(words) {
		kind, unit = unit, words[n].text
		n++
	}
	paces := unit == "paces" || unit == "pace"
	switch scale, known := lengthUnits[unit]; {
	case paces:
		leg.WalkedM, err = p.paces(v, kind, at)
		if err == nil && n < len(words) && (words[n].text == "single" || words[n].text == "double") {
			err = words[n].fault("the kind of pace stands before the word paces", "write "+number+" "+words[n].text+" paces, or begin the note with another word")
		}
	case unit == "":
		err = at.fault("a distance without a unit", distanceForm)
	case kind != "" || !known:
		err = at.fault(fmt.Sprintf("no unit of length %q", unit), distanceForm)
	default:
		leg.WalkedM = v * scale
	}
	if err != nil {
		return nil, err
	}
	if leg.WalkedM > maxLegM {
		return nil, at.fault(fmt.Sprintf("a leg of %.0f km", leg.WalkedM/1000), "check the unit; a leg is at most 100 km")
	}
	return words[n:], nil
}

// paces returns the length of a pace count [m]. kind is single, double, or ""
// for the log's.
func (p *parser) paces(count float64, kind string, at word) (float64, error) {
	pace := p.log.Pace
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
	return count * counted.Metres(), nil
}

// parseSlope reads "+12%", "-12%", "7deg" as rise over run.
func parseSlope(at word) (float64, error) {
	number, unit := cutUnit(at.text)
	sign := 1.0
	if strings.HasPrefix(number, "-") {
		sign = -1
	}
	v, ok := parseNumber(strings.TrimLeft(number, "+-"))
	if strings.Count(number, "-")+strings.Count(number, "+") > 1 {
		ok = false
	}
	advice := "write it like slope +12% or slope -7deg"
	switch {
	case !ok:
		return 0, at.fault("not a slope", advice)
	case unit == "%" && v <= 500:
		return sign * v / 100, nil
	case (unit == "deg" || unit == "°") && v < 80:
		return sign * math.Tan(v*math.Pi/180), nil
	case unit == "":
		return 0, at.fault("a slope without a unit, "+strconv.Quote(at.text), advice)
	}
	return 0, at.fault("not a slope that can be walked", advice)
}
