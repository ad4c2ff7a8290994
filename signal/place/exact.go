package place

import "errors"

// ErrTooLarge tells that an instance is too large to be solved exactly.
var ErrTooLarge = errors.New("place: too many combinations for an exact choice")

// exactLimit is the largest number of combinations that Exact goes through,
// some seconds of work. Own choice.
const exactLimit = 5_000_000

// Exact chooses the best n sites by going through every combination, and cuts
// a branch when its sites and the largest sets that may follow cannot beat the
// best found. It returns ErrTooLarge beyond five million combinations. Of
// choices within 1e-9 of each other the one that comes first in input order wins.
func Exact(p Problem, n int) (Choice, error) {
	if err := p.check(); err != nil {
		return Choice{}, err
	}
	n = min(n, len(p.Sets))
	if combinations(len(p.Sets), n) > exactLimit {
		return Choice{}, ErrTooLarge
	}
	c := Choice{Total: p.total()}
	// largest[i] is the largest weight of any one set from i on.
	largest := make([]float64, len(p.Sets)+1)
	empty := NewSet(len(p.Weights))
	for i := len(p.Sets) - 1; i >= 0; i-- {
		largest[i] = max(largest[i+1], p.gain(p.Sets[i], empty))
	}
	var path []Pick
	var search func(from int, covered Set, sum float64)
	search = func(from int, covered Set, sum float64) {
		if sum > c.Covered*(1+tie) {
			c.Covered, c.Picks = sum, append([]Pick(nil), path...)
		}
		left := n - len(path)
		for i := from; i < len(p.Sets) && left > 0; i++ {
			if sum+float64(left)*largest[i] <= c.Covered*(1+tie) {
				return
			}
			gain := p.gain(p.Sets[i], covered)
			if gain <= 0 {
				continue
			}
			with := append(Set(nil), covered...)
			with.addAll(p.Sets[i])
			path = append(path, Pick{i, gain})
			search(i+1, with, sum+gain)
			path = path[:len(path)-1]
		}
	}
	search(0, empty, 0)
	c.Bound = c.Covered
	return c, nil
}

// combinations returns m over n, or a number above exactLimit when it is larger.
func combinations(m, n int) float64 {
	count := 1.0
	for i := range n {
		count *= float64(m-i) / float64(i+1)
	}
	return count
}
