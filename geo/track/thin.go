package track

import (
	"cmp"
	"container/heap"

	"farhail/geo/earth"
)

// Thin returns the track with at most so many fixes and how far the line was
// moved by that at worst [m]: every fix that was left out lies within worstM of
// the straight way between the kept fixes around it. Each segment keeps its
// first and last fix, so a track of n segments keeps up to 2n, whatever most
// says. Kept fixes are as they were, with height, time and name. A track that
// is short enough comes back as it is, with 0.
//
// The fix farthest from the line is taken in first, again and again, which is
// Douglas and Peucker's method led by a count of fixes instead of a tolerance.
// The time grows with the fixes times the logarithm of most, for a line that
// winds on itself with their product.
//
// Source: Douglas, D. H. and Peucker, T. K. (1973), Algorithms for the reduction
// of the number of points required to represent a digitized line or its
// caricature, Cartographica 10, 112-122.
func (t Track) Thin(most int) (thinned Track, worstM float64) {
	if t.Points() <= most {
		return t, 0
	}
	keep := make([][]bool, len(t.Segments))
	kept := 0
	var open stretches
	for i, s := range t.Segments {
		keep[i] = make([]bool, len(s))
		if len(s) == 0 {
			continue
		}
		last := len(s) - 1
		keep[i][0], keep[i][last] = true, true
		kept += min(2, len(s))
		open.take(s, i, 0, last)
	}
	for ; kept < most && len(open) > 0 && open[0].offsetM > 0; kept++ {
		w := heap.Pop(&open).(stretch)
		keep[w.segment][w.worst] = true
		s := t.Segments[w.segment]
		open.take(s, w.segment, w.from, w.worst)
		open.take(s, w.segment, w.worst, w.to)
	}
	if len(open) > 0 {
		worstM = open[0].offsetM
	}
	thinned = Track{Name: t.Name, Segments: make([]Segment, len(t.Segments))}
	for i, s := range t.Segments {
		for j, f := range s {
			if keep[i][j] {
				thinned.Segments[i] = append(thinned.Segments[i], f)
			}
		}
	}
	return thinned, worstM
}

// stretch is the fixes between two that are kept.
type stretch struct {
	segment, from, to int
	worst             int     // the fix farthest from the straight way
	offsetM           float64 // how far it is
}

// stretches is a heap, the worst on top; of equal ones the first in the track.
type stretches []stretch

// take measures the stretch between two kept fixes and puts it on the heap if
// there are others between them.
func (h *stretches) take(s Segment, segment, from, to int) {
	if to-from < 2 {
		return
	}
	w := stretch{segment: segment, from: from, to: to, worst: from + 1, offsetM: -1}
	leg := earth.NewLeg(s[from].Point, s[to].Point)
	for i := from + 1; i < to; i++ {
		if m := leg.OffsetM(s[i].Point); m > w.offsetM {
			w.worst, w.offsetM = i, m
		}
	}
	heap.Push(h, w)
}

func (h stretches) Len() int      { return len(h) }
func (h stretches) Swap(i, j int) { h[i], h[j] = h[j], h[i] }
func (h stretches) Less(i, j int) bool {
	a, b := h[i], h[j]
	return cmp.Or(cmp.Compare(b.offsetM, a.offsetM), cmp.Compare(a.segment, b.segment), cmp.Compare(a.from, b.from)) < 0
}

// Push appends, as container/heap asks.
func (h *stretches) Push(x any) { *h = append(*h, x.(stretch)) }

// Pop takes the last one off, as container/heap asks.
func (h *stretches) Pop() any {
	last := len(*h) - 1
	w := (*h)[last]
	*h = (*h)[:last]
	return w
}
