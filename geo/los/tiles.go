package los

import (
	"context"
	"math"
	"runtime"
	"sync/atomic"

	"golang.org/x/sync/errgroup"

	"farhail/geo/grid"
)

// tileBits and blockBits are the sizes of the two levels of tiles: 16 and 128
// cells. Both are powers of two so that a tile is found by a shift.
const (
	tileBits  = 4
	blockBits = 7
)

// tiles hold the greatest height of square pieces of a grid, counted from the
// grid's north-west corner. A tile takes in the first column and row of its
// neighbours to the east and south, so that the height at a crossing whose
// lesser column and row lie in a tile is never above the tile's. A tile with
// no-data holds +Inf: it can never be skipped.
type tiles struct {
	small, large tileLevel
}

type tileLevel struct {
	bits       uint
	col, row   int // of the first tile
	cols, rows int
	highest    []float32 // row by row
}

// newTiles covers the columns and rows from first to last, both included.
func newTiles(h *grid.Heights, col0, row0, col1, row1 int) *tiles {
	t := &tiles{}
	t.small = newLevel(tileBits, col0, row0, col1, row1)
	t.large = newLevel(blockBits, col0, row0, col1, row1)
	eachRow(t.small.rows, func(i int) { t.small.fill(h, i) })
	for i := range t.large.rows {
		t.large.gather(&t.small, i)
	}
	return t
}

func newLevel(bits uint, col0, row0, col1, row1 int) tileLevel {
	l := tileLevel{bits: bits, col: col0 >> bits, row: row0 >> bits}
	l.cols, l.rows = col1>>bits-l.col+1, row1>>bits-l.row+1
	l.highest = make([]float32, l.cols*l.rows)
	return l
}

// fill finds the greatest heights of one row of tiles.
func (l *tileLevel) fill(h *grid.Heights, i int) {
	inf := float32(math.Inf(1))
	out := l.highest[i*l.cols : (i+1)*l.cols]
	for j := range out {
		out[j] = -inf
	}
	size := 1 << l.bits
	first := (l.row + i) * size
	for r := first; r <= min(first+size, h.Rows-1); r++ {
		row := h.Row(r)
		for j := range out {
			c := (l.col + j) * size
			highest := out[j]
			for _, z := range row[c:min(c+size+1, h.Cols)] {
				if !(z <= highest) {
					highest = z
					if z != z {
						highest = inf
					}
				}
			}
			out[j] = highest
		}
	}
}

// gather fills a row of a coarse level from a fine one.
func (l *tileLevel) gather(fine *tileLevel, i int) {
	shift := l.bits - fine.bits
	for j := range l.cols {
		highest := float32(math.Inf(-1))
		r0, c0 := (l.row+i)<<shift-fine.row, (l.col+j)<<shift-fine.col
		for r := max(r0, 0); r < min(r0+1<<shift, fine.rows); r++ {
			for c := max(c0, 0); c < min(c0+1<<shift, fine.cols); c++ {
				highest = max(highest, fine.highest[r*fine.cols+c])
			}
		}
		l.highest[i*l.cols+j] = highest
	}
}

// over returns the greatest height of the tiles that hold column major and the
// rows lo to hi, or the other way round; +Inf outside what the tiles cover.
func (l *tileLevel) over(major, lo, hi int, majorIsCol bool) float64 {
	first, last, m := lo>>l.bits, hi>>l.bits, major>>l.bits
	at, stride := 0, 0
	if majorIsCol {
		first, last, m = first-l.row, last-l.row, m-l.col
		if first < 0 || last >= l.rows || m < 0 || m >= l.cols {
			return math.Inf(1)
		}
		at, stride = first*l.cols+m, l.cols
	} else {
		first, last, m = first-l.col, last-l.col, m-l.row
		if first < 0 || last >= l.cols || m < 0 || m >= l.rows {
			return math.Inf(1)
		}
		at, stride = m*l.cols+first, 1
	}
	highest := l.highest[at]
	for ; first < last; first++ {
		at += stride
		highest = max(highest, l.highest[at])
	}
	return float64(highest)
}

// eachRow calls f for every whole number below n, spread over the processors.
func eachRow(n int, f func(i int)) {
	_ = eachUntil(context.Background(), n, func(_ context.Context, i int) error {
		f(i)
		return nil
	})
}

// eachUntil calls f for the whole numbers below n, spread over the processors, until
// one fails, and returns that error.
func eachUntil(ctx context.Context, n int, f func(ctx context.Context, i int) error) error {
	var next atomic.Int64
	workers, ctx := errgroup.WithContext(ctx)
	for range min(runtime.GOMAXPROCS(0), n) {
		workers.Go(func() error {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				if err := f(ctx, i); err != nil {
					return err
				}
			}
			return nil
		})
	}
	return workers.Wait()
}
