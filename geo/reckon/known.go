package reckon

import (
	"math"
	"strings"

	"github.com/paulmach/orb"
)

// KnownKind says what is known of a place on the way.
type KnownKind string

const (
	// At is a known position: a junction on the map, a satellite fix.
	At KnownKind = "at"
	// On is a known line that the place lies on: a stream or a road that was
	// crossed, straight there.
	On KnownKind = "on"
	// Sight is a bearing from the place to a known mark.
	Sight KnownKind = "sight"
)

// Known is something known of the place between two legs besides the log.
type Known struct {
	Line  int
	After int // legs before it
	Kind  KnownKind
	Name  string // of the mark, as written; "" for none
	// Point is the position, one end of the line, or the mark that was sighted;
	// To is the other end of the line.
	Point, To orb.Point
	// SigmaM is the standard deviation of the position along each axis, across
	// the line, or of the mark's position [m].
	SigmaM float64
	// BearingDeg is the bearing to the mark from North, SigmaDeg its standard
	// deviation; 0 for that of the legs.
	BearingDeg, SigmaDeg float64
	North                North
	// Break says that the log goes on from here: what lay before was not logged.
	Break bool
	Note  string
}

// A mark is a known place with a name.
type mark struct {
	point  orb.Point
	sigmaM float64
}

const (
	atForm         = "write it like at 42.55 1.55 ±20 m, or at church ±20 m with a line mark church: 42.55 1.55 above the legs"
	onForm         = "write it like on 42.55 1.55 to 42.56 1.54 ±15 m"
	resectionForm  = "write it like resection church 045M, spire 130M ±2deg, with a line mark church: 42.55 1.55 above the legs"
	breakForm      = "write a line like at 42.55 1.55 ±20 m, or resection church 045M, spire 130M, under the break, or how far it went: break 300 m"
	maxKnownSigmaM = 100e3
)

// isKnown says whether a word begins a line about a known place.
func isKnown(s string) bool {
	switch strings.ToLower(s) {
	case "at", "on", "resection", "break", "gap":
		return true
	}
	return false
}

// parseKnown reads a line about a known place.
func (p *parser) parseKnown(words []word, comment string) error {
	kind, first := strings.ToLower(words[0].text), words[0]
	words = words[1:]
	if kind == "break" || kind == "gap" {
		if p.broken > 0 {
			return first.fault("a break after a break", breakForm)
		}
		if startsDistance(words) {
			return p.parseLost(words, comment)
		}
		p.broken = p.line
		return nil
	}
	var list []Known
	var rest []word
	var err error
	switch kind {
	case "at":
		list, rest, err = p.parseAt(words)
	case "on":
		list, rest, err = p.parseOn(words)
	case "resection":
		list, rest, err = p.parseResection(words)
	}
	if err != nil {
		return err
	}
	if kind == "on" && p.broken > 0 || kind == "resection" && p.broken > 0 && len(list) < 2 {
		return first.fault("a break, and not yet a place to go on from", breakForm)
	}
	if kind == "at" && len(p.log.Legs) == 0 && !p.seen["start"] {
		p.seen["start"], p.broken = true, 0
		p.log.Start, p.log.StartSigmaM = list[0].Point, list[0].SigmaM
		return nil
	}
	for i := range list {
		list[i].Line, list[i].After, list[i].Break = p.line, len(p.log.Legs), p.broken > 0
		list[i].Note = strings.TrimSpace(join(rest) + " " + comment)
	}
	p.broken = 0
	p.log.Known = append(p.log.Known, list...)
	return nil
}

// parseLost reads what stands behind "break" where that is a distance: a leg of
// which nobody kept the bearing.
func (p *parser) parseLost(words []word, comment string) error {
	leg := Leg{Line: p.line, North: p.log.North, BearingDeg: math.NaN()}
	rest, err := p.parseDistance(&leg, words)
	if err != nil {
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

// sureWord returns the index of the word that begins with ±, the number of words
// where there is none.
func sureWord(words []word) int {
	for i, w := range words {
		for _, sign := range []string{"±", "+-", "+/-"} {
			if strings.HasPrefix(w.text, sign) {
				return i
			}
		}
	}
	return len(words)
}

// cutSure parts what stands behind the sign ± into a number and its unit, and
// returns the words after them.
func cutSure(words []word) (v float64, unit string, rest []word, ok bool) {
	at := words[0]
	text := at.text
	for _, sign := range []string{"±", "+-", "+/-"} {
		text = strings.TrimPrefix(text, sign)
	}
	rest = words[1:]
	if text == "" && len(rest) > 0 {
		text, rest = rest[0].text, rest[1:]
	}
	number, unit := cutUnit(text)
	if unit == "" && len(rest) > 0 {
		unit, rest = rest[0].text, rest[1:]
	}
	v, ok = parseNumber(number)
	return v, strings.ToLower(strings.TrimRight(unit, ".,;")), rest, ok
}

// parseSure reads "±20 m" off the front of words.
func parseSure(words []word) (m float64, rest []word, err error) {
	v, unit, rest, ok := cutSure(words)
	scale := lengthUnits[unit]
	if !ok || scale == 0 || v*scale > maxKnownSigmaM {
		return 0, nil, words[0].fault("not a length after ±", "write it like ±20 m: one standard deviation")
	}
	return v * scale, rest, nil
}

// setMark takes the header of a mark.
func (p *parser) setMark(name string, value word) error {
	at, sigma, err := p.parseStart(value)
	if err != nil {
		return err
	}
	p.marks[name] = mark{at, sigma}
	return nil
}

// where reads a position or the name of a mark.
func (p *parser) where(words []word) (m mark, name string, err error) {
	text := join(words)
	if m, ok := p.marks[strings.ToLower(text)]; ok {
		return m, text, nil
	}
	m.point, err = p.place(word{text, words[0].col}, "neither a mark of the log nor a position: ")
	return m, "", err
}

// parseAt reads "42.55 1.55 ±20 m NOTE" or "church ±20 m NOTE".
func (p *parser) parseAt(words []word) ([]Known, []word, error) {
	i := sureWord(words)
	if i == 0 || len(words) == 0 {
		return nil, nil, &LogError{Text: "a known point without a position", Advice: atForm}
	}
	m, name, err := p.where(words[:i])
	if err != nil {
		return nil, nil, err
	}
	k := Known{Kind: At, Name: name, Point: m.point, SigmaM: m.sigmaM}
	rest := words[i:]
	switch {
	case i < len(words):
		if k.SigmaM, rest, err = parseSure(rest); err != nil {
			return nil, nil, err
		}
	case m.sigmaM == 0:
		return nil, nil, words[0].fault("a known point without how sure it is", atForm)
	}
	return []Known{k}, rest, nil
}

// parseOn reads "POSITION to POSITION ±15 m NOTE".
func (p *parser) parseOn(words []word) ([]Known, []word, error) {
	i := sureWord(words)
	mid := 0
	for k, w := range words[:i] {
		if strings.EqualFold(w.text, "to") {
			mid = k
		}
	}
	if mid == 0 || mid+1 >= i || i == len(words) {
		return nil, nil, &LogError{Text: "a known line without its two ends and how sure it is", Advice: onForm}
	}
	a, _, err := p.where(words[:mid])
	if err != nil {
		return nil, nil, err
	}
	b, _, err := p.where(words[mid+1 : i])
	if err != nil {
		return nil, nil, err
	}
	if a.point == b.point {
		return nil, nil, words[0].fault("the two ends of a line are one place", onForm)
	}
	k := Known{Kind: On, Point: a.point, To: b.point}
	sigma, rest, err := parseSure(words[i:])
	k.SigmaM = sigma
	return []Known{k}, rest, err
}

// parseResection reads "church 045M, spire 130M ±2deg NOTE".
func (p *parser) parseResection(words []word) ([]Known, []word, error) {
	i := sureWord(words)
	sigma := 0.0
	var rest []word
	if i < len(words) {
		v, unit, after, ok := cutSure(words[i:])
		scale := angleUnits[unit]
		if !ok || scale == 0 || !(v*scale > 0 && v*scale <= 90) {
			return nil, nil, words[i].fault("not an angle after ±", "write it like ±2deg: one standard deviation")
		}
		sigma, rest = v*scale, after
	}
	var list []Known
	var part []word
	for k, w := range words[:i] {
		text, comma := strings.CutSuffix(w.text, ",")
		if text != "" {
			part = append(part, word{text, w.col})
		}
		if !comma && k < i-1 {
			continue
		}
		if len(part) == 0 {
			continue
		}
		known, err := p.parseSight(part)
		if err != nil {
			return nil, nil, err
		}
		known.SigmaDeg = sigma
		list, part = append(list, known), nil
	}
	if len(list) == 0 {
		return nil, nil, &LogError{Text: "a resection without a mark", Advice: resectionForm}
	}
	return list, rest, nil
}

// parseSight reads the name of a mark and the bearing to it.
func (p *parser) parseSight(words []word) (Known, error) {
	for n := len(words) - 1; n > 0; n-- {
		name := join(words[:n])
		m, ok := p.marks[strings.ToLower(name)]
		if !ok {
			continue
		}
		leg := Leg{North: p.log.North}
		rest, err := p.parseBearing(&leg, words[n:])
		if err != nil {
			return Known{}, err
		}
		if len(rest) > 0 {
			return Known{}, rest[0].fault("not part of a bearing", resectionForm)
		}
		return Known{Kind: Sight, Name: name, Point: m.point, SigmaM: m.sigmaM, BearingDeg: leg.BearingDeg, North: leg.North}, nil
	}
	return Known{}, word{join(words), words[0].col}.fault("no mark of that name, with a bearing to it", resectionForm)
}
