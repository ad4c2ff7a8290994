package grid

import (
	"cmp"
	"slices"

	"github.com/paulmach/orb"
)

// Patches returns the ground of each label as polygons along the sides of cells,
// by label from 0 up to the largest: together they cover just the cells whose
// label is not negative, and neighbours share their border point by point.
//
// labels holds one value a cell, row by row. Cells of one label that touch only
// by a corner are parts of their own. Rings are closed, outer ones run
// counter-clockwise and holes clockwise; corners in line are left out except
// where three patches or more meet, so that a shared border stays shared.
func Patches(f Frame, labels []int32) []orb.MultiPolygon {
	if len(labels) != f.Cols*f.Rows {
		panic("grid: patches of labels that are not one a cell")
	}
	n := int32(0)
	for _, l := range labels {
		n = max(n, l+1)
	}
	p := &patches{f: f, labels: labels, edges: make([]map[corner][]corner, n), order: make([][]corner, n)}
	for row := range f.Rows {
		for col := range f.Cols {
			p.sides(col, row)
		}
	}
	out := make([]orb.MultiPolygon, n)
	for l := range n {
		out[l] = p.polygons(l)
	}
	return out
}

// A corner is the north-west corner of the cell of that column and row.
type corner struct{ col, row int32 }

type patches struct {
	f      Frame
	labels []int32
	edges  []map[corner][]corner // by label, where the border goes from each corner
	order  [][]corner            // by label, corners as met
}

func (p *patches) at(col, row int) int32 {
	if col < 0 || row < 0 || col >= p.f.Cols || row >= p.f.Rows {
		return -1
	}
	return p.labels[row*p.f.Cols+col]
}

// sides adds the sides of a cell that border on another label, with the cell to
// their left.
func (p *patches) sides(col, row int) {
	l := p.at(col, row)
	if l < 0 {
		return
	}
	c, r := int32(col), int32(row)
	nw, ne, sw, se := corner{c, r}, corner{c + 1, r}, corner{c, r + 1}, corner{c + 1, r + 1}
	for _, s := range []struct {
		other    int32
		from, to corner
	}{
		{p.at(col, row-1), ne, nw},
		{p.at(col-1, row), nw, sw},
		{p.at(col, row+1), sw, se},
		{p.at(col+1, row), se, ne},
	} {
		if s.other == l {
			continue
		}
		if p.edges[l] == nil {
			p.edges[l] = map[corner][]corner{}
		}
		if len(p.edges[l][s.from]) == 0 {
			p.order[l] = append(p.order[l], s.from)
		}
		p.edges[l][s.from] = append(p.edges[l][s.from], s.to)
	}
}

// polygons joins the sides of one label to rings, and holes to the outer ring
// around them.
func (p *patches) polygons(l int32) orb.MultiPolygon {
	edges := p.edges[l]
	var outer, holes [][]corner
	for _, start := range p.order[l] {
		for len(edges[start]) > 0 {
			for _, ring := range p.rings(edges, start) {
				if area2(ring) > 0 {
					outer = append(outer, ring)
				} else {
					holes = append(holes, ring)
				}
			}
		}
	}
	polygons := make(orb.MultiPolygon, len(outer))
	// The smallest outer ring around a hole is its own.
	byArea := make([]int, len(outer))
	for i := range byArea {
		byArea[i] = i
		polygons[i] = orb.Polygon{p.place(outer[i])}
	}
	slices.SortStableFunc(byArea, func(a, b int) int { return cmp.Compare(area2(outer[a]), area2(outer[b])) })
	for _, h := range holes {
		for _, i := range byArea {
			if around(outer[i], h) {
				polygons[i] = append(polygons[i], p.place(h))
				break
			}
		}
	}
	return polygons
}

// rings follows the border from a corner back to it, and takes its sides away.
// Where two sides leave one corner it turns left, so that parts that touch by
// the corner stay apart; where it meets itself the loop is a ring of its own, so
// that rings touch themselves nowhere.
func (p *patches) rings(edges map[corner][]corner, start corner) (rings [][]corner) {
	ring := []corner{start}
	place := map[corner]int{start: 0}
	in := corner{} // the way of the last side
	for len(ring) > 0 {
		at := ring[len(ring)-1]
		next := edges[at]
		pick := 0
		if len(next) > 1 && in != (corner{}) {
			out := corner{next[0].col - at.col, next[0].row - at.row}
			// Rows count down: a left turn has a negative cross product.
			if in.col*out.row-in.row*out.col > 0 {
				pick = 1
			}
		}
		to := next[pick]
		if len(next) == 1 {
			delete(edges, at)
		} else {
			edges[at] = []corner{next[1-pick]}
		}
		in = corner{to.col - at.col, to.row - at.row}
		i, met := place[to]
		if !met {
			place[to] = len(ring)
			ring = append(ring, to)
			continue
		}
		loop := append([]corner(nil), ring[i:]...)
		rings = append(rings, loop)
		for _, c := range loop[1:] {
			delete(place, c)
		}
		ring = ring[:i+1]
		if i == 0 {
			return rings
		}
	}
	return rings
}

// place returns the ring in longitude and latitude without the corners that lie
// within a straight border of two patches.
func (p *patches) place(ring []corner) orb.Ring {
	out := orb.Ring{}
	n := len(ring)
	for i, c := range ring {
		a, b := ring[(i+n-1)%n], ring[(i+1)%n]
		straight := a.col == c.col && c.col == b.col || a.row == c.row && c.row == b.row
		if straight && p.meeting(c) < 3 {
			continue
		}
		out = append(out, p.f.lonLat(float64(c.col)-0.5, float64(c.row)-0.5))
	}
	return append(out, out[0])
}

// meeting counts the labels around a corner.
func (p *patches) meeting(c corner) int {
	col, row := int(c.col), int(c.row)
	around := []int32{p.at(col-1, row-1), p.at(col, row-1), p.at(col-1, row), p.at(col, row)}
	slices.Sort(around)
	return len(slices.Compact(around))
}

// area2 returns twice the area of a ring of corners [cells], positive where it
// runs counter-clockwise as seen on the map.
func area2(ring []corner) int64 {
	total := int64(0)
	for i, c := range ring {
		d := ring[(i+1)%len(ring)]
		total -= int64(c.col)*int64(d.row) - int64(d.col)*int64(c.row)
	}
	return total
}

// around reports whether an outer ring lies around a hole: whether the middle of
// the cell inside the hole's first side is within it.
func around(outer, hole []corner) bool {
	a, b := hole[0], hole[1]
	// The hole is to the right of its sides.
	dc, dr := b.col-a.col, b.row-a.row
	x, y := float64(a.col)+float64(dc)/2-float64(dr)/2, float64(a.row)+float64(dr)/2+float64(dc)/2
	inside := false
	for i, c := range outer {
		d := outer[(i+1)%len(outer)]
		if (float64(c.row) > y) != (float64(d.row) > y) && x < float64(c.col) {
			inside = !inside
		}
	}
	return inside
}
