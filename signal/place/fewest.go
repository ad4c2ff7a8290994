package place

import (
	"math/bits"
	"slices"
)

// Fewest chooses the fewest sites that together reach every watcher whom any
// site reaches: the set covering problem (Toregas, Swain, ReVelle and Bergman 1971,
// Operations Research 19, 1363-1373). Weights do not matter, but for a weight of
// 0, which need not be reached. unreached counts those whom no site reaches. It is
// exact, or ErrTooLarge.
func Fewest(p Problem) (sites []int, unreached int, err error) {
	if err := p.check(); err != nil {
		return nil, 0, err
	}
	open := NewSet(len(p.Weights))
	for _, s := range p.Sets {
		open.addAll(s)
	}
	for i, w := range p.Weights {
		if !open.Has(i) && w > 0 {
			unreached++
		}
		if w == 0 {
			open[i/64] &^= 1 << (i % 64)
		}
	}
	f := &fewest{problem: p, steps: exactSteps, best: greedyCover(p, open)}
	f.branch(open, nil)
	if f.steps < 0 {
		return nil, unreached, ErrTooLarge
	}
	slices.Sort(f.best)
	return f.best, unreached, nil
}

// greedyCover covers all that is open, each time by the set that covers most.
func greedyCover(p Problem, open Set) (sites []int) {
	left := slices.Clone(open)
	for {
		best, most := -1, 0
		for i, s := range p.Sets {
			if n := left.common(s); n > most {
				best, most = i, n
			}
		}
		if best < 0 {
			return sites
		}
		sites = append(sites, best)
		left.take(p.Sets[best])
	}
}

// A fewest is the search for the smallest cover.
type fewest struct {
	problem Problem
	best    []int
	steps   int // words that may still be looked at
}

// branch covers the open watcher whom the fewest sites reach by each of those.
func (f *fewest) branch(open Set, path []int) {
	hardest, left := f.hardest(open)
	if left == 0 {
		if len(path) < len(f.best) {
			f.best = slices.Clone(path)
		}
		return
	}
	largest := 1
	for _, s := range f.problem.Sets {
		largest = max(largest, open.common(s))
	}
	if f.steps -= 2 * len(open) * len(f.problem.Sets); f.steps < 0 {
		return
	}
	// No set covers more than the largest does.
	if len(path)+(left+largest-1)/largest >= len(f.best) {
		return
	}
	for i, s := range f.problem.Sets {
		if s.Has(hardest) {
			rest := slices.Clone(open)
			rest.take(s)
			f.branch(rest, append(path, i))
		}
	}
}

// hardest returns the open watcher whom the fewest sites reach, and how many
// watchers are open.
func (f *fewest) hardest(open Set) (watcher, left int) {
	reachers := 0
	for i, w := range open {
		for ; w != 0; w &= w - 1 {
			at, n := i*64+bits.TrailingZeros64(w), 0
			for _, s := range f.problem.Sets {
				if s.Has(at) {
					n++
				}
			}
			if left == 0 || n < reachers {
				watcher, reachers = at, n
			}
			left++
		}
	}
	return watcher, left
}

// common returns how many members two sets share.
func (s Set) common(o Set) int {
	n := 0
	for i, w := range s {
		n += bits.OnesCount64(w & o[i])
	}
	return n
}

// take removes the members of o from s.
func (s Set) take(o Set) {
	for i, w := range o {
		s[i] &^= w
	}
}
