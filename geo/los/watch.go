package los

import (
	"context"
	"fmt"

	"farhail/geo/grid"
)

// Watch is what several eyes see together, and each of them.
type Watch struct {
	// Area is theirs together: a cell is seen where at least one eye sees it, else
	// unknown where one could not tell, else hidden where it lies in the radius of
	// one.
	Area
	SeenBy []uint16 // for each cell of Area, by how many eyes it is seen
	Eyes   []Watcher
}

// Watcher is one eye's part of a [Watch].
type Watcher struct {
	Cells, Seen, Unknown int     // as of its own Area
	AreaM2               float64 // ground area of the cells that it sees [m²]
	AloneM2              float64 // of these, that of the cells that no other eye sees [m²]
}

// maxWatchers is what 16 bits count.
const maxWatchers = 1<<16 - 1

// SeenByAny returns which cells are seen by at least one of 1 to 65 535 eyes, each
// as by [SeenArea], and by how many. Memory is that of SeenArea and 4 bytes a cell
// around all eyes. Errors are those of SeenArea, and ErrOptions for no eye.
func SeenByAny(ctx context.Context, h *grid.Heights, eyes []Station, targetM, radiusM float64, o Options) (*Watch, error) {
	if len(eyes) < 1 || len(eyes) > maxWatchers {
		return nil, fmt.Errorf("%w: %d eyes, of 1 to %d", ErrOptions, len(eyes), maxWatchers)
	}
	w, cellM2, err := newWatch(h, eyes, radiusM, o)
	if err != nil {
		return nil, err
	}
	only := make([]uint16, len(w.State)) // the eye that saw a cell first
	for i, at := range eyes {
		a, err := SeenArea(ctx, h, at, targetM, radiusM, o)
		if err != nil {
			return nil, err
		}
		w.Eyes = append(w.Eyes, Watcher{Cells: a.Cells, Seen: a.Seen, Unknown: a.Unknown, AreaM2: a.AreaM2})
		for row := range a.Frame.Rows {
			k := (row+a.Row0-w.Row0)*w.Frame.Cols + a.Col0 - w.Col0
			for col, s := range a.State[row*a.Frame.Cols : (row+1)*a.Frame.Cols] {
				w.State[k+col] = better(w.State[k+col], s)
				if s != Seen {
					continue
				}
				if w.SeenBy[k+col]++; w.SeenBy[k+col] == 1 {
					only[k+col] = uint16(i)
				}
			}
		}
	}
	for k, n := range w.SeenBy {
		m2 := cellM2[k/w.Frame.Cols]
		switch s := w.State[k]; {
		case s == Seen:
			w.Seen++
			w.AreaM2 += m2
		case s == Unknown:
			w.Unknown++
		case s == Beyond:
			continue
		}
		if w.Cells++; n == 1 {
			w.Eyes[only[k]].AloneM2 += m2
		}
	}
	return w, nil
}

// newWatch returns an area without states around all eyes, and the ground area of
// its cells by row.
func newWatch(h *grid.Heights, eyes []Station, radiusM float64, o Options) (*Watch, []float64, error) {
	if !(radiusM > 0) {
		return nil, nil, fmt.Errorf("%w: radius %g m", ErrOptions, radiusM)
	}
	f, col0, row0, cellM2, err := around(h, eyes, radiusM, o)
	if err != nil {
		return nil, nil, err
	}
	n := f.Cols * f.Rows
	return &Watch{Area: Area{Frame: f, Col0: col0, Row0: row0, State: make([]State, n)}, SeenBy: make([]uint16, n)}, cellM2, nil
}

// around returns the part of the terrain's frame that holds the radius of all eyes,
// its north-west column and row, and the ground area of its cells by row [m²].
func around(h *grid.Heights, eyes []Station, radiusM float64, o Options) (f grid.Frame, col0, row0 int, cellM2 []float64, err error) {
	col0, row0 = h.Cols, h.Rows
	col1, row1 := 0, 0
	var eye *Eye
	for _, at := range eyes {
		if eye, err = NewEye(h, at, o); err != nil {
			return f, 0, 0, nil, err
		}
		a := eye.extent(radiusM)
		col0, row0 = min(col0, a.Col0), min(row0, a.Row0)
		col1, row1 = max(col1, a.Col0+a.Frame.Cols), max(row1, a.Row0+a.Frame.Rows)
	}
	f = h.Part(col0, row0, col1, row1)
	for row := range f.Rows {
		east, north := eye.cellM(row + row0)
		cellM2 = append(cellM2, east*north)
	}
	return f, col0, row0, cellM2, nil
}
