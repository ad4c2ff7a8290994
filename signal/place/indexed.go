package place

import (
	"math/bits"
	"runtime"
	"slices"
	"sync"
)

// An indexed is a Problem made ready for many looks: a seen area fills a small part of a
// set over all watchers, so it is told which of its words hold anybody.
type indexed struct {
	Problem
	filled [][]span // by site
	sum    float64
	// upTo is the sum of the weights up to each watcher, begun anew with each word
	// of a set: seen areas come in runs, and a run then takes one subtraction.
	upTo []float64
}

// A span is words of a set, none of them empty, from one up to another.
type span struct{ from, to int32 }

// filled returns which words of a set hold anybody; spare is room for the work.
func filled(s Set, spare []span) (spans, worked []span) {
	spans = spare[:0]
	for i := 0; i < len(s); i++ {
		if i+4 <= len(s) && s[i]|s[i+1]|s[i+2]|s[i+3] == 0 {
			i += 3
			continue
		}
		if s[i] == 0 {
			continue
		}
		from := i
		for i < len(s) && s[i] != 0 {
			i++
		}
		spans = append(spans, span{int32(from), int32(i)})
	}
	return slices.Clone(spans), spans
}

// indexed makes a problem ready. Each worker writes its own slots.
func (p Problem) indexed() *indexed {
	x := &indexed{Problem: p, filled: make([][]span, len(p.Sets)), sum: sum(p.Weights), upTo: make([]float64, len(p.Weights))}
	var wait sync.WaitGroup
	workers := max(1, min(runtime.GOMAXPROCS(0), len(p.Sets)))
	for w := range workers {
		wait.Go(func() {
			var spare []span
			for i := w; i < len(p.Sets); i += workers {
				x.filled[i], spare = filled(p.Sets[i], spare)
			}
		})
	}
	for from := 0; from < len(p.Weights); from += 64 {
		sum := 0.0
		word := p.Weights[from:min(from+64, len(p.Weights))]
		for i, w := range word {
			sum += w
			x.upTo[from+i] = sum
		}
	}
	wait.Wait()
	return x
}

func (x *indexed) total() float64 { return x.sum }

func (x *indexed) start() state { return &cover{x, NewSet(len(x.Weights))} }

// A cover is the state of a Problem.
type cover struct {
	problem *indexed
	covered Set
}

// gain sums in index order, so that equal inputs give equal bits.
func (c *cover) gain(site int) float64 {
	sum := 0.0
	set := c.problem.Sets[site]
	for _, words := range c.problem.filled[site] {
		for i := words.from; i < words.to; i++ {
			w := set[i] &^ c.covered[i]
			if w == 0 {
				continue
			}
			upTo := c.problem.upTo[int(i)*64:]
			for w != 0 {
				from := bits.TrailingZeros64(w)
				run := bits.TrailingZeros64(^(w >> from))
				sum += upTo[from+run-1]
				if from > 0 {
					sum -= upTo[from-1]
				}
				w &^= (1<<run - 1) << from
			}
		}
	}
	return sum
}

func (c *cover) add(site int) { c.covered.addAll(c.problem.Sets[site]) }

func (c *cover) steps(site int) int { return len(c.covered) + 1 }

func (c *cover) clone() state { return &cover{c.problem, append(Set(nil), c.covered...)} }
