package walk

import (
	"math"

	"github.com/paulmach/orb"
)

// A Handrail is a line, like a trail, that a walker can have met: where first,
// and where it leads out of the ground that they can have reached.
type Handrail struct {
	Line     int       // index among the lines
	ReachedS float64   // when it can first be met [s]
	Reached  orb.Point // where
	// Exits are where the line leads out of the ring, whichever way it was
	// drawn, one of those within a cell of each other: a watcher at each of them,
	// and nobody leaves along this line.
	Exits []orb.Point
	Edges []Edge // where the line leads over the terrain's edge within the ring
}

// An Edge is the last place of a line before the terrain's edge.
type Edge struct {
	Point   orb.Point
	Seconds float64 // when it can first be reached [s]
}

// Handrails returns those of the lines that can be met by that time [s] of the
// field, in the order of the lines. Places are good to half a cell.
func (f *Field) Handrails(lines []orb.LineString, seconds float64) []Handrail {
	var met []Handrail
	for i, line := range lines {
		if h := f.handrail(line, seconds); h.ReachedS <= seconds {
			h.Line = i
			met = append(met, h)
		}
	}
	return met
}

func (f *Field) handrail(line orb.LineString, seconds float64) Handrail {
	h := Handrail{ReachedS: math.Inf(1)}
	var last, lastCol, lastRow float64
	begun := false
	for i := 1; i < len(line); i++ {
		c0, r0 := f.Cell(line[i-1])
		c1, r1 := f.Cell(line[i])
		c0, r0, c1, r1, ok := f.Cut(c0, r0, c1, r1)
		if !ok {
			begun = false
			continue
		}
		steps := int(2*math.Max(math.Abs(c1-c0), math.Abs(r1-r0))) + 1
		for s := 0; s <= steps; s++ {
			u := float64(s) / float64(steps)
			col, row := c0+u*(c1-c0), r0+u*(r1-r0)
			t, inside := f.near(col, row)
			if t < h.ReachedS {
				h.ReachedS, h.Reached = t, f.Point(col, row)
			}
			switch {
			case !begun || (last <= seconds) == (t <= seconds):
			case !inside:
				h.Edges = append(h.Edges, Edge{f.Point(lastCol, lastRow), last})
			case !f.onGrid(lastCol, lastRow):
				h.Edges = append(h.Edges, Edge{f.Point(col, row), t})
			default:
				h.leave(f, (col+lastCol)/2, (row+lastRow)/2)
			}
			last, lastCol, lastRow, begun = t, col, row, true
		}
	}
	return h
}

// leave adds a place where the line leads out of the ring, unless one of the line
// lies within a cell of it: a ring's edge is no sharper, and one watcher sees both.
func (h *Handrail) leave(f *Field, col, row float64) {
	for _, p := range h.Exits {
		c, r := f.Cell(p)
		if math.Max(math.Abs(c-col), math.Abs(r-row)) <= 1 {
			return
		}
	}
	h.Exits = append(h.Exits, f.Point(col, row))
}

// near returns the time of the cell that holds a place, +Inf where it is not
// reached, and whether the place lies on the grid.
func (f *Field) near(col, row float64) (seconds float64, inside bool) {
	if !f.onGrid(col, row) {
		return math.Inf(1), false
	}
	if t := float64(f.Seconds[int(math.Round(row))*f.Cols+int(math.Round(col))]); !math.IsNaN(t) {
		return t, true
	}
	return math.Inf(1), true
}

func (f *Field) onGrid(col, row float64) bool {
	c, r := math.Round(col), math.Round(row)
	return c >= 0 && r >= 0 && c < float64(f.Cols) && r < float64(f.Rows)
}
