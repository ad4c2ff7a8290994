package sheet

import (
	"math"
	"slices"

	"farhail/geo/coord"
	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// Scales are what a map is printed at: those that common map rulers have, and 1:75 000
// between the last two.
var scales = []int{10_000, 15_000, 20_000, 25_000, 40_000, 50_000, 75_000, 100_000}

// A projection lays ground on paper: on the grid of one UTM zone at a true scale, so
// that a grid kilometre is as long everywhere on the sheet.
type projection struct {
	zone          int
	south         bool
	tm            *earth.TM
	scale         float64
	window        area    // of the map on the page [mm]
	east0, north0 float64 // grid coordinates of the window's lower left corner [m]
}

// newProjection returns the projection of a window around grid coordinates.
func newProjection(zone int, south bool, scale int, window area, east, north float64) *projection {
	p := &projection{zone: zone, south: south, tm: earth.UTM(zone, south), scale: float64(scale), window: window}
	p.east0 = east - p.metres(window.w())/2
	p.north0 = north - p.metres(window.h())/2
	return p
}

// metres is the length on the grid of millimetres on paper.
func (p *projection) metres(mm float64) float64 { return mm * p.scale / 1000 }

// mm is the length on paper of metres on the grid.
func (p *projection) mm(metres float64) float64 { return metres * 1000 / p.scale }

// xy returns where a position lies on the page.
func (p *projection) xy(at orb.Point) orb.Point {
	e, n := p.tm.Forward(at)
	return p.grid(e, n)
}

// grid returns where grid coordinates lie on the page.
func (p *projection) grid(e, n float64) orb.Point {
	return orb.Point{p.window.x0 + p.mm(e-p.east0), p.window.y1 - p.mm(n-p.north0)}
}

// coordinates returns the grid coordinates of a place on the page.
func (p *projection) coordinates(xy orb.Point) (e, n float64) {
	return p.east0 + p.metres(xy[0]-p.window.x0), p.north0 + p.metres(p.window.y1-xy[1])
}

// position returns the position of a place on the page.
func (p *projection) position(xy orb.Point) orb.Point {
	e, n := p.coordinates(xy)
	return p.tm.Inverse(e, n)
}

// middle is the position in the middle of the map.
func (p *projection) middle() orb.Point {
	return p.position(orb.Point{(p.window.x0 + p.window.x1) / 2, (p.window.y0 + p.window.y1) / 2})
}

// bound is the window as a box on the page.
func (p *projection) bound() orb.Bound {
	w := p.window
	return orb.Bound{Min: orb.Point{w.x0, w.y0}, Max: orb.Point{w.x1, w.y1}}
}

// zones returns the UTM zones that the map lies in, its own first.
func (p *projection) zones() []int {
	list := []int{p.zone}
	const steps = 24
	for i := range steps + 1 {
		for j := range steps + 1 {
			x := p.window.x0 + p.window.w()*float64(i)/steps
			y := p.window.y0 + p.window.h()*float64(j)/steps
			if z := zoneOf(p.position(orb.Point{x, y})); z != 0 && !slices.Contains(list, z) {
				list = append(list, z)
			}
		}
	}
	slices.Sort(list[1:])
	return list
}

// zoneOf returns the UTM zone of a position, 0 near the poles.
func zoneOf(at orb.Point) int {
	u, err := coord.UTMOf(at, 0)
	if err != nil {
		return 0
	}
	return u.Zone
}

// A gridBox is a rectangle of grid coordinates [m]; its zero value is empty.
type gridBox struct {
	e0, n0, e1, n1 float64
	some           bool
}

func (b *gridBox) add(e, n float64) {
	if math.IsNaN(e) || math.IsInf(e, 0) || math.IsNaN(n) || math.IsInf(n, 0) {
		return
	}
	if !b.some {
		*b = gridBox{e, n, e, n, true}
		return
	}
	b.e0, b.n0, b.e1, b.n1 = min(b.e0, e), min(b.n0, n), max(b.e1, e), max(b.n1, n)
}
