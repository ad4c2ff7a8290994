package cover

import (
	"math"
	"slices"
)

// Crossing says which water a walker does not cross.
type Crossing string

// Each word takes in those before it. Cliffs are not climbed whatever the word, but
// where a trail leads.
const (
	AllCrossed  Crossing = "none"    // water is no barrier
	LakesStop   Crossing = "lakes"   // still water and the sea
	RiversStop  Crossing = "rivers"  // rivers and canals too
	StreamsStop Crossing = "streams" // and every stream and ditch
)

var crossings = []Crossing{AllCrossed, LakesStop, RiversStop, StreamsStop}

// Crossings lists the words, from the least that stops to the most.
func Crossings() []Crossing { return slices.Clone(crossings) }

// stops reports whether what another word adds stops the walker.
func (c Crossing) stops(other Crossing) bool {
	return slices.Index(crossings, c) >= slices.Index(crossings, other)
}

// Barriers are the cells that walkers do not enter.
type Barriers struct {
	Mask                  []bool // row by row
	Water, Cliffs, Opened int    // cells of each; opened are those cleared for bridges
	// Cut are the cells of running water that trails run through: the trails end
	// there, even those that only follow the water within its cells, and finer cells
	// would tell.
	Cut int
}

// Stops marks what is not crossed: cells of still water, running water by its
// lines and areas, cliffs. A line makes a chain of cells that touch by a side or
// corner, wider where its width is tagged and more than a cell; an area has the
// cells whose centres lie in it, and its edge too wherever it is less than two
// cells wide, so that it holds there. A walk that takes no move between cells of
// the mask, and none over a corner where two of them meet, gets across nowhere.
//
// A bridge opens the cells that it runs through and the eight around each: cells
// are coarser than bridges, and a ring that is too wide is the safe side. A trail
// without a bridge opens no running water, not even where it only follows the bank
// through the same cells: see [Barriers].Cut. It opens still water, whose shore it
// follows, and cliffs: it may lead up by steps, or along their foot.
func (m *Map) Stops(g *Grid, c Crossing) Barriers {
	b := Barriers{Mask: make([]bool, len(g.Class))}
	trodden := make([]bool, len(g.Class))
	m.along(g, Trail, g.marker(trodden))
	mark := g.marker(b.Mask)
	unlessTrodden := func(col, row int) {
		if !trodden[row*g.Cols+col] {
			mark(col, row)
		}
	}
	if c.stops(LakesStop) {
		rivers := m.riverCells(g)
		m.stillWater(g, rivers, unlessTrodden)
		if c.stops(RiversStop) {
			m.runningWater(g, rivers, c.stops(StreamsStop), mark)
		}
	}
	closed := count(b.Mask)
	m.openBridges(g, b.Mask)
	b.Water = count(b.Mask)
	b.Opened = closed - b.Water
	for i, marked := range b.Mask {
		if marked && trodden[i] {
			b.Cut++
		}
	}
	m.along(g, Cliff, unlessTrodden)
	b.Cliffs = count(b.Mask) - b.Water
	return b
}

// stillWater marks lakes and the sea; rivers are the cells of running water.
func (m *Map) stillWater(g *Grid, rivers []bool, mark func(col, row int)) {
	m.waterAreas(g, rivers, false, mark)
	m.along(g, SeaShore, mark)
}

// runningWater marks rivers, and streams where they stop too.
func (m *Map) runningWater(g *Grid, rivers []bool, streams bool, mark func(col, row int)) {
	m.waterAreas(g, rivers, true, mark)
	for _, l := range m.Lines {
		if l.Kind == River || l.Kind == Stream && streams {
			g.Along(l.Path, mark)
			widen(g, l, mark)
		}
	}
}

// waterAreas marks areas of running or of still water, and their edges where they
// are narrow.
func (m *Map) waterAreas(g *Grid, rivers []bool, running bool, mark func(col, row int)) {
	for i, class := range g.Class {
		if class == Water && rivers[i] == running {
			mark(i%g.Cols, i/g.Cols)
		}
	}
	edge := newShore(g)
	for _, a := range m.Areas {
		if a.Class == Water && a.River == running {
			edge.of(a.Polygon, mark)
		}
	}
}

// along marks the cells that lines of a kind run through.
func (m *Map) along(g *Grid, kind LineKind, mark func(col, row int)) {
	for _, l := range m.Lines {
		if l.Kind == kind {
			g.Along(l.Path, mark)
		}
	}
}

// marker returns what marks a cell in a mask of the grid's size.
func (g *Grid) marker(mask []bool) func(col, row int) {
	return func(col, row int) { mask[row*g.Cols+col] = true }
}

func count(mask []bool) (n int) {
	for _, m := range mask {
		if m {
			n++
		}
	}
	return n
}

// riverCells marks the cells of rivers that are mapped as areas.
func (m *Map) riverCells(g *Grid) []bool {
	out := make([]bool, len(g.Class))
	for _, a := range m.Areas {
		if a.Class == Water {
			g.Spans(a.Polygon, func(row, first, last int) {
				for i := row*g.Cols + first; i <= row*g.Cols+last; i++ {
					out[i] = a.River // the smaller area comes later
				}
			})
		}
	}
	return out
}

// widen marks the cells whose centres lie within half a line's width of it.
func widen(g *Grid, l Line, mark func(col, row int)) {
	half := l.WidthM / 2
	if math.IsNaN(half) {
		return
	}
	for i := 1; i < len(l.Path); i++ {
		c0, r0 := g.Cell(l.Path[i-1])
		c1, r1 := g.Cell(l.Path[i])
		c0, r0, c1, r1, ok := g.Cut(c0, r0, c1, r1)
		if !ok {
			continue
		}
		east, north := g.MetresAt((c0+c1)/2, (r0+r1)/2)
		across, down := half/east, half/north
		lastRow, lastCol := min(max(r0, r1)+down, float64(g.Rows-1)), min(max(c0, c1)+across, float64(g.Cols-1))
		for row := max(math.Ceil(min(r0, r1)-down), 0); row <= lastRow; row++ {
			for col := max(math.Ceil(min(c0, c1)-across), 0); col <= lastCol; col++ {
				if offLine((col-c0)*east, (row-r0)*north, (c1-c0)*east, (r1-r0)*north) <= half {
					mark(int(col), int(row))
				}
			}
		}
	}
}

// offLine returns how far x, y lies from the line from 0, 0 to dx, dy.
func offLine(x, y, dx, dy float64) float64 {
	u := 0.0
	if d2 := dx*dx + dy*dy; d2 > 0 {
		u = min(max((x*dx+y*dy)/d2, 0), 1)
	}
	return math.Hypot(x-u*dx, y-u*dy)
}

// openBridges clears the cells around bridges.
func (m *Map) openBridges(g *Grid, mask []bool) {
	for _, l := range m.Lines {
		if !l.Bridge {
			continue
		}
		g.Along(l.Path, func(col, row int) {
			for r := max(row-1, 0); r <= min(row+1, g.Rows-1); r++ {
				for c := max(col-1, 0); c <= min(col+1, g.Cols-1); c++ {
					mask[r*g.Cols+c] = false
				}
			}
		})
	}
}
