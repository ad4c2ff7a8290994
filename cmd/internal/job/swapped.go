package job

import (
	"context"
	"errors"
	"io/fs"
	"math"

	"github.com/paulmach/orb"

	"farhail/geo/coord"
	"farhail/geo/grid"
	"farhail/geo/terrain"
)

// swapPadDeg is how much terrain around a swapped position is read to see whether
// there is any [degrees].
const swapPadDeg = 0.01

// LoadTerrain is terrain.LoadUntil for the terrain around positions. Where no file
// covers the box, but one holds a position whose latitude and longitude are
// swapped, the error's hint says so; nothing is ever swapped silently.
func LoadTerrain(ctx context.Context, fsys fs.FS, names []string, box orb.Bound, spots ...orb.Point) (*terrain.Terrain, error) {
	t, err := terrain.LoadUntil(ctx, fsys, names, box)
	var outside *terrain.FileError
	if !errors.Is(err, terrain.ErrOutside) || !errors.As(err, &outside) {
		return t, err
	}
	for _, p := range spots {
		q, ok := swapped(p)
		if !ok {
			continue
		}
		other, e := terrain.LoadUntil(ctx, fsys, names, q.Bound().Pad(swapPadDeg))
		if e != nil {
			continue
		}
		if hint := SwapHint(other.Frame, p); hint != "" {
			told := *outside
			told.Help = hint + "; if not, " + told.Help
			return nil, &told
		}
	}
	return nil, err
}

// SwapHint asks whether latitude and longitude of a position were swapped: where
// it lies outside a grid that holds it the other way round. "" for any other.
func SwapHint(f grid.Frame, p orb.Point) string {
	q, ok := swapped(p)
	if !ok || inside(f, p) || !inside(f, q) {
		return ""
	}
	return "did you mean " + coord.Decimal(q) + ", which the terrain holds? latitude comes first"
}

// swapped is the position whose latitude is the other's longitude; ok is false
// where there is none.
func swapped(p orb.Point) (q orb.Point, ok bool) {
	return orb.Point{p.Lat(), p.Lon()}, math.Abs(p.Lon()) <= 90
}

func inside(f grid.Frame, p orb.Point) bool {
	col, row := f.Cell(p)
	return f.Inside(col, row)
}
