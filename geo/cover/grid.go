package cover

import (
	"math"

	"farhail/geo/grid"

	"github.com/paulmach/orb"
)

// Grid is the class of each cell of a frame.
type Grid struct {
	grid.Frame
	Class []Class // row by row from the north-west
}

// On returns the classes of a frame's cells, by their centres; the package
// comment says which class counts. What no file tells has the class elsewhere:
// Unknown, unless somebody knows better.
func (m *Map) On(f grid.Frame, elsewhere Class) *Grid {
	g := &Grid{Frame: f, Class: make([]Class, f.Cols*f.Rows)}
	for _, codes := range m.grids {
		for i, c := range g.Class {
			if c == Unknown {
				g.Class[i] = codes.classOf(codes.At(f.Point(float64(i%f.Cols), float64(i/f.Cols))))
			}
		}
	}
	for _, a := range m.Areas {
		f.Spans(a.Polygon, func(row, first, last int) {
			for i := row*f.Cols + first; i <= row*f.Cols+last; i++ {
				g.Class[i] = a.Class
			}
		})
	}
	for i, c := range g.Class {
		if c == Unknown {
			g.Class[i] = elsewhere
		}
	}
	return g
}

// At returns the class of the cell that a position lies in, Unknown outside.
func (g *Grid) At(p orb.Point) Class {
	return g.at(g.Cell(p))
}

func (g *Grid) at(col, row float64) Class {
	col, row = math.Round(col), math.Round(row)
	if !(col >= 0 && row >= 0 && col < float64(g.Cols) && row < float64(g.Rows)) {
		return Unknown
	}
	return g.Class[int(row)*g.Cols+int(col)]
}

// Sums returns the cells and the ground of each class that occurs, by class.
func (g *Grid) Sums() []ClassArea {
	var sums classSums
	for row := range g.Rows {
		m2 := g.AreaM2(row)
		for _, c := range g.Class[row*g.Cols : (row+1)*g.Cols] {
			sums.add(c, 1, m2)
		}
	}
	return sums.list()
}

// Table holds a number for each class, Unknown included.
type Table [len(classNames)]float64

// Canopies returns the canopy heights of the traits [m], those of woods replaced
// by heightM where that is not NaN; unknown ground is given unknownM.
func Canopies(heightM, unknownM float64) Table {
	var t Table
	for _, c := range Classes() {
		t[c] = c.Traits().CanopyM.Value
		if c.Wooded() && !math.IsNaN(heightM) {
			t[c] = heightM
		}
	}
	t[Unknown] = unknownM
	return t
}

// Screen returns the heights [m] that sight lines must pass over: the ground's
// with the canopy of each cell's class on it, as the screen of package los. It
// panics where the ground has another size.
func (g *Grid) Screen(ground *grid.Heights, canopyM Table) []float32 {
	if len(ground.Z) != len(g.Class) {
		panic("cover: ground of another size")
	}
	screen := make([]float32, len(ground.Z))
	for i, z := range ground.Z {
		screen[i] = z + float32(canopyM[g.Class[i]])
	}
	return screen
}

// Slower returns how many times as long a metre takes on each class as by a
// walking rule: the classes' time factors, or the user's own where given, over
// holds, the factor that the rule's own ground already has (1 for a rule of
// paths). Unknown ground is walked as the rule stands, and so is water where it
// is crossed: nothing is known to make it slower, and a ring is an outer limit.
// For the same reason woods are no slower than a rule off paths, if nobody says
// so: Irmischer & Clarke 2018 measured theirs in woods.
func Slower(holds float64, given map[Class]float64) Table {
	var t Table
	for i := range t {
		t[i], _ = slower(Class(i), holds, given)
	}
	return t
}

// SlowerFrom returns where the number that [Slower] has for a class is from.
func SlowerFrom(c Class, holds float64, given map[Class]float64) string {
	_, source := slower(c, holds, given)
	return source
}

func slower(c Class, holds float64, given map[Class]float64) (float64, string) {
	figure := c.Traits().TimeFactor
	factor, ok := given[c]
	switch {
	case ok:
		return factor / holds, "given"
	case math.IsNaN(figure.Value):
		return 1, figure.Source + ": as the rule stands"
	case c.Wooded() && holds > 1 && figure.Value > holds:
		return 1, "as the rule off paths stands, which was measured in woods; " + figure.Source + " has more"
	}
	return figure.Value / holds, figure.Source
}

// Factors returns the number of each cell's class.
func (g *Grid) Factors(of Table) []float32 {
	out := make([]float32, len(g.Class))
	for i, c := range g.Class {
		out[i] = float32(of[c])
	}
	return out
}
