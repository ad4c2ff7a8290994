package place

import (
	"cmp"
	"container/heap"
	"math"
	"slices"
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
func Greedy(p Problem, n int) (Choice, error) {
	if err := p.check(); err != nil {
		return Choice{}, err
	}
	c := Choice{Total: p.total(), Bound: math.Inf(1)}
	covered := NewSet(len(p.Weights))
	q := make(queue, len(p.Sets))
	for i, s := range p.Sets {
		q[i] = entry{candidate: i, gain: p.gain(s, covered)}
	}
	heap.Init(&q)
	for len(c.Picks) < n && len(q) > 0 {
		// The first round's gains are all fresh, so its bound costs nothing.
		if len(c.Picks) == 0 {
			c.Bound = q.bound(0, n)
		}
		best := p.next(&q, covered, len(c.Picks))
		if best.gain <= 0 {
			break
		}
		covered.addAll(p.Sets[best.candidate])
		c.Picks = append(c.Picks, Pick{best.candidate, best.gain})
		c.Covered += best.gain
		c.Bound = min(c.Bound, p.boundAfter(q, covered, c.Covered, n))
	}
	if n <= 0 || len(p.Sets) == 0 {
		c.Bound = 0
	}
	c.Bound = max(c.Covered, min(c.Bound, c.Total))
	return c, nil
}

// next takes the candidate with the largest fresh gain off the queue. Those
// that tie with it are all made fresh first, and the earliest in the input wins.
func (p Problem) next(q *queue, covered Set, round int) entry {
	var level []entry
	for len(*q) > 0 {
		top := (*q)[0]
		if len(level) > 0 && top.gain < level[0].gain*(1-tie) {
			break
		}
		if top.round < round {
			(*q)[0].gain, (*q)[0].round = p.gain(p.Sets[top.candidate], covered), round
			heap.Fix(q, 0)
			continue
		}
		level = append(level, heap.Pop(q).(entry))
	}
	best := slices.MinFunc(level, func(a, b entry) int { return cmp.Compare(a.candidate, b.candidate) })
	for _, e := range level {
		if e.candidate != best.candidate {
			heap.Push(q, e)
		}
	}
	return best
}

// boundAfter returns the bound on any choice of n sites that follows from what
// is covered now: by submodularity it is at most what is covered plus the n
// largest gains that remain (Nemhauser, Wolsey and Fisher 1978, proposition
// 2.1). Stale gains are upper bounds of the fresh ones and do as well; the n at
// the head of the queue are made fresh, which is where it pays.
func (p Problem) boundAfter(q queue, covered Set, sum float64, n int) float64 {
	list := slices.Clone(q)
	slices.SortFunc(list, byGain)
	for i := range list[:min(n, len(list))] {
		list[i].gain = p.gain(p.Sets[list[i].candidate], covered)
	}
	return queue(list).bound(sum, n)
}

// bound returns sum plus the n largest gains of the queue.
func (q queue) bound(sum float64, n int) float64 {
	list := slices.Clone(q)
	slices.SortFunc(list, byGain)
	for _, e := range list[:min(n, len(list))] {
		sum += e.gain
	}
	return sum
}

func (p Problem) total() float64 {
	sum := 0.0
	for _, w := range p.Weights {
		sum += w
	}
	return sum
}

// An entry is a candidate with its gain as computed in a round; gains of
// earlier rounds are upper bounds.
type entry struct {
	candidate, round int
	gain             float64
}

func byGain(a, b entry) int {
	return cmp.Or(-cmp.Compare(a.gain, b.gain), cmp.Compare(a.candidate, b.candidate))
}

// A queue is a heap of entries with the largest gain on top.
type queue []entry

func (q queue) Len() int           { return len(q) }
func (q queue) Less(i, j int) bool { return byGain(q[i], q[j]) < 0 }
func (q queue) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *queue) Push(x any)        { *q = append(*q, x.(entry)) }
func (q *queue) Pop() any {
	old := *q
	last := old[len(old)-1]
	*q = old[:len(old)-1]
	return last
}
