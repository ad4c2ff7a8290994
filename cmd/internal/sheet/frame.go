package sheet

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// The frame around the map: a band that carries the ticks of latitude and longitude, and
// outside of it the figures of the grid [mm].
const (
	bandMM    = 2.6
	figuresX  = 6.4
	figuresY  = 3.4
	besideMap = bandMM + figuresX
	aboveMap  = bandMM + figuresY
)

// frame draws the border of the map and the ticks of latitude and longitude in it.
func (d *doc) frame(p *projection) {
	w := p.window
	d.use(pen{colour: black, mm: 0.35})
	d.box(w.x0, w.y0, w.w(), w.h(), 0.35)
	d.box(w.x0-bandMM, w.y0-bandMM, w.w()+2*bandMM, w.h()+2*bandMM, 0.2)
	middle := p.middle()
	stepLon := tickStep(p, middle, orb.Point{0.01, 0})
	stepLat := tickStep(p, middle, orb.Point{0, 0.01})
	d.font(regular, 6)
	for _, e := range [4]edge{
		{orb.Point{w.x0, w.y1}, orb.Point{w.x1, w.y1}, 0, stepLon, 0, 1},
		{orb.Point{w.x0, w.y0}, orb.Point{w.x1, w.y0}, 0, stepLon, 0, -1},
		{orb.Point{w.x0, w.y1}, orb.Point{w.x0, w.y0}, 1, stepLat, -1, 0},
		{orb.Point{w.x1, w.y1}, orb.Point{w.x1, w.y0}, 1, stepLat, 1, 0},
	} {
		d.ticks(p, e)
	}
}

// An edge of the map crosses meridians (axis 0) or parallels (axis 1); out is the way to
// the band.
type edge struct {
	from, to   orb.Point
	axis       int
	step       float64 // of the ticks [degrees]
	outX, outY float64
}

// tickSteps are distances of ticks [degrees]: quarters of a minute up to half a degree.
var tickSteps = []float64{15. / 3600, 30. / 3600, 1. / 60, 2. / 60, 5. / 60, 10. / 60, 30. / 60}

// tickStep is the least distance of ticks whose figures have room, some 30 mm.
func tickStep(p *projection, at, by orb.Point) float64 {
	a, b := p.xy(at), p.xy(orb.Point{at[0] + by[0], at[1] + by[1]})
	perDegree := math.Hypot(b[0]-a[0], b[1]-a[1]) / (by[0] + by[1])
	for _, s := range tickSteps {
		if s*perDegree >= 30 {
			return s
		}
	}
	return tickSteps[len(tickSteps)-1]
}

// ticks draws the ticks of an edge and their figures, which stand beside them where the
// band has room.
func (d *doc) ticks(p *projection, e edge) {
	degrees := func(t float64) float64 { return p.position(between(e.from, e.to, t))[e.axis] }
	first, last := degrees(0), degrees(1)
	if e.axis == 0 && last < first {
		last += 360 // over the 180th meridian
	}
	length := math.Hypot(e.to[0]-e.from[0], e.to[1]-e.from[1])
	for k := math.Ceil(first / e.step); k*e.step <= last; k++ {
		t := solve(func(t float64) float64 {
			v := degrees(t)
			if e.axis == 0 && v < first-180 {
				v += 360
			}
			return v - k*e.step
		})
		at := between(e.from, e.to, t)
		d.rule(at[0], at[1], at[0]+e.outX*bandMM, at[1]+e.outY*bandMM, 0.25)
		text := degreesText(k*e.step, e.axis)
		room := d.width(text) + 1
		if t*length+room > length || t*length < 1 {
			continue
		}
		if e.axis == 0 {
			d.text(at[0]+0.5, at[1]+e.outY*bandMM/2+0.78, text)
			continue
		}
		d.turned(at[0]+e.outX*bandMM/2+0.78, at[1]-0.5, 90, text)
	}
}

// turned writes from a place on, turned against the clock.
func (d *doc) turned(x, y, angle float64, s string) {
	d.pdf.TransformBegin()
	d.pdf.TransformRotate(angle, x, y)
	d.text(x, y, s)
	d.pdf.TransformEnd()
}

func between(a, b orb.Point, t float64) orb.Point {
	return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
}

// solve returns where between 0 and 1 a rising function is 0.
func solve(f func(float64) float64) float64 {
	lo, hi := 0.0, 1.0
	for range 50 {
		if mid := (lo + hi) / 2; f(mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// degreesText writes degrees of longitude (axis 0) or latitude (axis 1) with minutes, and
// seconds where there are any.
func degreesText(deg float64, axis int) string {
	letter := [2][2]string{{"E", "W"}, {"N", "S"}}[axis][0]
	if axis == 0 && deg > 180 {
		deg -= 360
	}
	if deg < 0 {
		deg, letter = -deg, [2]string{"W", "S"}[axis]
	}
	s := int(math.Round(deg * 3600))
	if s%60 != 0 {
		return fmt.Sprintf("%d°%02d'%02d\"%s", s/3600, s/60%60, s%60, letter)
	}
	return fmt.Sprintf("%d°%02d'%s", s/3600, s/60%60, letter)
}
