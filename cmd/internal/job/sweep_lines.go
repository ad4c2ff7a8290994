package job

import (
	"context"
	"math"

	"farhail/geo/los"
)

// seenLines are the sight lines from the legs of ways to the cells of the map.
type seenLines struct {
	eyeOf [][]int32 // of each leg of each way; -1 off the terrain
	views []eyeView
	cols  int // of the map
}

// An eyeView is what one eye sees of a box of cells.
type eyeView struct {
	set                    los.SeenSet
	col0, row0, cols, rows int
}

// clear returns 1 where the line from a leg to a cell is clear, else 0.
func (l *seenLines) clear(way, leg, cell int) float64 {
	eye := l.eyeOf[way][leg]
	if eye < 0 {
		return 0
	}
	v := &l.views[eye]
	col, row := cell%l.cols-v.col0, cell/l.cols-v.row0
	if col < 0 || row < 0 || col >= v.cols || row >= v.rows || !v.set.Seen.Has(row*v.cols+col) {
		return 0
	}
	return 1
}

// eyesTogether is how many eyes along a way are looked from over one box of cells.
const eyesTogether = 32

// eyeStepCells is how far apart eyes must be to see for themselves, in cells of the
// terrain: legs within the same half cell share one. Own choice.
const eyeStepCells = 0.5

// seenLines works out the sight lines from the middle of every leg within a range [m];
// nil where there is no terrain, and every line is clear. With trees those of the
// cover stand in the way.
func (w *sweeping) seenLines(ctx context.Context, ways []walkedWay, targetM, rangeM float64, trees bool) (*seenLines, error) {
	h := w.run.heights
	if h == nil || rangeM <= 0 {
		return nil, nil
	}
	l := &seenLines{cols: w.frame.Cols}
	var eyes []los.Station
	type place struct {
		col, row int
		eyeM     float64
	}
	known := map[place]int32{}
	for _, way := range ways {
		of := make([]int32, max(len(way.points)-1, 0))
		for i := range of {
			a, b := way.points[i], way.points[i+1]
			col, row := h.Cell(w.local.Inverse((a.EastM+b.EastM)/2, (a.NorthM+b.NorthM)/2))
			if !h.Inside(col, row) {
				of[i] = -1
				continue
			}
			key := place{int(math.Round(col / eyeStepCells)), int(math.Round(row / eyeStepCells)), way.eyeM}
			eye, seen := known[key]
			if !seen {
				eye = int32(len(eyes))
				known[key] = eye
				eyes = append(eyes, los.Station{Col: col, Row: row, HeightM: way.eyeM})
			}
			of[i] = eye
		}
		l.eyeOf = append(l.eyeOf, of)
	}
	options := w.run.bareLines()
	if trees {
		options = w.run.sightLines()
	}
	for first := 0; first < len(eyes); first += eyesTogether {
		some := eyes[first:min(first+eyesTogether, len(eyes))]
		box, cells := w.cellsAround(some, rangeM)
		sets, err := los.SeenCells(ctx, h, some, cells, targetM, rangeM, options)
		if err != nil {
			return nil, err
		}
		for _, set := range sets {
			box.set = set
			l.views = append(l.views, box)
		}
	}
	return l, nil
}

// cellsAround returns the box of the map's cells within a range of any of some eyes
// [m], and the cells of the terrain in the middle of each.
func (w *sweeping) cellsAround(eyes []los.Station, rangeM float64) (eyeView, []int) {
	h, f := w.run.heights, w.frame
	east, north := f.Metres(f.Rows / 2)
	over := [2]int{int(math.Ceil(rangeM/east*1.02)) + 1, int(math.Ceil(rangeM/north*1.02)) + 1}
	c0, r0, c1, r1 := f.Cols, f.Rows, -1, -1
	for _, e := range eyes {
		col, row := f.CellXY(h.XY(e.Col, e.Row))
		c0, c1 = min(c0, int(math.Floor(col))-over[0]), max(c1, int(math.Ceil(col))+over[0])
		r0, r1 = min(r0, int(math.Floor(row))-over[1]), max(r1, int(math.Ceil(row))+over[1])
	}
	c0, r0, c1, r1 = max(c0, 0), max(r0, 0), min(c1, f.Cols-1), min(r1, f.Rows-1)
	box := eyeView{col0: c0, row0: r0, cols: max(c1-c0+1, 0), rows: max(r1-r0+1, 0)}
	cells := make([]int, 0, box.cols*box.rows)
	for row := r0; row <= r1; row++ {
		for col := c0; col <= c1; col++ {
			x, y := h.CellXY(f.XY(float64(col), float64(row)))
			c, r := min(max(int(math.Round(x)), 0), h.Cols-1), min(max(int(math.Round(y)), 0), h.Rows-1)
			cells = append(cells, r*h.Cols+c)
		}
	}
	return box, cells
}
