package los

import "math"

// sizes hold the squared ground size of the cells that the length of a line to
// a cell goes by [m²]: those at its middle, so they depend on the cell's row on
// longitude and latitude, and on its column on wide projected grids.
type sizes struct {
	row0, col0  int
	east, north []float64    // by row
	sides       [][2]float64 // by row, not squared, east and north
	scale       []float64    // by column, a factor on both
	wide        bool         // so that lengths are not exact
	// off bounds the relative error of a length: 0, or what a wide projected
	// grid's scale changes from row to row.
	off float64
	// The least of all.
	eastMin, northMin float64
}

// scaleM is how far apart [m] the scale of a wide grid is worked out.
const scaleM = 5000

// scales works out the scale of one in so many columns, and is linear between.
func (s *sizes) scales(cols, every int, at func(col int) float64) {
	s.scale[0] = at(0)
	for first := 0; first < cols-1; first += every {
		last := min(first+every, cols-1)
		s.scale[last] = at(last)
		for i := first + 1; i < last; i++ {
			s.scale[i] = s.scale[first] + (s.scale[last]-s.scale[first])*float64(i-first)/float64(last-first)
		}
	}
}

func (e *Eye) sizes(a *Area) *sizes {
	s := &sizes{row0: a.Row0, col0: a.Col0}
	rows, cols := a.Frame.Rows, a.Frame.Cols
	s.east, s.north, s.scale = make([]float64, rows), make([]float64, rows), make([]float64, cols)
	// A line's middle lies between the eye and the cell.
	at := func(col, row float64) (east, north float64) {
		if e.eastM > 0 {
			return e.eastM, e.northM
		}
		return e.h.MetresAt((e.col+col)/2, (e.row+row)/2)
	}
	s.wide = e.eastM == 0 && !e.h.CRS.LonLat()
	middle := float64(a.Row0) + float64(rows-1)/2
	base, baseNorth := at(e.col, middle)
	for i := range rows {
		m, n := base, baseNorth
		if !s.wide {
			m, n = at(e.col, float64(a.Row0+i))
		}
		s.east[i], s.north[i] = m*m, n*n
		s.sides = append(s.sides, [2]float64{m, n})
	}
	for i := range cols {
		s.scale[i] = 1
	}
	if s.wide {
		s.scales(cols, max(1, int(scaleM/e.h.DX)), func(i int) float64 {
			m, _ := at(float64(a.Col0+i), middle)
			for _, row := range []int{a.Row0, a.Row0 + rows - 1} {
				other, _ := at(float64(a.Col0+i), float64(row))
				s.off = max(s.off, 2*math.Abs(other/m-1))
			}
			return m / base * (m / base)
		})
		// Between two places the scale, 1 + E²/2R², is off straight by half the
		// square of half their distance over the radius: 1e-7, twice that in E².
		s.off += 1e-6
	}
	s.eastMin, s.northMin = math.Inf(1), math.Inf(1)
	least := math.Inf(1)
	for _, k := range s.scale {
		least = min(least, k)
	}
	for i := range rows {
		s.eastMin, s.northMin = min(s.eastMin, s.east[i]*least*(1-2*s.off)), min(s.northMin, s.north[i]*least*(1-2*s.off))
	}
	return s
}
