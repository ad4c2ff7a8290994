package plot

import (
	"bufio"
	"fmt"
	"html"
	"math"
	"strconv"
)

// A drawing is a figure on its way into a file.
type drawing struct {
	f Figure
	w *bufio.Writer
}

// x returns where a value of the horizontal axis lies.
func (d drawing) x(v float64) float64 {
	lo, hi := d.f.XMin, d.f.XMax
	if d.f.Log {
		v, lo, hi = math.Log(v), math.Log(lo), math.Log(hi)
	}
	return left + (v-lo)/(hi-lo)*(width-left-right)
}

// y returns where a value of a panel's vertical axis lies, under its upper edge
// at y0.
func (p Panel) y(v, y0 float64) float64 {
	return y0 + (p.YMax-v)/(p.YMax-p.YMin)*panelHeight
}

func (d drawing) text(x, y float64, anchor string, size float64, s string) {
	fmt.Fprintf(d.w, `<text x="%.1f" y="%.1f" text-anchor="%s" font-size="%.1f">%s</text>`+"\n", x, y, anchor, size*fontSize, html.EscapeString(s))
}

// labelled is text over a white ground, so that lines do not run through it.
func (d drawing) labelled(x, y float64, anchor, colour, s string) {
	if s == "" {
		return
	}
	fmt.Fprintf(d.w, `<text x="%.1f" y="%.1f" text-anchor="%s" font-size="%.1f" fill="%s" stroke="#FFFFFF" stroke-width="4" stroke-linejoin="round" paint-order="stroke">%s</text>`+"\n",
		x, y, anchor, 0.9*fontSize, colour, html.EscapeString(s))
}

func (d drawing) line(x1, y1, x2, y2 float64, look string) {
	fmt.Fprintf(d.w, `<line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f" %s/>`+"\n", x1, y1, x2, y2, look)
}

const (
	gridLook  = `stroke="#D9D9D9" stroke-width="1"`
	levelLook = `stroke="#000000" stroke-width="1"`
	wallLook  = `stroke="#000000" stroke-width="1" stroke-dasharray="1 3"`
)

// panel draws one panel whose upper edge is at y0.
func (d drawing) panel(index int, p Panel, y0 float64) {
	bottom := y0 + panelHeight
	for _, v := range d.f.xTicks() {
		d.line(d.x(v), y0, d.x(v), bottom, gridLook)
	}
	for _, v := range ticks(p.YMin, p.YMax) {
		d.line(left, p.y(v, y0), width-right, p.y(v, y0), gridLook)
		d.text(left-8, p.y(v, y0)+4, "end", 1, plain(v))
	}
	fmt.Fprintf(d.w, `<text transform="translate(20 %.1f) rotate(-90)" text-anchor="middle">%s</text>`+"\n", y0+panelHeight/2, html.EscapeString(p.YLabel))
	fmt.Fprintf(d.w, `<clipPath id="panel%d"><rect x="%g" y="%.1f" width="%g" height="%g"/></clipPath>`+"\n", index, left, y0, width-left-right, panelHeight)
	for _, l := range p.Levels {
		d.line(left, p.y(l.At, y0), width-right, p.y(l.At, y0), levelLook)
	}
	for _, l := range p.Walls {
		d.line(d.x(l.At), y0, d.x(l.At), bottom, wallLook)
	}
	for _, l := range p.Lines {
		d.curve(index, p, l, y0)
	}
	fmt.Fprintf(d.w, `<rect x="%g" y="%.1f" width="%g" height="%g" fill="none" stroke="#000000"/>`+"\n", left, y0, width-left-right, panelHeight)
	for _, l := range p.Levels {
		d.labelled(left+6, p.y(l.At, y0)-5, "start", "#000000", l.Name)
	}
	for i, l := range p.Walls {
		anchor, dx := "start", 5.0
		if d.x(l.At) > (left+width-right)/2 {
			anchor, dx = "end", -5
		}
		d.labelled(d.x(l.At)+dx, y0+16+14*float64(i), anchor, "#000000", l.Name)
	}
	d.marks(p, y0)
	d.legend(p, y0-10)
}

// curve draws a line, broken at NaN.
func (d drawing) curve(index int, p Panel, l Line, y0 float64) {
	if l.Fill {
		d.below(index, p, l, y0)
	}
	s := l.style()
	stroke := 2.4
	if l.Thin {
		stroke = 1.2
	}
	fmt.Fprintf(d.w, `<path clip-path="url(#panel%d)" fill="none" %s d="`, index, s.look(stroke))
	pen := "M"
	for i := range l.X {
		// Far outside a value only fills the file.
		if math.IsNaN(l.X[i]) || math.IsNaN(l.Y[i]) || l.X[i] < d.f.XMin || l.X[i] > d.f.XMax {
			pen = "M"
			continue
		}
		span := p.YMax - p.YMin
		y := min(max(l.Y[i], p.YMin-span), p.YMax+span)
		fmt.Fprintf(d.w, "%s%.1f %.1f", pen, d.x(l.X[i]), p.y(y, y0))
		pen = "L"
	}
	fmt.Fprintln(d.w, `"/>`)
}

// below fills what is under a line, piece by piece where it is broken.
func (d drawing) below(index int, p Panel, l Line, y0 float64) {
	bottom := y0 + panelHeight
	fmt.Fprintf(d.w, `<path clip-path="url(#panel%d)" fill="#E6E6E6" d="`, index)
	last := math.NaN()
	end := func() {
		if !math.IsNaN(last) {
			fmt.Fprintf(d.w, "L%.1f %.1fZ", last, bottom)
		}
		last = math.NaN()
	}
	for i := range l.X {
		if math.IsNaN(l.X[i]) || math.IsNaN(l.Y[i]) {
			end()
			continue
		}
		x := d.x(l.X[i])
		if math.IsNaN(last) {
			fmt.Fprintf(d.w, "M%.1f %.1f", x, bottom)
		}
		fmt.Fprintf(d.w, "L%.1f %.1f", x, p.y(l.Y[i], y0))
		last = x
	}
	end()
	fmt.Fprintln(d.w, `"/>`)
}

func (s style) look(stroke float64) string {
	look := fmt.Sprintf(`stroke="%s" stroke-width="%g" stroke-linejoin="round"`, s.colour, stroke)
	if s.dash != "" {
		look += ` stroke-dasharray="` + s.dash + `"`
	}
	return look
}

// marks draws the marked points over their names.
func (d drawing) marks(p Panel, y0 float64) {
	var taken []box
	var shown []Mark
	for _, m := range p.Marks {
		if m.X >= d.f.XMin && m.X <= d.f.XMax && m.Y >= p.YMin && m.Y <= p.YMax {
			x, y := d.x(m.X), p.y(m.Y, y0)
			shown = append(shown, m)
			taken = append(taken, box{x - 5, x + 5, y - 5, y + 5})
		}
	}
	for _, m := range shown {
		if m.Name == "" {
			continue
		}
		name, anchor, tx := freePlace(d.x(m.X), p.y(m.Y, y0), letter*float64(len(m.Name)), box{left, width - right, y0, y0 + panelHeight}, taken)
		taken = append(taken, name)
		d.labelled(tx, name.y2-4, anchor, styles[m.Style].colour, m.Name)
	}
	for _, m := range shown {
		fmt.Fprintf(d.w, `<circle cx="%.1f" cy="%.1f" r="4.5" fill="%s" stroke="#FFFFFF"/>`+"\n", d.x(m.X), p.y(m.Y, y0), styles[m.Style].colour)
	}
}

// A box is a part of the drawing.
type box struct{ x1, x2, y1, y2 float64 }

func (b box) meets(o box) bool { return b.x1 < o.x2 && o.x1 < b.x2 && b.y1 < o.y2 && o.y1 < b.y2 }

// freePlace returns where a mark's name of a length goes within a panel: the
// first place that is not taken, above to the right and below to the left before
// the others, since most lines fall.
func freePlace(x, y, long float64, panel box, taken []box) (name box, anchor string, textX float64) {
	const high = fontSize + 2
	for away := 0.0; away < panel.y2-panel.y1; away += high {
		above, below := y-3-away, y+3+away
		for _, place := range []struct {
			b      box
			anchor string
		}{
			{box{x + 9, x + 9 + long, above - high, above}, "start"}, {box{x - 9 - long, x - 9, below, below + high}, "end"},
			{box{x + 9, x + 9 + long, below, below + high}, "start"}, {box{x - 9 - long, x - 9, above - high, above}, "end"},
		} {
			b := place.b
			free := b.x1 >= panel.x1 && b.x2 <= panel.x2 && b.y1 >= panel.y1 && b.y2 <= panel.y2
			for _, t := range taken {
				free = free && !b.meets(t)
			}
			if free {
				textX = b.x1
				if place.anchor == "end" {
					textX = b.x2
				}
				return b, place.anchor, textX
			}
		}
	}
	// No room: over the others.
	return box{x + 9, x + 9 + long, y - high, y}, "start", x + 9
}

// legend names the lines in a row above the panel.
func (d drawing) legend(p Panel, y float64) {
	x := left
	for _, l := range p.Lines {
		if l.Name == "" {
			continue
		}
		stroke := 2.4
		if l.Thin {
			stroke = 1.2
		}
		d.line(x, y-4, x+34, y-4, l.style().look(stroke))
		d.text(x+40, y, "start", 0.95, l.Name)
		x += 40 + letter*float64(len(l.Name)) + 18
	}
}

// xText writes the horizontal axis below the last panel.
func (d drawing) xText(y float64) {
	last := math.Inf(-1)
	for _, v := range d.f.xTicks() {
		s := plain(v)
		if d.f.XText != nil {
			s = d.f.XText(v)
		}
		half := letter * float64(len(s)) / 2
		if d.x(v)-half < last+6 {
			continue // no room
		}
		last = d.x(v) + half
		d.text(d.x(v), y+18, "middle", 1, s)
	}
	d.text((left+width-right)/2, y+38, "middle", 1, d.f.XLabel)
}

// xTicks returns the values at which the horizontal axis is marked.
func (f Figure) xTicks() []float64 {
	if !f.Log {
		return ticks(f.XMin, f.XMax)
	}
	var list []float64
	for e := math.Floor(math.Log10(f.XMin)); e <= math.Log10(f.XMax); e++ {
		for _, m := range []float64{1, 2, 5} {
			if v := m * math.Pow(10, e); v >= f.XMin*(1-1e-9) && v <= f.XMax*(1+1e-9) {
				list = append(list, v)
			}
		}
	}
	return list
}

// ticks returns four to ten round values from lo to hi.
func ticks(lo, hi float64) []float64 {
	step := math.Pow(10, math.Floor(math.Log10((hi-lo)/4)))
	switch n := (hi - lo) / step; {
	case n > 20:
		step *= 5
	case n > 8:
		step *= 2
	}
	var list []float64
	for i := math.Ceil(lo/step - 1e-9); i*step <= hi+1e-9*step; i++ {
		list = append(list, i*step+0) // never -0
	}
	return list
}

// plain writes a number of a tick.
func plain(v float64) string {
	return strconv.FormatFloat(math.Round(v*1e9)/1e9+0, 'g', -1, 64)
}
