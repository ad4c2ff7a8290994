package reckon

import (
	"fmt"
	"math"
	"strings"

	"farhail/geo/earth"
)

// wideReadings is how far a reading may lie from the mean before it is told
// [degrees]. Own choice.
const wideReadings = 15

const bearingForm = "begin a leg with a bearing like 060, N76d00'E or 350,010, then a distance like 1000 m"

// degreesPerMil is the NATO mil, 6400 to the circle.
const degreesPerMil = 360.0 / 6400

// degreesPerGon is the gon, 400 to the circle.
const degreesPerGon = 360.0 / 400

// angleUnits are the units of a bearing [degrees]. In a log mils are always
// named, because 1600 can be nothing else but 160 cannot be told.
var angleUnits = map[string]float64{
	"deg": 1, "degree": 1, "degrees": 1, "°": 1, "mil": degreesPerMil, "mils": degreesPerMil,
	"gon": degreesPerGon, "gons": degreesPerGon,
}

// norths are the letters and words that say what one bearing is counted from.
// Letters are capital, because a small m is a metre.
var norths = map[string]North{
	"T": True, "M": Magnetic, "G": Grid, "true": True, "magnetic": Magnetic, "mag": Magnetic, "grid": Grid,
}

// parseBearing takes the bearing off the front of a leg's words: one reading or
// several parted by commas, each with its unit and its north, and the word back
// before it where it was read looking back to the leg's start.
func (p *parser) parseBearing(leg *Leg, words []word) (rest []word, err error) {
	back := strings.EqualFold(words[0].text, "back")
	if back {
		words = words[1:]
		if len(words) > 0 && strings.EqualFold(words[0].text, "bearing") {
			words = words[1:]
		}
		if len(words) == 0 {
			return nil, &LogError{Text: "a leg without a bearing", Advice: bearingForm}
		}
	}
	first := words[0]
	var readings []reading
	text := ""
	for more := true; more; {
		if len(words) == 0 {
			return nil, word{text, first.col}.fault("not a bearing", bearingForm)
		}
		var one string
		one, words = takeReading(words)
		text += one
		for _, part := range strings.Split(strings.Trim(one, ","), ",") {
			r, fault := parseReading(part)
			if fault.text != "" {
				at := word{one, first.col}
				if _, point := parseReading(first.text); point.point {
					fault, at = point, first // N 300 m was taken for the beginning of a quadrant
				}
				return nil, at.fault(fault.text, fault.advice)
			}
			readings = append(readings, r)
		}
		more = strings.HasSuffix(one, ",") && !startsDistance(words) || len(words) > 0 && strings.HasPrefix(words[0].text, ",")
	}
	at := word{text, first.col}
	degs, err := oneNorth(leg, readings, at)
	if err != nil {
		return nil, err
	}
	if leg.BearingDeg, err = p.meanReading(degs, at); err != nil {
		return nil, err
	}
	if len(readings) == 1 {
		leg.written.bearing, leg.written.back = text, back
	}
	if back {
		leg.BearingDeg = earth.Wrap360(leg.BearingDeg + 180)
	}
	return words, nil
}

// oneNorth gives the readings of one leg in degrees. What only one of them says,
// its unit or its north, holds for all.
func oneNorth(leg *Leg, readings []reading, at word) ([]float64, error) {
	unit, north := "", North("")
	for _, r := range readings {
		if north != "" && r.north != "" && r.north != north {
			return nil, at.fault("readings from different norths", "write each as a leg of its own, or convert them")
		}
		if r.north != "" {
			north = r.north
		}
		if r.unit != "" {
			unit = r.unit
		}
	}
	if north != "" {
		leg.North = north
	}
	var degs []float64
	for _, r := range readings {
		deg := r.value
		switch {
		case r.unit != "":
			deg *= angleUnits[r.unit]
		case unit != "" && !r.quadrant:
			deg *= angleUnits[unit]
		}
		if deg > 360 {
			return nil, at.fault(fmt.Sprintf("a bearing is from 0 to 360, not %g", deg), "write degrees, or mils and gons with their unit like 1066 mil; the bearing stands before the distance")
		}
		degs = append(degs, deg)
	}
	return degs, nil
}

// meanReading returns the circular mean of readings [degrees].
func (p *parser) meanReading(degs []float64, at word) (float64, error) {
	if len(degs) == 1 {
		// The mean of one would come back through sine and cosine.
		return earth.Wrap360(degs[0]), nil
	}
	mean, err := earth.MeanBearing(degs)
	if err != nil {
		e := at.fault("the readings point opposite ways and have no mean", "was one of them a back bearing")
		e.Err = err
		return 0, e
	}
	for _, d := range degs {
		if off := math.Abs(earth.Wrap180(d - mean)); off > wideReadings {
			p.warn(at.col, fmt.Sprintf("readings %s differ by up to %.0f degrees from their mean", at.text, off), "a comma separates readings; decimals need a point")
			break
		}
	}
	return mean, nil
}

// takeReading takes the words of one written reading off the front: a number or
// a quadrant, which may have blanks in it, its unit and its north.
func takeReading(words []word) (text string, rest []word) {
	text, rest = words[0].text, words[1:]
	if text == "," && len(rest) > 0 {
		text, rest = ","+rest[0].text, rest[1:]
	}
	const most = 5 // words of N 76 00 30 E
	for n := 1; quadrantOpen(text) && n < most && len(rest) > 0; n++ {
		text, rest = joinAngle(text, rest[0].text), rest[1:]
	}
	for len(rest) > 0 && !strings.HasSuffix(text, ",") {
		next := rest[0].text
		bare := strings.TrimSuffix(next, ",")
		_, unit := angleUnits[strings.ToLower(bare)]
		_, north := norths[bare]
		if !unit && !north && !finerPart(text, bare) {
			break
		}
		text, rest = text+next, rest[1:]
	}
	return text, rest
}

// finerPart says whether next goes on with the minutes of an angle whose degrees
// stand before it, or with the seconds: 30' behind 45°.
func finerPart(text, next string) bool {
	bare, _ := cutNorth(next)
	number, mark := cutUnit(angleMarks.Replace(bare))
	if _, ok := parseNumber(number); !ok {
		return false
	}
	text = angleMarks.Replace(text)
	return mark == "'" && strings.HasSuffix(text, "d") || mark == `"` && strings.HasSuffix(text, "'")
}

// quadrantOpen says whether a text begins like a quadrant and does not end like
// one yet: N, N76, N76d00'.
func quadrantOpen(text string) bool {
	text = strings.TrimPrefix(text, ",")
	if text == "" || !strings.ContainsAny(text[:1], "NSns") {
		return false
	}
	body := strings.TrimPrefix(text[1:], ".")
	return (body == "" || body[0] >= '0' && body[0] <= '9') && !strings.ContainsAny(text[1:], "EWew")
}

// joinAngle joins parts of a quadrant. Numbers that stand apart without marks
// are degrees, minutes and seconds.
func joinAngle(a, b string) string {
	digit := func(c byte) bool { return c >= '0' && c <= '9' }
	if digit(a[len(a)-1]) && digit(b[0]) {
		if strings.ContainsAny(a, "d°") {
			return a + "'" + b
		}
		return a + "d" + b
	}
	return a + b
}

// A reading is one bearing as written.
type reading struct {
	value    float64 // in its unit
	unit     string  // "" when not said
	north    North   // "" when not said
	quadrant bool    // written from N or S, in degrees
}

// A readingFault says why a reading is refused; its text is "" for none.
type readingFault struct {
	text, advice string
	point        bool // it is a point of the compass
}

// parseReading reads one bearing: degrees, mils or gons, or a quadrant like
// N76d00'E, each with a north after it.
func parseReading(s string) (reading, readingFault) {
	var r reading
	bad := readingFault{text: "not a bearing", advice: bearingForm}
	if deg, ok := compassPoint(s); ok {
		return r, readingFault{"a point of the compass, not a bearing", fmt.Sprintf("if it was read no closer, write %s as %s", strings.ToUpper(s), deg), true}
	}
	s, r.north = cutNorth(s)
	if s == "" {
		return r, bad
	}
	if strings.ContainsAny(s[:1], "NSns") {
		var ok bool
		if r.value, ok = parseQuadrant(s); !ok {
			return r, bad
		}
		r.unit, r.quadrant = "deg", true
		return r, readingFault{}
	}
	if strings.HasPrefix(s, "-") {
		return r, readingFault{text: "not a bearing", advice: "a bearing has no sign: add 360, so -10 is 350"}
	}
	if strings.Contains(s, "/") {
		return r, readingFault{text: "not a bearing", advice: "part readings by commas, like 350,010; write a back bearing as back 190"}
	}
	for name := range angleUnits {
		if number, found := strings.CutSuffix(strings.ToLower(s), name); found {
			if v, ok := parseNumber(number); ok {
				r.value, r.unit = v, name
				return r, readingFault{}
			}
		}
	}
	var ok bool
	if r.value, ok = parseAngle(s); !ok {
		if figures := letterFigures.Replace(s); figures != s {
			if _, ok := parseAngle(figures); ok {
				bad.advice = letterAdvice
			}
		}
		return r, bad
	}
	if strings.ContainsAny(angleMarks.Replace(s), "d") {
		r.unit = "deg"
	}
	return r, readingFault{}
}

// letterFigures puts the figures for which letters are written by a slip.
var letterFigures = strings.NewReplacer("O", "0", "o", "0", "l", "1", "I", "1")

const letterAdvice = "a letter O or l stands for a figure 0 or 1"

// cutNorth takes the north off the end of a bearing.
func cutNorth(s string) (rest string, north North) {
	for _, name := range []string{"magnetic", "mag", "true", "grid", "T", "M", "G"} {
		if rest, found := strings.CutSuffix(s, name); found {
			return rest, norths[name]
		}
	}
	return s, ""
}

// parseQuadrant reads N76d00'E as degrees clockwise from north.
func parseQuadrant(s string) (deg float64, ok bool) {
	s = strings.TrimSuffix(s, ".")
	if len(s) < 3 {
		return 0, false
	}
	from, to := strings.ToUpper(s[:1]), strings.ToUpper(s[len(s)-1:])
	angle, ok := parseAngle(strings.TrimPrefix(s[1:len(s)-1], "."))
	if !ok || angle > 90 {
		return 0, false
	}
	switch from + to {
	case "NE":
		return angle, true
	case "SE":
		return 180 - angle, true
	case "SW":
		return 180 + angle, true
	case "NW":
		return 360 - angle, true
	}
	return 0, false
}

// compassPoint returns the bearing of one of the 16 points, as it is written in
// a log. Points are not read: one covers 22 degrees, far more than the error
// that a log's bearings are taken to have.
func compassPoint(s string) (deg string, ok bool) {
	for i, name := range strings.Fields("N NNE NE ENE E ESE SE SSE S SSW SW WSW W WNW NW NNW") {
		if strings.EqualFold(s, name) {
			v := strings.TrimSuffix(fmt.Sprintf("%05.1f", float64(i)*22.5), ".0")
			return v, true
		}
	}
	return "", false
}

var angleMarks = strings.NewReplacer("’’", `"`, "′′", `"`, "deg", "d", "°", "d", "º", "d", "˚", "d", "′", "'", "’", "'", "´", "'", "″", `"`, "”", `"`, "''", `"`)

// parseAngle reads degrees from 0 up: 76, 76.5, 76d, 76d00', 76d00'30", or
// minutes alone, 8'. Minutes and seconds must be below 60, only the last part
// has decimals, and its mark may be missing.
func parseAngle(s string) (deg float64, ok bool) {
	s = angleMarks.Replace(s)
	if v, ok := parseNumber(s); ok {
		return v, true
	}
	scale := 1.0
	for _, mark := range []string{"d", "'", `"`} {
		before, after, found := strings.Cut(s, mark)
		if !found && mark == "d" {
			scale = 60
			continue
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
