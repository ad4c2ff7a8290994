package sheet

import (
	"image/color"
	"math"
	"slices"

	"farhail/cmd/internal/overlay"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/clip"
	"github.com/paulmach/orb/simplify"
)

// fineMM is how far a line on paper may lie from the one that was computed [mm]: less
// than any printer shows.
const fineMM = 0.04

// A pen is how a line is drawn.
type pen struct {
	colour color.RGBA
	mm     float64
	dash   []float64 // on, off, … [mm]
}

// use sets the pen.
func (d *doc) use(p pen) {
	d.ink(p.colour)
	d.pdf.SetLineWidth(p.mm)
	d.pdf.SetDashPattern(p.dash, 0)
}

// path adds a line to the path.
func (d *doc) path(line orb.LineString) {
	for i, at := range line {
		if i == 0 {
			d.pdf.MoveTo(at[0], at[1])
		} else {
			d.pdf.LineTo(at[0], at[1])
		}
	}
}

// strokes draws lines of the page.
func (d *doc) strokes(lines []orb.LineString, p pen) {
	if len(lines) == 0 {
		return
	}
	d.use(p)
	for _, line := range lines {
		d.path(line)
		if line[0] == line[len(line)-1] {
			d.pdf.ClosePath()
		}
		d.pdf.DrawPath("S")
	}
	d.pdf.SetDashPattern(nil, 0)
}

// fillAreas fills areas of the page with a colour that lets through what is below.
func (d *doc) fillAreas(areas orb.MultiPolygon, c color.RGBA, alpha uint8) {
	if len(areas) == 0 || alpha == 0 {
		return
	}
	d.ink(c)
	d.pdf.SetAlpha(float64(alpha)/255, "Normal")
	for _, a := range areas {
		for _, ring := range a {
			d.path(orb.LineString(ring))
			d.pdf.ClosePath()
		}
		d.pdf.DrawPath("f*")
	}
	d.pdf.SetAlpha(1, "Normal")
}

// onPage returns the lines and outlines of a geometry as they lie on the page, with no
// more corners than can be seen, cut off at the window.
func (p *projection) onPage(g orb.Geometry) (lines []orb.LineString) {
	bound := p.bound()
	eachLine(g, func(line orb.LineString, _ bool) {
		if len(line) < 2 {
			return
		}
		parts := clip.LineString(bound, p.line(line))
		// A closed line that begins within the window is cut there as well.
		if n := len(parts); n > 1 && meet(parts[n-1], parts[0]) {
			parts[0] = append(parts[n-1], parts[0][1:]...)
			parts = parts[:n-1]
		}
		for _, part := range parts {
			if len(part) > 1 {
				lines = append(lines, part)
			}
		}
	})
	return lines
}

// meet reports whether a line ends where the next begins.
func meet(line, next orb.LineString) bool {
	return len(line) > 0 && len(next) > 0 && line[len(line)-1] == next[0]
}

// areasOnPage returns the areas of a geometry as they lie on the page, cut off at the
// window.
func (p *projection) areasOnPage(g orb.Geometry) orb.MultiPolygon {
	var list orb.MultiPolygon
	add := func(a orb.Polygon) {
		var page orb.Polygon
		for _, ring := range a {
			if line := p.line(orb.LineString(ring)); len(line) > 3 {
				page = append(page, orb.Ring(line))
			}
		}
		if len(page) == 0 {
			return
		}
		if cut := clip.Polygon(p.bound(), page); len(cut) > 0 {
			list = append(list, cut)
		}
	}
	switch g := g.(type) {
	case orb.Polygon:
		add(g)
	case orb.MultiPolygon:
		for _, a := range g {
			add(a)
		}
	}
	return list
}

// line lays a line on the page.
func (p *projection) line(line orb.LineString) orb.LineString {
	page := make(orb.LineString, 0, len(line))
	for _, at := range line {
		xy := p.xy(at)
		if math.IsNaN(xy[0]) || math.IsInf(xy[0], 0) {
			continue
		}
		page = append(page, xy)
	}
	closed := len(page) > 3 && page[0] == page[len(page)-1]
	if len(page) > 2 {
		page = simplify.DouglasPeucker(fineMM).LineString(page)
	}
	if closed && len(page) < 4 {
		return nil // smaller than can be seen
	}
	return page
}

// hatch hatches areas of the page by a look.
func (d *doc) hatch(k overlay.Look, areas orb.MultiPolygon) {
	if k.Hatch.GapMM > 0 {
		d.strokes(hatched(areas, k.Hatch.AngleDeg, k.Hatch.GapMM), pen{colour: k.Colour, mm: 0.14})
	}
}

// hatched returns the lines of a hatch over areas of the page: parallels at an angle
// [degrees from east, against the clock] and a distance [mm], laid from one origin so
// that neighbours' hatches meet.
func hatched(areas orb.MultiPolygon, angleDeg, gap float64) []orb.LineString {
	sin, cos := math.Sincos(angleDeg * math.Pi / 180)
	// u runs along the lines, v across; y grows downwards on the page.
	across := func(at orb.Point) (u, v float64) { return at[0]*cos - at[1]*sin, at[0]*sin + at[1]*cos }
	var rings [][][2]float64
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, a := range areas {
		for _, ring := range a {
			turned := make([][2]float64, len(ring))
			for i, at := range ring {
				u, v := across(at)
				turned[i] = [2]float64{u, v}
				lo, hi = min(lo, v), max(hi, v)
			}
			rings = append(rings, turned)
		}
	}
	var list []orb.LineString
	for k := math.Ceil(lo / gap); k*gap <= hi; k++ {
		v := k * gap
		var cuts []float64
		for _, ring := range rings {
			for i := range ring {
				a, b := ring[i], ring[(i+1)%len(ring)]
				if (a[1] <= v) != (b[1] <= v) {
					cuts = append(cuts, a[0]+(b[0]-a[0])*(v-a[1])/(b[1]-a[1]))
				}
			}
		}
		slices.Sort(cuts)
		for i := 0; i+1 < len(cuts); i += 2 {
			if cuts[i+1]-cuts[i] < 0.15 {
				continue // a speck
			}
			at := func(u float64) orb.Point { return orb.Point{u*cos + v*sin, v*cos - u*sin} }
			list = append(list, orb.LineString{at(cuts[i]), at(cuts[i+1])})
		}
	}
	return list
}
