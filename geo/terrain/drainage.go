package terrain

import (
	"container/heap"
	"math"

	"farhail/geo/grid"
)

// Streams marks the cells through which the water of at least so much ground
// runs [m2]: the lines that valleys have. Water runs from each cell to the
// lowest of its eight neighbours by slope (O'Callaghan and Mark 1984, Computer
// Vision, Graphics and Image Processing 28, 323-344), hollows are filled to
// their lowest outlet first (Barnes, Lehman and Mulla 2014, Computers and
// Geosciences 62, 117-127). Cells without data take water and give none.
//
// It is drawn from heights alone: a small stream on flat ground may run
// elsewhere, and none need be wet.
func Streams(h *grid.Heights, leastM2 float64) []bool {
	return drained(h, 1, leastM2)
}

// Ridges marks the cells that would drain at least so much ground [m2] if the
// terrain were turned upside down: the lines that ridges have.
func Ridges(h *grid.Heights, leastM2 float64) []bool {
	return drained(h, -1, leastM2)
}

// A flooded cell waits in the order of the water's level.
type flooded struct {
	level float64
	cell  int
}

type flood []flooded

func (q flood) Len() int { return len(q) }
func (q flood) Less(i, j int) bool {
	if q[i].level != q[j].level {
		return q[i].level < q[j].level
	}
	return q[i].cell < q[j].cell
}
func (q flood) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *flood) Push(x any)   { *q = append(*q, x.(flooded)) }
func (q *flood) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}

// drained floods the terrain, times sign, from its edges and its cells without
// data inwards; each cell drains to a neighbour that was flooded before it, so
// that in the reverse of that order every cell is met before what it drains to.
func drained(h *grid.Heights, sign, leastM2 float64) []bool {
	n := h.Cols * h.Rows
	level := make([]float64, n)
	known := func(i int) bool { return !math.IsNaN(float64(h.Z[i])) }
	var q flood
	queued := make([]bool, n)
	for i := range n {
		if !known(i) {
			continue
		}
		level[i] = sign * float64(h.Z[i])
		col, row := i%h.Cols, i/h.Cols
		edge := col == 0 || row == 0 || col == h.Cols-1 || row == h.Rows-1
		if !edge {
			eachNeighbour(h.Frame, i, func(j int, _ float64) { edge = edge || !known(j) })
		}
		if edge {
			q = append(q, flooded{level[i], i})
			queued[i] = true
		}
	}
	heap.Init(&q)
	order := make([]int, 0, n)
	for len(q) > 0 {
		a := heap.Pop(&q).(flooded)
		order = append(order, a.cell)
		eachNeighbour(h.Frame, a.cell, func(j int, _ float64) {
			if queued[j] || !known(j) {
				return
			}
			queued[j] = true
			level[j] = math.Max(level[j], a.level)
			heap.Push(&q, flooded{level[j], j})
		})
	}
	turn := make([]int, n) // when each cell was flooded
	for k, i := range order {
		turn[i] = k
	}
	area := make([]float64, n)
	marked := make([]bool, n)
	for k := len(order) - 1; k >= 0; k-- {
		i := order[k]
		area[i] += h.AreaM2(i / h.Cols)
		marked[i] = area[i] >= leastM2
		to, steepest, earliest := -1, math.Inf(-1), k
		eachNeighbour(h.Frame, i, func(j int, distM float64) {
			if !known(j) || turn[j] >= k {
				return
			}
			slope := (level[i] - level[j]) / distM
			// On filled hollows all is level: there the way that was flooded first leads out.
			if slope > steepest || slope == steepest && turn[j] < earliest {
				to, steepest, earliest = j, slope, turn[j]
			}
		})
		if to >= 0 {
			area[to] += area[i]
		}
	}
	return marked
}

// eachNeighbour calls f with the eight neighbours of a cell and how far their
// centres are [m].
func eachNeighbour(f grid.Frame, cell int, call func(neighbour int, distM float64)) {
	col, row := cell%f.Cols, cell/f.Cols
	eastM, northM := f.Metres(row)
	for dr := -1; dr <= 1; dr++ {
		for dc := -1; dc <= 1; dc++ {
			c, r := col+dc, row+dr
			if dr == 0 && dc == 0 || c < 0 || r < 0 || c >= f.Cols || r >= f.Rows {
				continue
			}
			call(r*f.Cols+c, math.Hypot(float64(dc)*eastM, float64(dr)*northM))
		}
	}
}
