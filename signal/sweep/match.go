package sweep

import (
	"fmt"
	"math"
)

// Match pairs each row of a table of costs with a column of its own so that the
// sum of the costs is least; there are at least as many columns as rows. It
// returns the column of each row (the assignment problem: Kuhn 1955, Naval
// Research Logistics Quarterly 2, 83-97; by shortest augmenting paths, in a time
// that grows with the cube of the size).
func Match(cost [][]float64) ([]int, error) {
	rows := len(cost)
	if rows == 0 {
		return nil, nil
	}
	cols := len(cost[0])
	if cols < rows {
		return nil, fmt.Errorf("sweep: %d rows cannot have %d columns each to itself", rows, cols)
	}
	for i, row := range cost {
		if len(row) != cols {
			return nil, fmt.Errorf("sweep: row %d has %d costs, the first %d", i, len(row), cols)
		}
		for _, c := range row {
			if math.IsNaN(c) || math.IsInf(c, 0) {
				return nil, fmt.Errorf("sweep: cost %v in row %d is not a number", c, i)
			}
		}
	}
	m := matching{cost: cost, rowPrice: make([]float64, rows), colPrice: make([]float64, cols), of: make([]int, cols)}
	for j := range m.of {
		m.of[j] = -1
	}
	for i := range rows {
		m.place(i)
	}
	columns := make([]int, rows)
	for j, i := range m.of {
		if i >= 0 {
			columns[i] = j
		}
	}
	return columns, nil
}

// A matching holds prices with which no pair costs less than its prices, and
// pairs that cost just that.
type matching struct {
	cost               [][]float64
	rowPrice, colPrice []float64
	of                 []int // row of each column, -1: free
}

// place finds room for a row by the cheapest chain of pairs that make way.
func (m *matching) place(row int) {
	cols := len(m.of)
	slack, from, done := make([]float64, cols), make([]int, cols), make([]bool, cols)
	for j := range slack {
		slack[j], from[j] = math.Inf(1), -1
	}
	at, last := row, -1 // the row that looks for room, and the column it had
	for {
		next, δ := -1, math.Inf(1)
		for j := range cols {
			if done[j] {
				continue
			}
			if s := m.cost[at][j] - m.rowPrice[at] - m.colPrice[j]; s < slack[j] {
				slack[j], from[j] = s, last
			}
			if slack[j] < δ {
				next, δ = j, slack[j]
			}
		}
		m.raise(row, δ, done, slack)
		done[next], last = true, next
		if m.of[next] < 0 {
			break
		}
		at = m.of[next]
	}
	for j := last; j >= 0; j = from[j] {
		if from[j] < 0 {
			m.of[j] = row
			break
		}
		m.of[j] = m.of[from[j]]
	}
}

// raise moves the prices of the rows and columns looked at by δ, so that one more
// pair costs just its prices.
func (m *matching) raise(row int, δ float64, done []bool, slack []float64) {
	m.rowPrice[row] += δ
	for j := range done {
		if done[j] {
			m.rowPrice[m.of[j]] += δ
			m.colPrice[j] -= δ
			continue
		}
		slack[j] -= δ
	}
}
