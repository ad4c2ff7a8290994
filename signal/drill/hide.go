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
	cellOf []int32   // cell of the surface for each cell of the ground, -1: none
}

// NewHiding prepares to draw. The surface may have coarser cells than the ground; a
// cell of it is then spread evenly over the ground's cells in it.
func NewHiding(s *prob.Surface, g *Ground) (*Hiding, error) {
	h := &Hiding{ground: g, upTo: make([]float64, len(g.Allowed)), cellOf: make([]int32, len(g.Allowed))}
	within := make([]int, len(s.Mass)) // cells of the ground in each of the surface
	for i := range h.cellOf {
		h.cellOf[i] = -1
		col, row := float64(i%g.Cols), float64(i/g.Cols)
		if s.Frame != g.Frame {
			col, row = s.Cell(g.Point(col, row))
		}
		if c := cellAt(s.Frame, col, row); c >= 0 {
			h.cellOf[i] = int32(c)
			within[c]++
		}
	}
	sum, all := 0.0, 0.0
	for i, c := range h.cellOf {
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
	p, _ := h.draw(rand.New(rand.NewPCG(seed, uint64(n))))
	return p
}

// draw returns a place and its cell of the surface.
func (h *Hiding) draw(r *rand.Rand) (Place, int) {
	u := r.Float64()
	i := sort.Search(len(h.upTo), func(i int) bool { return h.upTo[i] > u })
	g := h.ground
	p := Place{Col: i % g.Cols, Row: i / g.Cols}
	p.Point = g.Point(float64(p.Col)+r.Float64()-0.5, float64(p.Row)+r.Float64()-0.5)
	return p, int(h.cellOf[i])
}

// Forecast returns the share of so many drawn drills in which the hidden person is
// found by each hour. pod is by hour, then by cell of the surface, the chance of
// having been detected by then, rising with the hours, in [0, 1]. The share's error
// is sqrt(p (1 - p) / seeds).
func (h *Hiding) Forecast(pod [][]float64, seeds int, seed uint64) ([]float64, error) {
	if seeds < 1 {
		return nil, fmt.Errorf("drill: %d seeds", seeds)
	}
	cells := 0
	for _, c := range h.cellOf {
		cells = max(cells, int(c)+1)
	}
	for hour, p := range pod {
		if len(p) < cells {
			return nil, fmt.Errorf("drill: %d chances in hour %d for %d cells", len(p), hour, cells)
		}
	}
	found := make([]float64, len(pod))
	for n := range seeds {
		r := rand.New(rand.NewPCG(seed, uint64(n)))
		_, cell := h.draw(r)
		luck := r.Float64()
		for hour, p := range pod {
			if p[cell] > luck {
				found[hour] += 1 / float64(seeds)
			}
		}
	}
	return found, nil
}
