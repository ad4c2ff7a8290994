// Package plot draws curves over one axis as plain SVG: one or several panels
// under each other, with labelled axes, a legend and a few marked points.
//
// Fill a [Figure] and call [Figure.Write]. Lines differ by dash as well as by
// colour (the palette of Okabe and Ito, 2008, for colour-blind readers), so that
// a copy in grey is read too. The same figure gives the same bytes.
//
// Missing: two vertical axes, bars, anything that moves.
package plot

import (
	"bufio"
	"fmt"
	"html"
	"io"
	"math"
)

// A Figure is panels that share their horizontal axis.
type Figure struct {
	Title  string
	Notes  []string // small print below
	XLabel string   // with its unit
	// XText writes a value of the horizontal axis; nil: plainly.
	XText      func(x float64) string
	XMin, XMax float64
	Log        bool // logarithmic horizontal axis; XMin > 0
	Panels     []Panel
}

// A Panel is one field of lines.
type Panel struct {
	YLabel     string // with its unit
	YMin, YMax float64
	Lines      []Line
	Levels     []Level // across the panel
	Walls      []Level // up the panel, at values of the horizontal axis
	Marks      []Mark
}

// A Line joins points; a NaN breaks it. Lines of one Style look alike in
// every panel.
type Line struct {
	Name  string
	Style int // from 0, of as many as there are [Styles]
	Thin  bool
	Fill  bool // grey below, down to the panel's edge; never dashed
	X, Y  []float64
}

// A Level is a straight line, with a name or "".
type Level struct {
	At   float64
	Name string
}

// A Mark is a point with a name, which has the colour of its style.
type Mark struct {
	X, Y  float64
	Style int
	Name  string
}

// A style is the colour and the dash of lines.
type style struct{ colour, dash string }

var styles = []style{
	{"#D55E00", ""},
	{"#0072B2", "9 4"},
	{"#009E73", "2 3"},
	{"#000000", "12 3 2 3"},
}

func (l Line) style() style {
	s := styles[l.Style]
	if l.Fill {
		s.dash = ""
	}
	return s
}

// Styles is how many styles of lines there are.
var Styles = len(styles)

// Measures of the drawing [px].
const (
	width               = 800.0
	left, right         = 78.0, 24.0
	top, between, below = 32.0, 34.0, 66.0
	panelHeight         = 240.0
	fontSize            = 13.0
	noteHeight          = 17.0
	letter              = 7.0 // a letter's usual width
)

// Check returns an error that names the first thing that cannot be drawn.
func (f Figure) Check() error {
	if !(f.XMax > f.XMin) || math.IsInf(f.XMax, 0) || math.IsInf(f.XMin, 0) || f.Log && !(f.XMin > 0) {
		return fmt.Errorf("plot: horizontal axis from %g to %g", f.XMin, f.XMax)
	}
	if len(f.Panels) == 0 {
		return fmt.Errorf("plot: no panel")
	}
	for _, p := range f.Panels {
		if !(p.YMax > p.YMin) || math.IsInf(p.YMax, 0) || math.IsInf(p.YMin, 0) {
			return fmt.Errorf("plot: vertical axis from %g to %g", p.YMin, p.YMax)
		}
		for _, l := range p.Lines {
			if len(l.X) != len(l.Y) || l.Style < 0 || l.Style >= Styles {
				return fmt.Errorf("plot: line %q has %d and %d values, style %d of %d", l.Name, len(l.X), len(l.Y), l.Style, Styles)
			}
		}
		for _, m := range p.Marks {
			if m.Style < 0 || m.Style >= Styles {
				return fmt.Errorf("plot: mark %q has style %d of %d", m.Name, m.Style, Styles)
			}
		}
	}
	return nil
}

// Write draws the figure.
func (f Figure) Write(w io.Writer) error {
	if err := f.Check(); err != nil {
		return err
	}
	b := bufio.NewWriter(w)
	d := drawing{f, b}
	height := top + float64(len(f.Panels))*(panelHeight+between) + below + noteHeight*float64(len(f.Notes))
	fmt.Fprintf(b, `<svg xmlns="http://www.w3.org/2000/svg" width="%g" height="%g" viewBox="0 0 %g %g" font-family="sans-serif" font-size="%g" fill="#000000">`+"\n", width, height, width, height, fontSize)
	fmt.Fprintf(b, "<title>%s</title>\n", html.EscapeString(f.Title))
	fmt.Fprintf(b, `<rect width="%g" height="%g" fill="#FFFFFF"/>`+"\n", width, height)
	d.text(left, 24, "start", 1.15, f.Title)
	y := top + between
	for i, p := range f.Panels {
		d.panel(i, p, y)
		y += panelHeight + between
	}
	y -= between
	d.xText(y)
	for i, n := range f.Notes {
		d.text(left, y+below-6+noteHeight*float64(i), "start", 0.85, n)
	}
	fmt.Fprintln(b, "</svg>")
	return b.Flush()
}
