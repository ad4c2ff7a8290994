package walk

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync/atomic"

	"farhail/geo/grid"
)

// barred stands among the times for a cell that is not entered: no time is
// earlier, so no move to it can win.
var barred = float32(math.Inf(-1))

// A node is a cell with what every move to it asks for, side by side and small:
// most of a search's time goes into waiting for memory. Times of 32 bits are
// right to 6e-8 at each move, 1e-6 over a thousand.
type node struct {
	bits uint32 // of the shortest time so far [s], +Inf = not seen, barred = never
	z    float32
}

// best returns the shortest time so far.
func (n *node) best() float32 { return math.Float32frombits(atomic.LoadUint32(&n.bits)) }

// improve lowers the time to one and reports whether it was later.
func (n *node) improve(seconds float32) bool {
	for {
		old := atomic.LoadUint32(&n.bits)
		if seconds >= math.Float32frombits(old) {
			return false
		}
		if atomic.CompareAndSwapUint32(&n.bits, old, math.Float32bits(seconds)) {
			return true
		}
	}
}

// A step is a move from the cells of one row.
type step struct {
	offset   int     // from a cell to the one it leads to
	leg      float64 // ground length of a leg [m]
	whole    float64 // of all legs
	perWhole float64 // 1/whole
	quickest float64 // least time that the move can take [s]
}

// search is the state of one label-setting search.
type search struct {
	h           *grid.Heights
	o           Options
	moves       []move
	places      [][]place // by move, where its legs meet
	reach       int       // greatest number of columns or rows of a move
	pace        *pacer
	trail       *pacer   // nil without trails
	scale       float64  // of times: one over the speed factor, and the elongation divided out
	maxGrade    float64  // greatest rise over run off trails
	groundLeast float64  // least factor of ground
	steps       [][]step // by row and move

	nodes  []node
	crew   []*worker
	pages  []*page      // of the bucket that is being settled
	handed atomic.Int64 // pages of it that were handed out
}

func (o *Options) check(h *grid.Heights) error {
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
		{o.Neighbours == 0 || o.Neighbours == 16 || o.Neighbours == 80, "the neighbours must be 16 or 80"},
		{!o.EndHeights || o.Neighbours == 16, "heights of the ends alone go with 16 neighbours"},
		{o.MaxSlopeDeg >= 0 && o.MaxSlopeDeg < 90, "the greatest slope must be from 0 to below 90 degrees"},
		{o.Ground == nil || len(o.Ground) == n, "the ground factors are not of the terrain's size"},
		{o.Barrier == nil || len(o.Barrier) == n, "the barriers are not of the terrain's size"},
		{o.Trail == nil || len(o.Trail) == n, "the trails are not of the terrain's size"},
		{o.Trail == nil || o.TrailRule.speedMS != nil, "no walking rule for the trails"},
	} {
		if !c.ok {
			return fmt.Errorf("walk: %s", c.text)
		}
	}
	for i, g := range o.Ground {
		if !(g > 0) {
			return fmt.Errorf("walk: the ground factor of cell %d is %g; factors of time are more than zero", i, g)
		}
	}
	return nil
}

func newSearch(h *grid.Heights, o Options) (*search, error) {
	if err := o.check(h); err != nil {
		return nil, err
	}
	s := &search{h: h, o: o, scale: 1, maxGrade: math.Inf(1), groundLeast: 1}
	zigzag := o.Neighbours != 16
	s.moves = neighbours16()
	if zigzag {
		s.moves = neighbours80()
		s.scale = 1 / (1 + Elongation80Worst)
	}
	for k, m := range s.moves {
		s.places = append(s.places, m.places(h.Cols))
		if o.EndHeights {
			s.moves[k].legs = 1
		}
		s.reach = max(s.reach, m.dc, m.dr)
	}
	if o.Factor > 0 {
		s.scale /= o.Factor
	}
	if o.MaxSlopeDeg > 0 {
		s.maxGrade = math.Tan(o.MaxSlopeDeg * math.Pi / 180)
	}
	if len(o.Ground) > 0 {
		s.groundLeast = float64(slices.Min(o.Ground))
	}
	s.pace = newPacer(o.Rule, zigzag)
	least := s.pace.least * s.groundLeast
	if o.Trail != nil {
		s.trail = newPacer(o.TrailRule, zigzag)
		least = math.Min(least, s.trail.least)
	}
	s.nodes = make([]node, len(h.Z))
	unseen, never := math.Float32bits(float32(math.Inf(1))), math.Float32bits(barred)
	for i := range s.nodes {
		n := &s.nodes[i]
		*n = node{bits: unseen, z: h.Z[i]}
		if n.z != n.z || o.Barrier != nil && o.Barrier[i] || o.Ground != nil && math.IsInf(float64(o.Ground[i]), 1) {
			n.bits = never
		}
	}
	for range runtime.GOMAXPROCS(0) {
		s.crew = append(s.crew, &worker{search: s, openS: math.Inf(1)})
	}
	s.setSteps(least * s.scale)
	return s, nil
}

// setSteps fills the steps, given the least pace [s/m], and sets the queue's
// buckets by the quickest of them.
func (s *search) setSteps(pace float64) {
	s.steps = make([][]step, s.h.Rows)
	shortest, longest := math.Inf(1), 0.0
	var above []float64
	for r, lengths := range moveLengths(s.h.Frame, s.moves, s.o.GridLengths) {
		// Rows of a projected grid are of one size and share their steps.
		if r > 0 && slices.Equal(lengths, above) {
			s.steps[r] = s.steps[r-1]
			continue
		}
		above = lengths
		s.steps[r] = make([]step, len(lengths))
		for k, d := range lengths {
			m := s.moves[k]
			whole := d * float64(m.legs)
			t := whole * pace
			s.steps[r][k] = step{offset: m.dr*s.h.Cols + m.dc, leg: d, whole: whole, perWhole: 1 / whole, quickest: t}
			shortest, longest = math.Min(shortest, t), math.Max(longest, t)
		}
	}
	// Beside a pole moves along a row have next to no length.
	for _, w := range s.crew {
		w.perSecond = 1 / math.Max(shortest, longest/256)
	}
}

func (s *search) inside(col, row int) bool {
	return col >= 0 && row >= 0 && col < s.h.Cols && row < s.h.Rows
}
