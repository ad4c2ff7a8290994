package page

import (
	"math"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// A lattice is a table of pairs at evenly spaced places, between which the page
// interpolates in both directions (bilinear).
type lattice struct {
	X0     float64 `json:"x0"`
	Y0     float64 `json:"y0"`
	DX     float64 `json:"dx"`
	DY     float64 `json:"dy"`
	Cols   int     `json:"cols"`
	Rows   int     `json:"rows"`
	Values string  `json:"values"` // pairs of float64, row by row from the south-west
	errorM float64
}

const (
	lookUpM    = 0.02 // what one look-up may be off [m], where the table stays below mostNodes
	leastNodes = 5
	mostNodes  = 129 // a side
)

// newLattice tabulates a function over a box, as finely as a look-up needs to be within
// lookUpM. offM tells how far two of its values are apart [m].
func newLattice(box orb.Bound, f func(orb.Point) orb.Point, offM func(a, b orb.Point) float64) lattice {
	for n := leastNodes; ; n = 2*n - 1 {
		l, values := tabulate(box, n, f)
		l.errorM = worst(l, values, f, offM)
		if l.errorM <= lookUpM || n >= mostNodes {
			l.Values = packFloats(values)
			return l
		}
	}
}

func tabulate(box orb.Bound, n int, f func(orb.Point) orb.Point) (lattice, []float64) {
	l := lattice{
		X0: box.Min[0], Y0: box.Min[1], Cols: n, Rows: n,
		DX: (box.Max[0] - box.Min[0]) / float64(n-1), DY: (box.Max[1] - box.Min[1]) / float64(n-1),
	}
	values := make([]float64, 0, 2*n*n)
	for row := range n {
		for col := range n {
			v := f(orb.Point{l.X0 + float64(col)*l.DX, l.Y0 + float64(row)*l.DY})
			values = append(values, v[0], v[1])
		}
	}
	return l, values
}

// worst returns the largest error in the middle of a square of the lattice, where that of a
// smooth function is largest.
func worst(l lattice, values []float64, f func(orb.Point) orb.Point, offM func(a, b orb.Point) float64) float64 {
	var most float64
	for row := range l.Rows - 1 {
		for col := range l.Cols - 1 {
			var mean orb.Point
			for axis := range 2 {
				i, j := 2*(row*l.Cols+col)+axis, 2*((row+1)*l.Cols+col)+axis
				mean[axis] = (values[i] + values[i+2] + values[j] + values[j+2]) / 4
			}
			truth := f(orb.Point{l.X0 + (float64(col)+0.5)*l.DX, l.Y0 + (float64(row)+0.5)*l.DY})
			most = math.Max(most, offM(mean, truth))
		}
	}
	return most
}

// apartFlat is the distance of two places on a plane [m].
func apartFlat(a, b orb.Point) float64 { return math.Hypot(a[0]-b[0], a[1]-b[1]) }

// apartRound is the distance of two near positions [m].
func apartRound(a, b orb.Point) float64 {
	east, north := earth.MetresPerDegree(b.Lat())
	return math.Hypot((a.Lon()-b.Lon())*east, (a.Lat()-b.Lat())*north)
}
