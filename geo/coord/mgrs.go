package coord

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"farhail/geo/earth"
)

// The letters of the 100 km squares. In UTM the columns go through three sets
// from zone to zone and the rows repeat every 2000 km, five letters further on in
// even zones; in UPS each half of a cap has its own columns.
//
// Source: NGA.STND.0037_2.0.0_GRIDS (2014), chapter 3.
const (
	utmRows     = "ABCDEFGHJKLMNPQRSTUV"
	westColumns = "JKLPQRSTUXYZ"             // UPS zones A and Y
	eastColumns = "ABCFGHJKLPQR"             // UPS zones B and Z
	northRows   = "ABCDEFGHJKLMNP"           // UPS zones Y and Z
	southRows   = "ABCDEFGHJKLMNPQRSTUVWXYZ" // UPS zones A and B
)

var utmColumns = [3]string{"STUVWXYZ", "ABCDEFGH", "JKLMNPQR"} // zone modulo 3

// Grid corners of the first letters [m].
const (
	squareM       = 100e3
	rowCycleM     = 2000e3
	westFalseM    = 800e3
	northRowsM    = 1300e3
	southRowsM    = 800e3
	maxMGRSDigits = 8
)

// cutPlayM is added before a coordinate is cut to its square [m], so that the
// corner of a square, which conversions move by some nanometres, stays in it.
const cutPlayM = 1e-6

// MGRS writes a position as an MGRS reference without blanks, with that many
// digits for each of easting and northing: 0 names the 100 km square, 5 metres, 8
// millimetres ("31TCH6874325047"). Figures are cut, not rounded, since a
// reference names the square that holds the position. It is USNG on WGS84. From
// 84 N up and south of 80 S it is a UPS reference ("ZBA1577643401"). A position off
// the earth gives "". It panics when digits are not 0 to 8.
func MGRS(p orb.Point, digits int) string {
	if digits < 0 || digits > maxMGRSDigits {
		panic("coord: MGRS digits must be 0 to 8")
	}
	if !onEarth(p) {
		return ""
	}
	if u, err := UTMOf(p, 0); err == nil {
		easting, northing := u.EastingM+cutPlayM, u.NorthingM+cutPlayM
		if u.Hemisphere == "south" {
			// Just south of the equator must not be cut to the first row north.
			northing = min(northing, math.Nextafter(10e6, 0))
		}
		return fmt.Sprintf("%02d%s%s", u.Zone, u.Band, SquareLetters(u.Zone, easting, northing)) + cut(easting, digits) + cut(northing, digits)
	}
	u, err := UPSOf(p)
	if err != nil {
		return ""
	}
	easting, northing := u.EastingM+cutPlayM, u.NorthingM+cutPlayM
	g := polarSquares(u.Letter[0])
	return u.Letter + string(g.columns[int((easting-g.eastM)/squareM)]) +
		string(g.rows[int((northing-g.northM)/squareM)]) + cut(easting, digits) + cut(northing, digits)
}

// SquareLetters returns the two letters of the 100 km square that holds UTM
// coordinates [m], those of the south with its false northing; "" where no square
// has letters: eastings below 100 km or from 900 km on, negative northings.
func SquareLetters(zone int, eastingM, northingM float64) string {
	if !(eastingM >= squareM && eastingM < 9*squareM && northingM >= 0 && northingM < 100*squareM) {
		return ""
	}
	column := utmColumns[zone%3][int(eastingM/squareM)-1]
	row := utmRows[(int(northingM/squareM)+rowShift(zone))%len(utmRows)]
	return string([]byte{column, row})
}

// rowShift is how many letters further on the rows of an even zone begin.
func rowShift(zone int) int {
	if zone%2 == 0 {
		return 5
	}
	return 0
}

// cut writes the digits of a coordinate below 100 km.
func cut(m float64, digits int) string {
	if digits == 0 {
		return ""
	}
	step := math.Pow10(5 - digits)
	return fmt.Sprintf("%0*d", digits, int64(math.Mod(m, squareM)/step))
}

// polar is the grid of squares of one UPS zone.
type polar struct {
	columns, rows string
	eastM, northM float64 // south-west corner of the first letters
}

func polarSquares(letter byte) polar {
	g := polar{westColumns, northRows, westFalseM, northRowsM}
	if letter == 'B' || letter == 'Z' {
		g.columns, g.eastM = eastColumns, upsFalseM
	}
	if letter == 'A' || letter == 'B' {
		g.rows, g.northM = southRows, southRowsM
	}
	return g
}

// mgrsPattern is the zone with its band, or a polar letter; two letters of the
// square; and digits, run together or as two groups.
var mgrsPattern = regexp.MustCompile(`^(?i:(?:MGRS|USNG)[\s:]*)?(?:(\d{1,2})\s*([A-Za-z])|([ABYZabyz]))\s*([A-Za-z]{2})[\s,:]*(\d*)(?:[\s,]+(\d+))?$`)

// isMGRS reports whether a text has the form of a grid reference.
func isMGRS(t written) bool { return mgrsPattern.MatchString(string(t.plain)) }

// readMGRS reads an MGRS or USNG reference; ours is false when it is none. It
// gives the centre of the square.
func readMGRS(t written) (pos Position, ours bool, err error) {
	m := mgrsPattern.FindStringSubmatch(string(t.plain))
	if m == nil || m[2]+m[4] == "deg" { // 46deg is not a square
		return Position{}, false, nil
	}
	fail := func(message, advice string) (Position, bool, error) {
		return Position{}, true, t.refuse(message, advice)
	}
	east, north := m[5], m[6]
	if north == "" {
		if len(east)%2 != 0 {
			return fail("an odd number of digits", "write as many digits for the easting as for the northing: 31T CH 687 250")
		}
		east, north = east[:len(east)/2], east[len(east)/2:]
	}
	if len(east) != len(north) {
		return fail("easting and northing with different numbers of digits", "write as many digits for the easting as for the northing: 31T CH 687 250")
	}
	if len(east) > maxMGRSDigits {
		return fail("more digits than millimetres", "five digits each for easting and northing are metres")
	}
	band, square := strings.ToUpper(m[2]+m[3]), strings.ToUpper(m[4])
	if strings.ContainsAny(band+square, "IO") {
		return fail("the letters I and O are not used in grid references", "was the figure 1 or 0 meant")
	}
	size := squareM / math.Pow10(len(east))
	inE, inN := within(east, size), within(north, size)
	if m[1] == "" {
		return readPolarSquare(t, band[0], square, size, inE, inN)
	}
	zone, _ := strconv.Atoi(m[1])
	if zone < 1 || zone > 60 {
		return fail("zones run from 1 to 60", "write it like 31T CH 68743 25047")
	}
	southLat, northLat, ok := bandLimits(band[0])
	if !ok {
		return fail(fmt.Sprintf("%s is not a latitude band", band), "bands run from C to X without I and O")
	}
	if band == "X" && (zone == 32 || zone == 34 || zone == 36) {
		return fail(fmt.Sprintf("there is no zone %dX", zone), "north of 72 N only 31, 33, 35 and 37 lie between 0 and 42 E")
	}
	column := strings.IndexByte(utmColumns[zone%3], square[0])
	row := strings.IndexByte(utmRows, square[1])
	if column < 0 || row < 0 {
		return fail(fmt.Sprintf("there is no square %s in zone %d", square, zone), "columns of this zone: "+utmColumns[zone%3])
	}
	row = (row - rowShift(zone) + len(utmRows)) % len(utmRows)
	e := float64(column+1)*squareM + inE
	tm := earth.UTM(zone, southLat < 0)
	// The rows repeat every 2000 km (18 degrees): the band tells which is meant.
	for n := float64(row)*squareM + inN; n < 10e6; n += rowCycleM {
		// Parallels run aslant on the grid: any corner may be the highest.
		a, b, c, d := tm.Inverse(e, n).Lat(), tm.Inverse(e+size, n).Lat(), tm.Inverse(e, n+size).Lat(), tm.Inverse(e+size, n+size).Lat()
		if max(a, b, c, d) > southLat && min(a, b, c, d) < northLat {
			return Position{Point: tm.Inverse(e+size/2, n+size/2), Notation: NotationMGRS, SquareM: size}, true, nil
		}
	}
	return fail(fmt.Sprintf("square %s of zone %d does not lie in band %s", square, zone, band), "check the letters")
}

// readPolarSquare reads a reference in UPS.
func readPolarSquare(t written, letter byte, square string, size, inE, inN float64) (Position, bool, error) {
	g := polarSquares(letter)
	column, row := strings.IndexByte(g.columns, square[0]), strings.IndexByte(g.rows, square[1])
	if column >= 0 && row >= 0 {
		e := g.eastM + float64(column)*squareM + inE + size/2
		n := g.northM + float64(row)*squareM + inN + size/2
		if p, ok := fromUPS(letter == 'A' || letter == 'B', e, n); ok {
			return Position{Point: p, Notation: NotationMGRS, SquareM: size}, true, nil
		}
	}
	return Position{}, true, t.refuse(fmt.Sprintf("there is no square %s in zone %c", square, letter), "check the letters")
}

// within returns how far [m] into its 100 km square the digits lie.
func within(digits string, size float64) float64 {
	if digits == "" {
		return 0
	}
	v, _ := strconv.ParseFloat(digits, 64) // the pattern lets through digits only
	return v * size
}
