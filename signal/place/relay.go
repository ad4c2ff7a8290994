package place

import (
	"fmt"
	"slices"
)

// Links holds for each two posts the chance that a signal passes between them,
// both ways: the lower of the two. 0 where they do not see each other.
type Links [][]float64

// Check returns an error that names the first fault: a table that is not square
// or not the same both ways, or a chance that is not from 0 to 1.
func (l Links) Check() error {
	for i, row := range l {
		if len(row) != len(l) {
			return fmt.Errorf("place: post %d has %d links for %d posts", i, len(row), len(l))
		}
		for j, p := range row {
			if !(p >= 0 && p <= 1) {
				return fmt.Errorf("place: chance %v between posts %d and %d is not from 0 to 1", p, i, j)
			}
			if p != l[j][i] {
				return fmt.Errorf("place: posts %d and %d see each other with %v and %v", i, j, p, l[j][i])
			}
		}
	}
	return nil
}

// A Chain is a line of posts each of which sees the next.
type Chain struct {
	Posts  []int   // from the first to the last
	Chance float64 // that a message passes the whole chain, links taken as independent
}

// Chain returns the chain between two posts with the fewest posts, and of those
// the one most likely to pass a message on; chances within 1e-9 go to the chain
// whose posts come first in input order, from the end backwards. Links below the
// least chance, or of none, are not used. ok is false where there is no chain.
func (l Links) Chain(from, to int, least float64) (c Chain, ok bool) {
	steps := l.steps([]int{from}, least)
	if steps[to].posts < 0 {
		return Chain{}, false
	}
	c.Chance = steps[to].chance
	for at := to; at >= 0; at = steps[at].before {
		c.Posts = append(c.Posts, at)
	}
	slices.Reverse(c.Posts)
	return c, true
}

// A step is the best way to one post.
type step struct {
	posts  int // before it; -1: no way
	chance float64
	before int // -1: a start
}

// steps returns the best ways from starts to all posts, one generation after
// another. The best way to each of a generation goes through a best way to the one
// before it, since the chance of a chain is a product.
func (l Links) steps(starts []int, least float64) []step {
	best := make([]step, len(l))
	for i := range best {
		best[i] = step{-1, 0, -1}
	}
	now := slices.Clone(starts)
	for _, s := range starts {
		best[s] = step{0, 1, -1}
	}
	for generation := 1; len(now) > 0; generation++ {
		var next []int
		slices.Sort(now)
		for _, i := range now {
			for j, p := range l[i] {
				reached := best[j].posts >= 0 && best[j].posts < generation
				if p <= 0 || p < least || reached {
					continue
				}
				if best[j].posts < 0 {
					next = append(next, j)
				}
				if chance := best[i].chance * p; best[j].posts < 0 || chance > best[j].chance*(1+tie) {
					best[j] = step{generation, chance, i}
				}
			}
		}
		now = next
	}
	return best
}

// Relay chooses posts that are worth much together and are all linked with a
// base, itself one of the candidates: each time the chain to the candidate that
// brings most for each post it takes. It is no optimum; the bound is that of any
// choice of as many sites, linked or not, so that the gap also shows what being
// linked costs. The base comes first.
func Relay(o Objective, l Links, base, count int, least float64) (Choice, error) {
	free, err := Choose(o, Ask{Count: count})
	if err != nil {
		return Choice{}, err
	}
	if err := l.Check(); err != nil {
		return Choice{}, err
	}
	if len(l) != o.sites() || base < 0 || base >= len(l) || count < 1 {
		return Choice{}, fmt.Errorf("%w: links of %d posts for %d candidates, base %d, %d sites", ErrAsk, len(l), o.sites(), base, count)
	}
	chosen := []int{base}
	for len(chosen) < count {
		chain := bestChain(o, l.steps(chosen, least), chosen, count-len(chosen))
		if len(chain) == 0 {
			break
		}
		chosen = append(chosen, chain...)
	}
	_, c := standing(o, chosen)
	c.Bound = max(c.Covered, free.Bound)
	c.Exact = c.Gap() <= tie
	return c, nil
}

// bestChain returns the posts, from the chosen ones outwards, of the chain that
// adds most for each post; none where no chain adds anything.
func bestChain(o Objective, steps []step, chosen []int, room int) (best []int) {
	worth := 0.0
	s, _ := standing(o, chosen)
	for end, way := range steps {
		if way.posts < 1 || way.posts > room {
			continue
		}
		var chain []int
		for at := end; steps[at].posts > 0; at = steps[at].before {
			chain = append(chain, at)
		}
		slices.Reverse(chain)
		with, gain := s.clone(), 0.0
		for _, post := range chain {
			gain += with.gain(post)
			with.add(post)
		}
		if each := gain / float64(len(chain)); each > worth*(1+tie) {
			worth, best = each, chain
		}
	}
	return best
}
