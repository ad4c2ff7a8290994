package terrain

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// SpotHeight is a measured height of the ground, such as a summit's on a map.
type SpotHeight struct {
	Name    string
	Point   orb.Point
	HeightM float64 // in the terrain's vertical datum
}

// Burnt says what became of a spot height.
type Burnt struct {
	SpotHeight
	Set      bool    // false: outside the grid, without a height, or below another spot of the same cell
	Col, Row int     // the cell; -1 outside the grid
	DifferM  float64 // measured less the cell's height before; NaN where it had none
}

// farOffM is by how much a spot may differ from the terrain before somebody
// should look: more than coarse cells cut from summits (some 35 m, sd 17 m, on 3
// arc-seconds, own measurement over 99 peaks), and a unit or a place mistaken.
const farOffM = 150

// Burn sets the cells nearest to spots to the measured heights and notes by how
// much they differed; of several spots in one cell the highest counts. What is
// between the cells' centres stays bilinear: a spot half a cell from its centre
// lends the ground at its own place less than its height.
//
// Coarse grids cut summits, so that an eye on one sees too little; after this
// [Terrain.CutSummit] holds the cell for right.
func (t *Terrain) Burn(spots []SpotHeight) []Burnt {
	list := make([]Burnt, len(spots))
	highest := map[int]int{} // of a cell, the spot
	for i, s := range spots {
		b := &list[i]
		*b = Burnt{SpotHeight: s, Col: -1, Row: -1, DifferM: math.NaN()}
		col, row := t.Cell(s.Point)
		if !t.Inside(col, row) {
			continue
		}
		b.Col, b.Row = nearestCell(col, t.Cols), nearestCell(row, t.Rows)
		b.DifferM = s.HeightM - t.At(b.Col, b.Row)
		if math.IsNaN(s.HeightM) || math.IsInf(s.HeightM, 0) {
			continue
		}
		b.Set = true
		cell := b.Row*t.Cols + b.Col
		if j, taken := highest[cell]; taken {
			if list[j].HeightM >= s.HeightM {
				b.Set = false
				continue
			}
			list[j].Set = false
		}
		highest[cell] = i
	}
	if t.burnt == nil {
		t.burnt = map[int]bool{}
	}
	for _, b := range list {
		if !b.Set {
			continue
		}
		cell := b.Row*t.Cols + b.Col
		if t.Z[cell] != t.Z[cell] {
			t.Info.Known, t.Info.Voids = t.Info.Known+1, t.Info.Voids-1
		}
		t.Z[cell] = float32(b.HeightM)
		t.burnt[cell] = true
		// A comparison with NaN is false: the range of a terrain without heights.
		if !(t.Info.MinM <= b.HeightM) {
			t.Info.MinM = b.HeightM
		}
		if !(t.Info.MaxM >= b.HeightM) {
			t.Info.MaxM = b.HeightM
		}
	}
	t.Info.Notes = append(t.Info.Notes, burntNotes(list)...)
	return list
}

// Measured returns the cells that a measured height was set into, by their index
// in order.
func (t *Terrain) Measured() []int {
	cells := make([]int, 0, len(t.burnt))
	for cell := range t.burnt {
		cells = append(cells, cell)
	}
	slices.Sort(cells)
	return cells
}

// burntNotes says how many spots were set, and which are doubtful.
func burntNotes(list []Burnt) []string {
	set, sum, least, most := 0, 0.0, math.Inf(1), math.Inf(-1)
	var doubts []string
	n := 0
	for _, b := range list {
		switch {
		case !b.Set:
		case math.Abs(b.DifferM) > farOffM:
			doubts = append(doubts, fmt.Sprintf("the spot %q of %.0f m differs from the terrain by %+.0f m: look whether its place, unit and datum are right", b.Name, b.HeightM, b.DifferM))
			fallthrough
		default:
			set++
			if !math.IsNaN(b.DifferM) {
				n++
				sum += b.DifferM
				least, most = min(least, b.DifferM), max(most, b.DifferM)
			}
		}
	}
	if set == 0 {
		if len(list) == 0 {
			return nil
		}
		return []string{fmt.Sprintf("none of %d measured heights lies in the terrain", len(list))}
	}
	text := fmt.Sprintf("%d of %d measured heights were set into the terrain", set, len(list))
	if n > 0 {
		text += fmt.Sprintf(", which they exceed by %.1f m on average (%.1f to %.1f m)", sum/float64(n), least, most)
	}
	return append([]string{text}, doubts...)
}

// coarseM is from which cell size on summits are flagged as cut [m].
const coarseM = 50

// CutSummit reports whether a position stands on a summit that the grid has cut:
// the cells are larger than 50 m, the highest of the nine nearest is the highest
// within three cells and at least 1 m above the mean of its neighbours, and no
// measured height was set there. The rule is own choice; 99 mapped peaks of the
// Pyrenees read 34.5 m too low on average (sd 17 m) on a 3 arc-second grid (own
// measurement).
func (t *Terrain) CutSummit(p orb.Point) bool {
	col, row := t.Cell(p)
	if !t.Inside(col, row) {
		return false
	}
	if east, north := t.MetresAt(col, row); math.Sqrt(east*north) <= coarseM {
		return false
	}
	c, r := nearestCell(col, t.Cols), nearestCell(row, t.Rows)
	tc, tr, top := c, r, math.Inf(-1)
	t.around(c, r, 1, func(x, y int, z float64) {
		if z > top {
			tc, tr, top = x, y, z
		}
	})
	if t.burnt[tr*t.Cols+tc] {
		return false
	}
	summit, sum, n := true, 0.0, 0.0
	t.around(tc, tr, 3, func(x, y int, z float64) {
		if z > top {
			summit = false
		}
		if max(abs(x-tc), abs(y-tr)) == 1 {
			sum += z
			n++
		}
	})
	// At the edge of the grid nobody knows whether the ground rises on.
	return summit && n > 5 && top-sum/n >= 1
}

// around visits the cells with a height up to a number of cells away.
func (t *Terrain) around(col, row, reach int, visit func(col, row int, z float64)) {
	for y := max(row-reach, 0); y <= min(row+reach, t.Rows-1); y++ {
		for x := max(col-reach, 0); x <= min(col+reach, t.Cols-1); x++ {
			if z := t.At(x, y); !math.IsNaN(z) {
				visit(x, y, z)
			}
		}
	}
}

// nearestCell is the cell whose centre is next to a coordinate inside the grid.
func nearestCell(x float64, n int) int { return min(max(int(math.Round(x)), 0), n-1) }

func abs(n int) int { return max(n, -n) }
