package coord

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
)

// readDegrees reads every notation in degrees: decimal, with minutes, with
// seconds. It comes last, so that its errors speak for all notations.
func readDegrees(t written) (Position, error) {
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

// placed makes a position of its two parts: letters decide which is which.
func placed(t written, a, b part) (Position, error) {
	switch {
	case (a.letter == 0) != (b.letter == 0):
		return Position{}, t.refuse("only one of the two parts has its letter", "write both letters, like 46.5N 7.5E, or none")
	case a.letter != 0 && a.north() == b.north():
		axis := "longitudes"
		if a.north() {
			axis = "latitudes"
		}
		return Position{}, t.refuse("both parts are "+axis+" by their letters", "write one of N and S, and one of E and W")
	case a.letter != 0 && !a.north():
		a, b = b, a
	}
	if math.Abs(a.deg) > 90 {
		advice := "latitudes run from 90 S to 90 N"
		if a.letter == 0 && math.Abs(b.deg) <= 90 {
			advice = "latitude comes first: it looks swapped"
		}
		return Position{}, t.fail(a.from, a.to, fmt.Sprintf("latitude %s is impossible", number(a.deg)), advice)
	}
	if math.Abs(b.deg) > 180 {
		return Position{}, t.fail(b.from, b.to, fmt.Sprintf("longitude %s is impossible", number(b.deg)), "longitudes run from 180 W to 180 E")
	}
	return Position{
		Point:    orb.Point{b.deg, a.deg},
		Notation: [...]Notation{NotationDecimal, NotationDDM, NotationDMS}[max(a.units, b.units)],
	}, nil
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// A token is one piece of a position in degrees.
type token struct {
	kind     tokenKind
	from, to int     // characters of the text
	mark     int     // for a mark: 0 degrees, 1 minutes, 2 seconds
	letter   byte    // for a letter: N S E W
	value    float64 // for a number
	fraction bool    // the number has a decimal sign
	comma    bool    // and that is a comma
	joined   bool    // a hyphen or colon joins it to the number before
	sign     int     // -1 or 1 as written, 0 for none
}

type tokenKind int

const (
	numberToken tokenKind = iota
	markToken
	letterToken
	separatorToken
)

// lexDegrees cuts the text into tokens.
func lexDegrees(t written) ([]token, error) {
	var tokens []token
	r := t.plain
	sign, signAt, joined := 0, 0, false
	touches := func(i int) bool { // does a number or its mark end at i
		if len(tokens) == 0 {
			return false
		}
		last := tokens[len(tokens)-1]
		return last.to == i && (last.kind == numberToken || last.kind == markToken)
	}
	for i := 0; i < len(r); {
		c := r[i]
		switch {
		case c == ' ':
			i++
		case isDigit(c) || c == '.' && i+1 < len(r) && isDigit(r[i+1]):
			tok := lexNumber(r, i)
			if len(tokens) > 0 && tokens[len(tokens)-1].kind == numberToken && tokens[len(tokens)-1].to == i {
				return nil, t.fail(i, tok.to, "two decimal points in a number", adviceAny)
			}
			v, err := strconv.ParseFloat(strings.Replace(string(r[i:tok.to]), ",", ".", 1), 64)
			if err != nil {
				return nil, t.fail(i, tok.to, "not a number", adviceAny)
			}
			tok.value, tok.sign, tok.joined = v, sign, joined
			if sign != 0 {
				tok.from = signAt
			}
			sign, joined = 0, false
			tokens = append(tokens, tok)
			i = tok.to
		case (c == '-' || c == '+') && i+1 < len(r) && (isDigit(r[i+1]) || r[i+1] == '.'):
			// Between two numbers without blanks it joins them: 46-31-12.5N.
			switch {
			case c == '-' && touches(i):
				joined = true
			case c == '-':
				sign, signAt = -1, i
			default:
				sign, signAt = 1, i
			}
			i++
		case c == ':' && touches(i) && i+1 < len(r) && isDigit(r[i+1]):
			joined = true
			i++
		case c == '°' || c == '\'' || c == '"':
			tok := token{kind: markToken, from: i, to: i + 1}
			switch {
			case c == '\'' && i+1 < len(r) && r[i+1] == '\'': // two apostrophes
				tok.mark, tok.to = 2, i+2
			case c == '\'':
				tok.mark = 1
			case c == '"':
				tok.mark = 2
			}
			tokens = append(tokens, tok)
			i = tok.to
		case c == ',' || c == ';':
			tokens = append(tokens, token{kind: separatorToken, from: i, to: i + 1})
			i++
		case isLetter(c):
			tok, err := lexWord(t, i)
			if err != nil {
				return nil, err
			}
			tokens = append(tokens, tok)
			i = tok.to
		default:
			return nil, t.fail(i, i+1, fmt.Sprintf("%q has no place in a position", string([]rune(t.text)[i])), adviceAny)
		}
	}
	return tokens, nil
}

// lexNumber reads the number that begins at i. A comma belongs to it only when
// digits touch it on both sides and neither number has a decimal point.
func lexNumber(r []rune, i int) token {
	digits := func(j int) int {
		for j < len(r) && isDigit(r[j]) {
			j++
		}
		return j
	}
	tok := token{kind: numberToken, from: i, to: digits(i)}
	at := func(j int) rune {
		if j < len(r) {
			return r[j]
		}
		return 0
	}
	switch at(tok.to) {
	case '.':
		tok.to, tok.fraction = digits(tok.to+1), true
	case ',':
		if end := digits(tok.to + 1); end > tok.to+1 && at(end) != '.' {
			tok.to, tok.fraction, tok.comma = end, true, true
		}
	}
	return tok
}

// lexWord reads a hemisphere letter or word, or "d" and "deg" for a degree mark.
func lexWord(t written, i int) (token, error) {
	j := i
	for j < len(t.plain) && isLetter(t.plain[j]) {
		j++
	}
	switch word := strings.ToLower(string(t.plain[i:j])); word {
	case "n", "s", "e", "w", "north", "south", "east", "west":
		return token{kind: letterToken, from: i, to: j, letter: word[0] - 'a' + 'A'}, nil
	case "d", "deg":
		return token{kind: markToken, from: i, to: j}, nil
	case "o", "ost", "ouest":
		return token{}, t.fail(i, j, "O means east in some languages and west in others", "write E or W")
	}
	return token{}, t.fail(i, j, fmt.Sprintf("%q is not a hemisphere letter", string([]rune(t.text)[i:j])), adviceAny)
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }

func isLetter(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' }

// splitParts finds where the first part ends: at the separator, else by the
// letters, else at the second sign, else at the second degree mark, else in the
// middle of the numbers.
func splitParts(t written, tokens []token) (first, second []token, err error) {
	var separators, letters, signs, degrees, numbers []int
	for i, tok := range tokens {
		switch tok.kind {
		case separatorToken:
			separators = append(separators, i)
		case letterToken:
			letters = append(letters, i)
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
	letter   byte    // N S E W, or 0
	units    int     // 0 for degrees, 1 with minutes, 2 with seconds
	from, to int
}

func (p part) north() bool { return p.letter == 'N' || p.letter == 'S' }

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
	var last token
	for i := 0; i < len(tokens); i++ {
		tok := tokens[i]
		if tok.kind == markToken {
			return fail(tok, "a mark without its number", adviceAny)
		}
		if tok.kind == letterToken {
			if i > 0 && i < len(tokens)-1 || p.letter != 0 {
				return fail(tok, "a letter in the middle of a part", adviceAny)
			}
			p.letter = tok.letter
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
		case !first && tok.sign != 0:
			return fail(tok, "a sign inside a part", "put a comma and a blank between latitude and longitude")
		case tok.sign != 0 && hasLetter(tokens):
			return fail(tok, "a sign and a letter together", "write the letter or the sign, not both")
		case unit > 0 && tok.value >= 60:
			return fail(tok, [...]string{1: "minutes", 2: "seconds"}[unit]+" of 60 or more", "minutes and seconds run from 0 to under 60")
		}
		p.deg += tok.value / [...]float64{1, 60, 3600}[unit]
		negative = negative || tok.sign < 0
		p.units, next, last = unit, unit+1, tok
	}
	if next == 0 {
		return part{}, t.refuse("a latitude and a longitude are needed", adviceAny)
	}
	if negative || p.letter == 'S' || p.letter == 'W' {
		p.deg = -p.deg
	}
	p.deg += 0 // -0 becomes 0
	return p, nil
}

func hasLetter(tokens []token) bool {
	return tokens[0].kind == letterToken || tokens[len(tokens)-1].kind == letterToken
}

func commaError(t written, tok token) error {
	whole := string([]rune(t.text)[tok.from:tok.to])
	before, after, _ := strings.Cut(whole, ",")
	return t.fail(tok.from, tok.to, "a comma between digits can be a decimal sign or part two numbers",
		fmt.Sprintf("write %s.%s for the decimal, %s, %s with a blank for a pair", before, after, before, after))
}
