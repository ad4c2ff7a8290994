package sheet

import (
	"context"
	"fmt"
	"image/color"
	"math"
	"slices"

	"farhail/geo/grid"
	"farhail/geo/terrain"

	"github.com/paulmach/orb"
)

// contourColour is a brown dark enough to print as grey.
var contourColour = color.RGBA{112, 84, 56, 255}

// intervals are the heights between two contours [m]; every fifth is drawn thicker.
var intervals = []float64{5, 10, 20, 50, 100, 200}

// Own choice: contours are at least a metre apart for every leastOf of the scale (5 m at
// 1:25 000, as maps have them in gentle country; less would draw the errors of the
// heights), and on the steeper ground no closer than closestMM, where they still are
// lines.
const (
	leastOf   = 5000
	closestMM = 0.55
)

// contourInterval is the smallest interval that keeps to both.
func contourInterval(h *grid.Heights, scale float64) float64 {
	steep := steepness(h, 0.9)
	for _, step := range intervals {
		if step >= scale/leastOf && (steep == 0 || step/steep*1000/scale >= closestMM) {
			return step
		}
	}
	return intervals[len(intervals)-1]
}

// steepness is the slope [m per m] that a share of the cells do not exceed; 0 where none
// is known. Every few cells stand for all.
func steepness(h *grid.Heights, share float64) float64 {
	every := max(1, int(math.Sqrt(float64(h.Cols)*float64(h.Rows)/20000)))
	var list []float64
	for row := 0; row < h.Rows; row += every {
		for col := 0; col < h.Cols; col += every {
			if s := terrain.SlopeDeg(h, col, row); !math.IsNaN(s) {
				list = append(list, math.Tan(s*math.Pi/180))
			}
		}
	}
	if len(list) == 0 {
		return 0
	}
	slices.Sort(list)
	return list[int(share*float64(len(list)-1))]
}

// cutOut returns the heights under the window and a few cells around it, so that nothing
// is drawn for the rest; nil where there are none.
func cutOut(p *projection, h *grid.Heights) *grid.Heights {
	c0, r0, c1, r1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	const steps = 16
	for i := range steps + 1 {
		for j := range steps + 1 {
			x := p.window.x0 + p.window.w()*float64(i)/steps
			y := p.window.y0 + p.window.h()*float64(j)/steps
			col, row := h.Cell(p.position(orb.Point{x, y}))
			c0, r0, c1, r1 = min(c0, col), min(r0, row), max(c1, col), max(r1, row)
		}
	}
	const more = 3
	first := func(v float64, n int) int { return int(min(max(math.Floor(v)-more, 0), float64(n))) }
	last := func(v float64, n int) int { return int(min(max(math.Ceil(v)+more+1, 0), float64(n))) }
	col0, row0, col1, row1 := first(c0, h.Cols), first(r0, h.Rows), last(c1, h.Cols), last(r1, h.Rows)
	if col1-col0 < 3 || row1-row0 < 3 {
		return nil
	}
	out := &grid.Heights{Frame: h.Part(col0, row0, col1, row1), Z: make([]float32, 0, (col1-col0)*(row1-row0))}
	for row := row0; row < row1; row++ {
		out.Z = append(out.Z, h.Row(row)[col0:col1]...)
	}
	return out
}

// contours draws the contours, and returns what labels the thicker ones want.
func (d *doc) contours(ctx context.Context, p *projection, h *grid.Heights, step float64) ([]label, error) {
	lo, hi := h.Range()
	var labels []label
	for k := math.Ceil(lo / step); k*step <= hi; k++ {
		lines, err := grid.Contour(ctx, h.Frame, h.Z, k*step)
		if err != nil {
			return nil, err
		}
		page := p.onPage(lines)
		index := math.Mod(k, 5) == 0
		mm := 0.1
		if index {
			mm = 0.25
			labels = append(labels, d.contourLabels(page, k*step)...)
		}
		d.strokes(page, pen{colour: contourColour, mm: mm})
	}
	return labels, nil
}

// everyMM is the length of contour that has one height written to it [mm].
const everyMM = 110

// contourLabels writes a height once a while along lines, its foot downhill as on any
// good map: the figures stand upright for who looks up the slope.
func (d *doc) contourLabels(lines []orb.LineString, height float64) []label {
	text := fmt.Sprintf("%.0f", height)
	d.font(regular, contourPt)
	w := d.width(text)
	var labels []label
	for _, line := range lines {
		length := lengthOf(line)
		if length < 20 {
			continue
		}
		n := max(1, int(length/everyMM))
		for i := range n {
			from, to := length*float64(i)/float64(n), length*float64(i+1)/float64(n)
			if spots := uphill(line, from, to, w); len(spots) > 0 {
				labels = append(labels, label{text: text, face: regular, pt: contourPt, colour: contourColour, spots: spots})
			}
		}
	}
	return labels
}

const contourPt = 5.5

// uphill returns spots on a part of a contour, the straightest first. Contours run with
// lower ground to their left, on the page too.
func uphill(line orb.LineString, from, to, w float64) []spot {
	var list []spot
	var cost []float64
	for s := from + w/2 + 1; s+w/2+1 < to; s += 3 {
		a, b, mid := at(line, s-w/2), at(line, s+w/2), at(line, s)
		chord := math.Hypot(b[0]-a[0], b[1]-a[1])
		off := math.Hypot(mid[0]-(a[0]+b[0])/2, mid[1]-(a[1]+b[1])/2)
		if chord < 0.95*w || off > 0.4 {
			continue
		}
		// Lower ground is to the left of a to b, so text from b to a has it below.
		angle := -math.Atan2(a[1]-b[1], a[0]-b[0]) * 180 / math.Pi
		list = append(list, spot{mid[0], mid[1], angle})
		if math.Abs(angle) > 90 { // on its head: rather elsewhere
			off += 0.4
		}
		cost = append(cost, off)
	}
	sortBy(list, cost)
	return list
}
