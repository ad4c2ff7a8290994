package earth

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/tidwall/geodesic"
)

// MaxCircleM is the largest radius of a Circle [m]: half the way from a pole to
// the equator, so that a circle holds one pole at most. Own choice.
const MaxCircleM = 5000e3

// maxCircleStepDeg is the most longitude that one side of a circle spans
// [degrees], and minCircleStepDeg the least turn at the centre between two
// corners, which ends the search where the circle runs through a pole.
const (
	maxCircleStepDeg = 5
	minCircleStepDeg = 1e-4
)

// Circle returns the places at radiusM [m] from a centre, measured along
// geodesics: a closed ring, counter-clockwise, of at least so many sides (3 or
// more). Where it passes a pole closely it gets more of them, because there a
// side that is straight in longitude and latitude leaves the circle. Corners lie
// on the circle to 20 nanometres; the ring of 360 sides lacks 0.005 % of the
// area.
//
// Longitudes run on beyond 180 where the ring crosses that meridian, so that it
// has no jump. A ring around a pole ends one turn of longitude from where it
// began: 360 further east around the north pole, west around the south pole.
//
// It is nil for a radius that is not above 0 or is over MaxCircleM, for a centre
// outside the earth and for fewer than 3 sides.
func Circle(centre orb.Point, radiusM float64, sides int) orb.Ring {
	if sides < 3 || !onEarth(centre) || !(radiusM > 0 && radiusM <= MaxCircleM) {
		return nil
	}
	corner := func(turn float64) orb.Point { // against the clock, from north
		p, _ := Direct(centre, NewTrue(-turn), radiusM)
		return p
	}
	ring := orb.Ring{corner(0)}
	var reach func(a, b float64, to orb.Point)
	reach = func(a, b float64, to orb.Point) {
		last := ring[len(ring)-1]
		east := Wrap180(to.Lon() - last.Lon())
		if math.Abs(east) > maxCircleStepDeg && b-a > minCircleStepDeg {
			mid := (a + b) / 2
			reach(a, mid, corner(mid))
			reach(mid, b, to)
			return
		}
		to[0] = last.Lon() + east
		ring = append(ring, to)
	}
	for i := range sides {
		a, b := 360*float64(i)/float64(sides), 360*float64(i+1)/float64(sides)
		reach(a, b, corner(b))
	}
	// The last corner is the first again, or a whole turn from it.
	turns := math.Round((ring[len(ring)-1].Lon() - ring[0].Lon()) / 360)
	ring[len(ring)-1] = orb.Point{ring[0].Lon() + 360*turns, ring[0].Lat()}
	return ring
}

// CircleAreaM2 returns the area within a Circle [m²], right to 1 part in a
// million: that of a polygon of 3600 geodesics. NaN where there is no circle.
//
// Source: Karney, C. F. F. (2013), Algorithms for geodesics, J. Geodesy 87,
// 43-55, section 6, doi:10.1007/s00190-012-0578-z.
func CircleAreaM2(centre orb.Point, radiusM float64) float64 {
	ring := Circle(centre, radiusM, 3600)
	if ring == nil {
		return math.NaN()
	}
	polygon := geodesic.WGS84.PolygonInit(false)
	for _, p := range ring[1:] {
		polygon.AddPoint(p.Lat(), p.Lon())
	}
	var area float64
	polygon.Compute(false, true, &area, nil)
	return area
}
