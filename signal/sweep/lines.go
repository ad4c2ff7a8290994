package sweep

import (
	"fmt"
	"math"
)

// A Point is a place in a plane [m].
type Point struct{ EastM, NorthM float64 }

func (p Point) plus(k float64, d Point) Point {
	return Point{p.EastM + k*d.EastM, p.NorthM + k*d.NorthM}
}

// toward returns the unit vector to another point and the distance [m].
func (p Point) toward(q Point) (Point, float64) {
	d := Point{q.EastM - p.EastM, q.NorthM - p.NorthM}
	l := math.Hypot(d.EastM, d.NorthM)
	if l == 0 {
		return Point{}, 0
	}
	return Point{d.EastM / l, d.NorthM / l}, l
}

// right returns the unit vector to the right of one.
func (p Point) right() Point { return Point{p.NorthM, -p.EastM} }

// A Line is people who walk abreast, of whom one carries the receiver.
type Line struct {
	People   int
	SpacingM float64 // between neighbours [m]
	Carrier  int     // who carries it, counted from the left from 1; 0: the middle
}

// mostMiter is how far a corner of a parallel way may lie from the track, in
// offsets; sharper corners are cut, as people do who pivot.
const mostMiter = 2

// A Side is the way of one person of a line.
type Side struct {
	Points []Point
	// Of is for each leg of the way the leg of the track that it goes with, from 0. The
	// cut of a sharp corner goes with the leg after it.
	Of []int
}

// Ways returns the way of each person of the line, from the left: lines parallel
// to the track at the spacing. Each keeps to their side of the heading, also after
// a turn back.
func (l Line) Ways(track []Point) ([]Side, error) {
	switch {
	case l.People < 1:
		return nil, fmt.Errorf("sweep: %d people in a line", l.People)
	case l.People > 1 && (!(l.SpacingM > 0) || math.IsInf(l.SpacingM, 1)):
		return nil, fmt.Errorf("sweep: spacing %g m is not above 0", l.SpacingM)
	case l.Carrier < 0 || l.Carrier > l.People:
		return nil, fmt.Errorf("sweep: the %dth of %d people carries the receiver", l.Carrier, l.People)
	}
	middle := float64(l.People-1) / 2
	if l.Carrier > 0 {
		middle = float64(l.Carrier - 1)
	}
	ways := make([]Side, l.People)
	for i := range ways {
		ways[i] = parallel(track, (float64(i)-middle)*l.SpacingM)
	}
	return ways, nil
}

// parallel returns the way at an offset to the right of a track.
func parallel(track []Point, offsetM float64) Side {
	var points, dirs []Point // without points that repeat the one before
	var of []int
	for i, p := range track {
		if n := len(points); n > 0 {
			d, l := points[n-1].toward(p)
			if l == 0 {
				continue
			}
			dirs, of = append(dirs, d), append(of, i-1)
		}
		points = append(points, p)
	}
	if len(dirs) == 0 || offsetM == 0 || math.IsNaN(offsetM) {
		return Side{points, of}
	}
	way := Side{Points: []Point{points[0].plus(offsetM, dirs[0].right())}}
	step := func(to Point, leg int) { way.Points, way.Of = append(way.Points, to), append(way.Of, of[leg]) }
	for i := 1; i < len(dirs); i++ {
		before, after := dirs[i-1].right(), dirs[i].right()
		sum := before.plus(1, after)
		// |sum| is twice the cosine of half the turn.
		half := math.Hypot(sum.EastM, sum.NorthM) / 2
		if half*mostMiter < 1 {
			step(points[i].plus(offsetM, before), i-1)
			step(points[i].plus(offsetM, after), i)
			continue
		}
		step(points[i].plus(offsetM/(2*half*half), sum), i-1)
	}
	step(points[len(dirs)].plus(offsetM, dirs[len(dirs)-1].right()), len(dirs)-1)
	return way
}

// LengthsM returns how much of a way lies in each of so many parts [m], by pieces
// of at most stepM; part tells the part of a place, or a negative number.
func LengthsM(way []Point, stepM float64, parts int, part func(Point) int) []float64 {
	in := make([]float64, parts)
	for i := 1; i < len(way); i++ {
		d, l := way[i-1].toward(way[i])
		n := max(1, int(math.Ceil(l/stepM)))
		for k := range n {
			if at := part(way[i-1].plus((float64(k)+0.5)*l/float64(n), d)); at >= 0 {
				in[at] += l / float64(n)
			}
		}
	}
	return in
}
