package place

import (
	"fmt"
	"math"
)

// Nearest is a placement in which each watcher turns to the site that is
// nearest: the p-median problem (Hakimi 1964, Operations Research 12, 450-459).
// Its worth is the weighted distance saved against the farthest site, so that
// the least mean distance is the greatest worth; [Nearest.MeanM] turns it back.
type Nearest struct {
	Weights []float64   // worth of each watcher, >= 0
	DistM   [][]float64 // for each candidate the distance to each watcher, finite, >= 0 [m]
}

func (n Nearest) check() error {
	if err := checkWeights(n.Weights); err != nil {
		return err
	}
	for i, row := range n.DistM {
		if len(row) != len(n.Weights) {
			return fmt.Errorf("place: candidate %d has %d distances for %d watchers", i, len(row), len(n.Weights))
		}
		for _, d := range row {
			if !(d >= 0) || math.IsInf(d, 1) {
				return fmt.Errorf("place: distance %v of candidate %d is not a number from 0 up", d, i)
			}
		}
	}
	return nil
}

// farthest returns the largest distance to each watcher.
func (n Nearest) farthest() []float64 {
	far := make([]float64, len(n.Weights))
	for _, row := range n.DistM {
		for i, d := range row {
			far[i] = max(far[i], d)
		}
	}
	return far
}

func (n Nearest) sites() int { return len(n.DistM) }

func (n Nearest) total() float64 {
	total := 0.0
	for i, far := range n.farthest() {
		least := far
		for _, row := range n.DistM {
			least = min(least, row[i])
		}
		total += n.Weights[i] * (far - least)
	}
	return total
}

func (n Nearest) start() state { return &nearest{problem: n, least: n.farthest()} }

// MeanM returns the mean distance to the nearest site of a choice, by weight
// [m]; NaN without weights or without sites.
func (n Nearest) MeanM(c Choice) float64 {
	if len(c.Picks) == 0 {
		return math.NaN()
	}
	far := 0.0
	for i, d := range n.farthest() {
		far += n.Weights[i] * d
	}
	return (far - c.Covered) / sum(n.Weights)
}

// A nearest is the state of Nearest: the distance to the nearest chosen site.
type nearest struct {
	problem Nearest
	least   []float64
}

func (n *nearest) gain(site int) float64 {
	sum := 0.0
	for i, d := range n.problem.DistM[site] {
		if d < n.least[i] {
			sum += n.problem.Weights[i] * (n.least[i] - d)
		}
	}
	return sum
}

func (n *nearest) add(site int) {
	for i, d := range n.problem.DistM[site] {
		n.least[i] = min(n.least[i], d)
	}
}

func (n *nearest) steps(site int) int { return len(n.least) + 1 }

func (n *nearest) clone() state {
	return &nearest{n.problem, append([]float64(nil), n.least...)}
}
