package job

import (
	"fmt"
	"math"

	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/prob"
)

// settle chooses the cells: those of the terrain around the start, made coarse by
// a whole factor where they are smaller than asked for or too many; without
// terrain squares of 100 m.
func (c *chance) settle() {
	h := c.run.heights
	east, north := earth.MetresPerDegree(c.start.Point.Lat())
	if h == nil || !c.run.groundDecides(c.start.Point) {
		cellM := max(c.plan.CellM, flatCellM, 2*c.plan.WithinM/math.Sqrt(prob.MaxCells))
		n := 2*int(math.Ceil(c.plan.WithinM/cellM)) + 1
		c.frame = grid.Frame{DX: cellM / east, DY: cellM / north, Cols: n, Rows: n}
		c.frame.X0 = c.start.Point.Lon() - float64(n/2)*c.frame.DX
		c.frame.Y0 = c.start.Point.Lat() + float64(n/2)*c.frame.DY
		return
	}
	col, row := h.Cell(c.start.Point)
	eastM, northM := h.MetresAt(col, row)
	cols, rows := c.plan.WithinM/eastM, c.plan.WithinM/northM
	cut := window(h, col, row, cols, rows)
	if col-cols < -1 || row-rows < -1 || col+cols > float64(h.Cols) || row+rows > float64(h.Rows) {
		c.run.warn(fmt.Sprintf("the map of the likelihood ends where the terrain does, less than %s from the start: all beyond counts as outside", Distance(c.plan.WithinM)),
			"add terrain, make the map smaller (likelihood: within:), or give the outside its due")
	}
	k := max(1, int(math.Ceil(c.plan.CellM/min(eastM, northM)*(1-1e-9))))
	most := ((cut.Cols + k - 1) / k) * ((cut.Rows + k - 1) / k)
	var factor int
	c.frame, factor = prob.Coarse(cut.Frame, min(most, prob.MaxCells))
	c.ground = coarseHeights(cut, c.frame, factor)
}

const flatCellM = 100

// window returns the cells of a terrain within so many columns and rows of a
// place.
func window(h *grid.Heights, col, row, cols, rows float64) *grid.Heights {
	c0, c1 := max(int(col-cols), 0), min(int(col+cols)+1, h.Cols-1)
	r0, r1 := max(int(row-rows), 0), min(int(row+rows)+1, h.Rows-1)
	out := &grid.Heights{Frame: h.Part(c0, r0, c1+1, r1+1)}
	for r := r0; r <= r1; r++ {
		out.Z = append(out.Z, h.Row(r)[c0:c1+1]...)
	}
	return out
}

// coarseHeights returns the means of k by k heights, NaN where one is unknown.
func coarseHeights(h *grid.Heights, f grid.Frame, k int) *grid.Heights {
	v := make([]float64, len(h.Z))
	for i, z := range h.Z {
		v[i] = float64(z)
	}
	out := &grid.Heights{Frame: f, Z: make([]float32, f.Cols*f.Rows)}
	for i, z := range prob.CoarsenMean(h.Frame, v, k) {
		out.Z[i] = float32(z)
	}
	return out
}

// meanOver returns the means of a terrain's values over each cell of the map.
func (c *chance) meanOver(f grid.Frame, v []float64) []float64 {
	total, n := make([]float64, c.frame.Cols*c.frame.Rows), make([]float64, c.frame.Cols*c.frame.Rows)
	for i, x := range v {
		col, row := c.frame.CellXY(f.XY(float64(i%f.Cols), float64(i/f.Cols)))
		cc, rr := int(math.Round(col)), int(math.Round(row))
		if cc >= 0 && rr >= 0 && cc < c.frame.Cols && rr < c.frame.Rows {
			total[rr*c.frame.Cols+cc] += x
			n[rr*c.frame.Cols+cc]++
		}
	}
	for i := range total {
		if n[i] > 0 {
			total[i] /= n[i]
		}
	}
	return total
}
