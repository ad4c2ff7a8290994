package cli

import (
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"

	"farhail/geo/coord"

	"github.com/paulmach/orb"
)

// The units that people can have lengths, areas and speeds told in.
const (
	Metric   = "metric"
	Imperial = "imperial" // feet, miles, acres, square miles, miles an hour
)

// Words writes quantities and positions for people. The zero value is metric,
// with positions as MGRS and decimal degrees. What programs read stays SI.
type Words struct {
	Units    string         // Metric or Imperial; "" = Metric
	Notation coord.Notation // of positions: MGRS, UTM, DMS, DDM or decimal; "" = MGRS, decimals beside it
}

// The exact lengths of NIST SP 811 (2008), appendix B.8: the international foot
// and mile, and the acre as 43 560 square feet.
const (
	footM  = 0.3048
	mileM  = 5280 * footM
	acreM2 = 43560 * footM * footM
)

func (w Words) imperial() bool { return w.Units == Imperial }

// Distance writes a length [m] with three significant digits: in metres below
// 1 km and in kilometres from there, or in feet below 1000 ft and in miles.
func (w Words) Distance(m float64) string {
	switch {
	case math.IsNaN(m) || math.IsInf(m, 0):
		return "unknown"
	case w.imperial() && m/footM < 999.5:
		return Significant(m/footM) + " ft"
	case w.imperial():
		return Significant(m/mileM) + " mi"
	case m < 999.5:
		return Significant(m) + " m"
	}
	return Significant(m/1000) + " km"
}

// Length writes a length [m] in metres, or in feet, with that many decimals.
func (w Words) Length(m float64, decimals int) string {
	if math.IsNaN(m) || math.IsInf(m, 0) {
		return "unknown"
	}
	unit, one := w.Unit()
	return fmt.Sprintf("%.*f %s", decimals, m/one, unit)
}

// Unit returns the unit of short lengths and how many metres it has, for the
// columns of a table.
func (w Words) Unit() (name string, metres float64) {
	if w.imperial() {
		return "ft", footM
	}
	return "m", 1
}

// LongUnit returns the unit of long distances and how many metres it has.
func (w Words) LongUnit() (name string, metres float64) {
	if w.imperial() {
		return "mi", mileM
	}
	return "km", 1000
}

// SquareUnit returns the unit of large areas and how many square metres it has.
func (w Words) SquareUnit() (name string, m2 float64) {
	if w.imperial() {
		return "sq mi", mileM * mileM
	}
	return "km2", 1e6
}

// Sides writes the sides of a rectangle [m], "30 x 30 m".
func (w Words) Sides(aM, bM float64, decimals int) string {
	unit, m := w.Unit()
	return fmt.Sprintf("%.*f x %.*f %s", decimals, aM/m, decimals, bM/m, unit)
}

// Area writes an area [m2] with three significant digits: in hectares below
// 1 km2, or in acres below a square mile.
func (w Words) Area(m2 float64) string {
	switch {
	case math.IsNaN(m2) || math.IsInf(m2, 0):
		return "unknown"
	case w.imperial() && m2 < 0.9995*mileM*mileM:
		return Significant(m2/acreM2) + " acres"
	case w.imperial():
		return Significant(m2/(mileM*mileM)) + " sq mi"
	case m2 < 0.9995e6:
		return Significant(m2/1e4) + " ha"
	}
	return Significant(m2/1e6) + " km2"
}

// Speed writes a speed [m/s] with up to three significant digits, in km/h or mph.
func (w Words) Speed(ms float64) string {
	if w.imperial() {
		return fmt.Sprintf("%.3g mph", ms*3600/mileM)
	}
	return fmt.Sprintf("%.3g km/h", ms*3.6)
}

// Reference writes a position in the one notation asked for, else as an MGRS
// reference to 10 m in the groups that people say. It reads back.
func (w Words) Reference(p orb.Point) string {
	switch w.Notation {
	case coord.NotationDecimal:
		return coord.Decimal(p)
	case coord.NotationDMS:
		return coord.DMS(p)
	case coord.NotationDDM:
		return coord.DDM(p)
	case coord.NotationUTM:
		return gridCoordinates(p)
	}
	return mgrsGroups(p)
}

// At writes a position in the one notation asked for, else in decimal degrees,
// latitude first, with that many decimals.
func (w Words) At(p orb.Point, decimals int) string {
	if w.Notation == "" {
		return fmt.Sprintf("%.*f, %.*f", decimals, p.Lat(), decimals, p.Lon())
	}
	return w.Reference(p)
}

// Position writes a position twice, as somebody on the ground reads it and as an
// aircraft does: the notation asked for, and an MGRS reference beside degrees or
// degrees beside a grid; where none was asked for, decimal degrees to 1 cm and
// the MGRS reference.
func (w Words) Position(p orb.Point) string {
	const apart = "   "
	degrees := fmt.Sprintf("%.7f %.7f", p.Lat()+0, p.Lon()+0)
	switch w.Notation {
	case "":
		return degrees + apart + mgrsGroups(p)
	case coord.NotationMGRS, coord.NotationUTM:
		return w.Reference(p) + apart + degrees
	case coord.NotationDecimal:
		return degrees + apart + mgrsGroups(p)
	}
	return w.Reference(p) + apart + mgrsGroups(p)
}

// mgrsGroups writes an MGRS reference to 10 m like 31T CH 6874 2504.
func mgrsGroups(p orb.Point) string {
	s := coord.MGRS(p, 4)
	square := len(s) - 10 // two letters, then four figures each way
	if square < 0 {
		return s
	}
	return strings.TrimSpace(s[:square] + " " + s[square:square+2] + " " + s[square+2:square+6] + " " + s[square+6:])
}

// gridCoordinates writes UTM coordinates to 1 m, near the poles those of UPS.
func gridCoordinates(p orb.Point) string {
	if u, err := coord.UTMOf(p, 0); err == nil {
		return fmt.Sprintf("%d %s %.0f %.0f", u.Zone, u.Hemisphere, u.EastingM, u.NorthingM)
	}
	u, err := coord.UPSOf(p)
	if err != nil {
		return "unknown"
	}
	return fmt.Sprintf("%s %.0f %.0f", u.Letter, u.EastingM, u.NorthingM)
}

// Significant writes a number with three significant digits, without exponent,
// and with no more than three decimals.
func Significant(v float64) string {
	if v == 0 {
		return "0"
	}
	// Rounding first: 999.96 is a number of four figures.
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 2, 64), 64)
	if err != nil {
		return "unknown"
	}
	digits := 2 - int(math.Floor(math.Log10(math.Abs(rounded))))
	return strconv.FormatFloat(rounded, 'f', min(max(digits, 0), 3), 64)
}

// told matches the lengths, areas and speeds that the program writes into its
// sentences: a number, one blank, an SI unit. Numbers that a command takes
// ("--canopy-height 15m") have no blank.
var told = regexp.MustCompile(`\b(\d+(?:\.\d+)?) (km/h|km2|km|ha|m)\b`)

// Sentence writes a sentence of the program, which holds SI as the results for
// programs do, in the units asked for.
func (w Words) Sentence(text string) string {
	if !w.imperial() {
		return text
	}
	return told.ReplaceAllStringFunc(text, func(quantity string) string {
		number, unit, _ := strings.Cut(quantity, " ")
		v, err := strconv.ParseFloat(number, 64)
		if err != nil {
			return quantity // more digits than a number has
		}
		switch unit {
		case "km/h":
			return w.Speed(v / 3.6)
		case "km2":
			return w.Area(v * 1e6)
		case "ha":
			return w.Area(v * 1e4)
		case "km":
			return w.Distance(v * 1000)
		}
		return w.Distance(v)
	})
}

// A Text is what a verb writes for people, and the words that it does so in.
type Text struct {
	io.Writer
	Words
}
