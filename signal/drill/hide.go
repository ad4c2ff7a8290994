package drill

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"sort"

	"farhail/geo/grid"
	"farhail/geo/prob"

	"github.com/paulmach/orb"
)

// ErrNowhere says that no cell is both allowed and likely.
var ErrNowhere = errors.New("drill: nobody may be hidden where the surface is likely")

// A Hiding draws places from a surface on allowed ground.
type Hiding struct {
	// Share is the part of the map's probability that lies on allowed ground, in
	// (0, 1]: the drill is drawn from that part.
	Share float64

	ground *Ground
	upTo   []float64 // sums of the cells' weights, last 1
}

// NewHiding prepares to draw. The surface may have coarser cells than the ground; a
// cell of it is then spread evenly over the ground's cells in it.
func NewHiding(s *prob.Surface, g *Ground) (*Hiding, error) {
	h := &Hiding{ground: g, upTo: make([]float64, len(g.Allowed))}
	cellOf := make([]int32, len(g.Allowed)) // of the surface, -1: none
	within := make([]int, len(s.Mass))      // cells of the ground in each of the surface
	for i := range cellOf {
		cellOf[i] = -1
		col, row := float64(i%g.Cols), float64(i/g.Cols)
		if s.Frame != g.Frame {
			col, row = s.Cell(g.Point(col, row))
		}
		if c := cellAt(s.Frame, col, row); c >= 0 {
			cellOf[i] = int32(c)
			within[c]++
		}
	}
	sum, all := 0.0, 0.0
	for i, c := range cellOf {
		if c >= 0 {
			m := s.Mass[c] / float64(within[c])
			all += m
			if g.Allowed[i] {
				sum += m
			}
		}
		h.upTo[i] = sum
	}
	if !(sum > 0) {
		return nil, ErrNowhere
	}
	for i := range h.upTo {
		h.upTo[i] /= sum
	}
	h.Share = sum / all
	return h, nil
}

// cellAt returns the index of the cell that a column and row lie in, -1 outside
// of the grid.
func cellAt(f grid.Frame, col, row float64) int {
	c, r := math.Round(col), math.Round(row)
	if !(c >= 0 && r >= 0 && c < float64(f.Cols) && r < float64(f.Rows)) {
		return -1
	}
	return int(r)*f.Cols + int(c)
}

// A Place is where somebody or something is hidden.
type Place struct {
	Point    orb.Point // anywhere in its cell
	Col, Row int       // cell of the ground
}

// Draw returns the n-th place of a seed. The same seed gives the same places, in any
// order.
func (h *Hiding) Draw(seed uint64, n int) Place {
	r := rand.New(rand.NewPCG(seed, uint64(n)))
	u := r.Float64()
	i := sort.Search(len(h.upTo), func(i int) bool { return h.upTo[i] > u })
	g := h.ground
	p := Place{Col: i % g.Cols, Row: i / g.Cols}
	p.Point = g.Point(float64(p.Col)+r.Float64()-0.5, float64(p.Row)+r.Float64()-0.5)
	return p
}

// FoundByHour returns what share of many drawn drills is found by each hour, and the
// standard error of that. chances is by hour, then by drill, the chance that what is
// hidden there has been detected by then, in [0, 1]; it never falls from one hour to
// the next.
func FoundByHour(chances [][]float64) (share, standardError []float64, err error) {
	share, standardError = make([]float64, len(chances)), make([]float64, len(chances))
	for hour, list := range chances {
		n := float64(len(list))
		if len(list) < 2 || len(list) != len(chances[0]) {
			return nil, nil, fmt.Errorf("drill: %d drills in hour %d", len(list), hour)
		}
		for i, p := range list {
			if !(p >= 0 && p <= 1) || hour > 0 && p < chances[hour-1][i]-1e-9 {
				return nil, nil, fmt.Errorf("drill: chance %g of drill %d in hour %d is not from 0 to 1, or less than before", p, i, hour)
			}
			share[hour] += p / n
		}
		squares := 0.0
		for _, p := range list {
			squares += (p - share[hour]) * (p - share[hour])
		}
		standardError[hour] = math.Sqrt(squares / (n - 1) / n)
	}
	return share, standardError, nil
}
