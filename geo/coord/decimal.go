package coord

import (
	"math"
	"strconv"

	"github.com/paulmach/orb"

	"farhail/geo/earth"
)

// Decimal writes a position in decimal degrees with letters, so that the order
// cannot be mistaken: "42.66670 N, 1.39830 E". Five decimals are 1.1 m or less.
// A position off the earth gives "".
func Decimal(p orb.Point) string {
	if !onEarth(p) {
		return ""
	}
	lat, lon := letters(p)
	return strconv.FormatFloat(lat.deg, 'f', 5, 64) + " " + lat.letter + ", " +
		strconv.FormatFloat(lon.deg, 'f', 5, 64) + " " + lon.letter
}

// lettered is an angle as its size and the letter of its half.
type lettered struct {
	deg    float64
	letter string
}

// letters takes a position on earth apart. The sign is kept apart from the
// degrees, so that half a degree west does not become east when its degrees are
// written as 0; a longitude of another turn is brought to -180 to 180.
func letters(p orb.Point) (lat, lon lettered) {
	lat = lettered{math.Abs(p.Lat()), "N"}
	if p.Lat() < 0 {
		lat.letter = "S"
	}
	λ := p.Lon()
	if math.Abs(λ) > 180 {
		λ = earth.Wrap180(λ)
	}
	lon = lettered{math.Abs(λ), "E"}
	if λ < 0 {
		lon.letter = "W"
	}
	return lat, lon
}
