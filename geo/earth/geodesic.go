package earth

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/tidwall/geodesic"
)

// Inverse returns the length [m] of the shortest way over the ellipsoid between
// two positions, the true bearing in which it leaves from, and the true bearing
// in which it arrives at to (add 180 for the way back). The length is right to
// 20 nanometres for any two positions on earth.
//
// Between equal positions the length is 0 and the bearings are NaN, since there
// is none. Between exactly opposite positions several ways are equally short and
// one of them is given. A position outside the earth gives NaN throughout.
//
// Source: Karney, C. F. F. (2013), Algorithms for geodesics, J. Geodesy 87,
// 43-55, doi:10.1007/s00190-012-0578-z.
func Inverse(from, to orb.Point) (distM float64, departure, arrival True) {
	nan := True(math.NaN())
	if !onEarth(from) || !onEarth(to) {
		return math.NaN(), nan, nan
	}
	var azi1, azi2 float64
	geodesic.WGS84.Inverse(from.Lat(), from.Lon(), to.Lat(), to.Lon(), &distM, &azi1, &azi2)
	if distM == 0 {
		return 0, nan, nan
	}
	return distM, NewTrue(azi1), NewTrue(azi2)
}

// Direct returns the position distM [m] from a position along the geodesic that
// leaves in the true bearing b, and the true bearing there. A negative length
// goes the other way. The longitude is in [-180, 180]; the position is right to
// 20 nanometres. A start outside the earth, or a bearing or length that is not
// finite, gives NaN.
//
// Source: as Inverse.
func Direct(from orb.Point, b True, distM float64) (to orb.Point, arrival True) {
	if !onEarth(from) || !finite(float64(b)) || !finite(distM) {
		return nowhere(), True(math.NaN())
	}
	var lat, lon, azi float64
	geodesic.WGS84.Direct(from.Lat(), from.Lon(), float64(b), distM, &lat, &lon, &azi)
	return orb.Point{lon, lat}, NewTrue(azi)
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
