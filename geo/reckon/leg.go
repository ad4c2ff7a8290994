package reckon

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

// maxLegM is the longest leg [m]. Own choice: nobody walks further on one
// bearing, and a wrong unit shows.
const maxLegM = 100e3

func (p *parser) parseLeg(words []word, comment string) error {
	if err := p.onward(words[0]); err != nil {
		return err
	}
	leg := Leg{Line: p.line, North: p.log.North}
	rest, err := p.parseBearing(&leg, words)
	if err != nil {
		return err
	}
	if rest, err = p.parseDistance(&leg, rest); err != nil {
		return err
	}
	if rest, err = p.parseTimeAndSlope(&leg, rest); err != nil {
		return err
	}
	p.unread(rest)
	leg.Note = strings.TrimSpace(join(rest) + " " + comment)
	p.log.Legs = append(p.log.Legs, leg)
	return nil
}

// onward refuses a leg right after a break.
func (p *parser) onward(at word) error {
	if p.broken > 0 {
		return at.fault("a leg after a break: from where is not known", breakForm)
	}
	return nil
}

// parseTimeAndSlope takes what stands before the note, in any order, once each:
// the time, the slope, a declination and a convergence of the leg's own.
func (p *parser) parseTimeAndSlope(leg *Leg, words []word) (rest []word, err error) {
	timed, sloped := false, false
	for len(words) > 0 {
		w := words[0]
		switch {
		case strings.HasPrefix(w.text, "@") && !timed:
			words = words[1:]
			if w.text == "@" && len(words) > 0 {
				w.text += words[0].text
				words = words[1:]
			}
			if leg.Time, err = p.parseClock(w); err != nil {
				return nil, err
			}
			timed = true
			continue
		case strings.EqualFold(w.text, "slope") && !sloped && len(words) > 1 && strings.ContainsAny(words[1].text[:1], "+-0123456789."):
			if leg.Slope, err = parseSlope(words[1]); err != nil {
				return nil, err
			}
			sloped = true
			words = words[2:]
			continue
		case strings.EqualFold(w.text, "declination") && leg.Declination == nil && len(words) > 1 && isEastward(words[1].text):
			if leg.Declination, err = parseDeclination(words[1]); err != nil {
				return nil, err
			}
			words = words[2:]
			continue
		case strings.EqualFold(w.text, "convergence") && leg.Convergence == nil && len(words) > 1 && isEastward(words[1].text):
			if leg.Convergence, err = parseConvergence(words[1]); err != nil {
				return nil, err
			}
			words = words[2:]
			continue
		}
		break
	}
	return words, nil
}

// isEastward says whether a word is an angle with E or W, and no part of a note.
func isEastward(s string) bool {
	_, ok := eastward(s)
	return ok
}

// unread warns of words in a note that look like a time, a slope or a known
// point, which stand elsewhere and are marked, or they are not read.
func (p *parser) unread(note []word) {
	for i, w := range note {
		switch {
		case sureWord(note[i:i+1]) == 0:
			p.warn(w.col, "the known point in the note is not read", "write it on a line of its own, like at 42.55 1.55 ±20 m")
		case strings.HasPrefix(w.text, "@") && len(w.text) > 1 && w.text[1] >= '0' && w.text[1] <= '9':
			p.warn(w.col, "the time "+w.text+" in the note is not read", "write one time, before the note")
		case i == 0 && clockShape.MatchString(w.text):
			p.warn(w.col, "the time "+w.text+" is read as a note", "write it like @"+w.text)
		case i == 0 && slopeShape.MatchString(w.text):
			p.warn(w.col, "the slope "+w.text+" is read as a note", "write it like slope "+w.text)
		}
	}
}

var (
	clockShape = regexp.MustCompile(`^[0-9]{1,2}:[0-9]{2}(:[0-9]{2})?$`)
	slopeShape = regexp.MustCompile(`^[+-]?[0-9.]+%$`)
)

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
