package walk

import (
	"math"

	"farhail/geo/grid"
)

// Elongation16 is how much longer the shortest path of 16 moves is than the
// straight line on flat ground, at worst and on average over all directions:
// 1/cos(gap/2) - 1 for the widest gap between two moves, 26.57°, and its mean.
// The mean over the cells of a disc comes out a little smaller.
const (
	Elongation16Worst = 0.02749
	Elongation16Mean  = 0.01438
)

// Elongation80Worst is the same for 80 moves, whose widest gap, 11.31°, lies
// beside the grid's axes. [Reach] divides it out, so that on flat ground times
// are never too long and by this at most too short.
const Elongation80Worst = 0.00489

// A move leads to a cell dc columns east and dr rows south. It is walked in
// legs of one length, from column to column, or from row to row where it is
// steeper than 45 degrees on the grid.
type move struct {
	dc, dr int
	legs   int
}

// neighbours16 are the 8 neighbours and the 8 knight's moves.
func neighbours16() []move {
	return []move{
		{1, 0, 1}, {0, 1, 1}, {-1, 0, 1}, {0, -1, 1},
		{1, 1, 1}, {-1, 1, 1}, {-1, -1, 1}, {1, -1, 1},
		{2, 1, 2}, {1, 2, 2}, {-1, 2, 2}, {-2, 1, 2}, {-2, -1, 2}, {-1, -2, 2}, {1, -2, 2}, {2, -1, 2},
	}
}

// neighbours80 are all moves of up to five cells that no shorter one divides,
// short ones first.
func neighbours80() []move {
	list := neighbours16()
	for n := 3; n <= 5; n++ {
		for m := 1; m < n; m++ {
			if gcd(n, m) > 1 {
				continue
			}
			for _, s := range [][2]int{{n, m}, {m, n}, {-m, n}, {-n, m}, {-n, -m}, {-m, -n}, {m, -n}, {n, -m}} {
				list = append(list, move{s[0], s[1], n})
			}
		}
	}
	return list
}

func gcd(a, b int) int {
	for b > 0 {
		a, b = b, a%b
	}
	return a
}

// A place on a move lies between two cells, given as offsets from its first,
// share of the way from a to b.
type place struct {
	a, b  int
	share float64
}

// places returns where the legs of a move meet, on a grid of so many columns.
func (m move) places(cols int) []place {
	var list []place
	for i := 1; i < m.legs; i++ {
		x, y := float64(i*m.dc)/float64(m.legs), float64(i*m.dr)/float64(m.legs)
		c0, r0 := int(math.Floor(x)), int(math.Floor(y))
		c1, r1 := int(math.Ceil(x)), int(math.Ceil(y))
		list = append(list, place{a: r0*cols + c0, b: r1*cols + c1, share: math.Max(x-float64(c0), y-float64(r0))})
	}
	return list
}

// corners returns the two cells that share the corner which a diagonal passes;
// ok is false for other moves.
func (m move) corners(cols int) (a, b int, ok bool) {
	return m.dc, m.dr * cols, m.dc*m.dr == 1 || m.dc*m.dr == -1
}

// beside reports whether the move leads to one of the eight cells around.
func (m move) beside() bool { return max(m.dc, -m.dc, m.dr, -m.dr) == 1 }

// moveLengths returns, by row and move, the ground length [m] of a leg of the
// move. Rows of unlike size are met half way, so that a move and its return are
// of one length.
func moveLengths(f grid.Frame, moves []move, gridLengths bool) [][]float64 {
	east, north := make([]float64, f.Rows), make([]float64, f.Rows)
	for r := range east {
		if gridLengths && !f.CRS.LonLat() {
			east[r], north[r] = f.DX, f.DY
			continue
		}
		east[r], north[r] = f.Metres(r)
	}
	length := make([][]float64, f.Rows)
	for r := range length {
		length[r] = make([]float64, len(moves))
		for k, m := range moves {
			// Moves that leave the grid are never made; any length will do.
			to := min(max(r+m.dr, 0), f.Rows-1)
			e, n := (east[r]+east[to])/2, (north[r]+north[to])/2
			length[r][k] = math.Hypot(float64(m.dc)*e, float64(m.dr)*n) / float64(m.legs)
		}
	}
	return length
}
