package place

import (
	"errors"
	"fmt"
	"math"
)

// ErrWeights tells that a problem holds a weight that is negative or not
// finite.
var ErrWeights = errors.New("place: a watcher's weight is negative or not finite")

// An Objective is what a choice of sites is worth: [Problem], [Chances] or
// [Nearest]. All are monotone and submodular: a site never makes a choice worse,
// and is worth the less the more sites stand already. That is what greedy choice
// and every bound here rest on.
type Objective interface {
	// check returns an error that names the first fault.
	check() error
	// sites returns how many candidates there are.
	sites() int
	// total returns the worth that no choice can exceed.
	total() float64
	// start returns the state in which no site is chosen.
	start() state
}

// A state is what chosen sites have reached so far.
type state interface {
	// gain returns what a site would add.
	gain(site int) float64
	// add chooses a site.
	add(site int)
	// steps returns about how many elementary steps a gain takes.
	steps(site int) int
	clone() state
}

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

// A Problem is a placement in which each site is noticed by a watcher or not:
// worth is the weight of the watchers that at least one site reaches.
type Problem struct {
	Weights []float64 // worth of each watcher [person-seconds or any one unit], >= 0
	Sets    []Set     // for each candidate site the watchers it reaches
}

func (p Problem) check() error {
	if err := checkWeights(p.Weights); err != nil {
		return err
	}
	for i, s := range p.Sets {
		if len(s) != (len(p.Weights)+63)/64 {
			return fmt.Errorf("place: set %d is made for another number of watchers", i)
		}
	}
	return nil
}

func checkWeights(weights []float64) error {
	for i, w := range weights {
		if !(w >= 0) || math.IsInf(w, 1) {
			return fmt.Errorf("%w: watcher %d has %v", ErrWeights, i, w)
		}
	}
	return nil
}

func (p Problem) sites() int     { return len(p.Sets) }
func (p Problem) total() float64 { return sum(p.Weights) }

func (p Problem) start() state { return p.indexed().start() }

// A Pick is one chosen site.
type Pick struct {
	Candidate int     // index of the candidate
	Gain      float64 // worth it adds to the sites chosen before it
}

// A Choice is a set of sites with what it reaches.
type Choice struct {
	Picks   []Pick  // in the order of choice, those that were fixed first
	Covered float64 // worth of the chosen sites together
	Bound   float64 // no choice of as many sites, or as dear, can be worth more
	Total   float64 // worth that all sites of the world would have
	Exact   bool    // proven best, to 1e-8 of its worth
}

// Gap returns how far the choice may be below the best, as a fraction of the
// bound in [0,1]; 0 means proven best.
func (c Choice) Gap() float64 {
	if c.Bound <= 0 {
		return 0
	}
	return max(0, 1-c.Covered/c.Bound)
}

// Sites returns the chosen candidates in the order of choice.
func (c Choice) Sites() []int {
	list := make([]int, len(c.Picks))
	for i, p := range c.Picks {
		list[i] = p.Candidate
	}
	return list
}

func sum(v []float64) float64 {
	total := 0.0
	for _, x := range v {
		total += x
	}
	return total
}
