package prob

import (
	"fmt"
	"math"
)

// Consensus returns the mean of several people's shares, part by part, the last
// of which is the outside: each person's shares must be above zero and sum to 1
// within 1e-6 (Mattson 1976, Establishing search priorities, as used by search
// planners since; second-hand).
func Consensus(people [][]float64) ([]float64, error) {
	if len(people) == 0 {
		return nil, ErrNoView
	}
	mean := make([]float64, len(people[0]))
	for i, shares := range people {
		if len(shares) != len(mean) {
			return nil, fmt.Errorf("prob: person %d gives %d shares, the first %d", i+1, len(shares), len(mean))
		}
		for j, s := range shares {
			if !(s > 0) {
				return nil, fmt.Errorf("prob: person %d gives a share of %g: no part is impossible, the least has some", i+1, s)
			}
			mean[j] += s / float64(len(people))
		}
		if total := sum(shares); !(math.Abs(total-1) <= 1e-6) {
			return nil, fmt.Errorf("prob: the shares of person %d sum to %g, not to 1", i+1, total)
		}
	}
	return mean, nil
}
