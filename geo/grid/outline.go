package grid

import (
	"context"
	"math"

	"github.com/paulmach/orb"
)

// nearest is how close to a cell centre an outline may pass, as a part of the
// way to the next centre. It keeps rings from touching themselves or each
// other where a value equals the level; the outline is moved by at most 1 % of
// a cell for it.
const nearest = 0.01

// Outline returns the region where v is at most level as polygons of
// longitude and latitude: marching squares over the cell centres, v having one
// value a cell, row by row. NaN and values above the level, +Inf too, are
// outside.
//
// Between a centre inside and one outside with a finite value the outline lies
// where a straight line between the two reaches the level; towards NaN, +Inf
// and beyond the grid's edge it lies half way, on the border of the cell.
// Where two inside centres meet two outside ones across a square, the mean of
// the four decides whether the inside joins; it never joins where one of them
// is NaN or +Inf.
//
// Every centre inside lies in the region and every other centre does not.
// Rings are closed, touch neither themselves nor each other, outer rings run
// counter-clockwise and holes clockwise, each hole follows its own outer ring,
// and the polygons come in the order of their northernmost row. On a grid that
// runs over the 180th meridian longitudes go on beyond 180. Nothing inside
// gives nil.
//
// It panics where v does not have one value a cell.
func Outline(f Frame, v []float32, level float64) orb.MultiPolygon {
	shape, _ := OutlineUntil(context.Background(), f, v, level)
	return shape
}

// OutlineUntil is [Outline], but returns the context's error when it ends first.
func OutlineUntil(ctx context.Context, f Frame, v []float32, level float64) (orb.MultiPolygon, error) {
	o, err := march(ctx, f, v, level)
	if err != nil {
		return nil, err
	}
	return o.polygons(), nil
}

// march finds the pieces of outline in all squares.
func march(ctx context.Context, f Frame, v []float32, level float64) (*outline, error) {
	if len(v) != f.Cols*f.Rows {
		panic("grid: outline of values that are not one a cell")
	}
	o := &outline{frame: f, v: v, level: level, next: map[crossing]crossing{}}
	// Few squares are crossed: one look at each cell finds those that are not.
	above, below := make([]bool, f.Cols+2), make([]bool, f.Cols+2)
	for row := -1; row < f.Rows; row++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		above, below = below, above
		o.inside(row+1, below)
		for col := -1; col < f.Cols; col++ {
			if in := above[col+1]; in != above[col+2] || in != below[col+1] || in != below[col+2] {
				o.square(col, row)
			}
		}
	}
	return o, nil
}

// inside marks the cells of a row that are inside, after and before one that is not.
func (o *outline) inside(row int, marks []bool) {
	if row >= o.frame.Rows {
		clear(marks)
		return
	}
	for col, x := range o.v[row*o.frame.Cols : (row+1)*o.frame.Cols] {
		marks[col+1] = float64(x) <= o.level
	}
}

// A crossing is where the outline cuts the line from a cell's centre to the
// centre east (or, down, south) of it. Cells of the outer border have column
// or row -1.
type crossing struct {
	col, row int32
	down     bool
}

type outline struct {
	frame Frame
	v     []float32
	level float64
	// order lists the crossings as met, next where the outline goes from each,
	// with the inside on its left.
	order []crossing
	next  map[crossing]crossing
}

// at returns the value of a cell, +Inf for no data and beyond the edge.
func (o *outline) at(col, row int) float64 {
	if col < 0 || row < 0 || col >= o.frame.Cols || row >= o.frame.Rows {
		return math.Inf(1)
	}
	if x := float64(o.v[row*o.frame.Cols+col]); !math.IsNaN(x) {
		return x
	}
	return math.Inf(1)
}

// square adds the pieces of outline in the square whose north-west corner is
// the centre of a cell.
func (o *outline) square(col, row int) {
	nw, ne := o.at(col, row), o.at(col+1, row)
	sw, se := o.at(col, row+1), o.at(col+1, row+1)
	corners := 0
	for i, x := range [4]float64{nw, ne, se, sw} {
		if x <= o.level {
			corners |= 1 << i
		}
	}
	if corners == 0 || corners == 15 {
		return
	}
	c, r := int32(col), int32(row)
	north, west := crossing{c, r, false}, crossing{c, r, true}
	south, east := crossing{c, r + 1, false}, crossing{c + 1, r, true}
	joined := (nw+ne+sw+se)/4 <= o.level
	// Bits: 1 north-west, 2 north-east, 4 south-east, 8 south-west.
	switch corners {
	case 1:
		o.add(west, north)
	case 2:
		o.add(north, east)
	case 4:
		o.add(east, south)
	case 8:
		o.add(south, west)
	case 3:
		o.add(west, east)
	case 6:
		o.add(north, south)
	case 12:
		o.add(east, west)
	case 9:
		o.add(south, north)
	case 14:
		o.add(north, west)
	case 13:
		o.add(east, north)
	case 11:
		o.add(south, east)
	case 7:
		o.add(west, south)
	case 5:
		if joined {
			o.add(west, south)
			o.add(east, north)
		} else {
			o.add(west, north)
			o.add(east, south)
		}
	case 10:
		if joined {
			o.add(north, west)
			o.add(south, east)
		} else {
			o.add(north, east)
			o.add(south, west)
		}
	}
}

func (o *outline) add(from, to crossing) {
	o.order = append(o.order, from)
	o.next[from] = to
}

// polygons links the pieces to rings and gives each hole to its outer ring.
func (o *outline) polygons() orb.MultiPolygon {
	var (
		rings  []orb.Ring
		areas  []float64 // signed, in cells; holes are negative
		ringOf = make(map[crossing]int, len(o.order))
		west   []crossing // the westernmost crossing of each ring on a line eastward
	)
	for _, start := range o.order {
		if _, done := ringOf[start]; done {
			continue
		}
		ring, area := orb.Ring{}, 0.0
		first := crossing{col: math.MaxInt32}
		x0, y0 := o.cell(start)
		for c := start; ; {
			ringOf[c] = len(rings)
			if !c.down && c.col < first.col {
				first = c
			}
			x, y := o.cell(c)
			ring = append(ring, o.frame.lonLat(x, y))
			c = o.next[c]
			nx, ny := o.cell(c)
			// About the start, and rows count southward.
			area -= ((x-x0)*(ny-y0) - (nx-x0)*(y-y0)) / 2
			if c == start {
				break
			}
		}
		rings, areas, west = append(rings, append(ring, ring[0])), append(areas, area), append(west, first)
	}

	var shape orb.MultiPolygon
	place := make([]int, len(rings)) // index of a ring's polygon
	for i, ring := range rings {
		if areas[i] > 0 {
			place[i] = len(shape)
			shape = append(shape, orb.Polygon{ring})
		}
	}
	for i, ring := range rings {
		if areas[i] > 0 {
			continue
		}
		outer := i
		for areas[outer] <= 0 {
			outer = o.westOf(west[outer], ringOf)
		}
		shape[place[outer]] = append(shape[place[outer]], ring)
	}
	return shape
}

// westOf returns the ring that is met first on the way west from a hole. The
// cells between are inside, so that it is the hole's outer ring or another
// hole of it, one that begins further west.
func (o *outline) westOf(c crossing, ringOf map[crossing]int) int {
	for {
		c.col--
		if ring, found := ringOf[c]; found {
			return ring
		}
	}
}

// cell returns the column and row of a crossing.
func (o *outline) cell(c crossing) (col, row float64) {
	col, row = float64(c.col), float64(c.row)
	f := o.fraction(o.ends(c))
	if c.down {
		return col, row + f
	}
	return col + f, row
}

// ends returns the values between which a crossing lies.
func (o *outline) ends(c crossing) (a, b float64) {
	col, row := int(c.col), int(c.row)
	if c.down {
		return o.at(col, row), o.at(col, row+1)
	}
	return o.at(col, row), o.at(col+1, row)
}

// fraction returns how far from a to b the level lies.
func (o *outline) fraction(a, b float64) float64 {
	if math.IsInf(a, 0) || math.IsInf(b, 0) {
		return 0.5
	}
	return min(max((o.level-a)/(b-a), nearest), 1-nearest)
}

// lonLat returns the position of a column and row; longitudes go on beyond 180
// on a grid that runs over that meridian, so that rings have no jump.
func (f Frame) lonLat(col, row float64) orb.Point {
	if f.CRS.LonLat() {
		x, y := f.XY(col, row)
		return orb.Point{x, y}
	}
	return f.Point(col, row)
}
