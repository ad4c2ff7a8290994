// Package coord reads and writes positions as people write them: decimal
// degrees, degrees with minutes and seconds, UTM, UPS and MGRS (USNG is the same
// on WGS84). All of them are on WGS84; a position from a map on another datum
// can be 500 m off otherwise, and ParseOn shifts it.
//
// Start with Parse, which knows the notation by itself, and with Decimal, DMS,
// DDM, MGRS, UTMOf and UPSOf for the way back. Nothing is guessed: where a text
// can be read in two ways, as "46,5" or "31S 500000 4000000", the error names
// both.
//
// Not read, because each needs a grid or a table of its own: national grids
// (British, Swiss and others), open location codes, word codes, locators of radio
// amateurs.
//
// UTM is worked out by geo/earth, UPS by github.com/tzneal/coordconv, which also
// is the second opinion for MGRS in the tests. MGRS letters are our own, because
// those of coordconv lose a metre at 84 N and 80 S, stop at whole metres, and
// come from converters that must not be used by two goroutines at once.
package coord

import (
	"fmt"
	"math"
	"strings"
	"unicode"
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
	// Datum is the one on which it was written; WGS84 unless the text names
	// another. Point is on WGS84 in any case: Shift names the operation that
	// brought it there ("EPSG:1173"), "" for none, and DatumErrorM its stated
	// accuracy [m].
	Datum       string
	Shift       string
	DatumErrorM float64
}

// maxText is how long a written position may be [characters].
const maxText = 100

// Parse reads a position in any notation. Letters may be small, blanks are free,
// and typographic primes, quotes, degree and minus signs are taken for their
// plain forms. Rules that decide what a text means:
//
//   - Without letters the latitude comes first. With letters or words (N S E W,
//     north, lat, longitude, before or after each part) these decide. A sign and a
//     letter together are refused.
//
//   - Two numbers are degrees, four are degrees and minutes, six are degrees,
//     minutes and seconds; only the last of a part may have a fraction.
//
//   - One number of four or six figures with a letter or sign is a latitude in
//     degrees and minutes, or with seconds (4640N, +464012), one of five or seven
//     a longitude (00123E), as in aviation and ISO 6709.
//
//   - A comma is a decimal sign only in a part that carries a degree, minute or
//     second mark; elsewhere it parts the two, and must then be followed by a
//     blank or stand by numbers with decimal points.
//
//   - UTM is the zone with its latitude band or the word north or south, easting
//     and northing. "N" is read as north, which contains band N; "S" is refused,
//     because it is a band of the northern half too.
//
//   - An MGRS reference names a square, cut and not rounded: Point is its centre.
//     At a latitude of 84 N or more, or south of 80 S, grids are UPS.
//
//   - A datum may stand behind or before it: "45.5, -110.5 (NAD27)". WGS84 and
//     those of satellite age, within 4 m of it, are read; Parse refuses older
//     ones and says in the hint where the position lies on WGS84. ParseOn shifts
//     them.
//
// The error is an *Error with the column of the part that is wrong.
func Parse(s string) (Position, error) {
	pos, err := ParseOn(s, "")
	if err != nil {
		return pos, err
	}
	if d, _ := datumNamed(pos.Datum); !d.modern() {
		return Position{}, &Error{Text: strings.TrimSpace(s), Message: "a position on " + d.name + ", which is not WGS84",
			Advice: fmt.Sprintf("write it on WGS84: %s, give or take %g m by %s", Decimal(pos.Point), pos.DatumErrorM, pos.Shift)}
	}
	return pos, nil
}

// ParseOn is Parse for a position on a datum, any of Datums in any spelling; ""
// is WGS84. A datum that the text names must be the same. The position is
// shifted to WGS84 by three parameters, with the stated accuracy in
// DatumErrorM: 4 to 29 m, where taking it for WGS84 would be up to 500 m off. UTM
// coordinates are read on the datum's own grid. MGRS and UPS on an old datum are
// refused, since their letters differ, as are positions outside the area for
// which the shift was worked out.
func ParseOn(s, datum string) (Position, error) {
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
	t = t.inner(0, len(t.plain))
	told := ""
	if !isMGRS(t) { // 31T ED50 is a square
		t, told = cutDatum(t)
	}
	switch {
	case told == "":
		told = datum
	case datum != "" && spelling(told) != spelling(datum):
		a, _ := datumNamed(told)
		if b, _ := datumNamed(datum); a == nil || a != b {
			return Position{}, t.refuse(fmt.Sprintf("the text names the datum %s, not %s", told, datum), "leave one of them out")
		}
	}
	if told == "" {
		told = WGS84
	}
	d, known := datumNamed(told)
	switch {
	case d == nil && known:
		return Position{}, t.refuse("positions on the datum "+told+" are not shifted", "convert it to WGS84 first: taken for WGS84 it can be 500 m off")
	case d == nil:
		return Position{}, t.refuse(fmt.Sprintf("%q is no datum known here", told), "one of "+strings.Join(Datums(), ", "))
	}
	t.datum = d
	pos, err := t.read()
	if err != nil {
		return Position{}, err
	}
	return t.onWGS84(pos, d)
}

// read gives the position as it is on the datum of the text.
func (t written) read() (Position, error) {
	for _, read := range []func(written) (Position, bool, error){readMGRS, readUTM, readUPS, readURI} {
		pos, ours, err := read(t)
		switch {
		case !ours:
			continue
		case err == nil && !t.datum.modern() && (pos.Notation == NotationMGRS || pos.Notation == NotationUPS):
			return pos, t.refuse("a grid reference on "+t.datum.name+", where letters differ from WGS84's", "write it in degrees, or in UTM with easting and northing in full")
		}
		return pos, err
	}
	return readDegrees(t)
}

const adviceAny = "write it like 42.6667, 1.3983 or 42°40'00\"N 1°23'54\"E or 31T CH 68743 25047"

// written is a text on its way through the readers.
type written struct {
	text  string // trimmed, as written
	plain []rune // the same number of characters, with plain marks
	lead  int    // blanks, and a datum, that were cut off in front
	datum *datum // the datum it is on
}

// inner returns the part of a text from one character to another, trimmed.
func (t written) inner(from, to int) written {
	for from < to && isSpaceOrMark(t.plain[from]) {
		from++
	}
	for to > from && isSpaceOrMark(t.plain[to-1]) {
		to--
	}
	return written{text: string([]rune(t.text)[from:to]), plain: t.plain[from:to], lead: t.lead + from, datum: t.datum}
}

func isSpaceOrMark(r rune) bool { return strings.ContainsRune(" ,;:", r) }

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
	"′", "'", "’", "'", "‘", "'", "´", "'", "ʹ", "'", "`", "'", "ʼ", "'", "‛", "'", "＇", "'",
	"″", "\"", "”", "\"", "“", "\"", "„", "\"", "ʺ", "\"", "‟", "\"", "˝", "\"", "＂", "\"",
	"º", "°", "˚", "°", "∘", "°", "⁰", "°", "ᵒ", "°", "*", "°",
	"−", "-", "–", "-", "‐", "-", "‑", "-", "—", "-", "﹣", "-", "－", "-", "＋", "+",
	"，", ",", "；", ";", "：", ":",
	"\u00a0", " ", "\u2002", " ", "\u2003", " ", "\u2007", " ", "\u2009", " ", "\u200a", " ", "\u202f", " ", "\u3000", " ",
	"\u200b", " ", "\u200e", " ", "\u200f", " ", "\u202a", " ", "\u202c", " ", "\ufeff", " ",
	"\t", " ", "\n", " ", "\r", " ",
)

func leadingBlanks(s string) int {
	return utf8.RuneCountInString(s) - utf8.RuneCountInString(strings.TrimLeftFunc(s, unicode.IsSpace))
}

// onEarth reports whether p is a position: latitude within ±90, longitude a
// number of any turn.
func onEarth(p orb.Point) bool {
	return math.Abs(p.Lat()) <= 90 && math.Abs(p.Lon()) <= math.MaxFloat64
}
