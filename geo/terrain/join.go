package terrain

import (
	"fmt"
	"math"
	"strings"

	"farhail/geo/grid"

	"github.com/paulmach/orb"
)

// tile is an opened file and its place in the joined grid.
type tile struct {
	raster
	src      *source
	col, row int // of its north-west cell
}

// tileSet is the files of one terrain.
type tileSet struct {
	tiles  []*tile
	near   []*tile      // that a box misses by less than a cell
	passed []*FileError // rasters of folders that hold no heights
}

func (s *tileSet) close() {
	for _, t := range append(s.tiles, s.near...) {
		t.src.Close()
	}
}

// bridge takes in the tiles that a box only just misses where it ends between
// the outer cells of two tiles, so that it cannot be sampled without both.
func (s *tileSet) bridge(box orb.Bound) {
	box = unwrap(box)
	for _, p := range []orb.Point{box.Min, box.Max, box.LeftTop(), box.RightBottom()} {
		if !s.holds(p) {
			s.tiles, s.near = append(s.tiles, s.near...), nil
			return
		}
	}
}

// holds reports whether a single tile can be sampled at a position.
func (s *tileSet) holds(p orb.Point) bool {
	for _, t := range s.tiles {
		if f := t.head().frame; f.Inside(f.Cell(p)) {
			return true
		}
	}
	return false
}

// off is by how much of a cell files may miss a common lattice. Coordinates
// written with 12 digits miss it by 1e-7 of a cell, grids that were made apart
// by anything up to half a cell.
const off = 0.01

// join places the tiles on the lattice of the first and returns the frame
// around them all.
func (s *tileSet) join() (grid.Frame, error) {
	f := s.tiles[0].head().frame
	all := whole(f)
	for _, t := range s.tiles[1:] {
		g := t.head().frame
		if g.CRS.LonLat() && f.CRS.LonLat() {
			// Tiles on both sides of the 180th meridian join there.
			g.X0 = f.X0 + math.Remainder(g.X0-f.X0, 360)
		}
		col, row := f.CellXY(g.X0, g.Y0)
		apart := max(math.Abs(col-math.Round(col)), math.Abs(row-math.Round(row)))
		stretch := max(math.Abs(g.DX-f.DX)/f.DX*float64(g.Cols), math.Abs(g.DY-f.DY)/f.DY*float64(g.Rows))
		switch {
		case g.CRS != f.CRS:
			return f, s.mixed(t, fmt.Sprintf("its coordinates are %v, those of %s %v", g.CRS, s.tiles[0].head().file, f.CRS))
		case stretch > off:
			if thinsOut(f, g) {
				return f, s.mixed(t, fmt.Sprintf("its cells are %.9g degrees from west to east, those of %s %.9g: the tiles of many data sets thin out towards the poles, at 50, 60, 70, 75, 80 or 85 degrees", g.DX, s.tiles[0].head().file, f.DX))
			}
			return f, s.mixed(t, fmt.Sprintf("its cells are %.9g by %.9g, those of %s %.9g by %.9g", g.DX, g.DY, s.tiles[0].head().file, f.DX, f.DY))
		case apart > off:
			return f, s.mixed(t, fmt.Sprintf("its cells lie %.2f of a cell beside those of %s", apart, s.tiles[0].head().file))
		case math.Abs(col) > 1e8 || math.Abs(row) > 1e8:
			return f, s.mixed(t, fmt.Sprintf("it lies too far from %s", s.tiles[0].head().file))
		}
		t.col, t.row = int(math.Round(col)), int(math.Round(row))
		all.col0, all.row0 = min(all.col0, t.col), min(all.row0, t.row)
		all.col1, all.row1 = max(all.col1, t.col+g.Cols), max(all.row1, t.row+g.Rows)
	}
	for _, t := range s.tiles {
		t.col -= all.col0
		t.row -= all.row0
	}
	return f.Part(all.col0, all.row0, all.col1, all.row1), nil
}

// thinsOut reports whether two grids of degrees differ only in their spacing
// from west to east, which data sets of the whole Earth widen where the meridians
// converge.
func thinsOut(f, g grid.Frame) bool {
	return f.CRS.LonLat() && g.CRS.LonLat() && math.Abs(g.DY-f.DY)/f.DY*float64(g.Rows) <= off
}

// mixed returns the error for a tile that does not fit, with the command that
// puts it on the first one's lattice.
func (s *tileSet) mixed(t *tile, why string) error {
	f, name := s.tiles[0].head().frame, t.head().file
	b := t.head().frame.Bound()
	w, n := math.Inf(1), math.Inf(1)
	e, south := math.Inf(-1), math.Inf(-1)
	for _, p := range []orb.Point{b.Min, b.Max, b.LeftTop(), b.RightBottom()} {
		col, row := f.Cell(p)
		w, e, n, south = min(w, col), max(e, col), min(n, row), max(south, row)
	}
	x0, y0 := f.XY(math.Floor(w)-0.5, math.Ceil(south)+0.5)
	x1, y1 := f.XY(math.Ceil(e)+0.5, math.Floor(n)-0.5)
	return &FileError{File: name, At: -1, Kind: ErrMixed, Text: "does not fit the other terrain: " + why,
		Help: fmt.Sprintf("run: gdalwarp -t_srs %v -tr %.12g %.12g -te %.12g %.12g %.12g %.12g -r bilinear %s out.tif", f.CRS, f.DX, f.DY, x0, y0, x1, y1, name)}
}

// boxWindow returns the cells of a frame in a box and one around, so that every
// position in the box can be sampled; none where the box misses the cells' centres
// by more than a number of cells.
func boxWindow(f grid.Frame, box orb.Bound, by float64) window {
	box = unwrap(box)
	w, n := math.Inf(1), math.Inf(1)
	e, s := math.Inf(-1), math.Inf(-1)
	see := func(col, row float64) {
		w, e, n, s = min(w, col), max(e, col), min(n, row), max(s, row)
	}
	if f.CRS.LonLat() {
		// Both edges on the same turn, the one nearest to the grid.
		middle := f.X0 + float64(f.Cols-1)/2*f.DX
		turn := 360 * math.Round((middle-(box.Min.Lon()+box.Max.Lon())/2)/360)
		see(f.CellXY(box.Min.Lon()+turn, box.Min.Lat()))
		see(f.CellXY(box.Max.Lon()+turn, box.Max.Lat()))
	} else {
		const steps = 16
		for i := 0.0; i <= steps; i++ {
			lon := box.Min.Lon() + i/steps*(box.Max.Lon()-box.Min.Lon())
			lat := box.Min.Lat() + i/steps*(box.Max.Lat()-box.Min.Lat())
			for _, p := range []orb.Point{{lon, box.Min.Lat()}, {lon, box.Max.Lat()}, {box.Min.Lon(), lat}, {box.Max.Lon(), lat}} {
				see(f.Cell(p))
			}
		}
	}
	// Written so that a box beyond the projection, which gives NaN, is empty.
	if !(w <= e && n <= s) || e < -by || s < -by || w > float64(f.Cols-1)+by || n > float64(f.Rows-1)+by {
		return window{}
	}
	limit := func(x float64, count int) int { return int(min(max(x, 0), float64(count))) }
	return window{
		limit(math.Floor(w)-1, f.Cols), limit(math.Floor(n)-1, f.Rows),
		limit(math.Ceil(e)+2, f.Cols), limit(math.Ceil(s)+2, f.Rows),
	}
}

// unwrap gives a box over the 180th meridian an eastern edge beyond 180.
func unwrap(box orb.Bound) orb.Bound {
	if box.Min.Lon() > box.Max.Lon() {
		box.Max[0] += 360
	}
	return box
}

// missing names the one-degree tiles whose part in the box no file covers, by
// the corners and the middle of that part.
func (s *tileSet) missing(box orb.Bound) []string {
	if box == (orb.Bound{}) {
		return nil
	}
	var names []string
	eachTile(box, func(name string, part orb.Bound) {
		for _, p := range []orb.Point{part.Min, part.Max, part.LeftTop(), part.RightBottom(), part.Center()} {
			if !s.covers(p) {
				names = append(names, name)
				return
			}
		}
	})
	return names
}

func (s *tileSet) covers(p orb.Point) bool {
	for _, t := range s.tiles {
		f := t.head().frame
		// The cells of tiles that abut without sharing an edge reach half a cell
		// beyond their centres.
		if col, row := f.Cell(p); col >= -0.51 && row >= -0.51 && col <= float64(f.Cols)-0.49 && row <= float64(f.Rows)-0.49 {
			return true
		}
	}
	return false
}

// TilesFor returns the names of the one-degree tiles that cover a box, such as
// N42E001, named after their south-west corners, from south to north and west
// to east. A box over the 180th meridian has Min.Lon > Max.Lon or
// Max.Lon > 180.
func TilesFor(box orb.Bound) []string {
	var names []string
	eachTile(box, func(name string, _ orb.Bound) { names = append(names, name) })
	return names
}

// ListTiles writes the names of tiles for a message: all of a few, else the first
// and the last and how many.
func ListTiles(names []string) string {
	if len(names) <= 12 {
		return strings.Join(names, " ")
	}
	return fmt.Sprintf("%s to %s, %d in all", names[0], names[len(names)-1], len(names))
}

// eachTile calls visit with each tile's name and its part of the box.
func eachTile(box orb.Bound, visit func(name string, part orb.Bound)) {
	box = unwrap(box)
	// A tile holds its northern and eastern edges too: an edge on a whole degree
	// needs no further tile.
	last := func(lo, hi float64) float64 { return max(math.Floor(lo), math.Ceil(hi)-1) }
	south, north := max(math.Floor(box.Min.Lat()), -90), min(last(box.Min.Lat(), box.Max.Lat()), 89)
	west := math.Floor(box.Min.Lon())
	east := min(last(box.Min.Lon(), box.Max.Lon()), west+359)
	if math.IsInf(west, 0) || math.IsNaN(east) {
		return
	}
	for lat := south; lat <= north; lat++ {
		for lon := west; lon <= east; lon++ {
			part := orb.Bound{
				Min: orb.Point{max(lon, box.Min.Lon()), max(lat, box.Min.Lat())},
				Max: orb.Point{min(lon+1, box.Max.Lon()), min(lat+1, box.Max.Lat())},
			}
			visit(tileName(lat, lon), part)
		}
	}
}

// tileName returns the name of the tile with a south-west corner; the longitude
// may be of any turn.
func tileName(lat, lon float64) string {
	lon -= 360 * math.Floor((lon+180)/360)
	ns, ew := 'N', 'E'
	if lat < 0 {
		ns = 'S'
	}
	if lon < 0 {
		ew = 'W'
	}
	return fmt.Sprintf("%c%02.0f%c%03.0f", ns, math.Abs(lat), ew, math.Abs(lon))
}
