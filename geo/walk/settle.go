package walk

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// A worker settles cells of a bucket, beside others, and keeps a queue of its
// own. What a cell's time comes out as does not depend on who was first: it is
// the least over all ways, each summed in its own order.
type worker struct {
	*search
	queue
	openS float64
}

// openS returns the earliest time at which ground was seen to end.
func (s *search) openS() float64 {
	at := math.Inf(1)
	for _, w := range s.crew {
		at = math.Min(at, w.openS)
	}
	return at
}

// seed queues the starts and reports whether any can be walked from.
func (s *search) seed(starts []Start) bool {
	w := s.crew[0]
	inOrder := slices.SortedFunc(slices.Values(starts), func(a, b Start) int {
		return cmp.Or(cmp.Compare(a.Row, b.Row), cmp.Compare(a.Col, b.Col), cmp.Compare(a.DelayS, b.DelayS))
	})
	found := false
	for _, st := range inOrder {
		if !(st.DelayS >= 0 && st.DelayS <= s.o.MaxSeconds) {
			continue
		}
		if !s.inside(st.Col, st.Row) || math.IsNaN(s.h.At(st.Col, st.Row)) {
			w.openS = math.Min(w.openS, st.DelayS)
			continue
		}
		cell, delay := st.Row*s.h.Cols+st.Col, float32(st.DelayS)
		if s.nodes[cell].improve(delay) {
			w.push(entry{int32(cell), delay})
			found = true
		}
	}
	return found
}

// shared is the number of pages in a bucket from which all workers take part.
const shared = 4

// run settles cells bucket by bucket.
func (s *search) run(ctx context.Context) error {
	begin, done := make(chan struct{}), make(chan struct{})
	defer close(begin)
	helpers := s.crew[1:]
	for _, w := range helpers {
		go func() {
			for range begin {
				w.drain()
				done <- struct{}{}
			}
		}()
	}
	for ctx.Err() == nil {
		s.pages = s.pages[:0]
		for _, w := range s.crew {
			s.pages = w.take(s.pages)
		}
		if len(s.pages) == 0 {
			if !s.turn() {
				return nil
			}
			continue
		}
		s.handed.Store(0)
		if len(s.pages) < shared {
			s.crew[0].drain()
			continue
		}
		for range helpers {
			begin <- struct{}{}
		}
		s.crew[0].drain()
		for range helpers {
			<-done
		}
	}
	return ctx.Err()
}

// turn goes on to the next bucket, and reports whether any cell waits.
func (s *search) turn() bool {
	to, waits := s.crew[0].now+1, false
	for _, w := range s.crew {
		waits = waits || w.inRing > 0
	}
	if !waits {
		// The next bucket may be a long way off.
		to = math.MaxInt
		for _, w := range s.crew {
			if b, ok := w.first(); ok {
				to, waits = min(to, b-b%(ringSize/2)), true
			}
		}
	}
	if waits {
		for _, w := range s.crew {
			w.queue.turn(to)
		}
	}
	return waits
}

// drain settles pages of the bucket until none is left.
func (w *worker) drain() {
	for {
		i := int(w.handed.Add(1)) - 1
		if i >= len(w.pages) {
			return
		}
		p := w.pages[i]
		for _, e := range p.entries[:p.n] {
			if w.nodes[e.cell].best() == e.seconds {
				w.settle(int(e.cell), float64(e.seconds))
			}
		}
		w.release(p)
	}
}

// settle makes every move from a cell that is reached at t [s].
func (w *worker) settle(cell int, t float64) {
	s := w.search
	cols := s.h.Cols
	row, col := cell/cols, cell%cols
	amid := col >= s.reach && row >= s.reach && col < cols-s.reach && row < s.h.Rows-s.reach
	z := float64(s.nodes[cell].z)
	fromTrail := s.trail != nil && s.o.Trail[cell]
	// Off trails no move over several cells beats its mean slope.
	pace := s.pace
	low := len(pace.low) > 0
	lowScale := s.groundLeast * s.scale
	steps := s.steps[row]
	for k := range steps {
		st := &steps[k]
		if !amid {
			if m := s.moves[k]; !s.inside(col+m.dc, row+m.dr) {
				// Only the eight cells around tell that the edge is next door.
				if m.beside() {
					w.openS = math.Min(w.openS, t)
				}
				continue
			}
		}
		to := &s.nodes[cell+st.offset]
		best := to.best()
		// A move that cannot win need not be costed: most moves lead back.
		room := float64(best) - t
		if room <= st.quickest {
			if best == barred && k < 8 && to.z != to.z {
				w.openS = math.Min(w.openS, t)
			}
			continue
		}
		if low && k >= 8 && !(fromTrail && s.o.Trail[cell+st.offset]) &&
			st.whole*lowScale*pace.atLeast((float64(to.z)-z)*st.perWhole) >= room {
			continue
		}
		arrival := float32(t + s.cost(cell, k, st, room))
		if float64(arrival) <= s.o.MaxSeconds && to.improve(arrival) {
			w.push(entry{int32(cell + st.offset), arrival})
		}
	}
}
