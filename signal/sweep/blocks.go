package sweep

import "math"

// Blocks are squares of the plane with the cells in them and the legs from which
// one of those can be seen.
type blocks struct {
	west, south, sideM float64
	cols, rows         int
	cells, legs        [][]int32
}

// mostBlocks keeps cells that lie far apart from making many empty squares.
const mostBlocks = 1 << 20

// newBlocks cuts the ground about at least one centre into squares.
func newBlocks(centres []Point, sideM float64) *blocks {
	west, south, east, north := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, c := range centres {
		west, east = min(west, c.EastM), max(east, c.EastM)
		south, north = min(south, c.NorthM), max(north, c.NorthM)
	}
	for ((east-west)/sideM+1)*((north-south)/sideM+1) > mostBlocks {
		sideM *= 2
	}
	b := &blocks{west: west, south: south, sideM: sideM}
	b.cols, b.rows = int((east-west)/sideM)+1, int((north-south)/sideM)+1
	b.cells, b.legs = make([][]int32, b.cols*b.rows), make([][]int32, b.cols*b.rows)
	for i, c := range centres {
		at := int((c.NorthM-south)/sideM)*b.cols + int((c.EastM-west)/sideM)
		b.cells[at] = append(b.cells[at], int32(i))
	}
	return b
}

// meet enters a leg into all squares that it may see into.
func (b *blocks) meet(id int, l leg, endM float64) {
	to := l.from.plus(l.lengthM, l.dir)
	span := func(a, c, origin float64, n int) (lo, hi int) {
		lo = int(math.Floor((min(a, c) - endM - origin) / b.sideM))
		hi = int(math.Floor((max(a, c) + endM - origin) / b.sideM))
		return max(lo, 0), min(hi, n-1)
	}
	left, right := span(l.from.EastM, to.EastM, b.west, b.cols)
	low, high := span(l.from.NorthM, to.NorthM, b.south, b.rows)
	for row := low; row <= high; row++ {
		for col := left; col <= right; col++ {
			at := row*b.cols + col
			b.legs[at] = append(b.legs[at], int32(id))
		}
	}
}
