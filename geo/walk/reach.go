package walk

import (
	"context"
	"errors"
	"fmt"
	"math"

	"farhail/geo/grid"
)

// ErrNoStart says that no start cell can be walked from: all of them lie
// outside the terrain, on cells without data or on barriers.
var ErrNoStart = errors.New("walk: no start cell can be walked from")

// A Start is a cell that walking begins at.
type Start struct {
	Col, Row int
	DelayS   float64 // when, after the field's zero [s], ≥ 0
}

// Options says how to walk. Rule, Starts and MaxSeconds are required.
type Options struct {
	// Starts may lie outside the terrain or on cells without data: nobody
	// walks from there, but the field is open from that moment on.
	Starts []Start
	Rule   Rule
	// Factor multiplies the speed of every move; 0 means 1.
	Factor float64
	// MaxSlopeDeg is the steepest ground off trails [degrees]; 0 means any.
	MaxSlopeDeg float64
	// Barrier marks cells that are not entered; nil means none. One entry a
	// cell, row by row, as in Trail.
	Barrier []bool
	// Trail marks cells walked by TrailRule where a move stays on them; nil
	// means none. TrailRule is required with it.
	Trail     []bool
	TrailRule Rule
	// GridLengths takes a projected grid's own lengths for ground lengths, as
	// common raster programs do. It has no meaning on longitude and latitude.
	GridLengths bool
	// MaxSeconds ends the search [s], > 0. To draw a ring at t let it be a
	// little more than t, see [RingSeconds]: the outline lies between cells
	// reached before and after t.
	MaxSeconds float64
}

// Field is the time to reach each cell.
type Field struct {
	grid.Frame
	Seconds []float32 // [s] after zero, row by row; NaN where not reached in time
	// OpenS is the earliest time [s] at which the walker stands on a cell at
	// the terrain's edge or beside one without data, beyond which nothing is
	// known; +Inf if never. Rings from then on are open.
	OpenS   float64
	Reached int // cells reached, starts included
}

// Reach returns the shortest walking times from the starts over the terrain.
// What moves may do is told in the package comment. It returns ErrNoStart, an
// error that names a wrong option, or the context's error.
//
// The result does not depend on the order of the starts or on the machine's
// number of cores. Memory is 12 bytes a cell and 16 a waiting cell.
func Reach(ctx context.Context, h *grid.Heights, o Options) (*Field, error) {
	s, err := newSearch(h, o)
	if err != nil {
		return nil, err
	}
	if !s.seed(o.Starts) {
		return nil, ErrNoStart
	}
	if err := s.run(ctx); err != nil {
		return nil, err
	}
	f := &Field{Frame: h.Frame, Seconds: make([]float32, len(s.best)), OpenS: s.openS}
	for i, t := range s.best {
		if t > o.MaxSeconds {
			f.Seconds[i] = float32(math.NaN())
			continue
		}
		f.Seconds[i] = float32(t)
		f.Reached++
	}
	return f, nil
}

// Open reports whether the walker can have come to the terrain's edge or to a
// cell without data by that time [s], so that a ring at that time is open.
func (f *Field) Open(seconds float64) bool { return f.OpenS <= seconds }

// search is the state of one label-setting search.
type search struct {
	h        *grid.Heights
	o        Options
	factor   float64
	maxGrade float64     // greatest rise over run off trails
	length   [][]float64 // by row and move, ground length of the move or half move [m]
	best     []float64   // shortest time so far [s], +Inf = not seen
	queue    queue
	openS    float64
}

func newSearch(h *grid.Heights, o Options) (*search, error) {
	n := h.Cols * h.Rows
	for _, c := range []struct {
		ok   bool
		text string
	}{
		{n > 0 && n == len(h.Z), "the terrain holds no cells"},
		// The queue counts cells in 32 bits.
		{n <= math.MaxInt32, "the terrain has more than 2147483647 cells"},
		{o.Rule.speedMS != nil, "no walking rule"},
		{o.MaxSeconds > 0 && !math.IsInf(o.MaxSeconds, 1), "the time to walk must be more than zero and finite"},
		{o.Factor >= 0 && !math.IsInf(o.Factor, 1), "the speed factor must not be negative"},
		{o.MaxSlopeDeg >= 0 && o.MaxSlopeDeg < 90, "the greatest slope must be from 0 to below 90 degrees"},
		{o.Barrier == nil || len(o.Barrier) == n, "the barriers are not of the terrain's size"},
		{o.Trail == nil || len(o.Trail) == n, "the trails are not of the terrain's size"},
		{o.Trail == nil || o.TrailRule.speedMS != nil, "no walking rule for the trails"},
	} {
		if !c.ok {
			return nil, fmt.Errorf("walk: %s", c.text)
		}
	}
	s := &search{h: h, o: o, factor: o.Factor, maxGrade: math.Inf(1), best: make([]float64, n), openS: math.Inf(1)}
	if s.factor == 0 {
		s.factor = 1
	}
	if o.MaxSlopeDeg > 0 {
		s.maxGrade = math.Tan(o.MaxSlopeDeg * math.Pi / 180)
	}
	for i := range s.best {
		s.best[i] = math.Inf(1)
	}
	s.length = moveLengths(h.Frame, o.GridLengths)
	return s, nil
}

// seed queues the starts and reports whether any can be walked from.
func (s *search) seed(starts []Start) bool {
	for _, st := range starts {
		if !(st.DelayS >= 0 && st.DelayS <= s.o.MaxSeconds) {
			continue
		}
		if !s.inside(st.Col, st.Row) || math.IsNaN(s.h.At(st.Col, st.Row)) {
			s.openS = math.Min(s.openS, st.DelayS)
			continue
		}
		i := st.Row*s.h.Cols + st.Col
		if s.passable(i) && st.DelayS < s.best[i] {
			s.best[i] = st.DelayS
			s.queue.push(entry{st.DelayS, int32(i)})
		}
	}
	return len(s.queue) > 0
}

// run settles cells in order of time. A cell may wait several times; all but
// its first time out of the queue are out of date.
func (s *search) run(ctx context.Context) error {
	for n := 0; len(s.queue) > 0; n++ {
		if n&0xfff == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		e := s.queue.pop()
		if e.seconds > s.best[e.cell] {
			continue
		}
		s.settle(e)
	}
	return nil
}

func (s *search) settle(e entry) {
	cols := s.h.Cols
	row, col := int(e.cell)/cols, int(e.cell)%cols
	for k := range moves {
		m := &moves[k]
		c, r := col+m.dc, row+m.dr
		if !s.inside(c, r) {
			// Only the eight neighbours tell that the edge is next door.
			if !m.knight() {
				s.openS = math.Min(s.openS, e.seconds)
			}
			continue
		}
		to := r*cols + c
		if !m.knight() && math.IsNaN(float64(s.h.Z[to])) {
			s.openS = math.Min(s.openS, e.seconds)
			continue
		}
		// A move that cannot win need not be costed: most moves lead back.
		if s.best[to] <= e.seconds || !s.passable(to) {
			continue
		}
		t := e.seconds + s.cost(int(e.cell), to, row, k)
		if t < s.best[to] && t <= s.o.MaxSeconds {
			s.best[to] = t
			s.queue.push(entry{t, int32(to)})
		}
	}
}

// cost returns the time of move k from one cell to another [s], +Inf where the
// move is not allowed. Both ends are passable.
func (s *search) cost(from, to, row, k int) float64 {
	m := &moves[k]
	d := s.length[row][k]
	trail := s.o.Trail != nil && s.o.Trail[from] && s.o.Trail[to]
	z0, z1 := float64(s.h.Z[from]), float64(s.h.Z[to])
	if m.straight() {
		return s.leg(z1-z0, d, trail)
	}
	a, b := from+m.a(s.h.Cols), from+m.b(s.h.Cols)
	if !m.knight() {
		if !s.passable(a) && !s.passable(b) {
			return math.Inf(1)
		}
		return s.leg(z1-z0, d, trail)
	}
	if !s.passable(a) || !s.passable(b) {
		return math.Inf(1)
	}
	trail = trail && (s.o.Trail[a] || s.o.Trail[b])
	middle := (float64(s.h.Z[a]) + float64(s.h.Z[b])) / 2
	return s.leg(middle-z0, d, trail) + s.leg(z1-middle, d, trail)
}

// leg returns the time over a map distance with that rise [s].
func (s *search) leg(riseM, lengthM float64, trail bool) float64 {
	slope := riseM / lengthM
	rule := &s.o.Rule
	if trail {
		rule = &s.o.TrailRule
	} else if math.Abs(slope) > s.maxGrade {
		return math.Inf(1)
	}
	return lengthM * rule.MapPace(slope) / s.factor
}

func (s *search) inside(col, row int) bool {
	return col >= 0 && row >= 0 && col < s.h.Cols && row < s.h.Rows
}

func (s *search) passable(i int) bool {
	z := s.h.Z[i]
	return z == z && (s.o.Barrier == nil || !s.o.Barrier[i])
}
