package mapfile

import (
	"cmp"
	"math"
	"slices"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// AreaM2 returns the area of the polygons in a geometry [m2], holes taken off,
// overlapping ones each for itself; its edges are straight in longitude and
// latitude (RFC 7946 section 3.1.1). Rings may run either way, over the 180
// degree line and around a pole, as [WriteGeoJSON] takes them, and the errors
// are its. Points and lines have none. See [earth.AreaM2] for how right it is.
func AreaM2(g orb.Geometry) (float64, error) {
	switch g := g.(type) {
	case orb.Ring:
		return AreaM2(orb.Polygon{g})
	case orb.Bound:
		return AreaM2(g.ToPolygon())
	case orb.Polygon:
		rings, err := openRings(g)
		if err != nil {
			return 0, err
		}
		sum := 0.0
		for i, r := range rings {
			if m2 := earth.AreaM2(orb.Ring(r)); i == 0 {
				sum = m2
			} else {
				sum -= m2
			}
		}
		return math.Max(0, sum), nil // holes outside the area leave less than nothing
	case orb.MultiPolygon:
		sum := 0.0
		for _, p := range g {
			m2, err := AreaM2(p)
			if err != nil {
				return 0, err
			}
			sum += m2
		}
		return sum, nil
	case orb.Collection:
		sum := 0.0
		for _, m := range g {
			m2, err := AreaM2(m)
			if err != nil {
				return 0, err
			}
			sum += m2
		}
		return sum, nil
	}
	return 0, nil
}

// BBox returns the least box around geometries as RFC 7946 section 5 writes it:
// west, south, east, north [degrees]. West is greater than east in a box over
// the 180 degree line; the box of shapes on both sides of the earth goes the way
// round that is shorter. ok is false where there is no position. The errors are
// those of [WriteGeoJSON].
func BBox(list ...orb.Geometry) (bbox [4]float64, ok bool, err error) {
	var spans [][2]float64 // in longitude, within [-180, 180]
	south, north := math.Inf(1), math.Inf(-1)
	for _, g := range list {
		n, err := normalise(g)
		if err != nil {
			return bbox, false, err
		}
		eachPart(n, func(b orb.Bound) {
			spans = append(spans, [2]float64{b.Min[0], b.Max[0]})
			south, north = math.Min(south, b.Min[1]), math.Max(north, b.Max[1])
		})
	}
	if len(spans) == 0 {
		return bbox, false, nil
	}
	west, east := leastSpan(spans)
	return [4]float64{west, south, east, north}, true, nil
}

// eachPart calls f with the bound of each part of a geometry that normalise has
// returned.
func eachPart(g orb.Geometry, f func(orb.Bound)) {
	switch g := g.(type) {
	case nil:
	case orb.MultiPoint:
		for _, p := range g {
			f(p.Bound())
		}
	case orb.MultiLineString:
		for _, l := range g {
			f(l.Bound())
		}
	case orb.MultiPolygon:
		for _, p := range g {
			f(p.Bound())
		}
	case orb.Collection:
		for _, m := range g {
			eachPart(m, f)
		}
	default:
		f(g.Bound())
	}
}

// leastSpan is the shortest stretch of longitude that holds all of the given
// ones: what is left when the widest gap between them is taken out.
func leastSpan(spans [][2]float64) (west, east float64) {
	slices.SortFunc(spans, func(a, b [2]float64) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	first := spans[0][0]
	reach := spans[0][1]
	widest := 0.0
	for _, s := range spans[1:] {
		if gap := s[0] - reach; gap > widest {
			widest, west, east = gap, s[0], reach
		}
		reach = math.Max(reach, s[1])
	}
	// The gap over the 180 degree line wins a tie, so that no box crosses it
	// without need.
	if first+360-reach >= widest {
		return first, reach
	}
	return west, east
}
