package earth

import (
	"math"

	"github.com/paulmach/orb"
)

// AreaM2 returns the area on the ellipsoid that a ring encloses [m2], whichever
// way it runs; its edges are straight in longitude and latitude, as those of
// GeoJSON are. Longitudes are taken as they stand: a ring over the 180 degree
// line has some beyond it, and one around a pole goes there along two meridians
// that are a full turn apart. The ring need not repeat its first position. A
// position outside the earth gives NaN.
//
// It is right to 1e-9 of the area and to 1e-6 m2. An edge that is a geodesic in
// truth encloses a little more or less: along 10 km at 60 degrees latitude the
// two are 3 m apart.
//
// Source: Snyder, J. P. (1987), Map Projections: A Working Manual, USGS
// Professional Paper 1395, equation (3-12), p. 16, from memory: the zone of the
// ellipsoid from the equator to φ has 2π a² q/2.
func AreaM2(r orb.Ring) float64 {
	if len(r) == 0 {
		return 0
	}
	sum := 0.0
	last := r[len(r)-1]
	base := authalicQ(last.Lat())
	for _, p := range r {
		if !onEarth(p) {
			return math.NaN()
		}
		sum += stripM2(last, p, base)
		last = p
	}
	return math.Abs(sum)
}

// stripM2 is the area between an edge and the parallel of authalicQ base,
// positive for an edge that runs east above it: ∫ (q(φ(λ)) - base) a²/2 dλ by
// Gauss's three points on pieces of at most one degree of latitude.
func stripM2(from, to orb.Point, base float64) float64 {
	const node, mid, side = 0.774596669241483377, 8. / 18, 5. / 18 // Gauss-Legendre, n = 3
	dλ := (to.Lon() - from.Lon()) * degree
	if dλ == 0 {
		return 0
	}
	pieces := math.Ceil(math.Abs(to.Lat() - from.Lat()))
	pieces = math.Max(1, pieces)
	h := (to.Lat() - from.Lat()) / pieces
	mean := 0.0
	for i := 0.0; i < pieces; i++ {
		c := from.Lat() + (i+.5)*h
		mean += mid*(authalicQ(c)-base) + side*(authalicQ(c-node*h/2)-base) + side*(authalicQ(c+node*h/2)-base)
	}
	return SemiMajorM * SemiMajorM / 2 * mean / pieces * dλ
}

// authalicQ is Snyder's q (3-12) of a latitude [degrees].
func authalicQ(latDeg float64) float64 {
	e := math.Sqrt(e2)
	sinφ := math.Sin(latDeg * degree)
	return (1 - e2) * (sinφ/(1-e2*sinφ*sinφ) + math.Atanh(e*sinφ)/e)
}
