package coord

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"

	"github.com/golang/geo/s2"
	"github.com/paulmach/orb"
	"github.com/tzneal/coordconv"

	"farhail/geo/earth"
)

// WGS84 is the datum of every position of this program.
const WGS84 = "WGS84"

// A datum is where a map has its ellipsoid. Old ones lie up to 500 m from WGS84.
type datum struct {
	name   string
	also   []string // other spellings, as spelling gives them
	a, f   float64  // its ellipsoid: semi-major axis [m] and flattening; 0 for WGS84's own
	shifts []shift
}

// A shift takes the positions of an area from a datum to WGS84 by moving the
// ellipsoid's centre.
type shift struct {
	x, y, z                  float64 // [m]
	errorM                   float64 // stated accuracy [m]
	operation                int     // EPSG code
	south, north, west, east float64 // bounds of its area of use [degrees]
}

const (
	clarke1866A, clarke1866F = 6378206.4, 1 / 294.978698213898
	international1924A       = 6378388.0
	international1924F       = 1 / 297.0
	airy1830A, airy1830F     = 6377563.396, 1 / 299.3249646
	bessel1841A, bessel1841F = 6377397.155, 1 / 299.1528128
	australianA              = 6378160.0
	australianF              = 1 / 298.25
	everywhere               = 360.0
)

// datums are the ones that can be read. Those of satellite age lie within the
// accuracy that EPSG states of WGS84 and are taken for it; for the others there
// is a shift by three parameters, found by comparing stations on both, mostly by
// the US military (NIMA TR8350.2). Areas are EPSG's bounding boxes.
//
// Source: EPSG Geodetic Parameter Dataset, operations by code, read with PROJ's
// copy of it.
var datums = []datum{
	{name: WGS84, also: []string{"WGS1984", "EPSG4326", "WGS"}},
	{name: "ETRS89", also: []string{"EUREF89", "EPSG4258"}, shifts: same(1, 1149)},
	{name: "NAD83", also: []string{"NORTHAMERICAN1983", "EPSG4269"}, shifts: same(4, 1188)},
	{name: "GDA94", also: []string{"GDA1994"}, shifts: same(3, 1150)},
	{name: "GDA2020", shifts: same(3, 8450)},
	{name: "NZGD2000", also: []string{"NZGD00"}, shifts: same(1, 1565)},
	{name: "SIRGAS2000", shifts: same(1, 15894)},
	{name: "JGD2000", shifts: same(1, 1826)},
	{name: "JGD2011", shifts: same(1, 9936)},
	{name: "RGF93", shifts: same(1, 1671)},
	{name: "NAD27", also: []string{"NAD1927", "NORTHAMERICAN1927", "EPSG4267"}, a: clarke1866A, f: clarke1866F, shifts: []shift{
		{-8, 160, 176, 10, 1173, 24.41, 49.38, -124.79, -66.91},  // United States without Alaska
		{-5, 135, 172, 12, 1176, 54.34, 71.4, -168.26, -129.99},  // Alaska
		{-10, 158, 187, 20, 1172, 40, 83.17, -141.01, -44},       // Canada
		{-12, 130, 190, 12, 1187, 14.51, 32.72, -118.47, -86.68}, // Mexico
	}},
	{name: "ED50", also: []string{"EUROPEAN1950", "ED1950", "EPSG4230"}, a: international1924A, f: international1924F, shifts: []shift{
		{-87, -98, -121, 10, 1133, 34.88, 71.21, -9.56, 31.59},
	}},
	{name: "OSGB36", also: []string{"OSGB1936", "OSGB", "EPSG4277"}, a: airy1830A, f: airy1830F, shifts: []shift{
		{375, -111, 431, 21, 1195, 49.79, 60.94, -8.82, 1.92},
	}},
	{name: "Tokyo", also: []string{"EPSG4301"}, a: bessel1841A, f: bessel1841F, shifts: []shift{
		{-148, 507, 685, 29, 1230, 20.37, 45.54, 122.83, 145.87},
	}},
	{name: "AGD66", also: []string{"AGD1966"}, a: australianA, f: australianF, shifts: []shift{
		{-128, -52, 153, 9, 6905, -43.7, -9.86, 112.85, 153.69},
	}},
	{name: "AGD84", also: []string{"AGD1984"}, a: australianA, f: australianF, shifts: []shift{
		{-134, -48, 149, 4, 1109, -38.53, -9.37, 109.23, 153.61},
	}},
	{name: "NZGD49", also: []string{"NZGD1949"}, a: international1924A, f: international1924F, shifts: []shift{
		{84, -22, 209, 8, 1151, -47.65, -33.89, 165.87, 179.27},
	}},
	{name: "SAD69", also: []string{"SAD1969"}, a: australianA, f: australianF, shifts: []shift{
		{-57, 1, -41, 19, 1864, -45, 12.52, -81.41, -34.74},
	}},
}

// otherDatums are known by name and refused: their shifts are not at hand, are
// not by three parameters, or their accuracy is not stated.
var otherDatums = []string{
	"PULKOVO1942", "PULKOVO", "SK42", "CH1903", "CH1903PLUS", "LV03", "LV95", "DHDN", "POTSDAM", "MGI", "NTF", "ROME40", "MONTEMARIO",
	"SJTSK", "BD72", "AMERSFOORT", "RT90", "KKJ", "NGO1948", "DATUM73", "LISBON", "TM65", "TM75", "PSAD56", "ARC1950", "ARC1960", "CAPE",
	"INDIAN1960", "INDIAN1975", "KERTAU", "LUZON1911", "HONGKONG1980", "HU-TZU-SHAN", "OLDHAWAIIAN", "PUERTORICO", "ADINDAN", "EGYPT1907",
	"AINELABD", "CHATHAM1971", "GCJ02", "BD09", "ED79", "ED87",
}

// same is the shift of a datum that is taken for WGS84.
func same(errorM float64, operation int) []shift {
	return []shift{{0, 0, 0, errorM, operation, -90, 90, -everywhere, everywhere}}
}

// modern reports whether positions on the datum are taken for WGS84.
func (d *datum) modern() bool { return d.a == 0 }

// spelling brings the name of a datum to its letters and figures.
func spelling(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToUpper(r)
		}
		return -1
	}, strings.ReplaceAll(s, "+", "PLUS"))
}

// datumNamed finds a datum by its name; known is also true for one that is
// refused.
func datumNamed(name string) (d *datum, known bool) {
	key := spelling(name)
	for i := range datums {
		if key == spelling(datums[i].name) || slices.Contains(datums[i].also, key) {
			return &datums[i], true
		}
	}
	return nil, key != "" && slices.ContainsFunc(otherDatums, func(s string) bool { return spelling(s) == key })
}

// Datums names the datums that ParseOn shifts from or takes for WGS84.
func Datums() []string {
	names := make([]string, len(datums))
	for i, d := range datums {
		names[i] = d.name
	}
	return names
}

// toWGS84 shifts a position; ok is false outside the areas of the datum. Where
// areas overlap the first shift is taken and the largest error stated.
//
// Source: IOGP Publication 373-7-2, geographic/geocentric conversions and
// geocentric translations (EPSG methods 9602, 9603), from memory. Heights, which
// nobody gives, are taken for 0: 1000 m of height move the result by a
// centimetre.
func (d *datum) toWGS84(p orb.Point) (q orb.Point, used shift, ok bool) {
	for _, s := range d.shifts {
		if p.Lat() < s.south || p.Lat() > s.north || p.Lon() < s.west || p.Lon() > s.east {
			continue
		}
		if !ok {
			used, ok = s, true
		}
		used.errorM = max(used.errorM, s.errorM)
	}
	if !ok || d.modern() {
		return p, used, ok || d.name == WGS84
	}
	sinφ, cosφ := math.Sincos(p.Lat() * math.Pi / 180)
	sinλ, cosλ := math.Sincos(p.Lon() * math.Pi / 180)
	e2 := d.f * (2 - d.f)
	ν := d.a / math.Sqrt(1-e2*sinφ*sinφ)
	x := ν*cosφ*cosλ + used.x
	y := ν*cosφ*sinλ + used.y
	z := (1-e2)*ν*sinφ + used.z

	// Bowring's solution for the latitude, as the guidance note gives it.
	const a, f = earth.SemiMajorM, earth.Flattening
	const b, ε2 = a * (1 - f), f * (2 - f)
	r := math.Hypot(x, y)
	sinβ, cosβ := math.Sincos(math.Atan2(z*a, r*b))
	φ := math.Atan2(z+ε2/(1-ε2)*b*sinβ*sinβ*sinβ, r-ε2*a*cosβ*cosβ*cosβ)
	return orb.Point{math.Atan2(y, x) * 180 / math.Pi, φ * 180 / math.Pi}, used, true
}

// fromUTM returns the position on the datum, not on WGS84, at coordinates of its
// own UTM grid; NaN outside the grid.
func (d *datum) fromUTM(zone int, south bool, easting, northing float64) orb.Point {
	if d == nil || d.modern() {
		return earth.UTM(zone, south).Inverse(easting, northing)
	}
	nan := orb.Point{math.NaN(), math.NaN()}
	grid, err := coordconv.NewUTM2(d.a, d.f, "ellipsoid", 0)
	if err != nil {
		return nan
	}
	c := coordconv.UTMCoord{Zone: zone, Hemisphere: coordconv.HemisphereNorth, Easting: easting, Northing: northing}
	if south {
		c.Hemisphere = coordconv.HemisphereSouth
	}
	var ll s2.LatLng
	if ll, err = grid.ConvertToGeodetic(c); err != nil {
		return nan
	}
	return orb.Point{ll.Lng.Degrees(), ll.Lat.Degrees()}
}

// cutDatum takes the name of a datum off the end or the beginning of a text:
// "45.5 -110.5 (NAD27)", "WGS 84: 45.5, -110.5".
func cutDatum(t written) (rest written, name string) {
	words := fieldsOf(t.plain)
	part := func(from, to int) string { return string(t.plain[words[from][0]:words[to-1][1]]) }
	for n := min(4, len(words)-1); n > 0; n-- {
		last := len(words) - n
		if name := part(last, len(words)); isDatum(name) {
			return t.inner(0, words[last][0]), bare(name)
		}
		if name := part(0, n); isDatum(name) {
			return t.inner(words[n][0], len(t.plain)), bare(name)
		}
	}
	return t, ""
}

func isDatum(text string) bool {
	_, known := datumNamed(bare(text))
	return known
}

// bare takes the word datum and the marks around a name away.
func bare(text string) string {
	text = strings.Trim(text, " ,;:()[]")
	for _, word := range []string{"datum", "on"} {
		if n := len(word); len(text) > n && strings.EqualFold(text[:n], word) && !isLetterOrDigit(rune(text[n])) {
			text = text[n:]
		}
		if n := len(text) - len(word); n > 0 && strings.EqualFold(text[n:], word) && !isLetterOrDigit(rune(text[n-1])) {
			text = text[:n]
		}
	}
	return strings.Trim(text, " ,;:()[]")
}

func isLetterOrDigit(r rune) bool { return isLetter(r) || isDigit(r) }

// fieldsOf returns where the words between blanks begin and end.
func fieldsOf(r []rune) (words [][2]int) {
	for i := 0; i < len(r); i++ {
		if r[i] == ' ' {
			continue
		}
		start := i
		for i < len(r) && r[i] != ' ' {
			i++
		}
		words = append(words, [2]int{start, i})
	}
	return words
}

// onWGS84 brings a position as read on a datum to WGS84.
func (t written) onWGS84(pos Position, d *datum) (Position, error) {
	q, used, ok := d.toWGS84(pos.Point)
	if !ok {
		return Position{}, t.refuse(fmt.Sprintf("%s lies outside the area of %s", Decimal(pos.Point), d.name), "check the order and the letters, or the datum")
	}
	pos.Point, pos.Datum, pos.DatumErrorM = q, d.name, used.errorM
	if used.operation != 0 {
		pos.Shift = fmt.Sprintf("EPSG:%d", used.operation)
	}
	return pos, nil
}
