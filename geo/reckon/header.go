package reckon

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/paulmach/orb"
)

// Declination is a stated magnetic declination.
type Declination struct {
	Deg     float64 // positive when the needle points east of true north [degrees]
	Year    float64 // when it held, 2015 for the beginning of 2015; NaN for when the log was walked
	PerYear float64 // its change [degrees a year], positive eastward
}

// At returns the declination at a time [degrees]: Deg where no year or no
// change is stated. It is NaN where the change needs a time and t is zero.
func (d Declination) At(t time.Time) float64 {
	switch {
	case math.IsNaN(d.Year) || d.PerYear == 0:
		return d.Deg
	case t.IsZero():
		return math.NaN()
	}
	return d.Deg + d.PerYear*(year(t)-d.Year)
}

// year returns a time as a year with a fraction.
func year(t time.Time) float64 {
	t = t.UTC()
	begin := time.Date(t.Year(), 1, 1, 0, 0, 0, 0, time.UTC)
	end := begin.AddDate(1, 0, 0)
	return float64(t.Year()) + float64(t.Sub(begin))/float64(end.Sub(begin))
}

const headers = "start, north, declination, convergence, date, pace, calibrate, speed, " +
	"sigma-distance, sigma-bearing, scale-bias, bearing-bias, compass"

// isHeader says whether a name in small letters is that of a header. The pace,
// the calibration and marks have a second part.
func isHeader(name string) bool {
	kind, of, _ := strings.Cut(name, " ")
	if of = strings.TrimSpace(of); of != "" {
		return kind == "mark" || kind == "calibrate" || kind == "pace" && of != "count"
	}
	return slices.Contains(strings.Split(headers, ", "), name)
}

// parseHeader reads a line "key: value" above the legs.
func (p *parser) parseHeader(key string, value word, col int) error {
	name := strings.Join(strings.Fields(strings.ToLower(key)), " ")
	at := word{key, col}
	switch {
	case !isHeader(name):
		return at.fault(fmt.Sprintf("no header %q", key), "headers are "+headers+", pace snow (or uphill and so on), mark NAME; notes begin with #")
	case p.seen[name] && !strings.HasPrefix(name, "calibrate"):
		return at.fault("a second "+name, "leave one of them")
	case len(p.log.Legs) > 0:
		return at.fault(name+" after the first leg", "write headers above the legs")
	case value.text == "":
		return at.fault("no value", "write it after the colon")
	}
	return p.setHeader(name, value)
}

// setHeader takes the value of a header.
func (p *parser) setHeader(name string, value word) (err error) {
	p.seen[name] = true
	if kind, of, found := strings.Cut(name, " "); found {
		return p.setNamed(kind, of, value)
	}
	switch name {
	case "sigma-distance", "sigma-bearing", "scale-bias", "bearing-bias":
		return p.setError(name, value)
	case "compass":
		return p.setCompass(value)
	case "start":
		p.log.Start, p.log.StartSigmaM, err = p.parseStart(value)
	case "convergence":
		p.log.Convergence, err = parseConvergence(value)
	case "speed":
		p.log.SpeedMS, err = parseSpeed(value)
	case "calibrate":
		err = p.calibrate("", value)
	case "north":
		p.log.North, err = parseNorth(value)
	case "declination":
		p.log.Declination, err = parseDeclination(value)
	case "date":
		err = p.parseDate(value)
	case "pace":
		if p.log.Pace != nil {
			return value.fault("a pace, and a calibration of it above", "leave one of them")
		}
		p.log.Pace, err = parsePace(value)
	}
	return err
}

// setNamed takes the value of a header that has a name of its own.
func (p *parser) setNamed(kind, name string, value word) error {
	switch kind {
	case "mark":
		return p.setMark(name, value)
	case "calibrate":
		return p.calibrate(name, value)
	}
	pace, err := parsePace(value)
	if err != nil {
		return err
	}
	return p.setCondition(name, pace, value)
}

// parseStart reads a position with, after ±, how sure it is.
func (p *parser) parseStart(value word) (orb.Point, float64, error) {
	words := value.split()
	i := sureWord(words)
	sigma := 0.0
	if i < len(words) {
		var rest []word
		var err error
		if sigma, rest, err = parseSure(words[i:]); err != nil {
			return orb.Point{}, 0, err
		}
		if len(rest) > 0 {
			return orb.Point{}, 0, rest[0].fault("not part of a start", "notes begin with #")
		}
		value.text = join(words[:i])
	}
	at, err := p.place(value, "start: ")
	return at, sigma, err
}

// parseConvergence reads how far grid north lies from true north, "1.2E".
func parseConvergence(value word) (*float64, error) {
	deg, ok := eastward(value.text)
	if !ok || math.Abs(deg) > 180 {
		return nil, value.fault("a grid convergence needs degrees and E or W", "write it like 1.2W where grid north lies west of true north")
	}
	return &deg, nil
}

// parseNorth reads true, magnetic or grid.
func parseNorth(value word) (North, error) {
	n := North(strings.ToLower(value.text))
	if n != True && n != Magnetic && n != Grid {
		return "", value.fault("not a north", "write true, magnetic or grid")
	}
	return n, nil
}

const declinationForm = "write it like 3.2E, 3.2W, or 3.2E in 2015, 0.2E a year"

// parseDeclination reads "3.2E", "3d12'W", "3.2E in 2015, 0.2E a year".
func parseDeclination(value word) (*Declination, error) {
	d := &Declination{Year: math.NaN()}
	fault := func(text string) error { return value.fault(text, declinationForm) }
	first, change, changing := strings.Cut(value.text, ",")
	angle, when, dated := strings.Cut(first, " in ")
	var ok bool
	if d.Deg, ok = eastward(angle); !ok {
		if sign := strings.TrimSpace(angle); strings.HasPrefix(sign, "-") || strings.HasPrefix(sign, "+") {
			return nil, value.fault("a declination with a sign", "write E or W instead: where the needle points east of true north it is E")
		}
		return nil, fault("a declination needs degrees and E or W")
	}
	if math.Abs(d.Deg) > 180 {
		return nil, fault("a declination is at most 180 degrees")
	}
	if dated {
		y, err := strconv.ParseFloat(strings.TrimSpace(when), 64)
		if err != nil || !(y >= 1900 && y < 2200) {
			return nil, fault("not a year from 1900 to 2199")
		}
		d.Year = y
	}
	if !changing {
		return d, nil
	}
	if !dated {
		return nil, fault("a change by year needs the year of the declination")
	}
	change = strings.TrimSpace(change)
	rate, found := strings.CutSuffix(change, " a year")
	if !found {
		rate, found = strings.CutSuffix(change, " per year")
	}
	if d.PerYear, ok = eastward(rate); !ok || !found || math.Abs(d.PerYear) > 5 {
		return nil, fault("not a yearly change")
	}
	return d, nil
}

// eastward reads degrees with E or W at the end, or the word, positive for E; 0
// needs no letter.
func eastward(s string) (deg float64, ok bool) {
	s = strings.ToLower(strings.TrimSpace(s))
	sign, angle := 0.0, s
	for _, side := range []struct {
		name string
		sign float64
	}{{"east", 1}, {"west", -1}, {"e", 1}, {"w", -1}} {
		if rest, found := strings.CutSuffix(s, side.name); found {
			sign, angle = side.sign, strings.TrimSpace(rest)
			break
		}
	}
	words := strings.Fields(angle)
	if len(words) == 0 {
		return 0, false
	}
	angle = words[0]
	for _, w := range words[1:] {
		angle = joinAngle(angle, w)
	}
	deg, ok = parseAngle(angle)
	switch {
	case deg == 0:
		return 0, ok
	case sign == 0:
		return 0, false
	}
	return sign * deg, ok
}
