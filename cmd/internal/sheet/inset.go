package sheet

import (
	"context"
	"image/color"
	"math"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// insetScales are what a small map is printed at: the scales of the map, and coarser
// ones for long ways and flights.
var insetScales = append(append([]int{}, scales...), 125_000, 150_000, 200_000, 250_000, 500_000, 1_000_000)

// insetLeastM is the ground that a small map shows around a single place [m].
const insetLeastM = 1500

// inset draws a small map at a true scale, with its bar below, into the right upper
// corner of a page. It returns what it takes, empty where there is nothing to show.
func (d *doc) inset(ctx context.Context, r *job.Result, a area, g overlay.Ground) (area, error) {
	box, zone, south, ok := insetBox(g)
	if !ok {
		return area{}, nil
	}
	window := area{a.x0, a.y0, a.x1, a.y1 - insetBar}
	scale := 0
	for _, scale = range insetScales {
		mm := 1000 / float64(scale)
		if (box.e1-box.e0)*mm <= window.w()-9 && (box.n1-box.n0)*mm <= window.h()-9 {
			break
		}
	}
	p := newProjection(zone, south, scale, window, (box.e0+box.e1)/2, (box.n0+box.n1)/2)
	d.pdf.ClipRect(window.x0, window.y0, window.w(), window.h(), false)
	m := &mapPage{legend: legend{doc: d, r: r}, window: window}
	if _, err := m.ground(ctx, p, func() {}); err != nil {
		return area{}, err
	}
	d.insetThings(p, g)
	d.pdf.ClipEnd()
	d.ink(black)
	d.box(window.x0, window.y0, window.w(), window.h(), 0.3)
	d.font(regular, 7)
	d.text(a.x0, a.y1-insetBar+4, scaleText(scale))
	d.text(a.x0, a.y1-insetBar+7.5, "grid north up")
	name, unitM := r.Words().LongUnit()
	d.bar(p, window.w()-18, unitM, name).draw(a.x0+18, a.y1-insetBar+1)
	return a, nil
}

// insetBox measures what a small map shows, on the grid of its zone.
func insetBox(g overlay.Ground) (box gridBox, zone int, south, ok bool) {
	var points []orb.Point
	for _, shape := range []orb.Geometry{g.Ways, g.Areas} {
		eachPoint(shape, func(at orb.Point) { points = append(points, at) })
	}
	for _, p := range g.Places {
		points = append(points, p.Point)
	}
	if len(points) == 0 {
		return box, 0, false, false
	}
	if zone = zoneOf(points[0]); zone == 0 {
		return box, 0, false, false
	}
	south = points[0].Lat() < 0
	tm := earth.UTM(zone, south)
	for _, at := range points {
		box.add(tm.Forward(at))
	}
	if !box.some {
		return box, 0, false, false
	}
	grow := func(lo, hi *float64) {
		if by := (insetLeastM - (*hi - *lo)) / 2; by > 0 {
			*lo, *hi = *lo-by, *hi+by
		}
	}
	grow(&box.e0, &box.e1)
	grow(&box.n0, &box.n1)
	return box, zone, south, !math.IsNaN(box.e0 + box.n0)
}

// Inks of a small map: ways dark blue, areas with a dashed edge.
var (
	wayInk  = color.RGBA{0, 70, 130, 255}
	areaInk = color.RGBA{0, 0, 0, 255}
)

func (d *doc) insetThings(p *projection, g overlay.Ground) {
	d.strokes(p.onPage(g.Areas), pen{areaInk, 0.5, []float64{2, 1}})
	d.strokes(p.onPage(g.Ways), pen{white, 1.6, nil})
	d.strokes(p.onPage(g.Ways), pen{wayInk, 0.8, nil})
	for _, place := range g.Places {
		d.insetPlace(p.xy(place.Point), place.Letter)
	}
}

// insetPlace draws a letter on a white square.
func (d *doc) insetPlace(at orb.Point, letter string) {
	const side = 4.2
	d.font(bold, 8)
	w := max(side, d.width(letter)+1.6)
	d.ink(white)
	d.fill(at[0]-w/2, at[1]-side/2, w, side)
	d.ink(black)
	d.box(at[0]-w/2, at[1]-side/2, w, side, 0.3)
	d.textCentre(at[0], at[1]+1.05, letter)
}
