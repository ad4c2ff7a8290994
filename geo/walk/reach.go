package walk

import (
	"context"
	"errors"
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
	// Neighbours is 80, or 16 as common raster programs have; 0 means 80. The
	// package comment tells what each does.
	Neighbours int
	// EndHeights, with 16 neighbours, walks a knight's move by the heights of
	// its ends alone, as common raster programs do, and skips a gully between.
	EndHeights bool
	// MaxSlopeDeg is the steepest ground off trails [degrees]; 0 means any.
	MaxSlopeDeg float64
	// Ground multiplies the time over each cell off trails, > 0: 1 for the
	// ground that the rule is made for, 2 where people take twice as long, +Inf
	// where nobody goes. nil means 1 everywhere. One entry a cell, row by row,
	// as in Barrier and Trail.
	Ground []float32
	// Barrier marks cells that are not entered; nil means none.
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

	search *search // tells the ways to the cells
}

// Reach returns the shortest walking times from the starts over the terrain.
// What moves may do is told in the package comment. It returns ErrNoStart, an
// error that names a wrong option, or the context's error.
//
// The result does not depend on the order of the starts or on the machine's
// number of cores, all of which it uses. Memory is 12 bytes a cell and 8 a waiting entry.
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
	f := &Field{Frame: h.Frame, Seconds: make([]float32, len(s.nodes)), OpenS: s.openS(), search: s}
	for i := range s.nodes {
		t := s.nodes[i].best()
		if t < 0 || float64(t) > o.MaxSeconds {
			f.Seconds[i] = float32(math.NaN())
			continue
		}
		f.Seconds[i] = t
		f.Reached++
	}
	return f, nil
}

// Open reports whether the walker can have come to the terrain's edge or to a
// cell without data by that time [s], so that a ring at that time is open.
func (f *Field) Open(seconds float64) bool { return f.OpenS <= seconds }
