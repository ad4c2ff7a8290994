package place

import (
	"errors"
	"fmt"
	"math"
	"math/bits"
)

// ErrWeights tells that a problem holds a weight that is negative or not
// finite.
var ErrWeights = errors.New("place: a watcher's weight is negative or not finite")

// A Set is a set of watchers by index, one bit each.
type Set []uint64

// NewSet returns an empty set for n watchers.
func NewSet(n int) Set { return make(Set, (n+63)/64) }

// Add puts watcher i into the set.
func (s Set) Add(i int) { s[i/64] |= 1 << (i % 64) }

// Has tells whether watcher i is in the set.
func (s Set) Has(i int) bool { return s[i/64]&(1<<(i%64)) != 0 }

// addAll puts every watcher of o into s.
func (s Set) addAll(o Set) {
	for i, w := range o {
		s[i] |= w
	}
}

// A Problem is one placement to decide.
type Problem struct {
	Weights []float64 // worth of each watcher [person-seconds or any one unit], >= 0
	Sets    []Set     // for each candidate site the watchers it reaches
}

// check returns an error that names the first fault of the problem.
func (p Problem) check() error {
	for i, w := range p.Weights {
		if !(w >= 0) || math.IsInf(w, 1) {
			return fmt.Errorf("%w: watcher %d has %v", ErrWeights, i, w)
		}
	}
	for i, s := range p.Sets {
		if len(s) != (len(p.Weights)+63)/64 {
			return fmt.Errorf("place: set %d is made for another number of watchers", i)
		}
	}
	return nil
}

// gain returns the weight that set s adds to what is covered. Sums run in
// index order, so that equal inputs give equal bits.
func (p Problem) gain(s, covered Set) float64 {
	sum := 0.0
	for i, w := range s {
		for rest := w &^ covered[i]; rest != 0; rest &= rest - 1 {
			sum += p.Weights[i*64+bits.TrailingZeros64(rest)]
		}
	}
	return sum
}

// A Pick is one chosen site.
type Pick struct {
	Candidate int     // index into Problem.Sets
	Gain      float64 // weight it adds to the sites chosen before it
}

// A Choice is a set of sites with what it reaches.
type Choice struct {
	Picks   []Pick  // in the order of choice
	Covered float64 // weight reached by at least one chosen site
	Bound   float64 // no choice of as many sites can reach more than this
	Total   float64 // weight of all watchers
}

// Gap returns how far the choice may be below the best, as a fraction of the
// bound in [0,1]; 0 means proven best.
func (c Choice) Gap() float64 {
	if c.Bound <= 0 {
		return 0
	}
	return max(0, 1-c.Covered/c.Bound)
}

// Reaches returns the weight that one candidate reaches by itself.
func (p Problem) Reaches(candidate int) float64 {
	return p.gain(p.Sets[candidate], NewSet(len(p.Weights)))
}
