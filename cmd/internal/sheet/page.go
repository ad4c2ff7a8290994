package sheet

import (
	"fmt"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"

	"github.com/paulmach/orb"
)

// margin is what most printers leave white, and a little more [mm].
const margin = 10

// An area is a rectangle of a page [mm].
type area struct{ x0, y0, x1, y1 float64 }

func (a area) w() float64 { return a.x1 - a.x0 }
func (a area) h() float64 { return a.y1 - a.y0 }

// inset returns the area without a strip along its sides.
func (a area) inset(mm float64) area { return area{a.x0 + mm, a.y0 + mm, a.x1 - mm, a.y1 - mm} }

// polygon is the area as a polygon of the page.
func (a area) polygon() orb.Polygon {
	return orb.Polygon{{{a.x0, a.y0}, {a.x1, a.y0}, {a.x1, a.y1}, {a.x0, a.y1}, {a.x0, a.y0}}}
}

// textPage adds a standing page with its head.
func (d *doc) textPage(r *job.Result, p Paper, heading string) {
	w, h := p.text().size()
	d.page(w, h)
	d.head(r, area{margin, margin, w - margin, h - margin}, heading)
}

// textArea is what a standing page leaves for the text.
func textArea(r *job.Result, p Paper) area {
	w, h := p.text().size()
	return area{margin, margin + headHeight(r), w - margin, h - margin - footHeight}
}

// head writes what stands on top of every page, and returns where the page goes on.
func (d *doc) head(r *job.Result, a area, heading string) float64 {
	y := a.y0
	if r.Plan.Example {
		y = d.exampleBand(a.x0, y, a.w())
	}
	d.font(bold, 13)
	heading = d.short(heading, a.w()*0.6)
	d.text(a.x0, y+4.8, heading)
	used := d.width(heading) + 6
	d.font(regular, 9)
	d.textRight(a.x1, y+4.8, d.short(overlay.Title(r), a.w()-used))
	y += titleHeight - 2
	d.rule(a.x0, y, a.x1, y, 0.4)
	return y + 2
}

// titleHeight is that of the title and the rule below it [mm].
const titleHeight = 8.6

// headHeight is that of the whole head.
func headHeight(r *job.Result) float64 {
	if r.Plan.Example {
		return exampleHeight + titleHeight
	}
	return titleHeight
}

// exampleHeight is that of the band that heads every page of an example.
const exampleHeight = 6.5

// exampleBand writes that this is no real search, white on black: it must be seen
// whatever the printer and the light. It returns where the page goes on.
func (d *doc) exampleBand(x, y, w float64) float64 {
	d.ink(black)
	d.fill(x, y, w, exampleHeight-1.5)
	d.ink(white)
	d.font(bold, 11)
	d.textCentre(x+w/2, y+3.8, overlay.ExampleLine)
	d.ink(black)
	return y + exampleHeight
}

// footHeight is the room that the foot of a page takes [mm].
const footHeight = 5

// feet writes the foot of every page, once it is known how many there are: which plan
// and program it is from, and which page.
func (d *doc) feet(r *job.Result) {
	n := d.pdf.PageCount()
	for i := 1; i <= n; i++ {
		w, _, _ := d.pdf.PageSize(i)
		d.pdf.SetPage(i)
		y := d.h - (margin - 3) // the library goes on measuring by the height of the last page
		d.now, d.pt = "", 0
		d.ink(black)
		d.font(regular, 7)
		d.text(margin, y, d.short(fmt.Sprintf("Plan %s, as of %s. %s.", r.Plan.Hash, overlay.Moment(r.Plan.AsOf), r.Program), w-2*margin-25))
		d.textRight(w-margin, y, fmt.Sprintf("page %d of %d", i, n))
	}
}
