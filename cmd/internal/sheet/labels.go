package sheet

import (
	"image/color"
	"math"

	"github.com/paulmach/orb"
)

// A label is text that wants a place on the map.
type label struct {
	text   string
	face   face
	pt     float64
	colour color.RGBA
	spots  []spot // where it may stand, the best first
}

// A spot is where the middle of a label may stand, and how it is turned.
type spot struct {
	x, y  float64
	angle float64 // from east, against the clock [degrees]
}

// A laid label has its place.
type laid struct {
	label
	spot
	box box
}

// A box is a turned rectangle of the page.
type box struct {
	x, y, w, h float64 // its middle and sides [mm]
	angle      float64 // from east, against the clock [degrees]
}

// corners returns the corners of a box.
func (b box) corners() [4]orb.Point {
	sin, cos := math.Sincos(b.angle * math.Pi / 180)
	var list [4]orb.Point
	for i, c := range [4][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		u, v := c[0]*b.w/2, c[1]*b.h/2
		list[i] = orb.Point{b.x + u*cos + v*sin, b.y - u*sin + v*cos}
	}
	return list
}

// overlaps reports whether two boxes have ground in common: whether on none of the four
// directions of their sides one ends before the other begins.
func (b box) overlaps(o box) bool {
	if math.Hypot(b.x-o.x, b.y-o.y) > math.Hypot(b.w, b.h)/2+math.Hypot(o.w, o.h)/2 {
		return false
	}
	one, two := b.corners(), o.corners()
	for _, angle := range [4]float64{b.angle, b.angle + 90, o.angle, o.angle + 90} {
		sin, cos := math.Sincos(angle * math.Pi / 180)
		lo1, hi1 := extent(one, cos, -sin)
		lo2, hi2 := extent(two, cos, -sin)
		if hi1 <= lo2 || hi2 <= lo1 {
			return false
		}
	}
	return true
}

// extent is how far corners reach along a direction.
func extent(corners [4]orb.Point, dx, dy float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, c := range corners {
		at := c[0]*dx + c[1]*dy
		lo, hi = min(lo, at), max(hi, at)
	}
	return lo, hi
}

// within reports whether a box lies in an area.
func (b box) within(a area) bool {
	for _, c := range b.corners() {
		if c[0] < a.x0 || c[0] > a.x1 || c[1] < a.y0 || c[1] > a.y1 {
			return false
		}
	}
	return true
}

// labelGap is kept free around a label [mm].
const labelGap = 0.3

// place gives labels their places in their order: each the first of its spots where it
// stands within the frame and on no box that is taken. A label without such a spot is
// left out, and its number returned. One order of labels gives one map.
func (d *doc) place(labels []label, taken []box, frame area) (list []laid, leftOut []int) {
	taken = append([]box(nil), taken...)
	for i, l := range labels {
		d.font(l.face, l.pt)
		w, h := d.width(l.text)+2*labelGap, capHeight*l.pt*mmPerPt+2*labelGap+descent*l.pt*mmPerPt
		done := false
		for _, s := range l.spots {
			b := box{s.x, s.y, w, h, s.angle}
			if !b.within(frame) || hits(b, taken) {
				continue
			}
			list, taken, done = append(list, laid{l, s, b}), append(taken, b), true
			break
		}
		if !done {
			leftOut = append(leftOut, i)
		}
	}
	return list, leftOut
}

// Shares of the size of the letters: how high capitals and figures stand, and how far
// others reach below the line (measured on the Go fonts).
const (
	capHeight = 0.73
	descent   = 0.21
)

func hits(b box, taken []box) bool {
	for _, t := range taken {
		if b.overlaps(t) {
			return true
		}
	}
	return false
}

// writeLabel writes a label with a white rim, so that lines below it do not touch it.
func (d *doc) writeLabel(l laid) {
	d.font(l.face, l.pt)
	x := l.x - d.width(l.text)/2
	y := l.y + (capHeight-descent)*l.pt*mmPerPt/2
	if l.angle != 0 {
		d.pdf.TransformBegin()
		d.pdf.TransformRotate(l.angle, l.x, l.y)
	}
	d.ink(white)
	d.pdf.SetLineWidth(0.7)
	d.pdf.SetTextRenderingMode(1)
	d.text(x, y, l.text)
	d.pdf.SetTextRenderingMode(0)
	d.ink(l.colour)
	d.text(x, y, l.text)
	if l.angle != 0 {
		d.pdf.TransformEnd()
	}
}

// beside returns spots around a point symbol of a size for a text of a width and height:
// right of it first, as people read, then the other sides and corners, then farther off.
func beside(at orb.Point, size, w, h float64) []spot {
	var list []spot
	for _, off := range []float64{0.5, 1.8, 3.5} {
		x, y := size/2+off+w/2, size/2+off+h/2
		near := size/2 + off*0.7
		for _, s := range [][2]float64{
			{x, 0}, {-x, 0}, {near + w/2, -near - h/2}, {near + w/2, near + h/2}, {-near - w/2, -near - h/2}, {-near - w/2, near + h/2}, {0, -y}, {0, y},
			{w / 4, -y}, {w / 4, y}, {-w / 4, -y}, {-w / 4, y},
		} {
			list = append(list, spot{x: at[0] + s[0], y: at[1] + s[1]})
		}
	}
	return list
}

// along returns spots on lines for a text of a width: where the line is straight enough,
// the most level first, upright; after these where it bends more. Lines shorter than the
// text have none.
func along(lines []orb.LineString, w float64) []spot {
	var straight, bent []spot
	var cost, costBent []float64
	for _, line := range lines {
		length := lengthOf(line)
		if length < w*1.15 {
			continue
		}
		for s := w / 2; s+w/2 <= length; s += max(w/3, 4) {
			p, chord, off := lieOn(line, s, w)
			price := math.Abs(p.angle)/15 + off*4
			switch {
			case chord >= w*0.93 && off <= max(0.9, 0.06*w):
				straight, cost = append(straight, p), append(cost, price)
			case chord >= w*0.8 && off <= w/4:
				bent, costBent = append(bent, p), append(costBent, price)
			}
		}
	}
	sortBy(straight, cost)
	sortBy(bent, costBent)
	return append(straight, bent...)
}

// lieOn returns the spot of a text of a width on a line around a place of it, upright,
// how long the chord below the text is and how far the line swings from it.
func lieOn(line orb.LineString, s, w float64) (p spot, chord, off float64) {
	a, b, mid := at(line, s-w/2), at(line, s+w/2), at(line, s)
	chord = math.Hypot(b[0]-a[0], b[1]-a[1])
	off = math.Hypot(mid[0]-(a[0]+b[0])/2, mid[1]-(a[1]+b[1])/2)
	angle := -math.Atan2(b[1]-a[1], b[0]-a[0]) * 180 / math.Pi
	if angle > 90 {
		angle -= 180
	} else if angle <= -90 {
		angle += 180
	}
	return spot{(mid[0]*2 + a[0] + b[0]) / 4, (mid[1]*2 + a[1] + b[1]) / 4, angle}, chord, off
}
