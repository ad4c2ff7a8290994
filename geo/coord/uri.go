package coord

import (
	"regexp"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
)

// uriPattern is a geo URI, which telephones hand on: geo:42.6667,1.3983;u=35.
//
// Source: RFC 5870 (2010), section 3.3.
var uriPattern = regexp.MustCompile(`^(?i:geo):(-?\d+(?:\.\d+)?),(-?\d+(?:\.\d+)?)(?:,-?\d+(?:\.\d+)?)?([;?].*)?$`)

// readURI reads a geo URI; ours is false when it is none. A third number is the
// height, which is left out.
func readURI(t written) (pos Position, ours bool, err error) {
	m := uriPattern.FindStringSubmatch(string(t.plain))
	if m == nil {
		return Position{}, false, nil
	}
	for _, p := range strings.Split(strings.ToLower(m[3]), ";") {
		if crs, ok := strings.CutPrefix(p, "crs="); ok && crs != "wgs84" {
			return Position{}, true, t.refuse("a geo URI that is not on WGS84", "convert it to WGS84 first")
		}
	}
	lat, _ := strconv.ParseFloat(m[1], 64) // the pattern lets through numbers only
	lon, _ := strconv.ParseFloat(m[2], 64)
	if lat < -90 || lat > 90 || lon < -180 || lon > 180 {
		return Position{}, true, t.refuse("a geo URI of a place that is not on earth", "it has the latitude first, within 90, then the longitude, within 180")
	}
	return Position{Point: orb.Point{lon + 0, lat + 0}, Notation: NotationDecimal}, true, nil
}
