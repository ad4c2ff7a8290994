package overlay

import (
	"fmt"
	"io"
	"strings"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/geo/coord"

	"github.com/paulmach/orb"
)

// A Paper is what one page says to whoever holds it, the same as text and in print.
type Paper struct {
	Heading  string
	Sections []Section
	Ground   Ground // what a small map of it shows
}

// A Ground is what a page is about on the ground: ways, areas, and places with a letter.
type Ground struct {
	Ways   orb.MultiLineString
	Areas  orb.MultiPolygon
	Places []Place
}

// A Place is a position with its letter: S where a way sets out, E where it ends, a
// figure where a task begins, W where somebody watches.
type Place struct {
	Letter string
	Point  orb.Point
}

// A Section is a part of a page under a title.
type Section struct {
	Title string
	Items []Item
}

// An Item is a paragraph, a line to fill in, or a table.
type Item struct {
	Label string // before the text, "" for none
	Text  string
	Large bool     // what must be found at a glance
	Blank bool     // a line to write on
	Boxes []string // small fields to write into, side by side
	Table *Table   // nil for none
}

// A Table has a head and rows of as many cells. Columns of figures stand to the right.
type Table struct {
	Head    []string
	Figures []bool
	Rows    [][]string
	// Cut is the column that is cut first where the page is too narrow: a name or a note,
	// never a position or a figure.
	Cut int
}

// Narrower returns which of columns gives way first, least being what the one that is cut
// keeps.
func (t Table) Narrower(widths []float64, least float64) int {
	if widths[t.Cut] > least {
		return t.Cut
	}
	widest := 0
	for i, w := range widths {
		if w > widths[widest] {
			widest = i
		}
	}
	return widest
}

func (s *Section) say(format string, args ...any) {
	s.Items = append(s.Items, Item{Text: fmt.Sprintf(format, args...)})
}

func (s *Section) tell(label, format string, args ...any) {
	s.Items = append(s.Items, Item{Label: label, Text: fmt.Sprintf(format, args...)})
}

// large tells what must be found at a glance.
func (s *Section) large(label, text string) {
	s.Items = append(s.Items, Item{Label: label, Text: text, Large: true})
}

// blank leaves a line to write on, and says why it is empty.
func (s *Section) blank(label, why string) {
	s.Items = append(s.Items, Item{Label: label, Text: why, Blank: true})
}

func (s *Section) table(t Table) {
	if len(t.Rows) > 0 {
		s.Items = append(s.Items, Item{Table: &t})
	}
}

// emergency tells the number to call, or leaves it blank.
func emergency(s *Section, r *job.Result) {
	label, text, _ := strings.Cut(emergencyLine(r.Plan.Emergency), ": ")
	s.large(label, text)
}

// LandPosition writes a position for people on the ground: the grid first, then degrees
// and minutes. Which of two stands first follows the United States National Search and
// Rescue Committee's georeferencing matrix of 2007: grid first on land, latitude and
// longitude first in the air.
func LandPosition(w cli.Words, p orb.Point) string {
	grid, degrees := bothNotations(w, p)
	return grid + apart + degrees
}

// AirPosition writes a position for aircraft: degrees and minutes first, then the grid.
func AirPosition(w cli.Words, p orb.Point) string {
	grid, degrees := bothNotations(w, p)
	return degrees + apart + grid
}

// apart stands between the two notations of a position.
const apart = " = "

// bothNotations returns a grid reference and degrees, of each the one asked for.
func bothNotations(w cli.Words, p orb.Point) (grid, degrees string) {
	grid, degrees = gridReference(p), coord.DDM(p)
	switch w.Notation {
	case coord.NotationUTM:
		grid = w.Reference(p)
	case coord.NotationDecimal, coord.NotationDMS:
		degrees = w.Reference(p)
	}
	return grid, degrees
}

// paper writes a page as text.
func (b *brief) paper(p Paper) {
	for _, s := range p.Sections {
		b.title(strings.ToUpper(s.Title))
		for _, i := range s.Items {
			b.paperItem(i)
		}
	}
}

// lineToFill is what a blank to write on looks like in text.
const lineToFill = "______________________________"

func (b *brief) paperItem(i Item) {
	label := ""
	if i.Label != "" {
		label = i.Label + ": "
	}
	switch {
	case i.Table != nil:
		b.table(*i.Table)
	case len(i.Boxes) > 0:
		for _, name := range i.Boxes {
			b.item("   ", "%s: %s", name, lineToFill)
		}
	case i.Blank:
		b.item("   ", "%s", label+lineToFill)
		if i.Text != "" {
			b.item("   ", "(%s)", i.Text)
		}
	default:
		b.item("   ", "%s", label+i.Text)
	}
}

// table writes a table in columns; the widest is cut where the page is too narrow.
func (b *brief) table(t Table) {
	const gap, indent = 2, 3
	widths := make([]int, len(t.Head))
	rows := make([][]string, 0, len(t.Rows)+1)
	for _, row := range append([][]string{t.Head}, t.Rows...) {
		plain := make([]string, len(row))
		for i, cell := range row {
			plain[i] = ascii(cell)
			widths[i] = max(widths[i], len(plain[i]))
		}
		rows = append(rows, plain)
	}
	for total(widths)+gap*(len(widths)-1)+indent > columns {
		measured := make([]float64, len(widths))
		for i, w := range widths {
			measured[i] = float64(w)
		}
		widths[t.Narrower(measured, 6)]--
	}
	for _, row := range rows {
		var cells []string
		for i, cell := range row {
			if len(cell) > widths[i] {
				cell = cell[:max(0, widths[i]-2)] + ".."
			}
			format := "%-*s"
			if t.Figures[i] {
				format = "%*s"
			}
			cells = append(cells, fmt.Sprintf(format, widths[i], cell))
		}
		b.columns("   %s", strings.Join(cells, strings.Repeat(" ", gap)))
	}
}

func total(list []int) int {
	sum := 0
	for _, v := range list {
		sum += v
	}
	return sum
}

// writePaper writes a page as a file of its own, headed and ended like the brief.
func writePaper(w io.Writer, r *job.Result, p Paper) error {
	b := &brief{words: r.Words()}
	if r.Plan.Example {
		b.line(exampleLine)
	}
	b.line("%s", titleOf(r))
	b.line("%s", p.Heading)
	b.line("As of %s. Times in %s, 24-hour clock. Plan %s, %s.", moment(r.Plan.AsOf), r.Plan.Zone, r.Plan.Hash, r.Program)
	b.paper(p)
	return b.tail(w)
}
