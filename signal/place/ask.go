package place

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrAsk tells that what is asked for cannot be: a fixed candidate that does not
// exist or comes twice, a cost that is not above 0, more fixed than may be
// chosen, or fixed ones that are dearer than the budget.
var ErrAsk = errors.New("place: impossible limits")

// An Ask says how many sites may be chosen.
type Ask struct {
	Count int   // sites at most, the fixed ones counted
	Fixed []int // candidates that stand already or are forced
	// Costs of the candidates, each above 0, in any unit (persons, loads, hours),
	// and what the sites may cost together, the fixed ones counted. No costs: no
	// budget.
	Costs  []float64
	Budget float64
	// Exact asks for the proven best and fails with ErrTooLarge where that takes
	// too long. Without it small instances are solved exactly all the same.
	Exact bool
}

func (a Ask) check(sites int) error {
	seen := make(map[int]bool, len(a.Fixed))
	for _, f := range a.Fixed {
		if f < 0 || f >= sites || seen[f] {
			return fmt.Errorf("%w: fixed candidate %d does not exist or comes twice", ErrAsk, f)
		}
		seen[f] = true
	}
	if len(a.Fixed) > max(a.Count, 0) {
		return fmt.Errorf("%w: %d fixed sites, but %d may be chosen", ErrAsk, len(a.Fixed), a.Count)
	}
	if len(a.Costs) == 0 {
		return nil
	}
	if len(a.Costs) != sites {
		return fmt.Errorf("%w: %d costs for %d candidates", ErrAsk, len(a.Costs), sites)
	}
	for i, c := range a.Costs {
		if !(c > 0) || math.IsInf(c, 1) {
			return fmt.Errorf("%w: cost %v of candidate %d is not above 0", ErrAsk, c, i)
		}
	}
	if spent := a.spent(a.Fixed); !(spent <= a.Budget*(1+tie)) {
		return fmt.Errorf("%w: the fixed sites cost %v, the budget is %v", ErrAsk, spent, a.Budget)
	}
	return nil
}

// cost returns what a candidate costs; 0 without costs, so that everything fits
// the budget 0.
func (a Ask) cost(candidate int) float64 {
	if len(a.Costs) == 0 {
		return 0
	}
	return a.Costs[candidate]
}

// fits tells whether something that costs so much may be added to what is spent.
func (a Ask) fits(spent, cost float64) bool {
	return len(a.Costs) == 0 || spent+cost <= a.Budget*(1+tie)
}

// spent returns what sites cost together.
func (a Ask) spent(sites []int) float64 {
	total := 0.0
	for _, s := range sites {
		total += a.cost(s)
	}
	return total
}

// worth is the order of choice: what a candidate adds, for each unit of cost
// where there are costs.
func (a Ask) worth(candidate int, gain float64) float64 {
	if len(a.Costs) == 0 {
		return gain
	}
	return gain / a.Costs[candidate]
}

// atMost returns the most that count more sites can add within a budget when
// none adds more than the gain given for it: the largest gains, or the fractional
// knapsack (Dantzig 1957), whichever is less. By submodularity gains at any state
// are such limits (Nemhauser, Wolsey and Fisher 1978, proposition 2.1). Gains of
// 0 or less count as nothing.
func (a Ask) atMost(gains []float64, count int, budget float64) float64 {
	list := make([]int, 0, len(gains))
	for i, g := range gains {
		if g > 0 && (len(a.Costs) == 0 || a.Costs[i] <= budget*(1+tie)) {
			list = append(list, i)
		}
	}
	slices.SortStableFunc(list, func(i, j int) int { return cmp.Compare(gains[j], gains[i]) })
	byCount := 0.0
	for _, i := range list[:min(max(count, 0), len(list))] {
		byCount += gains[i]
	}
	if len(a.Costs) == 0 {
		return byCount
	}
	slices.SortStableFunc(list, func(i, j int) int { return cmp.Compare(a.worth(j, gains[j]), a.worth(i, gains[i])) })
	byBudget := 0.0
	for _, i := range list {
		if a.Costs[i] >= budget {
			byBudget += gains[i] * max(budget, 0) / a.Costs[i]
			break
		}
		byBudget += gains[i]
		budget -= a.Costs[i]
	}
	return min(byCount, byBudget)
}
