package los

import (
	"context"
	"math"
)

// roundingM is the height [m] below which bounds are not trusted to decide; it
// is far above the rounding of heights and distances (1e-10 m).
const roundingM = 1e-7

// sweep decides all cells of an area, each by its own sight line as the plain
// way does, but with three short cuts that never change an answer:
//
//   - What hid the cell before it, seen from the eye, is tried first. A crossing
//     of the cell's own line that blocks settles it.
//   - What stands above the fan's bound of all crossings but the last few, and
//     above these, is seen.
//   - For the rest, tiles whose highest ground lies below the line are skipped.
//
// Long lines on longitude and latitude, which are chains of legs, are first
// tried with joints interpolated between exact ones (see [chain]).
//
// The plane around the eye is cut into wedges that do not depend on the number
// of processors; in each, rings of cells are decided from the eye outwards.
type sweep struct {
	scanner
	a       *Area
	targetM float64
	radiusM float64
	sizes   *sizes
	chain   *chain
}

// wedgesPerSide is in how many wedges each of the four sides is cut.
const wedgesPerSide = 8

func (e *Eye) sweep(ctx context.Context, a *Area, targetM, radiusM float64) error {
	s := &sweep{scanner: scanner{e: e}, a: a, targetM: targetM, radiusM: radiusM, sizes: e.sizes(a)}
	var err error
	if s.chain, err = newChain(ctx, e, a); err != nil {
		return err
	}
	// Chains may leave the area.
	margin := 0
	if s.chain != nil {
		margin = chainReach
	}
	s.tiles = newTiles(e.h, max(a.Col0-margin, 0), max(a.Row0-margin, 0),
		min(a.Col0+a.Frame.Cols-1+margin, e.h.Cols-1), min(a.Row0+a.Frame.Rows-1+margin, e.h.Rows-1))
	sides := s.sides()
	err = eachUntil(ctx, len(sides)*wedgesPerSide, func(ctx context.Context, i int) error {
		// Sides take turns, so that big and small wedges mix.
		return newWedge(s, sides[i%len(sides)], i/len(sides)).run(ctx)
	})
	if err != nil {
		return err
	}
	s.own()
	return nil
}

// own marks the eye's own cells, the nearest to it, as seen.
func (s *sweep) own() {
	e, a := s.e, s.a
	for r := int(math.Ceil(e.row - 0.5)); float64(r) <= e.row+0.5; r++ {
		for c := int(math.Ceil(e.col - 0.5)); float64(c) <= e.col+0.5; c++ {
			i, j := r-a.Row0, c-a.Col0
			if i >= 0 && i < a.Frame.Rows && j >= 0 && j < a.Frame.Cols {
				a.State[i*a.Frame.Cols+j] = Seen
				if a.NeedM != nil {
					a.NeedM[i*a.Frame.Cols+j], a.BlockedBy[i*a.Frame.Cols+j] = 0, -1
				}
			}
		}
	}
}

// side is one of the four quarters around an eye, described along its major
// axis, that of the greater distance, and its minor axis.
type side struct {
	majorIsCol               bool
	sign                     int // direction of the major axis
	eyeMajor, eyeMinor       float64
	first, last              int // major coordinates, from the eye outwards
	minorFirst, minorLast    int
	majorStride, minorStride int
	diagonals                bool // are the diagonals its own?
}

func (s *sweep) sides() []side {
	e, a := s.e, s.a
	col1, row1 := a.Col0+a.Frame.Cols-1, a.Row0+a.Frame.Rows-1
	cols := side{majorIsCol: true, eyeMajor: e.col, eyeMinor: e.row, minorFirst: a.Row0, minorLast: row1, majorStride: 1, minorStride: e.h.Cols, diagonals: true}
	rows := side{eyeMajor: e.row, eyeMinor: e.col, minorFirst: a.Col0, minorLast: col1, majorStride: e.h.Cols, minorStride: 1}
	east, west, south, north := cols, cols, rows, rows
	east.sign, east.first, east.last = 1, int(math.Floor(e.col))+1, col1
	west.sign, west.first, west.last = -1, int(math.Ceil(e.col))-1, a.Col0
	south.sign, south.first, south.last = 1, int(math.Floor(e.row))+1, row1
	north.sign, north.first, north.last = -1, int(math.Ceil(e.row))-1, a.Row0
	return []side{east, south, west, north}
}
