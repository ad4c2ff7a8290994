package grid

import (
	"errors"
	"fmt"
	"math"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// ErrFrame says that a frame cannot be used: sizes or coordinates that are
// not finite, not positive or outside the Earth.
var ErrFrame = errors.New("grid: impossible frame")

// wideM is the width [m] from which the scale of a projected grid is taken at
// each place instead of once at its centre.
const wideM = 100_000

// Frame is the place and size of a north-up grid. Columns count from the west,
// rows from the north; whole numbers are cell centres. The zero value holds no
// cells.
type Frame struct {
	CRS        CRS
	X0, Y0     float64 // centre of the north-west cell, in the CRS's units [degrees or m]
	DX, DY     float64 // distance between cell centres, both > 0 [degrees or m]
	Cols, Rows int
}

// Validate returns an error that wraps ErrFrame where the frame is impossible.
func (f Frame) Validate() error {
	for _, v := range []float64{f.X0, f.Y0, f.DX, f.DY} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("%w: origin %g, %g and cell size %g, %g must be finite", ErrFrame, f.X0, f.Y0, f.DX, f.DY)
		}
	}
	if f.Cols < 1 || f.Rows < 1 {
		return fmt.Errorf("%w: %d columns and %d rows", ErrFrame, f.Cols, f.Rows)
	}
	if f.DX <= 0 || f.DY <= 0 {
		return fmt.Errorf("%w: cell size %g by %g", ErrFrame, f.DX, f.DY)
	}
	south := f.Y0 - float64(f.Rows-1)*f.DY
	width := float64(f.Cols-1) * f.DX
	if f.CRS.LonLat() {
		if f.Y0 > 90 || south < -90 || width > 360 || math.Abs(f.X0) > 360 {
			return fmt.Errorf("%w: longitude from %g over %g degrees, latitude %g to %g", ErrFrame, f.X0, width, south, f.Y0)
		}
		return nil
	}
	// Beyond these the UTM coordinates mean no place on the Earth.
	if math.Abs(f.X0) > 5e6 || width > 1e7 || f.Y0 > 2.1e7 || south < -1.1e7 {
		return fmt.Errorf("%w: easting from %g over %g m, northing %g to %g", ErrFrame, f.X0, width, south, f.Y0)
	}
	return nil
}

// Point returns the position of a column and row, fractions allowed.
func (f Frame) Point(col, row float64) orb.Point {
	x, y := f.X0+col*f.DX, f.Y0-row*f.DY
	if f.CRS.LonLat() {
		if x < -180 || x > 180 {
			x = earth.Wrap180(x)
		}
		return orb.Point{x, y}
	}
	return f.CRS.utm().Inverse(x, y)
}

// Cell returns the column and row of a position. They may lie outside the
// grid; see [Frame.Inside].
func (f Frame) Cell(p orb.Point) (col, row float64) {
	if !f.CRS.LonLat() {
		return f.CellXY(f.CRS.utm().Forward(p))
	}
	x := p.Lon()
	// A grid may run over the 180th meridian: take the longitude's turn that
	// is nearest to the grid's middle.
	if middle := f.X0 + float64(f.Cols-1)/2*f.DX; math.Abs(x-middle) > 180 {
		x = middle + math.Remainder(x-middle, 360)
	}
	return f.CellXY(x, p.Lat())
}

// CellXY returns the column and row of coordinates in the grid's own CRS.
func (f Frame) CellXY(x, y float64) (col, row float64) {
	return (x - f.X0) / f.DX, (f.Y0 - y) / f.DY
}

// XY returns the coordinates of a column and row in the grid's own CRS.
func (f Frame) XY(col, row float64) (x, y float64) {
	return f.X0 + col*f.DX, f.Y0 - row*f.DY
}

// Part returns the frame of some of the cells: those from a column and row up to,
// not with, another.
func (f Frame) Part(col0, row0, col1, row1 int) Frame {
	f.X0, f.Y0 = f.XY(float64(col0), float64(row0))
	f.Cols, f.Rows = col1-col0, row1-row0
	return f
}

// Inside reports whether a column and row lie in the rectangle of the cell
// centres, its edge included: where the grid can be sampled.
func (f Frame) Inside(col, row float64) bool {
	return col >= -slack && row >= -slack && col <= float64(f.Cols-1)+slack && row <= float64(f.Rows-1)+slack
}

// Metres returns the ground length of a cell's sides in a row [m].
//
// On longitude and latitude they are the ellipsoid's metres per degree at the
// row's latitude. On a projected grid they are the grid's lengths divided by
// the point scale at the middle column; away from it the scale differs by at
// most 0.04 % within a grid 100 km wide and 0.14 % within a whole zone
// ([Frame.MetresAt] follows it there).
func (f Frame) Metres(row int) (eastM, northM float64) {
	return f.MetresAt(float64(f.Cols-1)/2, float64(row))
}

// MetresAt returns the ground length of a cell's sides around a column and row
// [m], as [Frame.Metres] does. Projected grids under 100 km wide have one scale,
// that of their centre (error below 0.04 %: the scale 1 + E²/2R² changes by
// 50 km · E/R² over half the width, and E is at most 334 km in a zone); wider
// ones have the scale of the place.
func (f Frame) MetresAt(col, row float64) (eastM, northM float64) {
	if f.CRS.LonLat() {
		e, n := earth.MetresPerDegree(f.Y0 - row*f.DY)
		return e * f.DX, n * f.DY
	}
	if f.OneScale() {
		col, row = float64(f.Cols-1)/2, float64(f.Rows-1)/2
	}
	tm := f.CRS.utm()
	k := tm.Scale(tm.Inverse(f.XY(col, row)))
	return f.DX / k, f.DY / k
}

// OneScale reports whether all cells have the same ground size: projected grids
// under 100 km wide.
func (f Frame) OneScale() bool { return !f.CRS.LonLat() && float64(f.Cols)*f.DX < wideM }

// AreaM2 returns the ground area of one cell of a row [m²], the product of its
// sides. On longitude and latitude it differs from the ellipsoid's area by
// less than 1e-6 for cells up to a tenth of a degree.
func (f Frame) AreaM2(row int) float64 {
	e, n := f.Metres(row)
	return e * n
}

// Bound returns the box of longitude and latitude around the cells, half a
// cell beyond the outer centres. Its corners are not wrapped at the 180th
// meridian: on a grid that runs over it Max.Lon exceeds 180.
func (f Frame) Bound() orb.Bound {
	w, e := -0.5, float64(f.Cols)-0.5
	n, s := -0.5, float64(f.Rows)-0.5
	if f.CRS.LonLat() {
		return orb.Bound{
			Min: orb.Point{f.X0 + w*f.DX, f.Y0 - s*f.DY},
			Max: orb.Point{f.X0 + e*f.DX, f.Y0 - n*f.DY},
		}
	}
	b := f.Point(w, n).Bound()
	// The edges are curved in longitude and latitude: walk along them.
	const steps = 16
	for i := 0.0; i <= steps; i++ {
		t := i / steps
		for _, p := range []orb.Point{
			f.Point(w+t*(e-w), n), f.Point(w+t*(e-w), s),
			f.Point(w, n+t*(s-n)), f.Point(e, n+t*(s-n)),
		} {
			b = b.Extend(p)
		}
	}
	return b
}

func (c CRS) utm() *earth.TM { return earth.UTM(c.Zone, c.South) }
