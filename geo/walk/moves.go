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

// A move leads to a cell dc columns east and dr rows south.
type move struct{ dc, dr int }

// moves holds the 8 neighbours and the 8 knight's moves.
var moves = [16]move{
	{1, 0}, {0, 1}, {-1, 0}, {0, -1},
	{1, 1}, {-1, 1}, {-1, -1}, {1, -1},
	{2, 1}, {1, 2}, {-1, 2}, {-2, 1}, {-2, -1}, {-1, -2}, {1, -2}, {2, -1},
}

func (m move) straight() bool { return m.dc == 0 || m.dr == 0 }
func (m move) knight() bool   { return m.dc*m.dc+m.dr*m.dr == 5 }

// a and b are the offsets of the two cells beside the move: those that share
// the corner a diagonal passes, or those that a knight's move runs through.
func (m move) a(cols int) int {
	switch {
	case m.dc == 2 || m.dc == -2:
		return m.dc / 2
	case m.dr == 2 || m.dr == -2:
		return m.dr / 2 * cols
	}
	return m.dc
}

func (m move) b(cols int) int {
	switch {
	case m.dc == 2 || m.dc == -2:
		return m.dc/2 + m.dr*cols
	case m.dr == 2 || m.dr == -2:
		return m.dr/2*cols + m.dc
	}
	return m.dr * cols
}

// moveLengths returns, by row and move, the ground length [m] of the move, or
// of half of it for a knight's move. Rows of unlike size are met half way, so
// that a move and its return are of one length.
func moveLengths(f grid.Frame, gridLengths bool) [][]float64 {
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
			d := math.Hypot(float64(m.dc)*e, float64(m.dr)*n)
			if m.knight() {
				d /= 2
			}
			length[r][k] = d
		}
	}
	return length
}
