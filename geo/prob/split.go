package prob

import (
	"cmp"
	"container/heap"
	"context"
	"fmt"
	"math"
	"slices"

	"farhail/geo/grid"
)

// Parts says how large the parts of a map may be that one party searches.
type Parts struct {
	LeastM2, MostM2 float64 // area of a part [m2]; 0: 0.1 and 1.0 km2
	// Line marks cells that a border should follow: streams, ridges, trails, which
	// a party finds on the ground. nil: none.
	Line []bool
	// Out marks cells that are no part of the search: deep water, ground beyond the
	// reach. nil: none.
	Out []bool
}

const (
	leastPartM2 = 0.1e6
	mostPartM2  = 1.0e6
	// lineCostM is what it costs a part to grow over a line, in metres of growing
	// on: own choice, about half the width of a middling part.
	lineCostM = 400
	rounds    = 3
)

// Split cuts the map into parts that one party can search, and returns the part
// of each cell, from 0 up, -1 for cells that are out. Parts are numbered from
// the north-west.
//
// Seeds on a lattice of about the middling size grow at equal speed, held up at
// lines, so that borders come to lie on lines where there are some (a Voronoi
// diagram by walking distance on the grid); three rounds move each seed to the
// middle of its part. Parts that came out too small join a neighbour, those too
// large are cut in two across their longer way. Each part is connected by the
// sides of its cells. Islands of ground that are smaller than LeastM2, and cells
// larger than MostM2, keep their size; and where no neighbour has room a part
// may exceed MostM2 by less than LeastM2. Ground that is out but under 1 ha is searched with what is
// around it, so that no part has so small a hole.
func Split(ctx context.Context, f grid.Frame, p Parts) ([]int32, error) {
	if p.LeastM2 == 0 {
		p.LeastM2 = leastPartM2
	}
	if p.MostM2 == 0 {
		p.MostM2 = mostPartM2
	}
	n := f.Cols * f.Rows
	switch {
	case !(p.LeastM2 > 0) || !(p.MostM2 >= 2*p.LeastM2) || math.IsInf(p.MostM2, 1):
		return nil, fmt.Errorf("prob: parts of %g to %g m2: the most must be at least twice the least", p.LeastM2, p.MostM2)
	case p.Line != nil && len(p.Line) != n, p.Out != nil && len(p.Out) != n:
		return nil, fmt.Errorf("prob: masks of another size than %d cells", n)
	}
	s := &splitter{f: f, p: p, part: make([]int32, n)}
	for row := range f.Rows {
		s.area = append(s.area, f.AreaM2(row))
	}
	s.fillHoles()
	seeds := s.lattice()
	for range rounds {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		s.grow(seeds)
		seeds = s.middles()
	}
	s.grow(seeds)
	s.fill()
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if !s.cutLargest() {
			break
		}
	}
	s.joinSmall()
	s.number()
	return s.part, nil
}

type splitter struct {
	f    grid.Frame
	p    Parts
	area []float64 // of a cell by row [m2]
	part []int32
	n    int32 // parts so far
}

// holeM2 is the size from which ground that is out makes a hole [m2].
const holeM2 = 1e4

// fillHoles takes patches of ground that is out, under 1 ha, back in.
func (s *splitter) fillHoles() {
	if s.p.Out == nil {
		return
	}
	out := slices.Clone(s.p.Out)
	seen := make([]bool, len(out))
	for i := range out {
		if !out[i] || seen[i] {
			continue
		}
		patch, areaM2 := []int{i}, 0.0
		seen[i] = true
		for k := 0; k < len(patch); k++ {
			cell := patch[k]
			areaM2 += s.area[cell/s.f.Cols]
			s.around(cell, func(next int, _ float64) {
				if out[next] && !seen[next] {
					seen[next] = true
					patch = append(patch, next)
				}
			})
		}
		if areaM2 < holeM2 {
			for _, cell := range patch {
				out[cell] = false
			}
		}
	}
	s.p.Out = out
}

func (s *splitter) out(i int) bool { return s.p.Out != nil && s.p.Out[i] }

// lattice returns seeds about the square root of the middling area apart, every
// second row shifted by half.
func (s *splitter) lattice() (seeds []int) {
	apartM := math.Sqrt(math.Sqrt(s.p.LeastM2 * s.p.MostM2))
	_, northM := s.f.Metres(s.f.Rows / 2)
	stepRows := max(apartM/northM, 1)
	shift := 0.25
	for row := stepRows / 2; ; row += stepRows {
		r := int(row)
		if r >= s.f.Rows {
			break
		}
		eastM, _ := s.f.Metres(r)
		stepCols := max(apartM/eastM, 1)
		for col := stepCols * shift; int(col) < s.f.Cols; col += stepCols {
			if i := r*s.f.Cols + int(col); !s.out(i) {
				seeds = append(seeds, i)
			}
		}
		shift = 1 - shift
	}
	return seeds
}

// A front is a cell that a part has come to, after so much growing.
type front struct {
	cost float64
	cell int
	part int32
}

type fronts []front

func (q fronts) Len() int { return len(q) }
func (q fronts) Less(i, j int) bool {
	a, b := q[i], q[j]
	if c := cmp.Compare(a.cost, b.cost); c != 0 {
		return c < 0
	}
	if a.part != b.part {
		return a.part < b.part
	}
	return a.cell < b.cell
}
func (q fronts) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *fronts) Push(x any)   { *q = append(*q, x.(front)) }
func (q *fronts) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}

// grow gives each cell to the seed whose growth comes first.
func (s *splitter) grow(seeds []int) {
	for i := range s.part {
		s.part[i] = -1
	}
	s.spread(seeds, func(int) bool { return true }, 0)
	s.n = int32(len(seeds))
}

// spread lets parts numbered from first grow from their seeds over cells that
// have no part, as far as within allows.
func (s *splitter) spread(seeds []int, within func(cell int) bool, first int32) {
	q := make(fronts, 0, len(seeds))
	for k, cell := range seeds {
		q = append(q, front{0, cell, first + int32(k)})
	}
	heap.Init(&q)
	for len(q) > 0 {
		a := heap.Pop(&q).(front)
		if s.part[a.cell] >= 0 || s.out(a.cell) || !within(a.cell) {
			continue
		}
		s.part[a.cell] = a.part
		s.around(a.cell, func(next int, lengthM float64) {
			if s.part[next] >= 0 || s.out(next) || !within(next) {
				return
			}
			if s.p.Line != nil && s.p.Line[next] {
				lengthM += lineCostM
			}
			heap.Push(&q, front{a.cost + lengthM, next, a.part})
		})
	}
}

// around calls f with the four neighbours of a cell.
func (s *splitter) around(cell int, f func(next int, lengthM float64)) {
	col, row := cell%s.f.Cols, cell/s.f.Cols
	eastM, northM := s.f.Metres(row)
	if row > 0 {
		f(cell-s.f.Cols, northM)
	}
	if col > 0 {
		f(cell-1, eastM)
	}
	if col < s.f.Cols-1 {
		f(cell+1, eastM)
	}
	if row < s.f.Rows-1 {
		f(cell+s.f.Cols, northM)
	}
}

// middles returns the cell of each part that is nearest to the mean of its
// cells; parts without cells are dropped.
func (s *splitter) middles() []int {
	type mean struct{ col, row, n float64 }
	means := make([]mean, s.n)
	for i, part := range s.part {
		if part >= 0 {
			means[part].col += float64(i % s.f.Cols)
			means[part].row += float64(i / s.f.Cols)
			means[part].n++
		}
	}
	best := make([]int, s.n)
	off := make([]float64, s.n)
	for i := range off {
		best[i], off[i] = -1, math.Inf(1)
	}
	for i, part := range s.part {
		if part < 0 {
			continue
		}
		m := means[part]
		eastM, northM := s.f.Metres(i / s.f.Cols)
		d := math.Hypot((float64(i%s.f.Cols)-m.col/m.n)*eastM, (float64(i/s.f.Cols)-m.row/m.n)*northM)
		if d < off[part] {
			best[part], off[part] = i, d
		}
	}
	return slices.DeleteFunc(best, func(i int) bool { return i < 0 })
}

// fill makes parts of ground that no seed could come to.
func (s *splitter) fill() {
	for i := range s.part {
		if s.part[i] < 0 && !s.out(i) {
			s.spread([]int{i}, func(int) bool { return true }, s.n)
			s.n++
		}
	}
}

func (s *splitter) areas() []float64 {
	areas := make([]float64, s.n)
	for i, part := range s.part {
		if part >= 0 {
			areas[part] += s.area[i/s.f.Cols]
		}
	}
	return areas
}

// cutLargest cuts each part in two that is too large and has more than one
// cell, and reports whether there was one. It leaves room for a small neighbour
// to join.
func (s *splitter) cutLargest() bool {
	areas := s.areas()
	cells := make([][]int, s.n)
	for i, part := range s.part {
		if part >= 0 && areas[part] > s.p.MostM2-s.p.LeastM2 {
			cells[part] = append(cells[part], i)
		}
	}
	cut := false
	for part, list := range cells {
		if len(list) < 2 {
			continue
		}
		// The cell farthest from the first, and the one farthest from that.
		a := s.farthest(list, list[0])
		b := s.farthest(list, a)
		for _, i := range list {
			s.part[i] = -1
		}
		was := int32(part)
		inside := make(map[int]bool, len(list))
		for _, i := range list {
			inside[i] = true
		}
		s.spread([]int{a, b}, func(i int) bool { return inside[i] }, s.n)
		for _, i := range list {
			if s.part[i] == s.n {
				s.part[i] = was
			} else if s.part[i] == s.n+1 {
				s.part[i] = s.n
			}
		}
		s.n++
		cut = true
	}
	return cut
}

func (s *splitter) farthest(cells []int, from int) int {
	best, most := from, -1.0
	for _, i := range cells {
		eastM, northM := s.f.Metres(i / s.f.Cols)
		d := math.Hypot(float64(i%s.f.Cols-from%s.f.Cols)*eastM, float64(i/s.f.Cols-from/s.f.Cols)*northM)
		if d > most {
			best, most = i, d
		}
	}
	return best
}

// joinSmall joins parts that are too small, the smallest first, to the neighbour
// with the longest common border among those that stay within the most; where
// none does, to the smallest neighbour.
func (s *splitter) joinSmall() {
	areas := s.areas()
	border := make([]map[int32]float64, s.n)
	add := func(a, b int32, m float64) {
		if border[a] == nil {
			border[a] = map[int32]float64{}
		}
		border[a][b] += m
	}
	for i, part := range s.part {
		if part < 0 {
			continue
		}
		eastM, northM := s.f.Metres(i / s.f.Cols)
		if i%s.f.Cols < s.f.Cols-1 {
			if o := s.part[i+1]; o >= 0 && o != part {
				add(part, o, northM)
				add(o, part, northM)
			}
		}
		if i/s.f.Cols < s.f.Rows-1 {
			if o := s.part[i+s.f.Cols]; o >= 0 && o != part {
				add(part, o, eastM)
				add(o, part, eastM)
			}
		}
	}
	into := make([]int32, s.n)
	for i := range into {
		into[i] = int32(i)
	}
	for {
		small := int32(-1)
		for k, a := range areas {
			if into[k] == int32(k) && a > 0 && a < s.p.LeastM2 && len(border[k]) > 0 && (small < 0 || a < areas[small]) {
				small = int32(k)
			}
		}
		if small < 0 {
			break
		}
		to := s.neighbour(small, areas, border[small])
		areas[to] += areas[small]
		for o, m := range border[small] { // sums of border lengths by key: the order does not matter
			delete(border[o], small)
			if o != to {
				add(to, o, m)
				add(o, to, m)
			}
		}
		border[small], into[small] = nil, to
	}
	for i, part := range s.part {
		for part >= 0 && into[part] != part {
			part = into[part]
		}
		s.part[i] = part
	}
}

func (s *splitter) neighbour(small int32, areas []float64, border map[int32]float64) int32 {
	list := make([]int32, 0, len(border))
	for o := range border {
		list = append(list, o)
	}
	slices.Sort(list)
	best, fits := list[0], false
	for _, o := range list {
		ok := areas[o]+areas[small] <= s.p.MostM2
		switch {
		case ok && !fits, ok && border[o] > border[best], !ok && !fits && areas[o] < areas[best]:
			best, fits = o, ok
		}
	}
	return best
}

// number numbers the parts in the order of their first cells.
func (s *splitter) number() {
	next := make([]int32, s.n)
	for i := range next {
		next[i] = -1
	}
	n := int32(0)
	for i, part := range s.part {
		if part < 0 {
			continue
		}
		if next[part] < 0 {
			next[part] = n
			n++
		}
		s.part[i] = next[part]
	}
	s.n = n
}
