package coord

import (
	"errors"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/earth"
)

// good are texts that mean one position; the same angles are written in many
// ways, worked out by hand.
var good = []struct {
	text     string
	lat, lon float64
	notation Notation
}{
	{"42.6667,1.3983", 42.6667, 1.3983, NotationDecimal},
	{"42.6667, 1.3983", 42.6667, 1.3983, NotationDecimal},
	{"42.6667 1.3983", 42.6667, 1.3983, NotationDecimal},
	{"42.6667;1.3983", 42.6667, 1.3983, NotationDecimal},
	{"  42.6667\t1.3983 ", 42.6667, 1.3983, NotationDecimal},
	{"-33.5,151.2", -33.5, 151.2, NotationDecimal},
	{"-33.5 151.2", -33.5, 151.2, NotationDecimal},
	{"+33.5 -151.2", 33.5, -151.2, NotationDecimal},
	{"46.5 -7.5", 46.5, -7.5, NotationDecimal},
	{"−33.5, 151.2", -33.5, 151.2, NotationDecimal},
	{"46, 5", 46, 5, NotationDecimal},
	{"46.0,5.0", 46, 5, NotationDecimal},
	{"46,5.0", 46, 5, NotationDecimal},
	{"46.0,5", 46, 5, NotationDecimal},
	{"46 5", 46, 5, NotationDecimal},
	{".5, -.25", 0.5, -0.25, NotationDecimal},
	{"33.3N 44.4E", 33.3, 44.4, NotationDecimal},
	{"0N 120E", 0, 120, NotationDecimal},
	{"33.3n44.4e", 33.3, 44.4, NotationDecimal},
	{"44.4E 33.3N", 33.3, 44.4, NotationDecimal},
	{"N33.3 E44.4", 33.3, 44.4, NotationDecimal},
	{"S33.3, W44.4", -33.3, -44.4, NotationDecimal},
	{"33.3 north 44.4 west", 33.3, -44.4, NotationDecimal},
	{"0.12W, 51.5N", 51.5, -0.12, NotationDecimal},
	{"46.5000 N, 7.5000 E", 46.5, 7.5, NotationDecimal},
	{"46,5°N 7,5°E", 46.5, 7.5, NotationDecimal},
	{"46,5° 7,5°", 46.5, 7.5, NotationDecimal},
	{"46.5° -7.5°", 46.5, -7.5, NotationDecimal},
	{"46.5N,7.5E", 46.5, 7.5, NotationDecimal},
	{"46° 7°", 46, 7, NotationDecimal},
	{"46deg 7deg", 46, 7, NotationDecimal},
	{"46.5d 7.5deg", 46.5, 7.5, NotationDecimal},
	{"W000 07.2, N51 30.0", 51.5, -0.12, NotationDDM},
	{"51°30.0'N 0°07.2'W", 51.5, -0.12, NotationDDM},
	{"51°30,0'N 0°07,2'W", 51.5, -0.12, NotationDDM},
	{"51 30 -0 07.2", 51.5, -0.12, NotationDDM},
	{"51 30 0 07.2", 51.5, 0.12, NotationDDM},
	{"N 46 31 12.5, E 7 30 0", 46 + 31/60. + 12.5/3600, 7.5, NotationDMS},
	{"46 31 12.5 N 7 30 0 E", 46 + 31/60. + 12.5/3600, 7.5, NotationDMS},
	{"46-31-12.5N 7-30-0E", 46 + 31/60. + 12.5/3600, 7.5, NotationDMS},
	{"46:31:12.5 7:30:00", 46 + 31/60. + 12.5/3600, 7.5, NotationDMS},
	{"46 31 12.5 7 30 0", 46 + 31/60. + 12.5/3600, 7.5, NotationDMS},
	{"46°31′12,5″N 7°30′0″E", 46 + 31/60. + 12.5/3600, 7.5, NotationDMS},
	{"46°31’12.5”N, 7°30’00”E", 46 + 31/60. + 12.5/3600, 7.5, NotationDMS},
	{"46°31'12.5''N 7°30'00''E", 46 + 31/60. + 12.5/3600, 7.5, NotationDMS},
	{"46º31'12.5\" 7º30'", 46 + 31/60. + 12.5/3600, 7.5, NotationDMS},
	{"46°31'12,5\", 7°30'00\"", 46 + 31/60. + 12.5/3600, 7.5, NotationDMS},
	{"0°30'00\"W 0°0'0\"N", 0, -0.5, NotationDMS},
	{"00 30 00.0 S, 0 30 0 W", -0.5, -0.5, NotationDMS},
	{"-0 30 0, -0 30 0", -0.5, -0.5, NotationDMS},
	{"90 N 180 E", 90, 180, NotationDecimal},

	// words, labels, marks that look like others
	{"46.5 Nord 7.5 Ost", 46.5, 7.5, NotationDecimal},
	{"33,5° sur, 70,5° oeste", -33.5, -70.5, NotationDecimal},
	{"33.5 Süd 18.5 Est", -33.5, 18.5, NotationDecimal},
	{"north 46.5 west 7.5", 46.5, -7.5, NotationDecimal},
	{"Lat: -33.5, Lon: 151.2", -33.5, 151.2, NotationDecimal},
	{"lon=151.2 lat=-33.5", -33.5, 151.2, NotationDecimal},
	{"Lat. 46.5 N. Long. 7.5 E.", 46.5, 7.5, NotationDecimal},
	{"46.5 lat, 7.5 lon", 46.5, 7.5, NotationDecimal},
	{"46.5 lat 7.5 lon", 46.5, 7.5, NotationDecimal},
	{"46 degrees 30 minutes North, 7 degrees 30 minutes East", 46.5, 7.5, NotationDDM},
	{"46d30m00s N 7d30m0sE", 46.5, 7.5, NotationDMS},
	{"33d30m00S 151d12mE", -33.5, 151.2, NotationDMS}, // a capital is south
	{"46degN 7degE", 46, 7, NotationDecimal},
	{"46∘30′N 7⁰30ʹE", 46.5, 7.5, NotationDDM},
	{"46*30'N 7˚30’E", 46.5, 7.5, NotationDDM},
	{"46°30ʹ00ʺN 7°30‛00„E", 46.5, 7.5, NotationDMS},
	{"46°30'00′′N 7°30'00’’E", 46.5, 7.5, NotationDMS},
	{"—33.5, 151.2", -33.5, 151.2, NotationDecimal},
	{"46.5，7.5", 46.5, 7.5, NotationDecimal},
	{"46.5/7.5", 46.5, 7.5, NotationDecimal},
	{"\ufeff46.5,\u200b 7.5\u200e", 46.5, 7.5, NotationDecimal},
	{"-0°30', -0°30'", -0.5, -0.5, NotationDDM},
	{"46°31'12\"E 7°N", 7, 46.52, NotationDMS},

	// run together: aviation, ISO 6709, receivers
	{"463000N0073000E", 46.5, 7.5, NotationDMS},
	{"N463000 E0073000", 46.5, 7.5, NotationDMS},
	{"3330S 15112E", -33.5, 151.2, NotationDDM},
	{"+46.5+007.5/", 46.5, 7.5, NotationDecimal},
	{"+4630.0-00730.0/", 46.5, -7.5, NotationDDM},
	{"-333000+1511200/", -33.5, 151.2, NotationDMS},
	{"4630.000,N,00730.000,E", 46.5, 7.5, NotationDDM},
	{"geo:46.5,-7.5", 46.5, -7.5, NotationDecimal},
	{"geo:46,7,1200;u=35?z=3", 46, 7, NotationDecimal},
	{"90 S 180 W", -90, -180, NotationDecimal},
}

func TestParse(t *testing.T) {
	for _, c := range good {
		t.Run(c.text, func(t *testing.T) {
			got, err := Parse(c.text)
			require.NoError(t, err)
			assert.InDelta(t, c.lat, got.Point.Lat(), 1e-12)
			assert.InDelta(t, c.lon, got.Point.Lon(), 1e-12)
			assert.Equal(t, c.notation, got.Notation)
			assert.Zero(t, got.SquareM)
			assert.False(t, negativeZero(got.Point), "-0")
		})
	}
}

func negativeZero(p orb.Point) bool {
	return p[0] == 0 && math.Signbit(p[0]) || p[1] == 0 && math.Signbit(p[1])
}

// bad are texts that are no position, or could be two; word must be in the
// message, hint in the advice, part is what the error points at.
var bad = []struct{ text, word, hint, part string }{
	{"", "empty", "42.6667, 1.3983", ""},
	{" ", "empty", "", ""},
	{"46,5", "comma", "46.5 for the decimal", "46,5"},
	{"46,5 7,5", "comma", "46, 5 with a blank", "46,5"},
	{"46,5, 7,5", "comma", "46.5", "46,5"},
	{"46.5 7,5", "comma", "7.5", "7,5"},
	{"46,5N 7,5E", "comma", "46.5", "46,5"},
	{"-33,151", "comma", "-33.151", "-33,151"},
	{"46.5", "latitude and a longitude", "", ""},
	{"46.5,", "latitude and a longitude", "", ""},
	{"46.5-7.5", "where the latitude ends", "comma and a blank", ""},
	{"46 31 12.5", "where the latitude ends", "", ""},
	{"46.5 - 7.5", "no place", "", "-"},
	{"46.5.3", "two decimal points", "", ".3"},
	{"46.5.3, 7", "two decimal points", "", ".3"},
	{"46deg", "latitude and a longitude", "", ""},
	{"46deg 30", "where the latitude ends", "", ""},
	{"1, 2, 3", "more than two parts", "", ","},
	{"120.5,35.0", "latitude 120.5 is impossible", "swapped", "120.5"},
	{"91N 7E", "latitude 91", "90 S to 90 N", "91N"},
	{"46.5, 200", "longitude 200", "180 W to 180 E", "200"},
	{"46.5, 359.9", "longitude 359.9", "359.9 is 0.1 W", "359.9"},
	{"46.5N 180.01W", "longitude -180.01", "", "180.01W"},
	{"1e400, 0", "", "", ""},
	{"46.5, -7.5W", "sign and a letter", "", "-7.5"},
	{"46.5N, -7.5W", "sign and a letter", "not both", "-7.5"},
	{"-46.5N, 7.5W", "sign and a letter", "", "-46.5"},
	{"46.5N 7.5", "only one of the two parts", "both letters", ""},
	{"46.5N 7.5N", "both parts are latitudes", "", ""},
	{"46°31'12\"E 7°E", "both parts are longitudes", "", ""},
	{"N46 7E", "where the latitude ends", "", ""},
	{"46N 7E 8S", "more than two letters", "", "S"},
	{"46°60'00\"N 7°E", "minutes of 60", "under 60", "60"},
	{"46°31'60\"N 7°E", "seconds of 60", "", "60"},
	{"46.5 30, 7 30", "fraction", "", "46.5"},
	{"46 30 15 10, 7", "more than degrees", "", "10"},
	{"46'30, 7", "out of order", "", "46"},
	{"46°30'20', 7", "out of order", "", "20"},
	{"46°, '7", "without its number", "", "'"},
	{"46 -30 15, 7", "sign inside", "", "-30"},
	{"-46 -7 -30", "more than two parts", "", ""},
	{"46.5N 7.5O", "O means east", "E or W", "O"},
	{"46.5X 7.5E", "not a hemisphere letter", "", "X"},
	{"hut", "not a hemisphere letter", "", "hut"},
	{"(46.5, 7.5)", "brackets", "latitude first", "("},
	{"[7.5, 46.5]", "brackets", "latitude first", "["},
	{"POINT(7.5 46.5)", "brackets", "latitude first", "("},
	{"46o30'N 7o30'E", "O means east", "° for degrees", "o"},
	{"46 .5, 7", "before the decimal point", "blank", ".5"},
	{"46\u200b.5, 7", "before the decimal point", "blank", ".5"},
	{"lat 46.5 E lon 7.5", "axis that is named", "N or S", "E"},
	{"lat 46.5 lat 7.5", "both parts are latitudes", "", ""},
	{"lat 46.5, 7.5", "only one of the two parts", "", ""},
	{"46.5 lat 7.5", "where the latitude ends", "", ""},
	{"466000N 0073000E", "minutes of 60", "under 60", "466000N"},
	{"463060N 0073000E", "seconds of 60", "under 60", "463060N"},
	{"4630 00730", "latitude 4630 is impossible", "90 S", "4630"},
	{"46300N 00730E", "latitude 46300", "", "46300N"},
	{"geo:97,46", "not on earth", "latitude first", ""},
	{"geo:46,7;crs=nad27", "not on WGS84", "convert", ""},
	{"46.5, 7.5 \x00", "no place", "", "\x00"},
	{"46.5\xff, 7.5", "not text", "", ""},
	{strings.Repeat("4", 200), "too long", "", ""},

	// UTM and UPS
	{"31S 500000 4000000", "band S (32 to 40 N) or south", "31 north 500000 4000000", ""},
	{"59S 625676 5432405", "not in band S", "59G 625676 5432405", ""},
	{"61T 500000 4000000", "1 to 60", "", ""},
	{"0T 500000 4000000", "1 to 60", "", ""},
	{"31T 50000 4000000", "easting", "", ""},
	{"31T 500000 14000000", "northing", "", ""},
	{"31T 500000,5 4000000", "comma", "decimal point", ""},
	{"31I 500000 4000000", "not a latitude band", "", ""},
	{"31 up 500000 4000000", "neither", "", ""},
	{"31T 500000 3000000", "not in band T but in R", "", ""},
	{"31T 500000 4372265", "not in band T but in S", "", ""},
	{"31 north 500000 9999999", "no such northing", "", ""},
	{"31 south 500000 0", "no such northing", "", ""},
	{"A 2100000 2000000", "zone A", "2000000", ""},
	{"Z 2100000 900000", "outside UPS", "", ""},
	{"n 2100000,5 1900000", "comma", "", ""},
	{"31T 368 743 4 725 047", "not a whole UTM", "blanks within a number", ""},
	{"31T 368'743 4'725'047", "not a whole UTM", "31T 368743 4725047", ""},
	{"368743 4725047", "without their zone", "31 north", ""},
	{"368743E 4725047N", "without their zone", "", ""},
	{"31T south 368743 4725047", "band T does not lie in the south", "leave one", ""},
	{"31T", "zone alone", "31T CH", ""},

	// MGRS
	{"32TMS9995000", "odd number", "", ""},
	{"32TMS 999 50000", "different numbers", "", ""},
	{"32TIO1234512345", "I and O", "", ""},
	{"61TCH", "1 to 60", "", ""},
	{"31ACH", "not a latitude band", "", ""},
	{"32XMG", "no zone 32X", "31, 33, 35 and 37", ""},
	{"31TAZ", "no square AZ", "", ""},
	{"31TJH", "no square JH", "ABCDEFGH", ""},
	{"31PCH6874325047", "does not lie in band P", "", ""},
	{"31TCH" + strings.Repeat("1", 18), "more digits", "", ""},
	{"ZMA", "no square MA", "", ""},
	{"YAA", "no square AA", "", ""},
	{"CH 687 250", "without its zone", "31T CH 687 250", ""},
	{"SU387148", "without its zone", "national grids", ""},
}

func TestParseRefuses(t *testing.T) {
	for _, c := range bad {
		t.Run(c.text, func(t *testing.T) {
			_, err := Parse(c.text)
			var e *Error
			require.ErrorAs(t, err, &e)
			assert.Contains(t, e.Message, c.word)
			assert.Contains(t, e.Hint(), c.hint)
			assert.NotEmpty(t, e.Hint())
			_, line, column := e.Where()
			assert.Zero(t, line)
			if c.part != "" {
				assert.Equal(t, c.part, e.Offending())
				require.Positive(t, column)
				assert.Equal(t, c.part, string([]rune(c.text)[column-1:][:utf8.RuneCountInString(c.part)]), "column %d", column)
			}
		})
	}
}

func TestErrorText(t *testing.T) {
	_, err := Parse("  46°, €7")
	var e *Error
	require.ErrorAs(t, err, &e)
	assert.Equal(t, `position "46°, €7": "€" has no place in a position`, e.Error())
	_, _, column := e.Where()
	assert.Equal(t, 8, column, "columns count characters of the text as given")
	assert.False(t, errors.Is(err, ErrOffEarth))
}

// FuzzParse: no text makes it panic, a position is one, an error says what to
// do, and what is written back reads as the same position.
func FuzzParse(f *testing.F) {
	for _, c := range good {
		f.Add(c.text)
	}
	for _, c := range bad {
		f.Add(c.text)
	}
	for _, s := range []string{"31T CH 68743 25047", "ZBA1577643401", "31T 368743 4725047", "Z 2115776 1343401", "B2000000 1000000", "4QFJ1234567890", "MGRS 33UXP", "45.5 -110.5 (NAD27)", "31S ED50", "368743E 4725047N 31T"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		pos, err := Parse(s)
		if err != nil {
			var e *Error
			if !errors.As(err, &e) || e.Hint() == "" || e.Message == "" {
				t.Fatalf("%q: error without a hint: %v", s, err)
			}
			if _, _, column := e.Where(); column < 0 || column > utf8.RuneCountInString(s)+1 {
				t.Fatalf("%q: column %d", s, column)
			}
			return
		}
		p := pos.Point
		if !(math.Abs(p.Lat()) <= 90 && math.Abs(p.Lon()) <= 180) {
			t.Fatalf("%q: %v is off the earth", s, p)
		}
		for written, withinM := range map[string]float64{Decimal(p): 0.8, DMS(p): 2.3, DDM(p): 1.4, MGRS(p, 5): 0.8} {
			back, err := Parse(written)
			if err != nil {
				t.Fatalf("%q: written back as %q: %v", s, written, err)
			}
			if d, _, _ := earth.Inverse(p, back.Point); !(d <= withinM) {
				t.Fatalf("%q: written back as %q, %.3f m away", s, written, d)
			}
		}
	})
}
