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
	// Rows are chances in each state that many cells have alike, such as those of
	// one distance; see [Noticing].
	Rows [][]float32
}

// A Noticing says by whom one site is noticed.
type Noticing struct {
	Cells []int32 // cells with any chance, each once, rising
	// P holds the chance in each state, cell by cell as in Cells: P[i*states + s].
	P []float32
	// Row, where there is no P, holds for each of Cells which of [Chances].Rows it has:
	// a million pairs then take 8 MB.
	Row []int32
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
	for i, row := range c.Rows {
		if len(row) != len(c.states()) {
			return fmt.Errorf("place: row %d holds %d chances for %d states", i, len(row), len(c.states()))
		}
		if err := checkChances(row); err != nil {
			return fmt.Errorf("place: row %d: %w", i, err)
		}
	}
	for i, n := range c.Seen {
		if err := n.check(len(c.Weights), len(c.states()), len(c.Rows)); err != nil {
			return fmt.Errorf("place: candidate %d: %w", i, err)
		}
	}
	return nil
}

func (n Noticing) check(cells, states, rows int) error {
	if n.Row != nil {
		if len(n.Row) != len(n.Cells) || n.P != nil {
			return fmt.Errorf("%d rows and %d chances for %d cells", len(n.Row), len(n.P), len(n.Cells))
		}
		for _, row := range n.Row {
			if row < 0 || int(row) >= rows {
				return fmt.Errorf("row %d of %d", row, rows)
			}
		}
	} else if len(n.P) != len(n.Cells)*states {
		return fmt.Errorf("%d chances for %d cells in %d states", len(n.P), len(n.Cells), states)
	}
	last := int32(-1)
	for _, cell := range n.Cells {
		if cell <= last || int(cell) >= cells {
			return fmt.Errorf("cell %d after cell %d is out of order or beyond %d cells", cell, last, cells)
		}
		last = cell
	}
	return checkChances(n.P)
}

func checkChances(list []float32) error {
	for _, p := range list {
		if !(p >= 0 && p <= 1) {
			return fmt.Errorf("chance %v is not from 0 to 1", p)
		}
	}
	return nil
}

// at returns the chances in each state of the i-th of a candidate's cells.
func (c Chances) at(seen Noticing, i, states int) []float32 {
	if seen.Row != nil {
		return c.Rows[seen.Row[i]]
	}
	return seen.P[i*states : (i+1)*states]
}

// Alone returns what one candidate is worth by itself.
func (c Chances) Alone(candidate int) float64 { return c.start().gain(candidate) }

// ByCell returns for each cell the chance that at least one of some sites is
// noticed there, in [0, 1].
func (c Chances) ByCell(sites []int) []float64 {
	m := c.start().(*missed)
	for _, site := range sites {
		m.add(site)
	}
	n := len(m.shares)
	out := make([]float64, len(c.Weights))
	for cell := range out {
		for s, share := range m.shares {
			out[cell] += share * (1 - m.chance[cell*n+s])
		}
	}
	return out
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
		p, q := m.problem.at(seen, i, n), m.chance[int(cell)*n:(int(cell)+1)*n]
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
		for s, p := range m.problem.at(seen, i, n) {
			m.chance[int(cell)*n+s] *= 1 - float64(p)
		}
	}
}

func (m *missed) steps(site int) int { return len(m.problem.Seen[site].Cells)*len(m.shares) + 1 }

func (m *missed) clone() state {
	with := *m
	with.chance = append([]float64(nil), m.chance...)
	return &with
}
