package page

import (
	"math"

	"farhail/geo/coord"
	"farhail/geo/earth"
	"farhail/geo/grid"

	"github.com/paulmach/orb"
)

// A plane is the flat paper that the page draws on: one zone of UTM, which may go
// beyond the zone's own limits.
type plane struct {
	zone  int
	south bool
	tm    *earth.TM
	box   orb.Bound // of what is on it, eastings and northings [m]
	lon0  float64   // longitudes are written as the turn that is nearest to it
}

const (
	mostHalfM  = 150e3 // from the middle to each edge: beyond it the scale would differ too much
	leastHalfM = 1e3
	aroundM    = 500 // beside what is on the map
)

// newPlane returns the plane of the ground, and where there is none that of the
// positions. It is false where there is neither.
func newPlane(ground *grid.Heights, points []orb.Point) (*plane, bool) {
	p := &plane{}
	var middle orb.Point
	switch {
	case ground != nil:
		middle = ground.Point(float64(ground.Cols-1)/2, float64(ground.Rows-1)/2)
		p.zone, p.south = ground.CRS.Zone, ground.CRS.South
	case len(points) > 0:
		middle = points[0]
	default:
		return nil, false
	}
	p.lon0 = middle.Lon()
	if p.zone == 0 {
		p.zone, p.south = zoneFor(middle), middle.Lat() < 0
	}
	p.tm = earth.UTM(p.zone, p.south)
	e, n := p.tm.Forward(middle)
	p.box = orb.Point{e, n}.Bound()
	if ground != nil {
		p.box = p.groundBox(ground.Frame)
	}
	middleOfBox := p.box.Center()
	for _, point := range points {
		if at := p.flat(point); math.Abs(at[0]-middleOfBox[0]) <= mostHalfM && math.Abs(at[1]-middleOfBox[1]) <= mostHalfM {
			p.box = p.box.Extend(at)
		}
	}
	if ground == nil {
		c := p.box.Center()
		p.box = p.box.Union(orb.Bound{Min: orb.Point{c[0] - leastHalfM, c[1] - leastHalfM}, Max: orb.Point{c[0] + leastHalfM, c[1] + leastHalfM}})
	}
	p.box = orb.Bound{
		Min: orb.Point{math.Floor(p.box.Min[0] - aroundM), math.Floor(p.box.Min[1] - aroundM)},
		Max: orb.Point{math.Ceil(p.box.Max[0] + aroundM), math.Ceil(p.box.Max[1] + aroundM)},
	}
	return p, true
}

// zoneFor returns the zone of a position; in the polar caps, which have none, that of its
// longitude.
func zoneFor(p orb.Point) int {
	if u, err := coord.UTMOf(p, 0); err == nil {
		return u.Zone
	}
	return min(int((earth.Wrap180(p.Lon())+180)/6)+1, 60)
}

// flat returns where a position lies on the plane [m].
func (p *plane) flat(at orb.Point) orb.Point {
	e, n := p.tm.Forward(at)
	return orb.Point{e, n}
}

// round returns the position of a place on the plane, its longitude on the turn of the
// plane's middle.
func (p *plane) round(at orb.Point) orb.Point {
	q := p.tm.Inverse(at[0], at[1])
	return orb.Point{p.lon0 + math.Remainder(q.Lon()-p.lon0, 360), q.Lat()}
}

// groundBox returns the box on the plane around the cells of a grid.
func (p *plane) groundBox(f grid.Frame) orb.Bound {
	east, south := float64(f.Cols)-0.5, float64(f.Rows)-0.5
	box := p.flat(f.Point(-0.5, -0.5)).Bound()
	const steps = 16 // the edges are curved
	for i := 0.0; i <= steps; i++ {
		t := i / steps
		for _, at := range []orb.Point{
			f.Point(-0.5+t*(east+0.5), -0.5), f.Point(-0.5+t*(east+0.5), south),
			f.Point(-0.5, -0.5+t*(south+0.5)), f.Point(east, -0.5+t*(south+0.5)),
		} {
			box = box.Extend(p.flat(at))
		}
	}
	return box
}

// lonLatBox returns the box of longitude and latitude around the plane.
func (p *plane) lonLatBox() orb.Bound {
	box := p.round(p.box.Min).Bound()
	const steps = 32
	for i := 0.0; i <= steps; i++ {
		x := p.box.Min[0] + i/steps*(p.box.Max[0]-p.box.Min[0])
		y := p.box.Min[1] + i/steps*(p.box.Max[1]-p.box.Min[1])
		for _, at := range []orb.Point{{x, p.box.Min[1]}, {x, p.box.Max[1]}, {p.box.Min[0], y}, {p.box.Max[0], y}} {
			box = box.Extend(p.round(at))
		}
	}
	return box
}

// scale returns by how much lengths on the plane are too long in its middle.
func (p *plane) scale() float64 { return p.tm.Scale(p.round(p.box.Center())) }
