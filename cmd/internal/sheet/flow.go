package sheet

import (
	"image/color"
	"math"
	"strings"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
)

// Sizes of the pages of text: letters [pt], the rest [mm].
const (
	textPt  = 9
	labelPt = 9
	largePt = 12
	titlePt = 10.5
	smallPt = 7.5
	tinyPt  = 7
	labelW  = 34 // of the column of labels
	tablePt = 8
	cellGap = 2.5 // between two columns
)

// gaps are what a page leaves between things [mm].
type gaps struct {
	title float64 // above the title of a section
	item  float64 // below an item
	above float64 // a line to write on, for the hand
	box   float64 // the height of a field to write into
}

// loose is how pages are laid out, and tight where that brings one that goes on with little
// more onto a single page: a page that is one leaf is not lost in halves.
var (
	loose = gaps{title: 2.5, item: 1, above: 2.2, box: 13}
	tight = gaps{title: 1, item: 0.3, above: 1.2, box: 9.5}
)

// tableGrey is that of the lines between rows.
var tableGrey = color.RGBA{150, 150, 150, 255}

// A flow lays text on a page from the top, and goes on over new pages as it fills them.
type flow struct {
	*doc
	gaps
	r       *job.Result
	paper   Paper
	heading string
	page    area
	y       float64 // where the next thing begins
	beside  area    // of the page that is taken at the right, empty for none
	placed  []placed
	trial   bool // nothing is drawn: how many pages it would take
	pages   int
}

// placed is a text as it lies on a page, for tests.
type placed struct {
	page int
	text string
	area
}

// newFlow begins a page.
func newFlow(d *doc, r *job.Result, p Paper, heading string) *flow {
	f := &flow{doc: d, gaps: loose, r: r, paper: p, heading: heading}
	f.next(heading)
	return f
}

func (f *flow) next(heading string) {
	if !f.trial {
		f.textPage(f.r, f.paper, heading)
	}
	f.pages++
	f.page = textArea(f.r, f.paper)
	f.y, f.beside = f.page.y0, area{}
}

// lay lays out a page, tighter where that keeps it a single one.
func (f *flow) lay(content func(*flow)) {
	fits := func(g gaps) bool {
		try := &flow{doc: f.doc, gaps: g, r: f.r, paper: f.paper, trial: true}
		try.next("")
		try.beside = f.beside
		content(try)
		return try.pages == 1
	}
	if !fits(loose) && fits(tight) {
		f.gaps = tight
	}
	content(f)
}

// rule, box and fill draw lines unless it is a trial.
func (f *flow) rule(x0, y0, x1, y1, width float64) {
	if !f.trial {
		f.doc.rule(x0, y0, x1, y1, width)
	}
}

func (f *flow) box(x, y, w, h, width float64) {
	if !f.trial {
		f.doc.box(x, y, w, h, width)
	}
}

func (f *flow) fill(x, y, w, h float64) {
	if !f.trial {
		f.doc.fill(x, y, w, h)
	}
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
	if s == "" || f.trial {
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
	f.y += f.gaps.title
	f.font(bold, titlePt)
	f.line(f.page.x0, f.short(s.Title, f.right()-f.page.x0))
	f.rule(f.page.x0, f.y, f.right(), f.y, 0.2)
	f.y += f.gaps.item
	for _, i := range s.Items {
		f.item(i)
		f.y += f.gaps.item
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
	const below = 4.7 // the line
	f.font(regular, smallPt)
	f.need(f.above + below + 2*f.lineHeight())
	f.y += f.above
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
	high := f.gaps.box
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
// whole, in small letters, side by side, each as wide as makes both equally high.
func (f *flow) cautions() {
	const gap = 5
	f.y += f.gaps.title
	lists := []caution{{title: "Before anyone acts", texts: overlay.Cautions()}, {title: "What the figures are", texts: overlay.Standing()}}
	room := f.page.w() - gap
	high := math.MaxInt
	for share := 0.5; share < 0.66; share += 0.02 {
		left, right := f.wrap(lists[0], room*share), f.wrap(lists[1], room*(1-share))
		if h := max(left.high(), right.high()); h < high {
			high, lists[0], lists[1] = h, left, right
		}
	}
	f.font(regular, tinyPt)
	h := f.lineHeight()
	f.need(float64(high) * h)
	f.rule(f.page.x0, f.y, f.page.x1, f.y, 0.2)
	top, x := f.y+0.5, f.page.x0
	for _, l := range lists {
		y := top
		write := func(at float64, s string) {
			f.put(at, y+0.78*h, s)
			y += h
		}
		f.font(bold, tinyPt)
		write(x, l.title)
		f.font(regular, tinyPt)
		for _, lines := range l.lines {
			f.put(x, y+0.78*h, "-")
			for _, line := range lines {
				write(x+2, line)
			}
		}
		x += l.w + gap
	}
	f.y = top + float64(high)*h
}

// A caution is a list of sentences below a title, broken into lines for a width [mm].
type caution struct {
	title string
	texts []string
	w     float64
	lines [][]string
}

func (f *flow) wrap(c caution, w float64) caution {
	c.w, c.lines = w, nil
	f.font(regular, tinyPt)
	for _, s := range c.texts {
		c.lines = append(c.lines, f.doc.lines(s, w-2))
	}
	return c
}

// high is how many lines a list takes with its title.
func (c caution) high() int {
	n := 1
	for _, l := range c.lines {
		n += len(l)
	}
	return n
}
