package place

import (
	"errors"
	"slices"
)

// ErrTooLarge tells that an instance is too large to be solved exactly.
var ErrTooLarge = errors.New("place: too many combinations for an exact choice")

// How much work an exact choice may take, in elementary steps (a word of 64
// watchers, a chance, a distance): some seconds where it is asked for, some
// hundredths where it is only tried. Counted, not timed, so that the same input
// gives the same choice on any machine. Own choice.
const (
	exactSteps = 2_000_000_000
	trySteps   = 20_000_000
)

// Exact chooses the best n sites: branch and bound over the candidates in input
// order, where a branch is cut when what it has and the largest gains that may
// follow cannot beat the best found (the submodular bound). It returns
// ErrTooLarge beyond two thousand million elementary steps. Of choices within
// 1e-9 of each other one that comes early in input order wins.
func Exact(o Objective, n int) (Choice, error) {
	return prepared(o, Ask{Count: n, Exact: true}, func(o Objective, a Ask) (Choice, error) {
		warm, first := greedyWith(o, a)
		return exact(o, a, exchange(o, a, warm, first), first, exactSteps)
	})
}

// A branching is the search for the best choice.
type branching struct {
	objective Objective
	ask       Ask
	taken     []bool    // by candidate: fixed
	first     []float64 // what each adds to the fixed ones
	path      []Pick
	best      Choice
	steps     int // that may still be taken
}

// exact improves on a choice until it is proven best; first holds what each candidate
// adds to the fixed ones.
func exact(o Objective, a Ask, warm Choice, first []float64, steps int) (Choice, error) {
	s, c := standing(o, a.Fixed)
	b := &branching{objective: o, ask: a, taken: make([]bool, o.sites()), first: first, path: c.Picks, best: c, steps: steps}
	for _, f := range a.Fixed {
		b.taken[f] = true
	}
	// The search begins just below the choice known, so that it finds the first of
	// its worth in input order.
	b.best.Covered = max(b.best.Covered, warm.Covered*(1-3*tie))
	b.best.Picks = warm.Picks
	b.branch(s, 0, c.Covered, a.spent(a.Fixed))
	if b.steps < 0 {
		return warm, ErrTooLarge
	}
	b.best.Covered = 0
	for _, p := range b.best.Picks {
		b.best.Covered += p.Gain
	}
	b.best.Bound, b.best.Exact = b.best.Covered, true
	return b.best, nil
}

// branch tries every candidate from one on as the next in input order.
func (b *branching) branch(s state, from int, sum, spent float64) {
	if sum > b.best.Covered*(1+tie) {
		b.best.Covered, b.best.Picks = sum, slices.Clone(b.path)
	}
	left := b.ask.Count - len(b.path)
	if left <= 0 {
		return
	}
	gains := make([]float64, b.objective.sites())
	for i := from; i < len(gains); i++ {
		if b.taken[i] || !b.ask.fits(spent, b.ask.cost(i)) {
			continue
		}
		if b.steps -= s.steps(i); b.steps < 0 {
			return
		}
		if len(b.path) == len(b.ask.Fixed) {
			gains[i] = b.first[i]
		} else {
			gains[i] = s.gain(i)
		}
	}
	if sum+b.ask.atMost(gains, left, b.ask.Budget-spent) <= b.best.Covered*(1+tie) {
		return
	}
	bound := suffixes(gains, from, left)
	for i := from; i < len(gains) && b.steps >= 0; i++ {
		if sum+bound[i-from] <= b.best.Covered*(1+tie) {
			return
		}
		if gains[i] <= 0 {
			continue
		}
		with := s
		if left > 1 {
			with = s.clone()
			with.add(i)
		}
		b.path = append(b.path, Pick{i, gains[i]})
		b.branch(with, i+1, sum+gains[i], spent+b.ask.cost(i))
		b.path = b.path[:len(b.path)-1]
	}
}

// suffixes returns for each candidate from one on the sum of the n largest gains
// of it and those behind it.
func suffixes(gains []float64, from, n int) []float64 {
	bound := make([]float64, len(gains)-from)
	var largest []float64 // rising, at most n
	sum := 0.0
	for i := len(gains) - 1; i >= from; i-- {
		if g := gains[i]; g > 0 {
			at, _ := slices.BinarySearch(largest, g)
			largest = slices.Insert(largest, at, g)
			sum += g
			if len(largest) > n {
				sum -= largest[0]
				largest = largest[1:]
			}
		}
		bound[i-from] = sum
	}
	return bound
}
