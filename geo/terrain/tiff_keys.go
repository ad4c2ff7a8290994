package terrain

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"farhail/geo/grid"
)

// GeoTIFF keys that are read (GeoTIFF 1.1, section 7 and annex).
const (
	keyModelType      = 1024 // 1 projected, 2 geographic
	keyRasterType     = 1025 // 1 a cell is an area, 2 a point
	keyCitation       = 1026
	keyGeographicType = 2048
	keyGeogCitation   = 2049
	keySemiMajor      = 2057
	keyInvFlattening  = 2059
	keyProjectedType  = 3072
	keyPCSCitation    = 3073
	keyProjection     = 3074
	keyTransformation = 3075 // 1 transverse Mercator
	keyLinearUnits    = 3076
	keyNatOriginLon   = 3080
	keyNatOriginLat   = 3081
	keyFalseEasting   = 3082
	keyFalseNorthing  = 3083
	keyCenterLon      = 3088
	keyCenterLat      = 3089
	keyScaleNatOrigin = 3092
	keyVerticalType   = 4096
	keyVerticalUnits  = 4099
)

const userDefined = 32767

// notStated stands where a file does not say what it could.
const notStated = "unknown"

// geoKeys are the file's keys: numbers as float64, texts as string.
type geoKeys map[int64]any

func (d *directory) geoKeys() (geoKeys, error) {
	keys := geoKeys{}
	list, err := d.uints(tagGeoKeys)
	if err != nil || list == nil {
		return keys, err
	}
	doubles, err := d.floats(tagGeoDoubles)
	if err != nil {
		return nil, err
	}
	text, err := d.text(tagGeoASCII)
	if err != nil {
		return nil, err
	}
	at := d.fields[tagGeoKeys].at
	if len(list) < 4 || int64(len(list)) < 4+4*list[3] {
		return nil, malformed(d.src.name, at, "the GeoTIFF keys end too early")
	}
	for i := range list[3] {
		k := list[4+4*i:]
		id, where, count, value := k[0], k[1], k[2], k[3]
		switch where {
		case 0:
			keys[id] = float64(value)
		case tagGeoDoubles:
			if value+count > int64(len(doubles)) || count < 1 {
				return nil, malformed(d.src.name, at+8+8*i, "GeoTIFF key %d lies outside the list of numbers", id)
			}
			keys[id] = doubles[value]
		case tagGeoASCII:
			if value > int64(len(text)) {
				return nil, malformed(d.src.name, at+8+8*i, "GeoTIFF key %d lies outside the texts", id)
			}
			keys[id] = strings.TrimRight(text[value:min(value+count, int64(len(text)))], "|")
		}
	}
	return keys, nil
}

// number returns a key's number, NaN where it has none.
func (k geoKeys) number(id int64) float64 {
	if v, ok := k[id].(float64); ok {
		return v
	}
	return math.NaN()
}

// code returns a key's code, 0 where it is absent or user-defined.
func (k geoKeys) code(id int64) int {
	if v := k.number(id); v > 0 && v != userDefined {
		return int(v)
	}
	return 0
}

// model returns 1 for projected and 2 for geographic coordinates, also where the
// key is user-defined, as beside texts of ESRI's, or absent but a code is there.
func (k geoKeys) model() float64 {
	switch m := k.number(keyModelType); {
	case m == 1 || m == 2:
		return m
	case !math.IsNaN(m) && m != userDefined:
	case k.code(keyProjectedType) != 0:
		return 1
	case k.code(keyGeographicType) != 0:
		return 2
	}
	return 0
}

// crs returns the coordinates that the keys name and a note where they are not
// quite WGS84.
func (k geoKeys) crs() (crs grid.CRS, note string, ok bool) {
	switch k.model() {
	case 2:
		crs, note, ok = crsFromCode(k.code(keyGeographicType))
		if !ok && k.code(keyGeographicType) == 0 && k.ellipsoidLikeWGS84() {
			return grid.CRS{}, "the file defines its own datum on the WGS84 or GRS80 ellipsoid; taken as WGS84", true
		}
		return crs, note, ok && crs.LonLat()
	case 1:
		if unit := k.code(keyLinearUnits); unit != 0 && unit != 9001 {
			return crs, "", false
		}
		if code := k.code(keyProjectedType); code != 0 {
			crs, note, ok = crsFromCode(code)
			return crs, note, ok && !crs.LonLat()
		}
		if crs, ok = k.utm(); !ok {
			return crs, "", false
		}
		base, note, ok := crsFromCode(k.code(keyGeographicType))
		if ok && base.LonLat() {
			return crs, note, true
		}
		if k.code(keyGeographicType) == 0 && k.ellipsoidLikeWGS84() {
			return crs, "the file defines its own datum on the WGS84 or GRS80 ellipsoid; taken as WGS84", true
		}
	}
	return crs, "", false
}

// europe reports whether the coordinates are ETRS89 / LAEA Europe, EPSG:3035, by
// code or by the projection's numbers (method 10 of GeoTIFF 1.0, section 6.3.3.3).
func (k geoKeys) europe() bool {
	if k.model() != 1 {
		return false
	}
	if code := k.code(keyProjectedType); code != 0 {
		return code == 3035
	}
	return k.number(keyTransformation) == 10 && k.number(keyCenterLon) == 10 && k.number(keyCenterLat) == 52 &&
		k.number(keyFalseEasting) == 4321000 && k.number(keyFalseNorthing) == 3210000
}

// utm returns the zone that a projection code, its parameters or a citation
// give.
func (k geoKeys) utm() (grid.CRS, bool) {
	// 16001 to 16060 are the zones of the north, 16101 to 16160 of the south.
	if c := k.code(keyProjection); c > 16000 && c <= 16060 || c > 16100 && c <= 16160 {
		return grid.CRS{Zone: (c - 16000) % 100, South: c > 16100}, true
	}
	if k.number(keyTransformation) == 1 {
		zone := (k.number(keyNatOriginLon) + 183) / 6
		north := k.number(keyFalseNorthing)
		if math.Abs(k.number(keyScaleNatOrigin)-0.9996) < 1e-9 && k.number(keyFalseEasting) == 500000 && k.number(keyNatOriginLat) == 0 &&
			zone == math.Trunc(zone) && zone >= 1 && zone <= 60 && (north == 0 || north == 1e7) {
			return grid.CRS{Zone: int(zone), South: north == 1e7}, true
		}
		return grid.CRS{}, false
	}
	for _, id := range []int64{keyPCSCitation, keyCitation} {
		if s, ok := k[id].(string); ok {
			if crs, ok := utmFromText(s); ok {
				return crs, true
			}
		}
	}
	return grid.CRS{}, false
}

// ellipsoidLikeWGS84 reports whether the ellipsoid is WGS84 or GRS80, which
// differ by 0.1 mm in the polar radius.
func (k geoKeys) ellipsoidLikeWGS84() bool {
	f := k.number(keyInvFlattening)
	return k.number(keySemiMajor) == 6378137 && math.Abs(f-298.2572) < 1e-4
}

// crsFromCode returns the coordinates of an EPSG code, and a note for those
// that are not WGS84 but so near that a terrain grid cannot tell.
func crsFromCode(code int) (crs grid.CRS, note string, ok bool) {
	const (
		etrs89 = "ETRS89 taken as WGS84, which differs by less than 1 m"
		nad83  = "NAD83 taken as WGS84, which differs by less than 2 m"
	)
	switch {
	case code == 4258:
		return grid.CRS{}, etrs89, true
	case code >= 25828 && code <= 25838:
		return grid.CRS{Zone: code - 25800}, etrs89, true
	case code == 4269:
		return grid.CRS{}, nad83, true
	case code >= 26901 && code <= 26923:
		return grid.CRS{Zone: code - 26900}, nad83, true
	}
	crs, ok = grid.FromEPSG(code)
	return crs, "", ok
}

var (
	utmWords  = regexp.MustCompile(`(?i)UTM[ _]zone[ _](\d{1,2})(?:,?[ _]?(N|S|northern|southern))`)
	wgs84Word = regexp.MustCompile(`(?i)WGS[ _]?(?:19)?84|ETRS[ _]?(?:19)?89|ETRS_1989|NAD[ _]?(?:19)?83|North_American_1983`)
)

// utmFromText finds a zone in words such as "WGS 84 / UTM zone 31N".
func utmFromText(s string) (grid.CRS, bool) {
	m := utmWords.FindStringSubmatch(s)
	if m == nil {
		return grid.CRS{}, false
	}
	zone, _ := strconv.Atoi(m[1])
	return grid.CRS{Zone: zone, South: strings.EqualFold(m[2][:1], "s")}, zone >= 1 && zone <= 60
}

// crsFromWKT returns the coordinates that a .prj file names. It looks for the
// few names that matter and leaves the grammar alone.
func crsFromWKT(s string) (crs grid.CRS, note string, ok bool) {
	datum := strings.ToUpper(wgs84Word.FindString(s))
	switch {
	case datum == "":
		return crs, "", false
	case strings.HasPrefix(datum, "ETRS"):
		_, note, _ = crsFromCode(4258)
	case strings.HasPrefix(datum, "N"):
		_, note, _ = crsFromCode(4269)
	}
	if strings.Contains(strings.ToUpper(s), "PROJCS") || strings.Contains(strings.ToUpper(s), "PROJCRS") {
		crs, ok = utmFromText(s)
		return crs, note, ok
	}
	return crs, note, true
}

func warpHelp(file string) string {
	return "run: gdalwarp -t_srs EPSG:326ZZ -r bilinear " + file + " out.tif (ZZ the UTM zone, 327ZZ in the south)"
}

// verticalDatums names vertical coordinates by EPSG code (EPSG data set, compared
// with PROJ's copy).
var verticalDatums = map[int]string{
	5773: "EGM96", 3855: "EGM2008", 5798: "EGM84", 5703: "NAVD88", 6360: "NAVD88", 8228: "NAVD88", 5702: "NGVD29", 5701: "ODN", 5711: "AHD", 5720: "NGF-IGN69", 5728: "LN02",
	5730: "EVRF2000", 5621: "EVRF2007", 5782: "Alicante", 5783: "DHHN92", 7837: "DHHN2016", 7839: "NZVD2016",
}

// verticalUnits are the units of the vertical coordinates whose heights are not in
// metres, by EPSG code: the file need not name them beside the code (EPSG data
// set, compared with PROJ's copy). The British foot of 5754 is 2.5e-6 longer.
var verticalUnits = map[int]string{
	5702: "us-ft", 6360: "us-ft", 8052: "us-ft", 5754: "ft", 6130: "ft", 6131: "ft", 6132: "ft", 8050: "ft", 8228: "ft",
}

// depths are vertical coordinates that count downwards (EPSG data set, compared
// with PROJ's copy).
var depths = map[int]bool{
	5336: true, 5612: true, 5614: true, 5706: true, 5715: true, 5734: true, 5739: true, 5789: true, 5831: true, 5861: true, 5862: true, 5863: true,
	5864: true, 5865: true, 5866: true, 5867: true, 5873: true, 6357: true, 6358: true, 6359: true, 7976: true, 8051: true, 8053: true, 8358: true,
	9287: true, 9288: true, 9672: true,
}

// datumAndUnit reads the vertical keys: the datum's name and the metres of the
// heights' unit.
func (k geoKeys) datumAndUnit(file string) (datum string, s scale, err error) {
	datum, s = notStated, plainMetres
	if code := k.code(keyVerticalType); code != 0 {
		if datum = verticalDatums[code]; datum == "" {
			datum = fmt.Sprintf("EPSG:%d", code)
		}
		if depths[code] {
			return "", s, unsupported(file, "turn them into heights: gdal_calc.py -A "+file+" --calc=-A --outfile=out.tif", "depths that count downwards (EPSG:%d), not heights", code)
		}
		if unit := verticalUnits[code]; unit != "" {
			s.unitM, _ = unitMetres(unit)
			s.unit = "ft"
		}
	}
	if unit := k.code(keyVerticalUnits); unit != 0 && unit != 9001 {
		var ok bool
		if s.unitM, ok = unitMetres(fmt.Sprint(unit)); !ok {
			return "", s, unsupported(file, "convert the heights to metres first", "heights in a unit with code %d", unit)
		}
		s.unit = "ft"
	}
	return datum, s, nil
}

// unitMetres returns the length of a height unit [m] by EPSG code or name.
// The US survey foot is 1200/3937 m (EPSG 9003).
func unitMetres(name string) (float64, bool) {
	switch strings.ToLower(name) {
	case "", "m", "metre", "meter", "metres", "meters", "9001":
		return 1, true
	case "ft", "foot", "feet", "9002":
		return 0.3048, true
	case "us-ft", "us survey foot", "9003":
		return 1200.0 / 3937, true
	}
	return 0, false
}
