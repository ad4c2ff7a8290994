package los

import (
	"context"
	"math"

	"farhail/geo/earth"
)

const (
	// latticeCells is the distance of the targets whose chains are worked out
	// exactly; those between are interpolated.
	latticeCells = 32
	// latticePieces bounds the pieces of an interpolated chain.
	latticePieces = 8
	// chainReach is how far [cells] such a chain may leave the box around its
	// ends: n pieces bend by n² half cells.
	chainReach = latticePieces*latticePieces/2 + 2
)

// chain gives the legs of long lines on longitude and latitude without a
// geodesic for each: a joint's distance from the straight line is a smooth
// function of the target, known on a lattice and bilinear between. The error of
// that, half the second differences and twice as much to be safe, is off.
type chain struct {
	e          *Eye
	a          *Area
	latitudes  []latitude // by row
	straightTo []float64  // by row: the columns from the eye up to which lines are straight
	pieces     int        // the most that the lattice holds, 0 where it is of no use
	cols       int        // of the lattice
	shifts     [][2]float64
	perNode    int
	off        float64 // [cells]
	stepM      float64 // greatest height difference between neighbours
	sizeRow0   int
	size       [][2]float64 // ground size of cells by row, from sizeRow0
	cellM      float64      // the greatest of them
}

// newChain returns nil where all lines of an area are straight.
func newChain(ctx context.Context, e *Eye, a *Area) (*chain, error) {
	if !e.h.CRS.LonLat() {
		return nil, nil
	}
	c := &chain{e: e, a: a}
	most := 1
	widest := max(e.col-float64(a.Col0), float64(a.Col0+a.Frame.Cols-1)-e.col)
	for i := range a.Frame.Rows {
		row := float64(a.Row0 + i)
		l := e.latitude(row)
		c.latitudes = append(c.latitudes, l)
		if row != e.row || widest > 0 {
			most = max(most, l.pieces(widest*e.h.DX, (row-e.row)*e.h.DY))
		}
	}
	if most == 1 {
		return nil, nil
	}
	c.limits(widest)
	c.pieces = min(most, latticePieces)
	if err := c.lattice(ctx); err != nil {
		return nil, err
	}
	if c.pieces == 0 {
		return c, nil
	}
	c.heightStep()
	c.sizeRow0 = max(a.Row0-chainReach, 0)
	for row := c.sizeRow0; row <= min(a.Row0+a.Frame.Rows+chainReach, e.h.Rows); row++ {
		m, n := e.h.Metres(row)
		c.size = append(c.size, [2]float64{m, n})
		c.cellM = max(c.cellM, m, n)
	}
	return c, nil
}

// limits finds how far lines are straight in each row: they bend the more the
// more columns they run over.
func (c *chain) limits(widest float64) {
	c.straightTo = make([]float64, c.a.Frame.Rows)
	for i := range c.straightTo {
		latDeg := (float64(c.a.Row0+i) - c.e.row) * c.e.h.DY
		lo, hi := 0.0, widest+1
		if c.latitudes[i].pieces(hi*c.e.h.DX, latDeg) == 1 {
			lo = hi
		}
		for hi-lo > 1e-6 {
			if mid := (lo + hi) / 2; c.latitudes[i].pieces(mid*c.e.h.DX, latDeg) == 1 {
				lo = mid
			} else {
				hi = mid
			}
		}
		c.straightTo[i] = lo
	}
}

// straight reports whether the line to a cell is one leg.
func (c *chain) straight(col, row int) bool {
	dc, limit := math.Abs(float64(col)-c.e.col), c.straightTo[row-c.a.Row0]
	switch {
	case dc < limit-1e-5:
		return true
	case dc > limit+1e-5 && dc > 8:
		return false
	}
	return c.e.pieces(float64(col), float64(row)) == 1
}

// lattice fills the joints' shifts, or sets pieces to 0 where geodesics do not
// behave: near a pole and over half the earth.
func (c *chain) lattice(ctx context.Context) error {
	e, a := c.e, c.a
	// Three at least, for second differences.
	rows := max((a.Frame.Rows-1)/latticeCells+2, 3)
	c.cols = max((a.Frame.Cols-1)/latticeCells+2, 3)
	c.perNode = c.pieces * (c.pieces - 1) / 2
	north, south := e.h.Y0-float64(a.Row0)*e.h.DY, e.h.Y0-float64(a.Row0+rows*latticeCells)*e.h.DY
	if max(math.Abs(north), math.Abs(south)) > 85 || float64(a.Frame.Cols)*e.h.DX > 20 {
		c.pieces = 0
		return nil
	}
	c.shifts = make([][2]float64, rows*c.cols*c.perNode)
	start := e.h.Point(e.col, e.row)
	eachRow(rows, func(i int) {
		if ctx.Err() != nil {
			return
		}
		for j := range c.cols {
			col, row := float64(a.Col0+j*latticeCells), float64(a.Row0+i*latticeCells)
			length, bearing, _ := earth.Inverse(start, e.h.Point(col, row))
			if length == 0 {
				continue // no shift
			}
			out := c.shifts[(i*c.cols+j)*c.perNode:]
			for n := 2; n <= c.pieces; n++ {
				for k := 1; k < n; k++ {
					f := float64(k) / float64(n)
					p, _ := earth.Direct(start, bearing, length*f)
					x, y := e.h.Cell(p)
					out[0] = [2]float64{x - (e.col + f*(col-e.col)), y - (e.row + f*(row-e.row))}
					out = out[1:]
				}
			}
		}
	})
	if err := ctx.Err(); err != nil {
		return err
	}
	c.off = c.roughness(rows)/4 + tiny
	if c.off > 0.02 {
		c.pieces = 0
	}
	return nil
}

// roughness returns the greatest sum of a shift's second differences along
// columns and along rows.
func (c *chain) roughness(rows int) float64 {
	worst := [2]float64{}
	second := func(i, step int) float64 {
		a, b, d := c.shifts[i-step], c.shifts[i], c.shifts[i+step]
		return max(math.Abs(a[0]-2*b[0]+d[0]), math.Abs(a[1]-2*b[1]+d[1]))
	}
	for i := range rows {
		for j := range c.cols {
			for k := range c.perNode {
				at := (i*c.cols+j)*c.perNode + k
				if j > 0 && j < c.cols-1 {
					worst[0] = max(worst[0], second(at, c.perNode))
				}
				if i > 0 && i < rows-1 {
					worst[1] = max(worst[1], second(at, c.cols*c.perNode))
				}
			}
		}
	}
	return worst[0] + worst[1]
}

func (c *chain) heightStep() {
	h, a := c.e.h, c.a
	first := max(a.Row0-chainReach, 0)
	last := min(a.Row0+a.Frame.Rows+chainReach, h.Rows) - 1
	left, right := max(a.Col0-chainReach, 0), min(a.Col0+a.Frame.Cols+chainReach, h.Cols)
	steps := make([]float32, last-first+1)
	eachRow(len(steps), func(i int) {
		row := h.Row(first + i)[left:right]
		south := h.Row(min(first+i+1, last))[left:right]
		step := float32(0)
		for j, z := range row[:len(row)-1] {
			// False for no-data.
			if d := row[j+1] - z; d > step {
				step = d
			} else if -d > step {
				step = -d
			}
			if d := south[j] - z; d > step {
				step = d
			} else if -d > step {
				step = -d
			}
		}
		steps[i] = step
	})
	for _, s := range steps {
		c.stepM = max(c.stepM, float64(s))
	}
}

// legs appends an interpolated chain to buf, false where it might cross other
// rows or columns than the exact one.
func (c *chain) legs(buf []leg, col, row int) ([]leg, bool) {
	e := c.e
	dc, dr := float64(col)-e.col, float64(row)-e.row
	n := c.latitudes[row-c.a.Row0].quickPieces(dc*e.h.DX, dr*e.h.DY)
	if n > c.pieces || n < 2 {
		return buf, false
	}
	i, j := (row-c.a.Row0)/latticeCells, (col-c.a.Col0)/latticeCells
	v := float64(row-c.a.Row0-i*latticeCells) / latticeCells
	u := float64(col-c.a.Col0-j*latticeCells) / latticeCells
	at := (i*c.cols+j)*c.perNode + (n-1)*(n-2)/2
	south := at + c.cols*c.perNode
	c0, r0, d := e.col, e.row, 0.0
	for k := 1; k <= n; k++ {
		c1, r1 := float64(col), float64(row)
		if k < n {
			nw, ne, sw, se := c.shifts[at], c.shifts[at+c.perNode], c.shifts[south], c.shifts[south+c.perNode]
			at, south = at+1, south+1
			f := float64(k) / float64(n)
			c1 = e.col + f*dc + (1-v)*((1-u)*nw[0]+u*ne[0]) + v*((1-u)*sw[0]+u*se[0])
			r1 = e.row + f*dr + (1-v)*((1-u)*nw[1]+u*ne[1]) + v*((1-u)*sw[1]+u*se[1])
			if c.nearCell(c1, e.h.Cols) || c.nearCell(r1, e.h.Rows) {
				return buf, false
			}
		}
		l := leg{c0, r0, c1, r1, d, d}
		// Within rounding the size at the middle of the leg.
		mid := (r0+r1)/2 - float64(c.sizeRow0)
		m := min(max(int(mid), 0), len(c.size)-2)
		w := mid - float64(m)
		east := c.size[m][0] + w*(c.size[m+1][0]-c.size[m][0])
		north := c.size[m][1] + w*(c.size[m+1][1]-c.size[m][1])
		x, y := (c1-c0)*east, (r1-r0)*north
		l.to += math.Sqrt(x*x + y*y)
		buf = append(buf, l)
		c0, r0, d = c1, r1, l.to
	}
	return buf, true
}

// nearCell reports whether a joint is so near to a row or column, or so far
// outside the grid, that its exact place matters.
func (c *chain) nearCell(x float64, n int) bool {
	f := x - math.Floor(x)
	return f <= 8*c.off || f >= 1-8*c.off || x < 0 || x > float64(n-1)
}

// slack bounds the error of the heights [m] above an interpolated chain of n
// legs, for crossings that move along the other axis no faster than along
// their own.
func (c *chain) slack(n int, slope, distM float64) float64 {
	perM := math.Abs(slope) + 2*math.Abs(c.e.q)*distM
	return 2*c.off*c.stepM + float64(8*n)*c.off*c.cellM*perM + 1e-7*distM*perM
}
