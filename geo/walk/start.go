package walk

import (
	"math"

	"farhail/geo/earth"
	"farhail/geo/grid"

	"github.com/paulmach/orb"
)

// Within returns the cells that an error ellipse around a position may touch,
// all with one delay [s]: those whose centres lie in it or within half a cell's
// diagonal of it, and always the cell of the position itself, the first. Rounding is
// outward, because rings are outer limits. Cells just beyond the grid's edge
// are among them, so that [Reach] knows that the start may lie off the terrain.
// An ellipse of NaN counts as a point. The error is [earth.ErrTooFar] where the
// ellipse reaches beyond 300 km.
func Within(f grid.Frame, centre orb.Point, e earth.Ellipse, delayS float64) ([]Start, error) {
	col, row := f.Cell(centre)
	home := Start{Col: int(math.Round(col)), Row: int(math.Round(row)), DelayS: delayS}
	starts := []Start{home}
	east, north := f.MetresAt(col, row)
	if !(e.MajorM > 0) {
		e = earth.Ellipse{}
	}
	half := math.Hypot(east, north) / 2
	major, minor := e.MajorM+half, e.MinorM+half
	// One cell more on all sides: rows of a grid on longitude and latitude are
	// of unlike width.
	dc, dr := int(major/east)+1, int(major/north)+1
	local := earth.NewLocal(centre)
	sin, cos := math.Sincos(e.AzimuthDeg * math.Pi / 180)
	for r := max(home.Row-dr, -1); r <= min(home.Row+dr, f.Rows); r++ {
		for c := max(home.Col-dc, -1); c <= min(home.Col+dc, f.Cols); c++ {
			if c == home.Col && r == home.Row {
				continue
			}
			x, y, err := local.Forward(f.Point(float64(c), float64(r)))
			if err != nil {
				return nil, err
			}
			along, across := x*sin+y*cos, x*cos-y*sin
			if math.Hypot(along/major, across/minor) <= 1 {
				starts = append(starts, Start{Col: c, Row: r, DelayS: delayS})
			}
		}
	}
	return starts, nil
}
