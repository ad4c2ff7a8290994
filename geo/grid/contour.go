package grid

import (
	"context"
	"math"

	"github.com/paulmach/orb"
)

// Contour returns the lines at which v equals level, in longitude and latitude,
// with lower values to their left: the borders that [Outline] draws between two
// cells with a value, and nothing along NaN, ±Inf or the grid's edge, where a line
// ends at its last crossing of a row or column of centres. A closed line repeats
// its first position. Lines neither cross nor touch, also those of other levels
// but where two levels pass the same centre closer than 1 % of a cell. They come
// in the order of their northernmost row. It returns the context's error when it ends
// first, and panics where v does not have one
// value a cell.
func Contour(ctx context.Context, f Frame, v []float32, level float64) (orb.MultiLineString, error) {
	o, err := march(ctx, f, v, level)
	if err != nil {
		return nil, err
	}
	var lines orb.MultiLineString
	done := make(map[crossing]bool, len(o.order))
	for _, start := range o.order {
		if done[start] {
			continue
		}
		ring, cut := []crossing{}, -1
		for c := start; !done[c]; c = o.next[c] {
			done[c] = true
			if o.border(c) {
				cut = len(ring)
			}
			ring = append(ring, c)
		}
		if cut < 0 {
			lines = append(lines, o.line(append(ring, ring[0])))
			continue
		}
		// From behind the last border on, runs between borders.
		var run []crossing
		for i := range ring {
			if c := ring[(cut+1+i)%len(ring)]; !o.border(c) {
				run = append(run, c)
				continue
			}
			if len(run) > 1 {
				lines = append(lines, o.line(run))
			}
			run = run[:0]
		}
	}
	return lines, nil
}

// border reports whether a crossing lies between a value and none.
func (o *outline) border(c crossing) bool {
	a, b := o.ends(c)
	return math.IsInf(a, 0) || math.IsInf(b, 0)
}

func (o *outline) line(crossings []crossing) orb.LineString {
	line := make(orb.LineString, len(crossings))
	for i, c := range crossings {
		line[i] = o.frame.lonLat(o.cell(c))
	}
	return line
}
