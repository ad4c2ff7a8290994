package sheet

import (
	"fmt"
	"image/color"
	"math"

	"farhail/geo/coord"
	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// The grid is drawn in a blue that prints as a grey of its own, between the contours and
// what lies on the map. That of a neighbouring zone is broken.
var (
	gridPen      = pen{colour: color.RGBA{0, 90, 150, 255}, mm: 0.15}
	neighbourPen = pen{colour: color.RGBA{150, 60, 110, 255}, mm: 0.15, dash: []float64{2.2, 1}}
	zonePen      = pen{colour: color.RGBA{150, 60, 110, 255}, mm: 0.5, dash: []float64{5, 1, 1, 1}}
)

// gridStep is the distance of grid lines [m]: a kilometre, at small scales two, at the
// largest half of one.
func gridStep(scale float64) float64 {
	switch {
	case scale <= 10_000:
		return 500
	case scale <= 50_000:
		return 1000
	}
	return 2000
}

// squareM is the side of a lettered square of the grid [m].
const squareM = 100_000

// grid draws the grid of the map's zone with its figures, and on the other side of a
// zone's edge that of the neighbour too. It returns what labels it wants within the map.
func (d *doc) grid(p *projection) []label {
	step := gridStep(p.scale)
	e0, n0 := p.east0, p.north0
	e1, n1 := e0+p.metres(p.window.w()), n0+p.metres(p.window.h())
	w := p.window
	for e := math.Ceil(e0/step) * step; e <= e1; e += step {
		x := p.grid(e, n0)[0]
		d.gridLine(orb.Point{x, w.y0}, orb.Point{x, w.y1}, onSquare(e))
		d.gridFigures(x, w.y0-bandMM-1, e)
		d.gridFigures(x, w.y1+bandMM+figuresY-0.8, e)
	}
	for n := math.Ceil(n0/step) * step; n <= n1; n += step {
		y := p.grid(e0, n)[1]
		d.gridLine(orb.Point{w.x0, y}, orb.Point{w.x1, y}, onSquare(n))
		d.gridFigures(w.x0-bandMM-figuresX/2, y+0.9, n)
		d.gridFigures(w.x1+bandMM+figuresX/2, y+0.9, n)
	}
	labels := d.squares(p)
	for _, zone := range p.zones()[1:] {
		labels = append(labels, d.neighbour(p, zone, step)...)
	}
	return labels
}

func onSquare(v float64) bool { return math.Mod(v, squareM) == 0 }

func (d *doc) gridLine(a, b orb.Point, square bool) {
	line := gridPen
	if square {
		line.mm = 0.4
	}
	d.strokes([]orb.LineString{{a, b}}, line)
}

// gridFigures writes the figures of a grid line: those that a reference needs large,
// those before them small.
func (d *doc) gridFigures(x, y, metres float64) {
	small, large := gridParts(metres)
	d.ink(gridPen.colour)
	d.font(regular, 5.5)
	ws := d.width(small)
	d.font(bold, 7.5)
	wl := d.width(large)
	x -= (ws + wl) / 2
	d.text(x+ws, y, large)
	d.font(regular, 5.5)
	d.text(x, y-0.5, small)
}

// gridParts splits a coordinate into the figures before the kilometres of its square and
// these, with a decimal for half kilometres.
func gridParts(metres float64) (small, large string) {
	m := int64(math.Round(metres))
	if before := m / squareM; before > 0 {
		small = fmt.Sprint(before)
	}
	large = fmt.Sprintf("%02d", m%squareM/1000)
	if rest := m % 1000; rest != 0 {
		large += fmt.Sprintf(".%d", rest/100)
	}
	return small, large
}

// squares labels the lettered squares where the map has more than one.
func (d *doc) squares(p *projection) []label {
	list := p.squares()
	if len(list) < 2 {
		return nil
	}
	var labels []label
	for _, s := range list {
		labels = append(labels, squareLabel(s.letters, s.part, gridPen.colour))
	}
	return labels
}

// A square is a lettered square of the grid, and the part of the page that it takes.
type square struct {
	letters string
	part    area
}

// squares returns the lettered squares of the map's own zone from the south-west on.
func (p *projection) squares() []square {
	e1, n1 := p.east0+p.metres(p.window.w()), p.north0+p.metres(p.window.h())
	var list []square
	for n := math.Floor(p.north0/squareM) * squareM; n < n1; n += squareM {
		for e := math.Floor(p.east0/squareM) * squareM; e < e1; e += squareM {
			letters := coord.SquareLetters(p.zone, e, n)
			if letters == "" {
				continue
			}
			sw := p.grid(max(e, p.east0), max(n, p.north0))
			ne := p.grid(min(e+squareM, e1), min(n+squareM, n1))
			list = append(list, square{letters, area{sw[0], ne[1], ne[0], sw[1]}})
		}
	}
	return list
}

const squarePt = 15

// squareLabel wants a place in a part of the page, near its corners first.
func squareLabel(text string, part area, c color.RGBA) label {
	l := label{text: text, face: bold, pt: squarePt, colour: c}
	for _, in := range []float64{7, 12, 20, 35} {
		for _, s := range [][2]float64{{part.x0 + in, part.y1 - in*0.6}, {part.x1 - in, part.y1 - in*0.6}, {part.x0 + in, part.y0 + in*0.6}, {part.x1 - in, part.y0 + in*0.6}} {
			if s[0] > part.x0+5 && s[0] < part.x1-5 && s[1] > part.y0+3 && s[1] < part.y1-3 {
				l.spots = append(l.spots, spot{x: s[0], y: s[1]})
			}
		}
	}
	return l
}

// neighbour draws the grid of another zone on its own side of the zones' edge, and the
// edge.
func (d *doc) neighbour(p *projection, zone int, step float64) []label {
	tm := earth.UTM(zone, p.south)
	var box gridBox
	w := p.window
	const around = 16
	for i := range around + 1 {
		for j := range around + 1 {
			box.add(tm.Forward(p.position(orb.Point{w.x0 + w.w()*float64(i)/around, w.y0 + w.h()*float64(j)/around})))
		}
	}
	var labels []label
	draw := func(metres float64, at func(t float64) orb.Point) {
		for _, line := range p.inZone(zone, at) {
			d.strokes([]orb.LineString{line}, neighbourPen)
			small, large := gridParts(metres)
			l := label{text: small + large, face: regular, pt: 6, colour: neighbourPen.colour}
			d.font(l.face, l.pt)
			l.spots = ends(line, d.width(l.text))
			labels = append(labels, l)
		}
	}
	for e := math.Ceil(box.e0/step) * step; e <= box.e1; e += step {
		draw(e, func(t float64) orb.Point { return p.xy(tm.Inverse(e, box.n0+t*(box.n1-box.n0))) })
	}
	for n := math.Ceil(box.n0/step) * step; n <= box.n1; n += step {
		draw(n, func(t float64) orb.Point { return p.xy(tm.Inverse(box.e0+t*(box.e1-box.e0), n)) })
	}
	d.zoneEdge(p, zone)
	return labels
}

// inZone returns the parts of a line that lie on the map and in a zone.
func (p *projection) inZone(zone int, line func(t float64) orb.Point) []orb.LineString {
	const steps = 400
	var list []orb.LineString
	var part orb.LineString
	flush := func() {
		if len(part) > 1 {
			list = append(list, part)
		}
		part = nil
	}
	for i := range steps + 1 {
		at := line(float64(i) / steps)
		if p.bound().Contains(at) && zoneOf(p.position(at)) == zone {
			part = append(part, at)
		} else {
			flush()
		}
	}
	flush()
	return list
}

// ends returns spots near both ends of a line, for the figures of a grid line.
func ends(line orb.LineString, w float64) []spot {
	length := lengthOf(line)
	var list []spot
	for _, s := range []float64{w/2 + 2, length - w/2 - 2, w/2 + 8, length - w/2 - 8} {
		if s > w/2 && s < length-w/2 {
			p, _, _ := lieOn(line, s, w)
			list = append(list, p)
		}
	}
	return list
}

// zoneEdge draws the meridian that parts the map's zone from a neighbour.
func (d *doc) zoneEdge(p *projection, zone int) {
	var line orb.LineString
	w := p.window
	const rows, cols = 60, 400
	for j := range rows + 1 {
		y := w.y0 + w.h()*float64(j)/rows
		was := 0
		for i := range cols + 1 {
			x := w.x0 + w.w()*float64(i)/cols
			is := zoneOf(p.position(orb.Point{x, y}))
			if was != 0 && is != was && (is == zone || was == zone) {
				line = append(line, orb.Point{x - w.w()/cols/2, y})
				break
			}
			was = is
		}
	}
	if len(line) > 1 {
		d.strokes([]orb.LineString{line}, zonePen)
	}
}
