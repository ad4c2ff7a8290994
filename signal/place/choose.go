package place

import (
	"math"
	"slices"
)

// exchangeSteps is how much work the local exchange may take, in elementary
// steps; see exactSteps.
const exchangeSteps = 100_000_000

// Choose chooses sites: greedily, then by exchanging one site for another as
// long as that helps, then exactly where the instance is small or where it is
// asked for. The bound is the least that any of the three proved.
func Choose(o Objective, a Ask) (Choice, error) { return prepared(o, a, choose) }

func choose(o Objective, a Ask) (Choice, error) {
	c, err := bestKnown(o, a)
	return bestFirst(o, a, c), err
}

func bestKnown(o Objective, a Ask) (Choice, error) {
	c, first := greedyWith(o, a)
	if c.Exact {
		return c, nil
	}
	c = exchange(o, a, c, first)
	steps := trySteps
	if a.Exact {
		steps = exactSteps
	}
	best, err := exact(o, a, c, first, steps)
	if err != nil && !a.Exact {
		return c, nil // too large to be proven: the choice keeps its bound
	}
	return best, err
}

// bestFirst puts the sites of a choice in the order in which each adds most to those
// before it, the fixed ones first: where only some can be manned, the first are those. Of
// gains within 1e-9 the earlier site stands first.
func bestFirst(o Objective, a Ask, c Choice) Choice {
	rest := c.Sites()
	s := o.start()
	picks := make([]Pick, 0, len(rest))
	for len(rest) > 0 {
		at, most := 0, s.gain(rest[0])
		for i := 1; i < len(rest) && len(picks) >= len(a.Fixed); i++ {
			if g := s.gain(rest[i]); g > most*(1+tie) {
				at, most = i, g
			}
		}
		picks = append(picks, Pick{rest[at], most})
		s.add(rest[at])
		rest = slices.Delete(rest, at, at+1)
	}
	c.Picks = picks
	return c
}

// exchange swaps a chosen site for one that is not, the swap that helps most
// first, until none helps (the interchange of Teitz and Bart 1968, Operations
// Research 16, 955-961). The bound stays. first holds what each candidate adds to the
// fixed ones.
func exchange(o Objective, a Ask, c Choice, first []float64) Choice {
	for steps := exchangeSteps; steps > 0; {
		swapped, ok := bestSwap(o, a, c, first, &steps)
		if !ok {
			break
		}
		c = swapped
	}
	c.Exact = c.Gap() <= tie
	return c
}

// bestSwap returns the choice after the swap that helps most; of swaps within 1e-9
// the first in the order of choice, then of the input.
func bestSwap(o Objective, a Ask, c Choice, first []float64, steps *int) (Choice, bool) {
	chosen := c.Sites()
	all, _ := standing(o, chosen)
	over := make([]float64, o.sites()) // what each adds to the whole choice, once asked
	for i := range over {
		over[i] = math.NaN()
	}
	out, in, best := -1, -1, c.Covered*(1+tie)
	for at := len(a.Fixed); at < len(chosen); at++ {
		others := slices.Delete(slices.Clone(chosen), at, at+1)
		s, rest := standing(o, others)
		spent := a.spent(others)
		for i := range over {
			// By submodularity a site adds no more to the others than to the fixed ones,
			// and a swap reaches no more than the whole choice and its site.
			if rest.Covered+first[i] <= best || slices.Contains(chosen, i) || !a.fits(spent, a.cost(i)) {
				continue
			}
			if math.IsNaN(over[i]) {
				over[i] = all.gain(i)
				*steps -= all.steps(i)
			}
			if c.Covered+over[i] <= best {
				continue
			}
			if *steps -= s.steps(i); *steps < 0 {
				return c, false
			}
			if w := rest.Covered + s.gain(i); w > best*(1+tie) {
				out, in, best = at, i, w
			}
		}
	}
	if out < 0 {
		return c, false
	}
	chosen[out] = in
	_, swapped := standing(o, chosen)
	swapped.Bound = c.Bound
	return swapped, true
}

// standing returns the state in which sites stand, and the choice of them in the
// order given.
func standing(o Objective, sites []int) (state, Choice) {
	s, c := o.start(), Choice{Total: o.total()}
	for _, i := range sites {
		c.pick(i, s.gain(i))
		s.add(i)
	}
	return s, c
}
