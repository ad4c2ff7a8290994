package los

import (
	"context"
	"fmt"
	"math"

	"farhail/geo/grid"
)

// Area is what one eye sees, cell by cell.
type Area struct {
	// Frame is the part of the terrain's frame that holds the radius; its
	// north-west cell is the terrain's column Col0 and row Row0.
	Frame      grid.Frame
	Col0, Row0 int
	State      []State // row by row from the north-west
	// NeedM is the height above its ground [m] that a target needs in each cell
	// to be seen: 0 where the ground itself is, NaN beyond the radius and where
	// it is unknown. Only [NeededArea] fills it.
	NeedM []float32
	// BlockedBy is, for each hidden cell, the index in the terrain's heights of
	// the cell next to the steepest crossing of its sight line, and -1 elsewhere.
	// Only [NeededArea] fills it.
	BlockedBy []int32
	Cells     int // cells within the radius
	Seen      int
	Unknown   int     // behind or in no-data
	AreaM2    float64 // ground area of the cells seen [m²]
}

// SeenArea returns which cells within radiusM [m] of an eye are seen where the
// target stands targetM [m] above the ground; a radius of +Inf takes all cells.
// The eye's own cell, the nearest to it, is always seen. Every cell has the
// state of its own sight line, though most are settled by a single crossing or a
// bound: a second on two processors holds tens of millions of cells, less where
// much is seen. The answer does not depend on the number of processors. Memory
// is a byte a cell of the radius and a twentieth of the heights. It returns the
// context's error when it ends first, and an error that wraps ErrNoGround or
// ErrOptions.
func SeenArea(ctx context.Context, h *grid.Heights, eye Station, targetM, radiusM float64, o Options) (*Area, error) {
	return lookAround(ctx, h, eye, targetM, radiusM, o, false)
}

// NeededArea does what [SeenArea] does and fills Area.NeedM and Area.BlockedBy
// too, for 8 bytes a cell more and several times the time, as no line can end
// early. NeedM is the figure of [Sight] to 32 bits (6e-8 of it).
func NeededArea(ctx context.Context, h *grid.Heights, eye Station, targetM, radiusM float64, o Options) (*Area, error) {
	return lookAround(ctx, h, eye, targetM, radiusM, o, true)
}

func lookAround(ctx context.Context, h *grid.Heights, eye Station, targetM, radiusM float64, o Options, needed bool) (*Area, error) {
	e, err := NewEye(h, eye, o)
	if err != nil {
		return nil, err
	}
	if err := checkLook(targetM, radiusM); err != nil {
		return nil, err
	}
	a := e.window(radiusM)
	if needed {
		a.NeedM, a.BlockedBy = make([]float32, len(a.State)), make([]int32, len(a.State))
		for i := range a.NeedM {
			a.NeedM[i], a.BlockedBy[i] = float32(math.NaN()), -1
		}
	}
	if err := e.sweep(ctx, a, targetM, radiusM); err != nil {
		return nil, err
	}
	a.count(e)
	return a, nil
}

// checkLook refuses what nobody can look for, and a radius that holds nothing.
func checkLook(targetM, radiusM float64) error {
	if !(radiusM > 0) || math.IsNaN(targetM) {
		return fmt.Errorf("%w: radius %g m, target height %g m", ErrOptions, radiusM, targetM)
	}
	return nil
}

// window returns an area whose states are all beyond that covers a radius.
func (e *Eye) window(radiusM float64) *Area {
	a := e.extent(radiusM)
	a.State = make([]State, a.Frame.Cols*a.Frame.Rows)
	return a
}

// extent returns the place and size of the window alone.
func (e *Eye) extent(radiusM float64) *Area {
	h := e.h
	row0, row1, col0, col1 := 0, h.Rows-1, 0, h.Cols-1
	if !math.IsInf(radiusM, 1) {
		// A line's length uses the cells at its middle, between the eye's and
		// the farthest row; 2 % cover how much a cell's height, or the scale of
		// a projection, changes over a grid.
		const wider = 1.02
		_, north := e.cellM(int(e.row))
		row0, row1 = span(e.row, radiusM/north*wider+2, h.Rows)
		east := math.Inf(1)
		for _, r := range []int{row0, row1} {
			m, _ := e.cellM(r)
			east = min(east, m)
		}
		col0, col1 = span(e.col, radiusM/east*wider+2, h.Cols)
	}
	return &Area{Frame: h.Part(col0, row0, col1+1, row1+1), Col0: col0, Row0: row0}
}

// span returns the whole numbers within reach of x in a grid of n.
func span(x, reach float64, n int) (first, last int) {
	return int(clamp(x-reach, n)), int(math.Ceil(clamp(x+reach, n)))
}

// cellM returns the size of a row's cells by the eye's measure of length [m].
func (e *Eye) cellM(row int) (east, north float64) {
	if e.eastM > 0 {
		return e.eastM, e.northM
	}
	return e.h.Metres(row)
}

// count sums the states in a fixed order.
func (a *Area) count(e *Eye) {
	for row := range a.Frame.Rows {
		seen := 0
		for _, s := range a.State[row*a.Frame.Cols : (row+1)*a.Frame.Cols] {
			switch s {
			case Seen:
				seen++
			case Unknown:
				a.Unknown++
			case Beyond:
				continue
			}
			a.Cells++
		}
		a.Seen += seen
		east, north := e.cellM(row + a.Row0)
		a.AreaM2 += float64(seen) * east * north
	}
}
