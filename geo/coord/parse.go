// Package coord reads and writes positions as people write them: decimal
// degrees, degrees with minutes and seconds, UTM, UPS and MGRS (USNG is the same
// on WGS84). All of them are on WGS84; a position from a map on another datum
// must be shifted first, it can be 200 m off otherwise.
//
// Start with Parse, which knows the notation by itself, and with Decimal, DMS,
// DDM, MGRS, UTMOf and UPSOf for the way back. Nothing is guessed: where a text
// can be read in two ways, as "46,5" or "31S 500000 4000000", the error names
// both.
//
// UTM is worked out by geo/earth, UPS by github.com/tzneal/coordconv, which also
// is the second opinion for MGRS in the tests. MGRS letters are our own, because
// those of coordconv lose a metre at 84 N and 80 S, stop at whole metres, and
// come from converters that must not be used by two goroutines at once.
package coord

import (
	"math"
	"strings"
	"unicode/utf8"

	"github.com/paulmach/orb"
)

// A Notation names a way to write positions.
type Notation string

// The notations that Parse knows.
const (
	NotationDecimal Notation = "decimal" // 42.6667, 1.3983
	NotationDDM     Notation = "ddm"     // 42°40.002'N 1°23.898'E
	NotationDMS     Notation = "dms"     // 42°40'00.1"N 1°23'53.9"E
	NotationUTM     Notation = "utm"     // 31T 368743 4725047
	NotationUPS     Notation = "ups"     // Z 2115776 1343401
	NotationMGRS    Notation = "mgrs"    // 31T CH 68743 25047
)

// A Position is a position as read.
type Position struct {
	Point    orb.Point // longitude -180 to 180, latitude -90 to 90, WGS84 [degrees]
	Notation Notation
	// SquareM is the side of the square that an MGRS reference names [m], of
	// which Point is the centre: the position may be anywhere in it. 0 for the
	// other notations.
	SquareM float64
}

// maxText is how long a written position may be [characters].
const maxText = 100

// Parse reads a position in any notation. Letters may be small, blanks are free,
// and typographic primes, quotes and minus signs are taken for their plain
// forms. Rules that decide what a text means:
//
//   - Without letters the latitude comes first. With letters (N S E W before or
//     after each part) the letters decide. A sign and a letter together are
//     refused.
//   - Two numbers are degrees, four are degrees and minutes, six are degrees,
//     minutes and seconds; only the last of a part may have a fraction.
//   - A comma is a decimal sign only in a part that carries a degree, minute or
//     second mark; elsewhere it parts the two, and must then be followed by a
//     blank or stand by numbers with decimal points.
//   - UTM is the zone with its latitude band or the word north or south, easting
//     and northing. "N" is read as north, which contains band N; "S" is refused,
//     because it is a band of the northern half too.
//   - An MGRS reference names a square, cut and not rounded: Point is its centre.
//     At a latitude of 84 N or more, or south of 80 S, grids are UPS.
//
// The error is an *Error with the column of the part that is wrong.
func Parse(s string) (Position, error) {
	text := strings.TrimSpace(s)
	switch {
	case text == "":
		return Position{}, &Error{Text: s, Message: "is empty", Advice: adviceAny}
	case !utf8.ValidString(text):
		return Position{}, &Error{Text: strings.ToValidUTF8(text, "?"), Message: "holds bytes that are not text", Advice: adviceAny}
	case utf8.RuneCountInString(text) > maxText:
		return Position{}, &Error{Text: text, Message: "is too long for a position", Advice: adviceAny}
	}
	t := written{text: text, plain: []rune(plainMarks.Replace(text)), lead: leadingBlanks(s)}
	for _, read := range []func(written) (Position, bool, error){readMGRS, readUTM, readUPS} {
		if pos, ours, err := read(t); ours {
			return pos, err
		}
	}
	return readDegrees(t)
}

const adviceAny = "write it like 42.6667, 1.3983 or 42°40'00\"N 1°23'54\"E or 31T CH 68743 25047"

// written is a text on its way through the readers.
type written struct {
	text  string // trimmed, as written
	plain []rune // the same number of characters, with plain marks
	lead  int    // blanks that were trimmed in front
}

// fail returns an error about the characters [from, to) of the text.
func (t written) fail(from, to int, message, advice string) error {
	return &Error{Text: t.text, Part: string([]rune(t.text)[from:to]), Column: t.lead + from + 1, Message: message, Advice: advice}
}

// refuse returns an error about the whole text.
func (t written) refuse(message, advice string) error {
	return &Error{Text: t.text, Message: message, Advice: advice}
}

// plainMarks turns the many characters that look like a mark into the plain one.
// Each replacement is one character, so that columns keep their meaning.
var plainMarks = strings.NewReplacer(
	"′", "'", "’", "'", "‘", "'", "´", "'", "ʹ", "'", "`", "'",
	"″", "\"", "”", "\"", "“", "\"", "„", "\"", "ʺ", "\"",
	"º", "°", "˚", "°",
	"−", "-", "–", "-", "‐", "-", "‑", "-",
	"\u00a0", " ", "\u2009", " ", "\u202f", " ", "\t", " ", "\n", " ", "\r", " ",
)

func leadingBlanks(s string) int {
	return utf8.RuneCountInString(s) - utf8.RuneCountInString(strings.TrimLeft(s, " \t\r\n\u00a0"))
}

// onEarth reports whether p is a position: latitude within ±90, longitude a
// number of any turn.
func onEarth(p orb.Point) bool {
	return math.Abs(p.Lat()) <= 90 && math.Abs(p.Lon()) <= math.MaxFloat64
}
