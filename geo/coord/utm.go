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

// UTM is a position in the universal transverse Mercator grid.
//
// Source: NGA.SIG.0012_2.0.0_UTMUPS (2014), sections 3 and 5.
type UTM struct {
	Zone           int
	Band           string  // latitude band, C to X without I and O
	Hemisphere     string  // "north" or "south", which decides the false northing
	EastingM       float64 // [m], 500 km on the central meridian
	NorthingM      float64 // [m], from the equator, 10 000 km added in the south
	ConvergenceDeg float64 // [degrees], positive where grid north lies east of true
	Scale          float64 // point scale [1], grid length over ground length
}

// bands are the letters of the latitude bands, 8 degrees each from 80 S; X has 12.
const bands = "CDEFGHJKLMNPQRSTUVWX"

// bandOf returns the latitude band of a latitude of -80 to under 84.
func bandOf(lat float64) byte {
	i := min(int((lat+80)/8), len(bands)-1)
	if lat < 0 {
		i = min(i, strings.IndexByte(bands, 'M')) // -1e-20 + 80 is 80
	}
	return bands[i]
}

// bandLimits returns the latitudes between which a band lies; ok is false for a
// letter that is no band.
func bandLimits(band byte) (south, north float64, ok bool) {
	i := strings.IndexByte(bands, band)
	if i < 0 {
		return 0, 0, false
	}
	south = float64(8*i - 80)
	north = south + 8
	if band == 'X' {
		north = 84
	}
	return south, north, true
}

// inUTM reports whether a latitude belongs to UTM: 80 S does, 84 N does not.
func inUTM(lat float64) bool { return lat >= -80 && lat < 84 }

// zoneOf returns the UTM zone of a position in UTM, with the wide zones of
// south-western Norway and Svalbard.
func zoneOf(p orb.Point) int {
	lon := earth.Wrap180(p.Lon())
	zone := int(math.Floor((lon+180)/6)) + 1
	switch lat := p.Lat(); {
	case lat >= 56 && lat < 64 && lon >= 3 && lon < 12:
		return 32
	case lat >= 72 && lon >= 0 && lon < 42:
		switch {
		case lon < 9:
			return 31
		case lon < 21:
			return 33
		case lon < 33:
			return 35
		}
		return 37
	}
	return zone
}

// maxZoneDeg is how far from a zone's central meridian a position may be put on
// its grid [degrees of longitude]: the next zone and the wide ones of Svalbard
// are within it. Own choice; the scale is then within 2.3 % everywhere.
const maxZoneDeg = 12

// UTMOf returns the UTM coordinates of a position in its own zone, or in
// forceZone when that is not 0: so one grid serves a search that lies across a
// zone's edge. They are right to 10 nanometres.
//
// The error is ErrPolar from 84 N up and south of 80 S, ErrZoneFar more than 12
// degrees from the central meridian of forceZone or when there is no such zone,
// ErrOffEarth for no position.
func UTMOf(p orb.Point, forceZone int) (UTM, error) {
	switch {
	case !onEarth(p):
		return UTM{}, ErrOffEarth
	case !inUTM(p.Lat()):
		return UTM{}, ErrPolar
	}
	zone := zoneOf(p)
	if forceZone != 0 {
		if forceZone < 1 || forceZone > 60 || math.Abs(earth.Wrap180(p.Lon()-centralMeridian(forceZone))) > maxZoneDeg {
			return UTM{}, fmt.Errorf("%w: zone %d", ErrZoneFar, forceZone)
		}
		zone = forceZone
	}
	south := p.Lat() < 0
	tm := earth.UTM(zone, south)
	u := UTM{
		Zone:           zone,
		Band:           string(bandOf(p.Lat())),
		Hemisphere:     hemisphere(south),
		ConvergenceDeg: tm.ConvergenceDeg(p),
		Scale:          tm.Scale(p),
	}
	u.EastingM, u.NorthingM = tm.Forward(p)
	return u, nil
}

func centralMeridian(zone int) float64 { return float64(6*zone - 183) }

func hemisphere(south bool) string {
	if south {
		return "south"
	}
	return "north"
}

const exampleUTM = "write it like 31T 368743 4725047 or 31 north 368743 4725047"

// The forms of UTM: a zone with its band letter or half or both, easting and
// northing, each in front of or behind the other two. Five digits of easting tell
// it from degrees.
const (
	utmZone     = `(?:(?i:UTM|zone)[\s:]*)*(?P<zone>\d{1,2})\s*(?P<band>\pL+?)(?:\s+(?P<half>(?i:north|south)))?`
	utmEasting  = `(?:E:?\s*)?(?P<easting>\d{5,7}(?:[.,]\d+)?)\s*(?i:m\s*E|m|E)?`
	utmNorthing = `(?:N:?\s*)?(?P<northing>\d{1,8}(?:[.,]\d+)?)\s*(?i:m\s*N|m|N)?`
	marked      = `(?P<northing>\d{1,8}(?:\.\d+)?)\s*(?i:m?\s*N)[\s,;]+(?P<easting>\d{5,7}(?:\.\d+)?)\s*(?i:m?\s*E)`
)

var utmPatterns = []*regexp.Regexp{
	regexp.MustCompile(`^` + utmZone + `[\s,:;]*` + utmEasting + `(?:\s*[,;/]\s*|\s+)` + utmNorthing + `$`),
	regexp.MustCompile(`^(?:UTM[\s:]*)?` + utmEasting + `(?:\s*[,;/]\s*|\s+)` + utmNorthing + `[\s,;]+` + utmZone + `$`),
	regexp.MustCompile(`^` + utmZone + `[\s,:;]+` + marked + `$`),
	regexp.MustCompile(`^` + marked + `[\s,;]+` + utmZone + `$`),
}

// readUTM reads a position in UTM; ours is false when it is none.
func readUTM(t written) (pos Position, ours bool, err error) {
	var m []string
	var at func(name string) string
	for _, p := range utmPatterns {
		if m = p.FindStringSubmatch(string(t.plain)); m != nil {
			at = func(name string) string { return m[p.SubexpIndex(name)] }
			break
		}
	}
	if m == nil {
		return Position{}, false, nil
	}
	fail := func(message, advice string) (Position, bool, error) {
		return Position{}, true, t.refuse(message, advice)
	}
	if strings.Contains(at("easting")+at("northing"), ",") {
		return fail("a comma in a grid coordinate", "write a decimal point, and thousands without a mark")
	}
	zone, _ := strconv.Atoi(at("zone"))
	if zone < 1 || zone > 60 {
		return fail("UTM zones run from 1 to 60", exampleUTM)
	}
	easting, _ := strconv.ParseFloat(at("easting"), 64)
	northing, _ := strconv.ParseFloat(at("northing"), 64)
	if easting < 100e3 || easting >= 1000e3 {
		return fail("an easting in UTM lies between 100000 and 999999", exampleUTM)
	}
	if northing > 10e6 {
		return fail("a northing in UTM is at most 10000000", exampleUTM)
	}
	band, south, err := t.bandOrHalf(at("band"), at("half"), zone, easting, northing, at("easting")+" "+at("northing"))
	if err != nil {
		return Position{}, true, err
	}
	p := t.datum.fromUTM(zone, south, easting, northing)
	if !inUTM(p.Lat()) || south != (p.Lat() < 0) && p.Lat() != 0 {
		return fail("there is no such northing in UTM, which runs from 80 S to 84 N", exampleUTM)
	}
	if band != 0 {
		// A thousandth of a degree of play: coordinates cut to whole metres may
		// fall just outside their band.
		s, n, _ := bandLimits(band)
		if p.Lat() < s-0.001 || p.Lat() > n+0.001 {
			return fail(fmt.Sprintf("northing %s is not in band %c but in %c", at("northing"), band, bandOf(p.Lat())), "check the band letter, or write north or south instead")
		}
	}
	return Position{Point: p, Notation: NotationUTM}, true, nil
}

// bandOrHalf reads what stands behind a zone: a latitude band or the word for
// its half, or both, which then must agree. The band is 0 for the half alone.
func (t written) bandOrHalf(word, half string, zone int, easting, northing float64, numbers string) (band byte, south bool, err error) {
	word = strings.ToUpper(word)
	letter := hemispheres[strings.ToLower(word)]
	switch {
	case half == "" && word == "S":
		return 0, false, ambiguousS(t, zone, easting, northing, numbers)
	case half == "" && (letter == 'N' || letter == 'S'):
		return 0, letter == 'S', nil
	case half != "" && (word == "N" || word == "S") && word[0] == strings.ToUpper(half)[0]:
		return 0, word == "S", nil // 31N north
	case len(word) != 1:
		return 0, false, t.refuse(fmt.Sprintf("%q is neither a latitude band nor north or south", word), exampleUTM)
	}
	limit, _, ok := bandLimits(word[0])
	switch south = limit < 0; {
	case !ok:
		return 0, false, t.refuse(fmt.Sprintf("%s is not a latitude band", word), "bands run from C to X without I and O; or write north or south")
	case half != "" && south != strings.EqualFold(half, "south"):
		return 0, false, t.refuse(fmt.Sprintf("band %s does not lie in the %s", word, half), "leave one of them out")
	}
	return word[0], south, nil
}

// ambiguousS refuses the letter S, which is a band of the northern half and what
// many write for south, and names both readings.
func ambiguousS(t written, zone int, easting, northing float64, numbers string) error {
	south := earth.UTM(zone, true).Inverse(easting, northing)
	north := earth.UTM(zone, false).Inverse(easting, northing)
	asSouth := fmt.Sprintf("%d south %s", zone, numbers)
	if inUTM(south.Lat()) {
		asSouth = fmt.Sprintf("%d%c %s", zone, bandOf(south.Lat()), numbers)
	}
	message, advice := "S can be latitude band S (32 to 40 N) or south", ""
	if s, n, _ := bandLimits('S'); north.Lat() >= s && north.Lat() < n {
		message += fmt.Sprintf(": %s or %s", Decimal(north), Decimal(south))
		advice = fmt.Sprintf("write %d north %s or %s", zone, numbers, asSouth)
	} else {
		message += ", and this northing is not in band S"
		advice = fmt.Sprintf("write %s if south is meant: %s", asSouth, Decimal(south))
	}
	return t.refuse(message, advice)
}
