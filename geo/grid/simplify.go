package grid

import (
	"container/heap"
	"context"
	"math"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// Simplify returns polygons of longitude and latitude with fewer positions, all
// among those they had. No position left out is farther than offM [m] from the side
// that passes it, and valid polygons stay valid: no side comes to cross or touch
// another, no ring is lost, holes stay in their rings. It is for shapes of up to a
// few degrees. It returns the context's error when it ends first.
//
// A position goes, the flattest first, where its triangle with its two neighbours
// holds no other position: then no side can enter it. (Visvalingam, M. and
// Whyatt, J. D. (1993), Line generalisation by repeated elimination of points, The
// Cartographic Journal 30; the test of the triangle is own.)
func Simplify(ctx context.Context, shape orb.MultiPolygon, offM float64) (orb.MultiPolygon, error) {
	if !(offM > 0) || len(shape) == 0 {
		return shape, nil
	}
	s := newSimplifier(shape, offM)
	for i := range s.points {
		s.push(i)
	}
	for n := 0; len(s.queue) > 0; n++ {
		if n&255 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		c := heap.Pop(&s.queue).(corner3)
		if s.dead[c.at] || c.prev != s.prev[c.at] || c.next != s.next[c.at] || s.left[s.ring[c.at]] <= 3 || !s.free(c) {
			continue
		}
		s.dead[c.at] = true
		s.left[s.ring[c.at]]--
		s.prev[c.next], s.next[c.prev] = c.prev, c.next
		s.push(c.prev)
		s.push(c.next)
	}
	return s.result(shape), nil
}

// corner3 is a position between two others, as it was when it was judged.
type corner3 struct {
	area           float64
	at, prev, next int
}

type corners []corner3

func (c corners) Len() int { return len(c) }
func (c corners) Less(i, j int) bool {
	if c[i].area != c[j].area {
		return c[i].area < c[j].area
	}
	return c[i].at < c[j].at
}
func (c corners) Swap(i, j int) { c[i], c[j] = c[j], c[i] }
func (c *corners) Push(x any)   { *c = append(*c, x.(corner3)) }
func (c *corners) Pop() any {
	old := *c
	last := old[len(old)-1]
	*c = old[:len(old)-1]
	return last
}

type simplifier struct {
	offM       float64
	points     [][2]float64 // of all rings, without the last that repeats the first [m]
	first      []int        // of a ring
	ring       []int
	prev, next []int
	dead       []bool
	left       []int // positions of each ring
	queue      corners
	binM       float64
	bins       map[[2]int][]int
}

func newSimplifier(shape orb.MultiPolygon, offM float64) *simplifier {
	s := &simplifier{offM: offM, bins: map[[2]int][]int{}}
	b := shape.Bound()
	east, north := earth.MetresPerDegree((b.Min.Lat() + b.Max.Lat()) / 2)
	length := 0.0
	for _, polygon := range shape {
		for _, ring := range polygon {
			at, n := len(s.points), len(ring)-1
			s.first = append(s.first, at)
			s.left = append(s.left, n)
			for i := range n {
				s.points = append(s.points, [2]float64{(ring[i].Lon() - b.Min.Lon()) * east, (ring[i].Lat() - b.Min.Lat()) * north})
				s.ring = append(s.ring, len(s.first)-1)
				s.prev, s.next = append(s.prev, at+(i+n-1)%n), append(s.next, at+(i+1)%n)
				length += math.Hypot((ring[i+1].Lon()-ring[i].Lon())*east, (ring[i+1].Lat()-ring[i].Lat())*north)
			}
		}
	}
	s.dead = make([]bool, len(s.points))
	s.binM = max(2*length/float64(max(len(s.points), 1)), offM/4, 1e-3)
	for i, p := range s.points {
		k := s.bin(p)
		s.bins[k] = append(s.bins[k], i)
	}
	return s
}

func (s *simplifier) bin(p [2]float64) [2]int {
	return [2]int{int(math.Floor(p[0] / s.binM)), int(math.Floor(p[1] / s.binM))}
}

// push puts a position on the list of those that may go.
func (s *simplifier) push(i int) {
	a, b, c := s.prev[i], i, s.next[i]
	if a != c && s.near(a, c) {
		heap.Push(&s.queue, corner3{math.Abs(turn(s.points[a], s.points[b], s.points[c])), b, a, c})
	}
}

// near reports whether all positions that a ring once had from a to c lie within the
// distance of the side between these.
func (s *simplifier) near(a, c int) bool {
	first := s.first[s.ring[a]]
	n := len(s.points) - first
	if r := s.ring[a] + 1; r < len(s.first) {
		n = s.first[r] - first
	}
	for i := first + (a-first+1)%n; i != c; i = first + (i-first+1)%n {
		if aside(s.points[i], s.points[a], s.points[c]) > s.offM {
			return false
		}
	}
	return true
}

// free reports whether a triangle holds no other position, its sides included.
func (s *simplifier) free(t corner3) bool {
	a, b, c := s.points[t.prev], s.points[t.at], s.points[t.next]
	lo := s.bin([2]float64{min(a[0], b[0], c[0]) - touchM, min(a[1], b[1], c[1]) - touchM})
	hi := s.bin([2]float64{max(a[0], b[0], c[0]) + touchM, max(a[1], b[1], c[1]) + touchM})
	for x := lo[0]; x <= hi[0]; x++ {
		for y := lo[1]; y <= hi[1]; y++ {
			for _, i := range s.bins[[2]int{x, y}] {
				if !s.dead[i] && i != t.at && i != t.prev && i != t.next && within(s.points[i], a, b, c) {
					return false
				}
			}
		}
	}
	return true
}

// touchM is how close two sides may come [m]: a thousandth of a millimetre is far
// above rounding.
const touchM = 1e-6

// turn is twice the area of a triangle, positive counter-clockwise.
func turn(a, b, c [2]float64) float64 {
	return (b[0]-a[0])*(c[1]-a[1]) - (c[0]-a[0])*(b[1]-a[1])
}

// within reports whether a position lies in a triangle or on its sides.
func within(p, a, b, c [2]float64) bool {
	if turn(a, b, c) < 0 {
		b, c = c, b
	}
	return turn(a, b, p) >= 0 && turn(b, c, p) >= 0 && turn(c, a, p) >= 0 ||
		aside(p, a, b) <= touchM || aside(p, b, c) <= touchM || aside(p, c, a) <= touchM
}

// aside is the distance of a position from a side.
func aside(p, a, b [2]float64) float64 {
	x, y := b[0]-a[0], b[1]-a[1]
	u := 0.0
	if d := x*x + y*y; d > 0 {
		u = min(max(((p[0]-a[0])*x+(p[1]-a[1])*y)/d, 0), 1)
	}
	return math.Hypot(p[0]-a[0]-u*x, p[1]-a[1]-u*y)
}

// result takes the positions that are left from the rings.
func (s *simplifier) result(shape orb.MultiPolygon) orb.MultiPolygon {
	out := make(orb.MultiPolygon, len(shape))
	r := 0
	for i, polygon := range shape {
		for _, ring := range polygon {
			var kept orb.Ring
			for k := range len(ring) - 1 {
				if !s.dead[s.first[r]+k] {
					kept = append(kept, ring[k])
				}
			}
			out[i] = append(out[i], append(kept, kept[0]))
			r++
		}
	}
	return out
}
