package coord

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"github.com/golang/geo/s1"
	"github.com/golang/geo/s2"
	"github.com/paulmach/orb"
	"github.com/tzneal/coordconv"

	"farhail/geo/earth"
)

// UPS is a position in the universal polar stereographic grid.
//
// Source: NGA.SIG.0012_2.0.0_UTMUPS (2014), section 4.
type UPS struct {
	Letter         string  // A, B in the south, Y, Z in the north; A and Y west of the pole's meridian
	Hemisphere     string  // "north" or "south"
	EastingM       float64 // [m], 2000 km at the pole
	NorthingM      float64 // [m], 2000 km at the pole
	ConvergenceDeg float64 // [degrees], positive where grid north lies east of true
	Scale          float64 // point scale [1]
}

// UPSOf returns the UPS coordinates of a position from 84 N up or south of 80 S.
// They are right to 10 nanometres. The error is ErrNotPolar elsewhere, ErrOffEarth
// for no position.
func UPSOf(p orb.Point) (UPS, error) {
	switch {
	case !onEarth(p):
		return UPS{}, ErrOffEarth
	case inUTM(p.Lat()):
		return UPS{}, ErrNotPolar
	}
	lon := earth.Wrap180(p.Lon())
	c, err := upsConverter().ConvertFromGeodetic(s2.LatLng{Lat: s1.Angle(p.Lat()) * s1.Degree, Lng: s1.Angle(lon) * s1.Degree})
	if err != nil {
		return UPS{}, err
	}
	south := p.Lat() < 0
	u := UPS{
		Letter:         upsLetter(south, c.Easting+cutPlayM),
		Hemisphere:     hemisphere(south),
		EastingM:       c.Easting,
		NorthingM:      c.Northing,
		ConvergenceDeg: lon,
		Scale:          upsScale,
	}
	if south {
		u.ConvergenceDeg = earth.Wrap180(-lon)
	}
	// The scale is the grid's circle around the pole over the parallel
	// (Snyder 1987, (21-32), p. 161, from memory).
	eastM, _ := earth.MetresPerDegree(p.Lat())
	ρ, parallel := math.Hypot(c.Easting-upsFalseM, c.Northing-upsFalseM), eastM*180/math.Pi
	if ρ > 1 { // within a metre of the pole the ratio loses its figures
		u.Scale = ρ / parallel
	}
	return u, nil
}

const (
	upsScale  = 0.994 // at the pole
	upsFalseM = 2000e3
)

func upsLetter(south bool, easting float64) string {
	i := 0
	if easting >= upsFalseM {
		i++
	}
	if !south {
		i += 2
	}
	return "ABYZ"[i : i+1]
}

// upsConverter makes a converter for one use: it notes the last pole in itself,
// so that two goroutines must not share one.
func upsConverter() *coordconv.UPS {
	c, err := coordconv.NewUPS(earth.SemiMajorM, earth.Flattening)
	if err != nil {
		panic("coord: " + err.Error()) // the constants of WGS84 are in range
	}
	return c
}

// fromUPS returns the position at UPS coordinates; ok is false outside UPS.
func fromUPS(south bool, easting, northing float64) (p orb.Point, ok bool) {
	half := coordconv.HemisphereNorth
	if south {
		half = coordconv.HemisphereSouth
	}
	ll, err := upsConverter().ConvertToGeodetic(coordconv.UPSCoord{Hemisphere: half, Easting: easting, Northing: northing})
	if err != nil {
		return orb.Point{}, false
	}
	return orb.Point{earth.Wrap180(ll.Lng.Degrees()), ll.Lat.Degrees()}, true
}

// upsPattern is a polar letter or half, easting and northing.
var upsPattern = regexp.MustCompile(`^(?i:UPS\s+)?(?i:([ABYZ])|(north|south|[ns]))\s*,?\s*(\d{6,7}(?:[.,]\d+)?)\s*(?i:mE|m|E)?\s*,?\s+(\d{6,7}(?:[.,]\d+)?)\s*(?i:mN|m|N)?$`)

// readUPS reads a position in UPS; ours is false when it is none.
func readUPS(t written) (pos Position, ours bool, err error) {
	m := upsPattern.FindStringSubmatch(string(t.plain))
	if m == nil {
		return Position{}, false, nil
	}
	if strings.Contains(m[3]+m[4], ",") {
		return Position{}, true, t.refuse("a comma in a grid coordinate", "write a decimal point, and thousands without a mark")
	}
	letter := strings.ToUpper(m[1])
	south := letter == "A" || letter == "B" || strings.HasPrefix(strings.ToLower(m[2]), "s")
	easting, _ := strconv.ParseFloat(m[3], 64)
	northing, _ := strconv.ParseFloat(m[4], 64)
	if letter != "" && letter != upsLetter(south, easting) {
		return Position{}, true, t.refuse("an easting that is not in the zone "+letter, "A and Y lie below 2000000 m, B and Z from there up")
	}
	p, ok := fromUPS(south, easting, northing)
	if !ok || inUTM(p.Lat()) && !nearLimit(p.Lat()) {
		return Position{}, true, t.refuse("outside UPS, which covers the poles from 84 N and from 80 S", "write the position in UTM")
	}
	return Position{Point: p, Notation: NotationUPS}, true, nil
}

// nearLimit allows for coordinates cut to whole metres at the edge of UPS.
func nearLimit(lat float64) bool {
	return math.Abs(lat-84) < 0.001 || math.Abs(lat+80) < 0.001
}
