package place

import (
	"fmt"
	"math"
)

// Chances is a placement in which sites are noticed by chance. Its worth is
//
//	sum over cells of weight x mean over states of (1 - product over sites of (1 - p)),
//
// the states being the joint draws of what nobody knows (air, eyes, the day's
// offset of the threshold). All sites and cells see the same state: what a dull
// lamp misses from one site it is likely to miss from the next, so chances that
// are averaged before they are multiplied overstate what a second site adds.
type Chances struct {
	// Weights is the worth of each cell: the probability that somebody is there
	// times the time that they look, or any other measure, >= 0.
	Weights []float64
	// States holds the share of each state; they sum to 1. Empty: one state.
	States []float64
	Seen   []Noticing // one for each candidate
}

// A Noticing says by whom one site is noticed.
type Noticing struct {
	Cells []int32 // cells with any chance, each once, rising
	// P holds the chance in each state, cell by cell as in Cells: P[i*states + s].
	P []float32
}

// states returns the shares of the states, at least one.
func (c Chances) states() []float64 {
	if len(c.States) == 0 {
		return []float64{1}
	}
	return c.States
}

func (c Chances) check() error {
	if err := checkWeights(c.Weights); err != nil {
		return err
	}
	shares := 0.0
	for i, s := range c.states() {
		if !(s >= 0) {
			return fmt.Errorf("place: share %v of state %d is negative or not a number", s, i)
		}
		shares += s
	}
	if !(math.Abs(shares-1) <= 1e-6) {
		return fmt.Errorf("place: the shares of the states sum to %v, not to 1", shares)
	}
	for i, n := range c.Seen {
		if err := n.check(len(c.Weights), len(c.states())); err != nil {
			return fmt.Errorf("place: candidate %d: %w", i, err)
		}
	}
	return nil
}

func (n Noticing) check(cells, states int) error {
	if len(n.P) != len(n.Cells)*states {
		return fmt.Errorf("%d chances for %d cells in %d states", len(n.P), len(n.Cells), states)
	}
	last := int32(-1)
	for _, cell := range n.Cells {
		if cell <= last || int(cell) >= cells {
			return fmt.Errorf("cell %d after cell %d is out of order or beyond %d cells", cell, last, cells)
		}
		last = cell
	}
	for _, p := range n.P {
		if !(p >= 0 && p <= 1) {
			return fmt.Errorf("chance %v is not from 0 to 1", p)
		}
	}
	return nil
}

func (c Chances) sites() int     { return len(c.Seen) }
func (c Chances) total() float64 { return sum(c.Weights) }

func (c Chances) start() state {
	m := &missed{problem: c, shares: c.states()}
	m.chance = make([]float64, len(c.Weights)*len(m.shares))
	for i := range m.chance {
		m.chance[i] = 1
	}
	return m
}

// Missed is the state of Chances: the chance that every chosen site is missed,
// by cell and state.
type missed struct {
	problem Chances
	shares  []float64
	chance  []float64
}

func (m *missed) gain(site int) float64 {
	seen, n := m.problem.Seen[site], len(m.shares)
	sum := 0.0
	for i, cell := range seen.Cells {
		p, q := seen.P[i*n:(i+1)*n], m.chance[int(cell)*n:(int(cell)+1)*n]
		mean := 0.0
		for s, share := range m.shares {
			mean += share * q[s] * float64(p[s])
		}
		sum += m.problem.Weights[cell] * mean
	}
	return sum
}

func (m *missed) add(site int) {
	seen, n := m.problem.Seen[site], len(m.shares)
	for i, cell := range seen.Cells {
		for s := range n {
			m.chance[int(cell)*n+s] *= 1 - float64(seen.P[i*n+s])
		}
	}
}

func (m *missed) steps(site int) int { return len(m.problem.Seen[site].P) + 1 }

func (m *missed) clone() state {
	with := *m
	with.chance = append([]float64(nil), m.chance...)
	return &with
}
