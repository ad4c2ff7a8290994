package sheet

import (
	"image/color"
	"strings"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
)

// Sizes of the pages of text: letters [pt], the rest [mm].
const (
	textPt   = 9
	labelPt  = 9
	largePt  = 12
	titlePt  = 10.5
	smallPt  = 7.5
	tinyPt   = 7
	labelW   = 34 // of the column of labels
	tablePt  = 8
	cellGap  = 2.5 // between two columns
	itemGap  = 1
	titleGap = 2.5
)

// tableGrey is that of the lines between rows.
var tableGrey = color.RGBA{150, 150, 150, 255}

// A flow lays text on a page from the top, and goes on over new pages as it fills them.
type flow struct {
	*doc
	r       *job.Result
	paper   Paper
	heading string
	page    area
	y       float64 // where the next thing begins
	beside  area    // of the page that is taken at the right, empty for none
	placed  []placed
}

// placed is a text as it lies on a page, for tests.
type placed struct {
	page int
	text string
	area
}

// newFlow begins a page.
func newFlow(d *doc, r *job.Result, p Paper, heading string) *flow {
	f := &flow{doc: d, r: r, paper: p, heading: heading}
	f.next(heading)
	return f
}

func (f *flow) next(heading string) {
	f.page = f.textPage(f.r, f.paper, heading)
	f.y, f.beside = f.page.y0, area{}
}

// need begins a new page where less than so much is left of this one.
func (f *flow) need(mm float64) {
	if f.y+mm > f.page.y1 && f.y > f.page.y0 {
		f.next(continued(f.heading))
	}
}

// continued is the heading of a page that goes on from one with a heading.
func continued(heading string) string {
	short, _, _ := strings.Cut(heading, ":")
	return short + " (continued)"
}

// right is where text ends at the right, from the present height on.
func (f *flow) right() float64 {
	if f.beside.w() > 0 && f.y < f.beside.y1+2 {
		return f.beside.x0 - 4
	}
	return f.page.x1
}

// line writes one line of text in the font in use, not wider than to the right's end,
// and goes on below it.
func (f *flow) line(x float64, s string) {
	h := f.lineHeight()
	f.put(x, f.y+0.78*h, s)
	f.y += h
}

// put writes text that stands on y, and keeps where it is.
func (f *flow) put(x, y float64, s string) {
	if s == "" {
		return
	}
	f.text(x, y, s)
	up := 0.75 * f.pt * mmPerPt
	f.placed = append(f.placed, placed{f.pdf.PageNo(), s, area{x, y - up, x + f.width(s), y + up/4}})
}

// say writes a paragraph from x on.
func (f *flow) say(x float64, s string) {
	rest := f.lines(s, f.right()-x)
	for len(rest) > 0 {
		before := f.right()
		f.need(f.lineHeight())
		f.line(x, rest[0])
		rest = rest[1:]
		if f.right() != before && len(rest) > 0 { // the lines that follow have another width
			text := ""
			for _, l := range rest {
				text += l + " "
			}
			rest = f.lines(text, f.right()-x)
		}
	}
}

// sections lays out the sections of a page.
func (f *flow) sections(list []overlay.Section) {
	for _, s := range list {
		f.section(s)
	}
}

func (f *flow) section(s overlay.Section) {
	f.need(22)
	f.y += titleGap
	f.font(bold, titlePt)
	f.line(f.page.x0, f.short(s.Title, f.right()-f.page.x0))
	f.rule(f.page.x0, f.y, f.right(), f.y, 0.2)
	f.y += itemGap
	for _, i := range s.Items {
		f.item(i)
		f.y += itemGap
	}
}

func (f *flow) item(i overlay.Item) {
	switch {
	case i.Table != nil:
		f.table(*i.Table)
	case len(i.Boxes) > 0:
		f.boxes(i.Boxes)
	case i.Blank:
		f.blank(i)
	case i.Label == "":
		f.font(regular, textPt)
		f.say(f.page.x0, i.Text)
	default:
		f.labelled(i)
	}
}

// labelled writes a label and what it tells beside it.
func (f *flow) labelled(i overlay.Item) {
	pt, text := textPt, regular
	if i.Large {
		pt, text = largePt, bold
	}
	f.font(text, float64(pt))
	f.need(f.lineHeight())
	x := f.label(i.Label, f.lineHeight())
	f.font(text, float64(pt))
	f.say(x, i.Text)
}

// label writes a label whose first line stands level with a line of a height, and
// returns where the text beside it begins. A long label has a line of its own.
func (f *flow) label(s string, h float64) float64 {
	f.font(bold, labelPt)
	x := f.page.x0 + labelW
	if f.width(s) > labelW-2 {
		if own := f.page.x0 + f.width(s) + 3; own < f.page.x0+0.6*(f.right()-f.page.x0) {
			x = own
		} else {
			s = f.short(s, 0.6*(f.right()-f.page.x0)-3)
			x = f.page.x0 + f.width(s) + 3
		}
	}
	f.put(f.page.x0, f.y+0.78*h, s)
	return x
}

// blank leaves a line to write on by hand, and room above it.
func (f *flow) blank(i overlay.Item) {
	const above, below = 2.2, 4.7 // the line, for a hand to write
	f.font(regular, smallPt)
	f.need(above + below + 2*f.lineHeight())
	f.y += above
	x := f.label(i.Label, 4.5)
	f.rule(x, f.y+4, f.right(), f.y+4, 0.2)
	f.y += below
	if i.Text != "" {
		f.font(regular, smallPt)
		f.say(x, i.Text)
	}
}

// boxes leaves fields to write into, side by side.
func (f *flow) boxes(names []string) {
	const high = 13
	f.need(high)
	w := (f.right() - f.page.x0) / float64(len(names))
	f.font(bold, smallPt)
	for i, name := range names {
		x := f.page.x0 + w*float64(i)
		f.box(x, f.y, w, high, 0.2)
		f.put(x+1.2, f.y+3.2, f.short(name, w-2.4))
	}
	f.y += high
}

// table lays out a table; where it is too wide the widest columns are cut, and where
// it goes on on another page its head does too.
func (f *flow) table(t overlay.Table) {
	widths := f.columnWidths(t, f.right()-f.page.x0)
	f.tableHead(t, widths)
	for _, row := range t.Rows {
		f.font(regular, tablePt)
		if f.y+f.rowHeight() > f.page.y1 {
			f.next(continued(f.heading))
			f.tableHead(t, widths)
		}
		f.font(regular, tablePt)
		f.row(t, widths, row)
		f.ink(tableGrey)
		f.rule(f.page.x0, f.y, f.page.x0+tableWidth(widths), f.y, 0.1)
		f.ink(black)
	}
}

func (f *flow) tableHead(t overlay.Table, widths []float64) {
	f.font(bold, tablePt)
	f.need(2 * f.rowHeight())
	f.row(t, widths, t.Head)
	f.rule(f.page.x0, f.y, f.page.x0+tableWidth(widths), f.y, 0.25)
}

func (f *flow) rowHeight() float64 { return f.lineHeight() + 0.6 }

func (f *flow) row(t overlay.Table, widths []float64, cells []string) {
	x, h := f.page.x0, f.rowHeight()
	for i, cell := range cells {
		cell = f.short(cell, widths[i])
		at := x
		if t.Figures[i] {
			at = x + widths[i] - f.width(cell)
		}
		f.put(at, f.y+0.74*h, cell)
		x += widths[i] + cellGap
	}
	f.y += h
}

func tableWidth(widths []float64) float64 {
	sum := -cellGap
	for _, w := range widths {
		sum += w + cellGap
	}
	return sum
}

// columnWidths returns how wide the columns are: as their texts ask for,
// narrowed as far as room asks for, names and notes first.
func (f *flow) columnWidths(t overlay.Table, room float64) []float64 {
	widths := make([]float64, len(t.Head))
	measure := func(face face, row []string) {
		f.font(face, tablePt)
		for i, cell := range row {
			widths[i] = max(widths[i], f.width(cell)+0.01)
		}
	}
	measure(bold, t.Head)
	for _, row := range t.Rows {
		measure(regular, row)
	}
	for tableWidth(widths) > room {
		widths[t.Narrower(widths, 12)] -= min(1, tableWidth(widths)-room+0.01)
	}
	return widths
}

// cautions end a page: what must be said before anybody acts and the standing sentences,
// whole, in small letters, side by side.
func (f *flow) cautions() {
	const gap = 5
	f.y += titleGap
	w := (f.page.w() - gap) / 2
	lists := []struct {
		title string
		texts []string
	}{{"Before anyone acts", overlay.Cautions()}, {"What the figures are", overlay.Standing()}}
	f.font(regular, tinyPt)
	high, h := 0, f.lineHeight()
	for _, l := range lists {
		n := 1
		for _, s := range l.texts {
			n += len(f.lines(s, w-2))
		}
		high = max(high, n)
	}
	f.need(float64(high) * h)
	f.rule(f.page.x0, f.y, f.page.x1, f.y, 0.2)
	top, bottom := f.y+0.5, f.y
	for i, l := range lists {
		x, y := f.page.x0+float64(i)*(w+gap), top
		write := func(at float64, s string) {
			f.put(at, y+0.78*h, s)
			y += h
		}
		f.font(bold, tinyPt)
		write(x, l.title)
		f.font(regular, tinyPt)
		for _, s := range l.texts {
			f.put(x, y+0.78*h, "-")
			for _, line := range f.lines(s, w-2) {
				write(x+2, line)
			}
		}
		bottom = max(bottom, y)
	}
	f.y = bottom
}
