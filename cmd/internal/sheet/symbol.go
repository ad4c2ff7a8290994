package sheet

import (
	"image/color"
	"math"

	"codeberg.org/go-pdf/fpdf"

	"farhail/cmd/internal/overlay"

	"github.com/paulmach/orb"
)

// symbol draws a point by its look: white within, so that the letter is read over any
// ground.
func (d *doc) symbol(s symbol) {
	x, y, r := s.at[0], s.at[1], s.look.WidthMM/2
	if s.at != s.place { // a stroke leads to where it is
		d.strokes([]orb.LineString{{s.at, s.place}}, pen{colour: black, mm: 0.25})
		d.pdf.Circle(s.place[0], s.place[1], 0.45, "F")
	}
	switch s.look.Shape {
	case overlay.Ringed:
		d.ink(white)
		d.pdf.Circle(x, y, r, "F")
		d.use(pen{colour: s.look.Colour, mm: 0.45, dash: s.look.DashMM})
		d.pdf.Circle(x, y, r, "D")
		d.pdf.SetDashPattern(nil, 0)
		d.letter(s, 0, r*1.25)
	case overlay.Triangle:
		corners := make([]fpdf.PointType, 3)
		for i := range corners {
			sin, cos := math.Sincos(float64(i) * 2 * math.Pi / 3)
			corners[i] = fpdf.PointType{X: x + 1.15*r*sin, Y: y - 1.15*r*cos + 0.15*r}
		}
		d.outlined(corners, s)
		d.letter(s, 0.2*r, r*0.95)
	case overlay.Diamond:
		d.diamond(x, y, r+0.35, white)
		d.diamond(x, y, r, s.look.Colour)
		d.diamond(x, y, r*0.5, white)
	case overlay.Square:
		a := r * 0.9
		d.outlined([]fpdf.PointType{{X: x - a, Y: y - a}, {X: x + a, Y: y - a}, {X: x + a, Y: y + a}, {X: x - a, Y: y + a}}, s)
		d.letter(s, 0, r*1.25)
	default:
		d.ink(white)
		d.pdf.Circle(x, y, r+0.25, "F")
		d.ink(s.look.Colour)
		d.pdf.Circle(x, y, r, "F")
	}
}

// diamond fills a square that stands on its corner.
func (d *doc) diamond(x, y, r float64, c color.RGBA) {
	d.ink(c)
	d.pdf.Polygon([]fpdf.PointType{{X: x, Y: y - r}, {X: x + r, Y: y}, {X: x, Y: y + r}, {X: x - r, Y: y}}, "F")
}

// outlined draws a shape white with an outline.
func (d *doc) outlined(corners []fpdf.PointType, s symbol) {
	d.ink(white)
	d.pdf.Polygon(corners, "F")
	d.use(pen{colour: s.look.Colour, mm: 0.45, dash: s.look.DashMM})
	d.pdf.Polygon(corners, "D")
	d.pdf.SetDashPattern(nil, 0)
}

// letter writes a symbol's letter, its capitals as high as told [mm].
func (d *doc) letter(s symbol, down, high float64) {
	if s.letter == "" {
		return
	}
	pt := high / capHeight / mmPerPt
	if len(s.letter) > 1 {
		pt *= 0.7
	}
	d.font(bold, pt)
	d.ink(black)
	d.textCentre(s.at[0], s.at[1]+down+capHeight*pt*mmPerPt/2, s.letter)
}
