package los

import (
	"context"
	"fmt"
	"math"
	"slices"

	"farhail/geo/grid"
)

// denseCells is the share of the cells around an eye from which on a sweep over
// all of them costs less than a line to each of some (own measurement on rough
// ground, 5 km: a swept cell costs a fifth of a line).
const denseCells = 1. / 5

// SeenCells returns for each eye which of some cells of the terrain it sees, by their
// place in the list: cells holds their indices, and what is looked for stands targetM
// [m] above the ground of their centres. It is [SeenSets] for the ground that matters
// to a choice of places: the same states, and where the cells lie dense within
// the radius the area is swept as [SeenArea] does. Memory is two bits a pair, 24
// bytes a cell, and for each processor what a seen area takes. Errors are those of
// SeenSets, and ErrOptions for a cell off the grid.
func SeenCells(ctx context.Context, h *grid.Heights, eyes []Station, cells []int, targetM, radiusM float64, o Options) ([]SeenSet, error) {
	if err := checkLook(targetM, radiusM); err != nil {
		return nil, err
	}
	if _, err := o.drop(); err != nil {
		return nil, err
	}
	over, err := o.over(h)
	if err != nil {
		return nil, err
	}
	targets := make([]Station, len(cells))
	for i, cell := range cells {
		if cell < 0 || cell >= len(h.Z) {
			return nil, fmt.Errorf("%w: cell %d of %d", ErrOptions, cell, len(h.Z))
		}
		targets[i] = Station{Col: float64(cell % h.Cols), Row: float64(cell / h.Cols), HeightM: targetM}
	}
	out := make([]SeenSet, len(eyes))
	if len(eyes) == 0 || len(cells) == 0 {
		return out, nil
	}
	t := tilesBetween(over, eyes, targets)
	sorted := slices.IsSorted(cells)
	err = eachUntil(ctx, len(eyes), func(ctx context.Context, i int) (err error) {
		out[i], err = seenCells(ctx, h, t, eyes[i], cells, sorted, targets, radiusM, o)
		return err
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

func seenCells(ctx context.Context, h *grid.Heights, t *tiles, eye Station, cells []int, sorted bool, targets []Station, radiusM float64, o Options) (SeenSet, error) {
	e, err := NewEye(h, eye, o)
	if err != nil {
		return seenSet(ctx, h, t, eye, targets, radiusM, o) // all unknown
	}
	within, extent := 0, e.extent(radiusM)
	extent.each(cells, sorted, h.Cols, func(int) { within++ })
	if float64(within) < denseCells*float64(extent.Frame.Cols*extent.Frame.Rows) {
		return seenSet(ctx, h, t, eye, targets, radiusM, o)
	}
	a := e.window(radiusM)
	if err := e.sweep(ctx, a, targets[0].HeightM, radiusM); err != nil {
		return SeenSet{}, err
	}
	set := newSeenSet(len(cells))
	a.each(cells, sorted, h.Cols, func(i int) {
		s := targets[i]
		state := a.State[(cells[i]/h.Cols-a.Row0)*a.Frame.Cols+cells[i]%h.Cols-a.Col0]
		if math.Abs(s.Col-e.col) <= 0.5 && math.Abs(s.Row-e.row) <= 0.5 {
			// An area always counts the eye's own cell.
			state = e.State(s)
		}
		switch state {
		case Seen:
			set.Seen.add(i)
		case Unknown:
			set.Unknown.add(i)
		}
	})
	return set, nil
}

// each calls one with the place in the list of every cell of a grid of that many columns
// that lies in the area. Where the cells are sorted it looks at no others.
func (a *Area) each(cells []int, sorted bool, cols int, one func(i int)) {
	if !sorted {
		for i, cell := range cells {
			col, row := cell%cols-a.Col0, cell/cols-a.Row0
			if col >= 0 && row >= 0 && col < a.Frame.Cols && row < a.Frame.Rows {
				one(i)
			}
		}
		return
	}
	from := 0
	for row := a.Row0; row < a.Row0+a.Frame.Rows; row++ {
		first, last := row*cols+a.Col0, row*cols+a.Col0+a.Frame.Cols-1
		n, _ := slices.BinarySearch(cells[from:], first)
		for from += n; from < len(cells) && cells[from] <= last; from++ {
			one(from)
		}
	}
}
