package mapfile

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// ErrPole is wrapped by the error for an area around a pole that cannot be
// closed along the 180 degree line, because its ring crosses that line more than
// once, or whose hole goes around the pole while it does not.
var ErrPole = errors.New("mapfile: area around a pole")

// normalise gives a geometry the form that RFC 7946 asks for: coordinates in
// range and rounded, rings closed and wound, shapes cut at the 180 degree line.
// Nil means that nothing is left.
func normalise(g orb.Geometry) (orb.Geometry, error) {
	switch g := g.(type) {
	case nil:
		return nil, nil
	case orb.Point:
		return normalPoint(g)
	case orb.MultiPoint:
		var out orb.MultiPoint
		for _, p := range g {
			q, err := normalPoint(p)
			if err != nil {
				return nil, err
			}
			out = append(out, q)
		}
		if len(out) == 0 {
			return nil, nil
		}
		return out, nil
	case orb.LineString:
		return normalLines(orb.MultiLineString{g})
	case orb.MultiLineString:
		return normalLines(g)
	case orb.Ring:
		return normalPolygons(orb.MultiPolygon{{g}})
	case orb.Bound:
		return normalPolygons(orb.MultiPolygon{g.ToPolygon()})
	case orb.Polygon:
		return normalPolygons(orb.MultiPolygon{g})
	case orb.MultiPolygon:
		return normalPolygons(g)
	case orb.Collection:
		var out orb.Collection
		for _, m := range g {
			n, err := normalise(m)
			if err != nil {
				return nil, err
			}
			if n != nil {
				out = append(out, n)
			}
		}
		if len(out) == 0 {
			return nil, nil
		}
		return out, nil
	}
	return nil, fmt.Errorf("geometry of type %T cannot be written", g)
}

func normalPoint(p orb.Point) (orb.Point, error) {
	lon, lat, err := onEarth(p)
	return orb.Point{round7(lon), round7(lat)}, err
}

func normalLines(lines orb.MultiLineString) (orb.Geometry, error) {
	var out orb.MultiLineString
	var single orb.MultiPoint
	for _, l := range lines {
		run, err := unwrap(l)
		if err != nil {
			return nil, err
		}
		switch len(run) {
		case 0:
		case 1:
			p, _ := normalPoint(run[0]) // checked by unwrap
			single = append(single, p)
		default:
			out = append(out, cutLine(run)...)
		}
	}
	switch {
	case len(out) == 0 && len(single) == 0:
		return nil, nil
	case len(out) == 0 && len(single) == 1:
		return single[0], nil
	case len(out) == 0:
		return single, nil
	case len(single) > 0:
		return orb.Collection{lineOrLines(out), single}, nil
	}
	return lineOrLines(out), nil
}

func lineOrLines(l orb.MultiLineString) orb.Geometry {
	if len(l) == 1 {
		return l[0]
	}
	return l
}

func normalPolygons(list orb.MultiPolygon) (orb.Geometry, error) {
	var out orb.MultiPolygon
	for _, p := range list {
		parts, err := normalPolygon(p)
		if err != nil {
			return nil, err
		}
		out = append(out, parts...)
	}
	switch len(out) {
	case 0:
		return nil, nil
	case 1:
		return out[0], nil
	}
	return out, nil
}

func normalPolygon(p orb.Polygon) (orb.MultiPolygon, error) {
	rings, err := openRings(p)
	if err != nil || len(rings) == 0 {
		return nil, err
	}
	var out orb.MultiPolygon
	for _, part := range cutPolygon(rings) {
		if whole := finish(part); whole != nil {
			out = append(out, whole)
		}
	}
	return out, nil
}

// openRings returns the rings of a polygon without their closing positions, the
// outer one first, with longitudes that run on past the 180 degree line; an area
// around a pole is closed along that line. Nil for a polygon without positions.
func openRings(p orb.Polygon) ([]orb.LineString, error) {
	var rings []orb.LineString
	var outer, inner *poleRun
	for i, r := range p {
		open, around, err := openRing(r)
		switch {
		case err != nil:
			return nil, err
		case around == nil:
			rings = append(rings, open)
		case i == 0:
			outer = around
			rings = append(rings, nil)
		case outer == nil || inner != nil || outer.north != around.north:
			return nil, ErrPole
		default:
			inner = around
		}
	}
	if outer != nil {
		rings[0] = outer.closed(inner)
	}
	if len(rings) == 0 || len(rings[0]) == 0 {
		return nil, nil
	}
	return rings, nil
}

// openRing follows a ring's longitudes past the 180 degree line and leaves out
// the closing position. A ring around a pole comes back as around. A ring that
// is cut at that line already stays as it is: its edges along a parallel from
// -180 to 180 are not the way from a place to itself.
func openRing(r orb.Ring) (open orb.LineString, around *poleRun, err error) {
	if len(r) == 0 {
		return nil, nil, nil
	}
	run := orb.LineString(append(r[:len(r):len(r)], r[0]))
	if !withinTurn(run) {
		if run, err = unwrap(run); err != nil {
			return nil, nil, err
		}
	}
	n := len(run) - 1
	if turn := run[n][0] - run[0][0]; math.Abs(turn) > 180 {
		around, err := runAround(run)
		return nil, &around, err
	}
	for n > 1 && run[n-1] == run[0] {
		n--
	}
	return slices.Clone(run[:n]), nil, nil
}

// withinTurn says whether a closed line stays within [-180, 180] with no step
// that is meant the other way around the earth.
func withinTurn(l orb.LineString) bool {
	for i, p := range l {
		if !(math.Abs(p[0]) <= 180 && math.Abs(p[1]) <= 90) {
			return false
		}
		if i > 0 {
			if step := math.Abs(p[0] - l[i-1][0]); step > 180 && step < 360 {
				return false
			}
		}
	}
	return true
}

// finish rounds, closes and winds the rings of one polygon; nil where the outer
// ring has no area left.
func finish(rings []orb.LineString) orb.Polygon {
	var out orb.Polygon
	for i, open := range rings {
		var ring orb.Ring
		for _, p := range open {
			q := orb.Point{round7(p[0]), round7(p[1])}
			if len(ring) == 0 || ring[len(ring)-1] != q {
				ring = append(ring, q)
			}
		}
		for len(ring) > 1 && ring[len(ring)-1] == ring[0] {
			ring = ring[:len(ring)-1]
		}
		area := signedArea(ring)
		if len(ring) < 3 || area == 0 {
			if i == 0 {
				return nil
			}
			continue
		}
		ring = append(ring, ring[0])
		if (area > 0) != (i == 0) { // outer rings counter-clockwise, holes clockwise
			ring.Reverse()
		}
		out = append(out, ring)
	}
	return out
}

// signedArea is twice the area of a ring in square degrees, positive
// counter-clockwise. Differences from the first position keep small rings exact.
func signedArea(r orb.Ring) float64 {
	sum := 0.0
	for i := 2; i < len(r); i++ {
		ax, ay := r[i-1][0]-r[0][0], r[i-1][1]-r[0][1]
		bx, by := r[i][0]-r[0][0], r[i][1]-r[0][1]
		sum += ax*by - bx*ay
	}
	return sum
}
