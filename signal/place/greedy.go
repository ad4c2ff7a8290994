package place

import (
	"cmp"
	"container/heap"
	"runtime"
	"slices"
	"sync"
)

// tie is the relative difference below which two gains count as equal; the
// candidate that comes first in the input then wins.
const tie = 1e-9

// Greedy chooses up to n sites, each time the one that adds most; candidates
// within 1e-9 of each other go in input order. Sites that add nothing are not
// chosen, so the choice may be shorter than n.
//
// A candidate's gain can only shrink as sites are added, so gains are computed
// again only for candidates that still head the queue (Minoux 1978).
func Greedy(o Objective, n int) (Choice, error) { return prepared(o, Ask{Count: n}, greedy) }

// prepared checks an objective and what is asked of it, and hands both on.
func prepared(o Objective, a Ask, choose func(Objective, Ask) (Choice, error)) (Choice, error) {
	if err := o.check(); err != nil {
		return Choice{}, err
	}
	if err := a.check(o.sites()); err != nil {
		return Choice{}, err
	}
	if p, ok := o.(Problem); ok {
		o = p.indexed()
	}
	return choose(o, a)
}

// greedy chooses without exchange.
func greedy(o Objective, a Ask) (Choice, error) {
	c, _ := greedyWith(o, a)
	return c, nil
}

// greedyWith is greedy, and returns what each candidate adds to the fixed ones: more it
// never adds to a choice that holds them.
func greedyWith(o Objective, a Ask) (Choice, []float64) {
	s, c := standing(o, a.Fixed)
	first := gains(s, o.sites(), a.Fixed)
	spent, free := a.spent(a.Fixed), a.Count-len(a.Fixed)
	room := a.Budget - spent
	c.Bound = c.Covered + a.atMost(first, free, room)
	q := make(queue, 0, len(first))
	for i, g := range first {
		if g > 0 {
			q = append(q, entry{candidate: i, gain: g, worth: a.worth(i, g)})
		}
	}
	heap.Init(&q)
	upper := slices.Clone(first)
	for len(c.Picks) < a.Count {
		best, ok := q.next(a, s, spent, len(c.Picks))
		if !ok {
			break
		}
		s.add(best.candidate)
		spent += a.cost(best.candidate)
		c.pick(best.candidate, best.gain)
		upper[best.candidate] = 0
		c.Bound = min(c.Bound, c.Covered+q.remaining(a, s, upper, free, room))
	}
	c.Bound = max(c.Covered, min(c.Bound, c.Total))
	if len(a.Costs) > 0 {
		c = orSingle(c, o, a, first)
	}
	c.Exact = c.Gap() <= tie
	return c, first
}

func (c *Choice) pick(candidate int, gain float64) {
	c.Picks = append(c.Picks, Pick{candidate, gain})
	c.Covered += gain
}

// gains returns what each candidate would add, 0 for those left out. Each worker
// writes its own slots, so the number of them does not matter.
func gains(s state, sites int, leftOut []int) []float64 {
	list := make([]float64, sites)
	var wait sync.WaitGroup
	workers := min(runtime.GOMAXPROCS(0), sites)
	for w := range workers {
		wait.Go(func() {
			for i := w; i < sites; i += workers {
				list[i] = s.gain(i)
			}
		})
	}
	wait.Wait()
	for _, f := range leftOut {
		list[f] = 0
	}
	return list
}

// orSingle returns the best single site instead of a choice by gain for each
// unit of cost, where it is better: without it such a choice may be arbitrarily
// bad (Khuller, Moss and Naor 1999, Information Processing Letters 70, 39-45).
func orSingle(c Choice, o Objective, a Ask, first []float64) Choice {
	best, room := -1, a.Budget-a.spent(a.Fixed)
	for i, g := range first {
		if a.Costs[i] <= room*(1+tie) && g > 0 && (best < 0 || g > first[best]*(1+tie)) {
			best = i
		}
	}
	_, alone := standing(o, a.Fixed)
	if best < 0 || len(a.Fixed) >= a.Count || alone.Covered+first[best] <= c.Covered*(1+tie) {
		return c
	}
	alone.Bound = c.Bound
	alone.pick(best, first[best])
	return alone
}

// next takes the candidate with the largest fresh worth that fits the budget off
// the queue. Those that tie with it are all made fresh first, and the earliest
// in the input wins.
func (q *queue) next(a Ask, s state, spent float64, round int) (entry, bool) {
	var level []entry
	for len(*q) > 0 {
		top := (*q)[0]
		if len(level) > 0 && top.worth < level[0].worth*(1-tie) {
			break
		}
		if !a.fits(spent, a.cost(top.candidate)) {
			heap.Pop(q) // the budget only shrinks
			continue
		}
		if top.round < round {
			gain := s.gain(top.candidate)
			(*q)[0] = entry{top.candidate, round, gain, a.worth(top.candidate, gain)}
			heap.Fix(q, 0)
			continue
		}
		level = append(level, heap.Pop(q).(entry))
	}
	if len(level) == 0 {
		return entry{}, false
	}
	best := slices.MinFunc(level, func(a, b entry) int { return cmp.Compare(a.candidate, b.candidate) })
	for _, e := range level {
		if e.candidate != best.candidate {
			heap.Push(q, e)
		}
	}
	return best, best.gain > 0
}

// remaining returns the most that free sites can add to what is chosen now.
// Stale gains are upper bounds of the fresh ones and do as well; those at the
// head of the queue are made fresh, which is where it pays.
func (q queue) remaining(a Ask, s state, upper []float64, free int, room float64) float64 {
	list := slices.Clone(q)
	slices.SortFunc(list, byWorth)
	for i, e := range list {
		upper[e.candidate] = e.gain
		if i < free {
			upper[e.candidate] = s.gain(e.candidate)
		}
	}
	return a.atMost(upper, free, room)
}

// An entry is a candidate with its gain as computed in a round; gains of
// earlier rounds are upper bounds.
type entry struct {
	candidate, round int
	gain, worth      float64
}

func byWorth(a, b entry) int {
	return cmp.Or(-cmp.Compare(a.worth, b.worth), cmp.Compare(a.candidate, b.candidate))
}

// A queue is a heap of entries with the largest worth on top.
type queue []entry

func (q queue) Len() int           { return len(q) }
func (q queue) Less(i, j int) bool { return byWorth(q[i], q[j]) < 0 }
func (q queue) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *queue) Push(x any)        { *q = append(*q, x.(entry)) }
func (q *queue) Pop() any {
	old := *q
	last := old[len(old)-1]
	*q = old[:len(old)-1]
	return last
}
