package coord

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
)

// A token is one piece of a position in degrees.
type token struct {
	kind     tokenKind
	from, to int     // characters of the text
	mark     int     // for a mark: 0 degrees, 1 minutes, 2 seconds
	letter   byte    // for a letter: N S E W; for a label N or E, the axis that it names
	value    float64 // for a number
	whole    int     // figures before its decimal sign
	fraction bool    // it has a decimal sign
	comma    bool    // and that is a comma
	joined   bool    // a hyphen or colon joins it to the number before
	sign     int     // -1 or 1 as written, 0 for none
}

type tokenKind int

const (
	numberToken tokenKind = iota
	markToken
	letterToken
	labelToken // lat, longitude
	separatorToken
)

const (
	brackets       = "brackets have no place in a position"
	adviceBrackets = "leave them out, and write the latitude first"
)

// A lexer cuts a text in degrees into tokens.
type lexer struct {
	written
	tokens []token
}

// lexDegrees cuts the text into tokens.
func lexDegrees(t written) ([]token, error) {
	x := &lexer{written: t}
	r := t.plain
	sign, signAt, joined := 0, 0, false
	for i := 0; i < len(r); {
		c := r[i]
		switch {
		case c == ' ':
			i++
		case isDigit(c) || c == '.' && i+1 < len(r) && isDigit(r[i+1]):
			tok := lexNumber(r, i)
			if last := x.last(0); last != nil && last.kind == numberToken && last.to == i {
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
			x.add(tok)
			i = tok.to
		case (c == '-' || c == '+') && i+1 < len(r) && (isDigit(r[i+1]) || r[i+1] == '.'):
			// Between two numbers without blanks it joins them: 46-31-12.5N.
			switch {
			case c == '-' && x.touches(i):
				joined = true
			case c == '-':
				sign, signAt = -1, i
			default:
				sign, signAt = 1, i
			}
			i++
		case c == ':' && x.touches(i) && i+1 < len(r) && isDigit(r[i+1]):
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
			x.add(tok)
			i = tok.to
		case c == ',' || c == ';' || c == '/' && (i+1 < len(r) || len(x.tokens) == 0):
			x.add(token{kind: separatorToken, from: i, to: i + 1})
			i++
		case c == '/': // the end of a position in ISO 6709
			i++
		case (c == '.' || c == ':' || c == '=') && x.endsWord(i): // Lat. 46.5 N.
			i++
		case unicode.IsLetter(c):
			tok, err := x.word(i)
			if err != nil {
				return nil, err
			}
			x.add(tok)
			i = tok.to
		case strings.ContainsRune("()[]{}<>", c):
			return nil, t.fail(i, i+1, brackets, adviceBrackets)
		default:
			return nil, t.fail(i, i+1, fmt.Sprintf("%q has no place in a position", string([]rune(t.text)[i])), adviceAny)
		}
	}
	x.secondSign()
	return withoutInnerSeparators(x.tokens), nil
}

// secondSign makes a sign of the hyphen in +46.5-007.5, the two numbers of ISO
// 6709: the sign of the first says that signs are written.
func (x *lexer) secondSign() {
	if len(x.tokens) != 2 || x.tokens[0].sign == 0 {
		return
	}
	if second := &x.tokens[1]; second.kind == numberToken && second.joined && x.plain[second.from-1] == '-' {
		second.joined, second.sign = false, -1
		second.from--
	}
}

func (x *lexer) add(t token) { x.tokens = append(x.tokens, t) }

// last returns the token so many before the last one, nil where there is none.
func (x *lexer) last(before int) *token {
	if i := len(x.tokens) - 1 - before; i >= 0 {
		return &x.tokens[i]
	}
	return nil
}

// touches reports whether a number or its mark ends at i.
func (x *lexer) touches(i int) bool {
	last := x.last(0)
	return last != nil && last.to == i && (last.kind == numberToken || last.kind == markToken)
}

// endsWord reports whether a letter or word ends at i, so that a point there
// marks it as shortened.
func (x *lexer) endsWord(i int) bool {
	last := x.last(0)
	return last != nil && last.to == i && (last.kind == letterToken || last.kind == labelToken || last.kind == markToken && isLetter(x.plain[i-1]))
}

// withoutInnerSeparators drops a separator between a number and its letter, as
// receivers write them: 4631.208,N,00730.000,E.
func withoutInnerSeparators(tokens []token) []token {
	kept := tokens[:0:0]
	for i, tok := range tokens {
		if tok.kind == separatorToken && i > 0 && i+1 < len(tokens) && tokens[i+1].kind == letterToken &&
			(tokens[i-1].kind == numberToken || tokens[i-1].kind == markToken) &&
			(i+2 == len(tokens) || tokens[i+2].kind == separatorToken) {
			continue
		}
		kept = append(kept, tok)
	}
	return kept
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
	tok.whole = tok.to - i
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

// hemispheres are the words for N S E W in the languages whose words cannot be
// mistaken for another's.
var hemispheres = map[string]byte{
	"n": 'N', "north": 'N', "nord": 'N', "norte": 'N',
	"s": 'S', "south": 'S', "sud": 'S', "süd": 'S', "sur": 'S',
	"e": 'E', "east": 'E', "est": 'E', "ost": 'E', "este": 'E',
	"w": 'W', "west": 'W', "ouest": 'W', "oeste": 'W', "ovest": 'W',
}

// labels name the axis of the part that follows them.
var labels = map[string]byte{
	"lat": 'N', "latitude": 'N',
	"lon": 'E', "long": 'E', "lng": 'E', "longitude": 'E',
}

// unitWords stand for degree, minute and second marks.
var unitWords = map[string]int{
	"d": 0, "deg": 0, "degs": 0, "degree": 0, "degrees": 0,
	"m": 1, "min": 1, "mins": 1, "minute": 1, "minutes": 1,
	"sec": 2, "secs": 2, "second": 2, "seconds": 2,
}

// word reads a hemisphere letter or word, a label, or a word for a mark, also
// with the letter behind it: 46degN.
func (x *lexer) word(i int) (token, error) {
	j := i
	for j < len(x.plain) && unicode.IsLetter(x.plain[j]) {
		j++
	}
	word := strings.ToLower(string(x.plain[i:j]))
	if x.seconds(i) && (word == "s" || strings.HasPrefix(word, "s") && hemispheres[word[1:]] != 0) {
		return token{kind: markToken, from: i, to: i + 1, mark: 2}, nil // 46d31m12s
	}
	if letter := hemispheres[word]; letter != 0 {
		return token{kind: letterToken, from: i, to: j, letter: letter}, nil
	}
	if axis := labels[word]; axis != 0 {
		return token{kind: labelToken, from: i, to: j, letter: axis}, nil
	}
	for end := j; end > i; end-- {
		unit := strings.ToLower(string(x.plain[i:end]))
		if mark, ok := unitWords[unit]; ok && (end == j || hemispheres[strings.ToLower(string(x.plain[end:j]))] != 0) {
			return token{kind: markToken, from: i, to: end, mark: mark}, nil
		}
	}
	if word == "o" {
		return token{}, x.fail(i, j, "O means east in some languages and west in others", "write E or W, or ° for degrees")
	}
	if j < len(x.plain) && x.plain[j] == '(' { // POINT(7.5 46.5)
		return token{}, x.fail(j, j+1, brackets, adviceBrackets)
	}
	return token{}, x.fail(i, j, fmt.Sprintf("%q is not a hemisphere letter", string([]rune(x.text)[i:j])), adviceAny)
}

// seconds reports whether an s at i is the mark of seconds and not south: it
// touches the number after minutes that have their m.
func (x *lexer) seconds(i int) bool {
	number, minutes := x.last(0), x.last(1)
	return x.plain[i] == 's' && number != nil && number.kind == numberToken && number.to == i &&
		minutes != nil && minutes.kind == markToken && minutes.mark == 1 && isLetter(x.plain[minutes.from])
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }

func isLetter(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' }
