package cover

import (
	"math"

	"farhail/geo/grid"
)

// An End is one end of a sight line: a place in columns and rows, and a height
// above the ground there [m].
type End struct{ Col, Row, HeightM float64 }

// Passed is how far a sight line runs below the canopy of a class [m].
type Passed struct {
	Class   Class
	LengthM float64
}

// Passes returns how far the straight line from an eye to a target runs below the
// canopy of each class over the ground, by class, along its slope: plants stand in its
// way there. lengthM is its length on the map, above 0; dropM
// returns by how much the earth falls away over a distance [m], refraction taken off.
// It looks every half cell, so that each length is good to about a cell; canopyM is
// that of [Canopies]. A place without a height counts as if nothing stood there. It
// panics where the ground has another size.
func (g *Grid) Passes(ground *grid.Heights, canopyM Table, eye, target End, lengthM float64, dropM func(float64) float64) []Passed {
	if len(ground.Z) != len(g.Class) {
		panic("cover: ground of another size")
	}
	z0 := ground.SampleCell(eye.Col, eye.Row) + eye.HeightM
	z1 := ground.SampleCell(target.Col, target.Row) + target.HeightM - dropM(lengthM)
	slant := math.Hypot(lengthM, z1-z0) / lengthM
	steps := 2*int(math.Ceil(max(math.Abs(target.Col-eye.Col), math.Abs(target.Row-eye.Row)))) + 1
	var below Table
	for i := range steps {
		u := (float64(i) + 0.5) / float64(steps)
		col, row := eye.Col+u*(target.Col-eye.Col), eye.Row+u*(target.Row-eye.Row)
		class := g.at(col, row)
		above := z0 + u*(z1-z0) - (ground.SampleCell(col, row) - dropM(u*lengthM))
		if above < canopyM[class] {
			below[class] += slant * lengthM / float64(steps)
		}
	}
	var list []Passed
	for c, m := range below {
		if m > 0 {
			list = append(list, Passed{Class(c), m})
		}
	}
	return list
}
