package cover

import (
	"slices"

	"github.com/paulmach/orb"
)

// A shore finds, area by area, the cells of the edge that an area needs to hold
// where it is narrow.
type shore struct {
	g *Grid
	// cell says for each cell what it is to the area in hand.
	cell []ashore
	edge []int
}

type ashore uint8

const (
	dry    ashore = iota
	edged         // the edge runs through it, its centre is outside
	inside        // its centre lies in the area
)

func newShore(g *Grid) *shore { return &shore{g: g, cell: make([]ashore, len(g.Class))} }

// of calls mark for cells of an area's edge whose centres are outside, such that
// with those inside nobody gets across the area. (Which of those inside are water is
// another matter: there may be islands.)
//
// It begins with all cells that the area touches, and takes away cells of its edge
// beside a block of two by two whose centres are inside, where that joins no ground
// that the area parts. What is left holds as well: walkers go by the sides of cells,
// and the area hangs together by sides and corners.
func (s *shore) of(area orb.Polygon, mark func(col, row int)) {
	s.edge = s.edge[:0]
	s.fill(area, inside)
	for _, ring := range area {
		s.g.Along(orb.LineString(ring), func(col, row int) {
			if i := row*s.g.Cols + col; s.cell[i] == dry {
				s.cell[i] = edged
				s.edge = append(s.edge, i)
			}
		})
	}
	slices.Sort(s.edge)
	for _, i := range s.edge {
		if s.besideBlock(i) && s.partsNothing(i) {
			s.cell[i] = dry
		}
	}
	for _, i := range s.edge {
		if s.cell[i] == edged {
			mark(i%s.g.Cols, i/s.g.Cols)
		}
		s.cell[i] = dry
	}
	s.fill(area, dry)
}

func (s *shore) fill(area orb.Polygon, with ashore) {
	s.g.Spans(area, func(row, first, last int) {
		for i := row*s.g.Cols + first; i <= row*s.g.Cols+last; i++ {
			s.cell[i] = with
		}
	})
}

// at returns what a cell is; beyond the frame, where nobody walks, all is inside.
func (s *shore) at(col, row int) ashore {
	if col < 0 || row < 0 || col >= s.g.Cols || row >= s.g.Rows {
		return inside
	}
	return s.cell[row*s.g.Cols+col]
}

// besideBlock reports whether a cell touches four cells inside that meet in a corner.
func (s *shore) besideBlock(i int) bool {
	col, row := i%s.g.Cols, i/s.g.Cols
	for r := row - 2; r <= row+1; r++ {
		for c := col - 2; c <= col+1; c++ {
			if s.at(c, r) == inside && s.at(c+1, r) == inside && s.at(c, r+1) == inside && s.at(c+1, r+1) == inside {
				return true
			}
		}
	}
	return false
}

// around are the eight cells around one, in their order; those at even places share
// a side with it.
var around = [8][2]int{{1, 0}, {1, 1}, {0, 1}, {-1, 1}, {-1, 0}, {-1, -1}, {0, -1}, {1, -1}}

// partsNothing reports whether the free cells around a cell that share a side with
// it hang together around it, so that without it no two sides are joined.
func (s *shore) partsNothing(i int) bool {
	var free [8]bool
	for k, d := range around {
		free[k] = s.at(i%s.g.Cols+d[0], i/s.g.Cols+d[1]) == dry
	}
	groups := 0
	for k := 0; k < 8; k += 2 {
		// A group ends at a side whose next side is not free, or not by way of the
		// corner between.
		if free[k] && !(free[k+1] && free[(k+2)%8]) {
			groups++
		}
	}
	return groups == 1
}
