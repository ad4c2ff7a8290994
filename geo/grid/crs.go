package grid

import "fmt"

// CRS names the coordinates of a grid: WGS84 longitude and latitude in degrees
// where Zone is 0 (the zero value), else the UTM zone 1 to 60 on WGS84 with
// eastings and northings in metres.
type CRS struct {
	Zone  int
	South bool // the zone's southern form, false northing 10 000 000 m
}

// LonLat reports whether the coordinates are longitude and latitude.
func (c CRS) LonLat() bool { return c.Zone == 0 }

// EPSG returns the code of the coordinates in the EPSG data set: 4326, or
// 32601 to 32660 (north) and 32701 to 32760 (south).
func (c CRS) EPSG() int {
	switch {
	case c.Zone == 0:
		return 4326
	case c.South:
		return 32700 + c.Zone
	}
	return 32600 + c.Zone
}

// FromEPSG returns the coordinates with a code of the EPSG data set, false
// where they are neither WGS84 longitude and latitude nor UTM on WGS84.
func FromEPSG(code int) (CRS, bool) {
	switch {
	case code == 4326:
		return CRS{}, true
	case code > 32600 && code <= 32660:
		return CRS{Zone: code - 32600}, true
	case code > 32700 && code <= 32760:
		return CRS{Zone: code - 32700, South: true}, true
	}
	return CRS{}, false
}

// String returns the code with its authority, such as "EPSG:32631".
func (c CRS) String() string { return fmt.Sprintf("EPSG:%d", c.EPSG()) }
