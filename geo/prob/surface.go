package prob

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"farhail/geo/grid"
)

// ErrEmpty says that nothing is likely anywhere on the map.
var ErrEmpty = errors.New("prob: no cell has any probability")

// MaxCells is how many cells a surface may have; [Coarse] makes a frame that
// keeps to it.
const MaxCells = 2_000_000

// A Surface is where a person is likely to be. Mass and Outside sum to 1 within
// 1e-12.
type Surface struct {
	grid.Frame
	Mass    []float64 // by cell, row by row from the north-west, each 0 or more
	Outside float64   // share beyond the map, in [0, 1)
}

// FromWeights returns the surface whose cells share 1 - outside in proportion to
// the given weights, which are masses on any scale (see [Weights.Mass]).
// Weights that are negative or not finite, and an outside share that is not in
// [0, 1), are errors; all zero is ErrEmpty.
func FromWeights(f grid.Frame, mass []float64, outside float64) (*Surface, error) {
	if len(mass) != f.Cols*f.Rows {
		return nil, fmt.Errorf("prob: %d weights for %d cells", len(mass), f.Cols*f.Rows)
	}
	if !(outside >= 0 && outside < 1) {
		return nil, fmt.Errorf("prob: share outside of the map %g is not from 0 up to below 1", outside)
	}
	for i, m := range mass {
		if !(m >= 0) || math.IsInf(m, 1) {
			return nil, fmt.Errorf("prob: weight %g of cell %d is not a number from 0 up", m, i)
		}
	}
	total := sum(mass)
	if !(total > 0) {
		return nil, ErrEmpty
	}
	s := &Surface{Frame: f, Mass: make([]float64, len(mass)), Outside: outside}
	for i, m := range mass {
		s.Mass[i] = m / total * (1 - outside)
	}
	return s, nil
}

// Sum returns the share of probability on the map; with Outside it is 1.
func (s *Surface) Sum() float64 { return sum(s.Mass) }

// EntropyBits returns the entropy of the share of probability over the cells
// and the outside [bits]: -sum p log2 p (Shannon 1948, section 6). A surface
// spread evenly over n cells has log2 n; each bit less halves what there is to
// search. It depends on the size of the cells, so only surfaces of one frame
// are compared by it.
func (s *Surface) EntropyBits() float64 {
	h := term(s.Outside)
	for _, m := range s.Mass {
		h += term(m)
	}
	return h
}

func term(p float64) float64 {
	if p <= 0 {
		return 0
	}
	return -p * math.Log2(p)
}

// DensityKM2 returns the probability per square kilometre of each cell [1/km2].
func (s *Surface) DensityKM2() []float64 {
	d := make([]float64, len(s.Mass))
	for row := range s.Rows {
		perKM2 := 1e6 / s.AreaM2(row)
		for i := row * s.Cols; i < (row+1)*s.Cols; i++ {
			d[i] = s.Mass[i] * perKM2
		}
	}
	return d
}

// A Region is the smallest area that holds a share of the probability.
type Region struct {
	Share  float64 // of the whole, the outside counted
	AreaM2 float64 // NaN where the map holds less than the share
	Least  float64 // density of its thinnest cell [1/km2]; NaN likewise
	Cells  int
}

// Region returns the smallest area of whole cells that holds at least the given
// share of the probability, taken in order of density; equal cells in the order
// of the grid.
func (s *Surface) Region(share float64) Region {
	nan := math.NaN()
	r := Region{Share: share, AreaM2: nan, Least: nan}
	if !(share > 0) || s.Sum() < share*(1-1e-12) {
		return r
	}
	density, order := s.ranked()
	held, area := 0.0, 0.0
	for n, i := range order {
		held += s.Mass[i]
		area += s.AreaM2(i / s.Cols)
		if held >= share*(1-1e-12) {
			r.AreaM2, r.Least, r.Cells = area, density[i], n+1
			return r
		}
	}
	return r
}

// ranked returns the densities [1/km2] and the cells in falling order of them.
func (s *Surface) ranked() (density []float64, order []int) {
	density = s.DensityKM2()
	order = make([]int, len(density))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(density[b], density[a]) })
	return density, order
}

// RankScore returns how well the surface told where a person was found: 1 where
// the cell of the find was the likeliest, 0 as by chance, -1 the least likely.
//
// With r the part of the map's area that is denser than the cell, and half of
// what is as dense (within 1e-9), it is (0.5 - r)/0.5: the rank statistic used by Sava,
// Twardy, Koester and Sonwalkar 2016, Transactions in GIS 20(1), 38-53, of
// Rossmo 1999, with cells weighed by their area. A find outside the grid gives
// NaN.
func (s *Surface) RankScore(col, row int) float64 {
	if col < 0 || row < 0 || col >= s.Cols || row >= s.Rows {
		return math.NaN()
	}
	density := s.DensityKM2()
	at := density[row*s.Cols+col]
	var denser, equal, all float64
	for r := range s.Rows {
		area := s.AreaM2(r)
		for _, d := range density[r*s.Cols : (r+1)*s.Cols] {
			all += area
			switch {
			case math.Abs(d-at) <= 1e-9*max(d, at):
				equal += area
			case d > at:
				denser += area
			}
		}
	}
	return (0.5 - (denser+equal/2)/all) / 0.5
}

// sum adds with Neumaier's compensation, so that two million shares sum to 1
// within 1e-15.
func sum(v []float64) float64 {
	total, lost := 0.0, 0.0
	for _, x := range v {
		t := total + x
		if math.Abs(total) >= math.Abs(x) {
			lost += (total - t) + x
		} else {
			lost += (x - t) + total
		}
		total = t
	}
	return total + lost
}

// Coarse returns a frame over the same ground with cells k times as wide and
// high, and k, the least whole number that leaves at most maxCells. Its first
// cell covers the k by k cells in the north-west corner; cells of the last
// column and row may reach beyond the grid.
func Coarse(f grid.Frame, maxCells int) (grid.Frame, int) {
	k := 1
	for ((f.Cols+k-1)/k)*((f.Rows+k-1)/k) > max(maxCells, 1) {
		k++
	}
	shift := float64(k-1) / 2
	x, y := f.XY(shift, shift)
	return grid.Frame{CRS: f.CRS, X0: x, Y0: y, DX: f.DX * float64(k), DY: f.DY * float64(k),
		Cols: (f.Cols + k - 1) / k, Rows: (f.Rows + k - 1) / k}, k
}
