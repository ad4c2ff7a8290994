package coord

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
)

// readDegrees reads every notation in degrees: decimal, with minutes, with
// seconds. It comes last, so that its errors speak for all notations.
func readDegrees(t written) (Position, error) {
	if err := gridLike(t); err != nil {
		return Position{}, err
	}
	tokens, err := lexDegrees(t)
	if err != nil {
		return Position{}, err
	}
	first, second, err := splitParts(t, tokens)
	if err != nil {
		return Position{}, err
	}
	a, err := readPart(t, first)
	if err != nil {
		return Position{}, err
	}
	b, err := readPart(t, second)
	if err != nil {
		return Position{}, err
	}
	return placed(t, a, b)
}

// placed makes a position of its two parts: letters and labels decide which is
// which.
func placed(t written, a, b part) (Position, error) {
	switch {
	case (a.axis == 0) != (b.axis == 0):
		return Position{}, t.refuse("only one of the two parts has its letter", "write both letters, like 46.5N 7.5E, or none")
	case a.axis != 0 && a.axis == b.axis:
		axis := "longitudes"
		if a.axis == 'N' {
			axis = "latitudes"
		}
		return Position{}, t.refuse("both parts are "+axis+" by their letters", "write one of N and S, and one of E and W")
	case a.axis == 'E':
		a, b = b, a
	}
	if err := a.unfold(t, 4); err != nil {
		return Position{}, err
	}
	if err := b.unfold(t, 5); err != nil {
		return Position{}, err
	}
	if math.Abs(a.deg) > 90 {
		advice := "latitudes run from 90 S to 90 N"
		if a.axis == 0 && math.Abs(a.deg) <= 180 && math.Abs(b.deg) <= 90 {
			advice = "latitude comes first: it looks swapped"
		}
		return Position{}, t.fail(a.from, a.to, fmt.Sprintf("latitude %s is impossible", number(a.deg)), advice)
	}
	if math.Abs(b.deg) > 180 {
		advice := "longitudes run from 180 W to 180 E"
		if b.deg > 0 && b.deg <= 360 {
			west := math.Round((360-b.deg)*1e9) / 1e9 // no figures of the subtraction's own
			advice += ": where they are counted to 360, " + number(b.deg) + " is " + number(west) + " W"
		}
		return Position{}, t.fail(b.from, b.to, fmt.Sprintf("longitude %s is impossible", number(b.deg)), advice)
	}
	return Position{
		Point:    orb.Point{b.deg, a.deg},
		Notation: [...]Notation{NotationDecimal, NotationDDM, NotationDMS}[max(a.units, b.units)],
	}, nil
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// splitParts finds where the first part ends: at the separator, else by the
// labels or letters, else at the second sign, else at the second degree mark,
// else in the middle of the numbers.
func splitParts(t written, tokens []token) (first, second []token, err error) {
	var separators, letters, named, signs, degrees, numbers []int
	for i, tok := range tokens {
		switch tok.kind {
		case separatorToken:
			separators = append(separators, i)
		case letterToken:
			letters = append(letters, i)
		case labelToken:
			named = append(named, i)
		case markToken:
			if tok.mark == 0 {
				degrees = append(degrees, i)
			}
		case numberToken:
			numbers = append(numbers, i)
			if tok.sign != 0 && len(numbers) > 1 {
				signs = append(signs, i)
			}
		}
	}
	if len(numbers) < 2 {
		if len(numbers) == 1 && tokens[numbers[0]].comma {
			return nil, nil, commaError(t, tokens[numbers[0]])
		}
		return nil, nil, t.refuse("a latitude and a longitude are needed", adviceAny)
	}
	unclear := func() ([]token, []token, error) {
		return nil, nil, t.refuse("it does not show where the latitude ends", "put a comma and a blank between latitude and longitude")
	}
	cut := 0
	switch {
	case len(separators) > 1:
		return nil, nil, t.fail(tokens[separators[1]].from, tokens[separators[1]].to, "more than two parts", adviceAny)
	case len(separators) == 1:
		cut = separators[0]
		return tokens[:cut], tokens[cut+1:], nil
	case len(named) == 2 && named[0] == 0:
		cut = named[1]
	case len(named) == 2 && named[1] == len(tokens)-1:
		cut = named[0] + 1
	case len(named) > 0:
		return unclear()
	case len(letters) > 2:
		third := tokens[letters[2]]
		return nil, nil, t.fail(third.from, third.to, "more than two letters", adviceAny)
	case len(letters) == 2:
		before, after := letters[0] == 0, letters[1] == len(tokens)-1
		switch {
		case before && !after:
			cut = letters[1]
		case after && !before:
			cut = letters[0] + 1
		default:
			return unclear()
		}
	case len(signs) == 1:
		cut = signs[0]
	case len(signs) > 1:
		return nil, nil, t.refuse("more than two parts have a sign", adviceAny)
	case len(degrees) == 2:
		cut = degrees[1] - 1
	case len(numbers)%2 == 0 && len(degrees) == 0:
		cut = numbers[len(numbers)/2]
	default:
		return unclear()
	}
	if tokens[cut].joined { // 46.5-7.5
		return unclear()
	}
	return tokens[:cut], tokens[cut:], nil
}

// part is one of the two angles of a position.
type part struct {
	deg      float64 // [degrees], negative south and west
	axis     byte    // N for a latitude by its letter or label, E for a longitude, or 0
	units    int     // 0 for degrees, 1 with minutes, 2 with seconds
	from, to int
	folded   int // figures of a whole part written as one number, 0 when it is not
}

// unfold takes a part like 464012N apart, which has so many figures of degrees
// and minutes, or two more with seconds. Without a letter, a label or a sign it
// stays what it is, impossible.
func (p *part) unfold(t written, figures int) error {
	if p.folded < 4 || p.folded != figures && p.folded != figures+2 {
		return nil
	}
	p.units = 1 + (p.folded-figures)/2
	v, div := math.Abs(p.deg), 100.0
	sixtieths := math.Mod(v, div)
	deg := math.Trunc(v / div)
	if p.units == 2 {
		seconds := sixtieths
		sixtieths = math.Mod(deg, 100)
		deg = math.Trunc(deg / 100)
		if seconds >= 60 {
			return t.fail(p.from, p.to, "seconds of 60 or more", adviceSixty)
		}
		deg += seconds / 3600
	}
	if sixtieths >= 60 {
		return t.fail(p.from, p.to, "minutes of 60 or more", adviceSixty)
	}
	p.deg = math.Copysign(deg+sixtieths/60, p.deg) + 0
	return nil
}

const adviceSixty = "minutes and seconds run from 0 to under 60"

// readPart reads the tokens of one angle.
func readPart(t written, tokens []token) (part, error) {
	if len(tokens) == 0 {
		return part{}, t.refuse("a latitude and a longitude are needed", adviceAny)
	}
	p := part{from: tokens[0].from, to: tokens[len(tokens)-1].to}
	fail := func(tok token, message, advice string) (part, error) {
		return part{}, t.fail(tok.from, tok.to, message, advice)
	}
	marked := false
	for _, tok := range tokens {
		marked = marked || tok.kind == markToken
	}
	next, negative := 0, false // next unit: 0 degrees, 1 minutes, 2 seconds
	var letter byte
	var last token
	for i := 0; i < len(tokens); i++ {
		tok := tokens[i]
		if tok.kind == markToken {
			return fail(tok, "a mark without its number", adviceAny)
		}
		if tok.kind == letterToken || tok.kind == labelToken {
			switch axis := axisOf(tok.letter); {
			case tok.kind == labelToken && i > 0 && i < len(tokens)-1, tok.kind == letterToken && letter != 0,
				tok.kind == letterToken && next > 0 && i < len(tokens)-1:
				return fail(tok, "a letter in the middle of a part", adviceAny)
			case p.axis != 0 && p.axis != axis:
				return fail(tok, "the letter is not one of the axis that is named", "latitudes have N or S, longitudes E or W")
			default:
				p.axis = axis
			}
			if tok.kind == letterToken {
				letter = tok.letter
			}
			continue
		}
		unit, first := next, next == 0
		if i+1 < len(tokens) && tokens[i+1].kind == markToken {
			unit = tokens[i+1].mark
			i++
		}
		switch {
		case tok.comma && !marked:
			return part{}, commaError(t, tok)
		case next > 2:
			return fail(tok, "more than degrees, minutes and seconds", adviceAny)
		case unit < next || first && unit != 0:
			return fail(tok, "degrees, minutes and seconds out of order", adviceAny)
		case !first && last.fraction:
			return fail(last, "a fraction before the last of degrees, minutes and seconds", "write 46.5, or 46 30, or 46 30 15.5")
		case !first && tok.whole == 0:
			return fail(tok, "no figure before the decimal point", "write a 0 there, or remove the blank in front")
		case !first && tok.sign != 0:
			return fail(tok, "a sign inside a part", "put a comma and a blank between latitude and longitude")
		case tok.sign != 0 && hasLetter(tokens):
			return fail(tok, "a sign and a letter together", "write the letter or the sign, not both")
		case unit > 0 && tok.value >= 60:
			return fail(tok, [...]string{1: "minutes", 2: "seconds"}[unit]+" of 60 or more", adviceSixty)
		}
		p.deg += tok.value / [...]float64{1, 60, 3600}[unit]
		negative = negative || tok.sign < 0
		p.units, next, last = unit, unit+1, tok
	}
	if next == 0 {
		return part{}, t.refuse("a latitude and a longitude are needed", adviceAny)
	}
	if next == 1 && !marked && (p.axis != 0 || last.sign != 0) {
		p.folded = last.whole
	}
	if negative || letter == 'S' || letter == 'W' {
		p.deg = -p.deg
	}
	p.deg += 0 // -0 becomes 0
	return p, nil
}

// axisOf is the axis that a letter belongs to, N or E.
func axisOf(letter byte) byte {
	if letter == 'N' || letter == 'S' {
		return 'N'
	}
	return 'E'
}

func hasLetter(tokens []token) bool {
	for _, tok := range tokens {
		if tok.kind == letterToken {
			return true
		}
	}
	return false
}

func commaError(t written, tok token) error {
	whole := string([]rune(t.text)[tok.from:tok.to])
	before, after, _ := strings.Cut(whole, ",")
	return t.fail(tok.from, tok.to, "a comma between digits can be a decimal sign or part two numbers",
		fmt.Sprintf("write %s.%s for the decimal, %s, %s with a blank for a pair", before, after, before, after))
}

// Texts that are meant for a grid and lack something.
var (
	squareAlone = regexp.MustCompile(`^[A-Za-z]{2}\s*\d{2,}(?:\s+\d+)?$`)
	zoneAlone   = regexp.MustCompile(`^\d{1,2}\s*[C-HJ-NP-Xc-hj-np-x]$`)
	gridFigures = regexp.MustCompile(`^(?i:UTM|zone|\s)*\d{1,2}\s*[A-Za-z]+[\s,:;]+[EN]?\s*\d[\d\s',.]*\d\s*(?i:mE|E|m)?[\s,;]+[EN]?\s*\d[\d\s',.]*\d\s*(?i:mN|N|m)?$`)
	longFigures = regexp.MustCompile(`^\d{5,7}(?:\.\d+)?\s*(?i:mE|E)?[\s,;]+\d{6,8}(?:\.\d+)?\s*(?i:mN|N)?$`)
)

// gridLike refuses what looks like a grid coordinate and is not a whole one, in
// words that help more than those of the reader of degrees.
func gridLike(t written) error {
	switch s := string(t.plain); {
	case squareAlone.MatchString(s):
		return t.refuse("a grid square without its zone", "write the zone and band too, like 31T CH 687 250; references of national grids are not read")
	case zoneAlone.MatchString(s):
		return t.refuse("a grid zone alone is no position", "write square and figures too, like 31T CH 687 250")
	case longFigures.MatchString(s):
		return t.refuse("an easting and a northing without their zone", exampleUTM+"; coordinates of national grids are not read")
	case gridFigures.MatchString(s) && hasFigures(s, 10):
		return t.refuse("not a whole UTM coordinate", exampleUTM+", without marks or blanks within a number")
	}
	return nil
}

// hasFigures reports whether a text has at least so many figures.
func hasFigures(s string, n int) bool {
	return len(s)-len(strings.Map(func(r rune) rune {
		if isDigit(r) {
			return -1
		}
		return r
	}, s)) >= n
}
