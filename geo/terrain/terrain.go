package terrain

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"path"
	"strings"

	"farhail/geo/grid"

	"github.com/paulmach/orb"
)

// MaxCells bounds the grid that Load makes: 1 GiB of heights.
const MaxCells = 1 << 28

// Terrain is a grid of ground heights [m] and what is known about it.
type Terrain struct {
	grid.Heights
	Info  Info
	burnt map[int]bool // cells that a measured height was set into
}

// Info says where a terrain comes from. Words that a file does not state are
// "unknown".
type Info struct {
	Files        []string // files that gave cells, in the order given
	Kind         string   // KindHGT, KindGeoTIFF, KindASCII, or several with "+"
	Registration string   // what the file's coordinates name: "point" the cell centre, "area" its corner
	Unit         string   // unit in the file; the heights are metres
	Scale        float64  // height = (stored · Scale + Offset) in Unit
	Offset       float64
	Datum        string  // vertical datum
	Surface      string  // SurfaceTops, SurfaceGround or SurfaceUnknown, or several with "+"; see [Info.Caution]
	CellEastM    float64 // ground length of the middle cell's sides [m]
	CellNorthM   float64
	Known        int // cells with a height
	Voids        int // cells without
	Undeclared   int // of these, cells with a fill value that the file does not declare
	Seam         int // cells that two files give
	SeamDiffer   int // of these, with different heights; the first file's is taken
	MinM, MaxM   float64
	Missing      []string // one-degree tiles that no file covers in full: of the box, or without one between files of degrees
	PassedOver   []string // files of a folder that hold no heights, with their reason in Notes
	Notes        []string // what was assumed, for the user
}

// Load reads terrain files and joins them. A name may be a file or a folder,
// whose files that are no terrain are passed over: texts and pictures, and
// rasters whose cells are no heights or hardly (8-bit cells are mostly classes
// of ground cover), which Info.PassedOver lists. With a box only the cells in
// it and one around are kept, and files outside it are not read; the zero box
// means everything. A box over the 180th meridian has Min.Lon > Max.Lon or
// Max.Lon > 180.
//
// Files must share coordinates and cell size and lie on one lattice of cells;
// else the error wraps ErrMixed. Where they overlap the first that has a height
// gives it. Errors are *FileError or *TextError, or wrap those of fsys.
func Load(fsys fs.FS, names []string, box orb.Bound) (*Terrain, error) {
	return LoadUntil(context.Background(), fsys, names, box)
}

// LoadUntil is [Load] that stops reading when a context ends, and then returns the
// context's error.
func LoadUntil(ctx context.Context, fsys fs.FS, names []string, box orb.Bound) (*Terrain, error) {
	t, err := load(ctx, fsys, names, box)
	if ended := ctx.Err(); ended != nil {
		return nil, ended // whatever a reader made of it
	}
	return t, err
}

func load(ctx context.Context, fsys fs.FS, names []string, box orb.Bound) (*Terrain, error) {
	var set tileSet
	defer set.close()
	for _, name := range names {
		if err := set.add(ctx, fsys, name, box); err != nil {
			return nil, err
		}
	}
	if box != (orb.Bound{}) {
		set.bridge(box)
	}
	if len(set.tiles) == 0 {
		return nil, set.outside(names, box)
	}
	frame, err := set.join()
	if err != nil {
		return nil, err
	}
	w := whole(frame)
	if box != (orb.Bound{}) {
		if w = boxWindow(frame, box, 0); w.empty() {
			return nil, set.outside(names, box)
		}
	}
	if err := set.checkRoom(names, w); err != nil {
		return nil, err
	}
	t := &Terrain{Heights: grid.Heights{Frame: frame.Part(w.col0, w.row0, w.col1, w.row1)}}
	t.Z = make([]float32, t.Cols*t.Rows)
	// Memory that nobody touches costs nothing: a file that claims more cells
	// than it holds fails before its grid is filled.
	alone := len(set.tiles) == 1 && set.tiles[0].own(w).cells() == w.cells()
	if !alone {
		for i := range t.Z {
			t.Z[i] = nan32
		}
	}
	for _, tile := range set.tiles {
		if err := t.fill(tile, w, alone); err != nil {
			return nil, err
		}
	}
	t.measure()
	around := box
	if around == (orb.Bound{}) && len(set.tiles) > 1 && frame.CRS.LonLat() {
		around = orb.Bound{Min: frame.Point(0, float64(frame.Rows-1)), Max: orb.Point{frame.X0 + float64(frame.Cols-1)*frame.DX, frame.Y0}}
	}
	t.Info.Missing = set.missing(around)
	for _, p := range set.passed {
		t.Info.PassedOver = append(t.Info.PassedOver, p.File)
		t.Info.Notes = append(t.Info.Notes, p.File+": passed over: "+p.Text)
	}
	return t, nil
}

// fill copies a tile's cells of a window of the joined grid, all of whose cells
// a tile alone gives.
func (t *Terrain) fill(tile *tile, w window, alone bool) error {
	own := tile.own(w)
	if own.empty() {
		return nil
	}
	undeclared, err := tile.read(own, func(col, row int, z []float32) {
		at := (row+tile.row-w.row0)*t.Cols + col + tile.col - w.col0
		if alone {
			copy(t.Z[at:], z)
			return
		}
		for i, v := range z {
			old := &t.Z[at+i]
			switch {
			case *old != *old:
				*old = v
			case v == v:
				t.Info.Seam++
				if v != *old {
					t.Info.SeamDiffer++
				}
			}
		}
	})
	if err != nil {
		return err
	}
	t.Info.describe(tile.head(), undeclared)
	return nil
}

// describe adds a file's words.
func (i *Info) describe(h *header, undeclared int) {
	first := len(i.Files) == 0
	i.Files = append(i.Files, h.file)
	i.Undeclared += undeclared
	for _, w := range []struct {
		to    *string
		value string
	}{{&i.Kind, h.kind}, {&i.Registration, h.registration}, {&i.Unit, h.scale.unit}, {&i.Datum, h.datum}, {&i.Surface, h.surface}} {
		if first {
			*w.to = w.value
		} else if !hasWord(*w.to, w.value) {
			*w.to += "+" + w.value
		}
	}
	if first {
		i.Scale, i.Offset = h.scale.factor, h.scale.offset
	}
	if h.doubt != "" {
		i.Notes = append(i.Notes, h.file+": read as heights, though "+h.doubt)
	}
	for _, note := range h.notes {
		i.Notes = append(i.Notes, h.file+": "+note)
	}
	if undeclared > 0 {
		i.Notes = append(i.Notes, fmt.Sprintf("%s: %d cells hold a fill value that the file does not declare; taken as no data", h.file, undeclared))
	}
}

func hasWord(list, word string) bool {
	for _, w := range strings.Split(list, "+") {
		if w == word {
			return true
		}
	}
	return false
}

// measure counts the cells and finds the least and greatest height, NaN where
// there is none.
func (t *Terrain) measure() {
	lo, hi := float32(math.Inf(1)), float32(math.Inf(-1))
	for _, z := range t.Z {
		if z != z {
			t.Info.Voids++
			continue
		}
		lo, hi = min(lo, z), max(hi, z)
	}
	t.Info.Known = len(t.Z) - t.Info.Voids
	t.Info.CellEastM, t.Info.CellNorthM = t.MetresAt(float64(t.Cols-1)/2, float64(t.Rows-1)/2)
	t.Info.MinM, t.Info.MaxM = float64(lo), float64(hi)
	if t.Info.Known == 0 {
		t.Info.MinM, t.Info.MaxM = math.NaN(), math.NaN()
	}
	if t.Info.SeamDiffer > 0 {
		t.Info.Notes = append(t.Info.Notes, fmt.Sprintf("%d of %d cells that two files give differ; the first file's height is taken", t.Info.SeamDiffer, t.Info.Seam))
	}
	if strings.Contains(t.Info.Datum, "+") {
		t.Info.Notes = append(t.Info.Notes, "the files' heights are in different vertical datums ("+t.Info.Datum+"); steps at the seams are possible")
	}
}

// outside returns the error for a box without terrain.
func (s *tileSet) outside(names []string, box orb.Bound) error {
	e := &FileError{File: strings.Join(names, ","), At: -1, Kind: ErrOutside, Text: "no terrain file found",
		Help: "give .hgt tiles, GeoTIFF or Esri ASCII grids, or a folder of them"}
	if box != (orb.Bound{}) {
		e.Text = "no terrain in the area asked for"
		e.Help = "it needs the tiles " + ListTiles(TilesFor(box))
	}
	if len(s.passed) > 0 {
		p := s.passed[0]
		e.Help += fmt.Sprintf("; passed over was %s (%s)", p.File, p.Text)
	}
	return e
}

// add opens a file, or the files of a folder, and keeps those that meet a box.
func (s *tileSet) add(ctx context.Context, fsys fs.FS, name string, box orb.Bound) error {
	info, err := fs.Stat(fsys, name)
	if err != nil {
		return fmt.Errorf("opening terrain: %w", err)
	}
	if !info.IsDir() {
		return s.open(ctx, fsys, name, box, true)
	}
	entries, err := fs.ReadDir(fsys, name)
	if err != nil {
		return fmt.Errorf("opening terrain: %w", err)
	}
	for _, e := range entries {
		if e.IsDir() {
			continue
		}
		err := s.open(ctx, fsys, path.Join(name, e.Name()), box, false)
		var other errNotTerrain
		var raster errNotHeights
		switch {
		case errors.As(err, &raster):
			s.passed = append(s.passed, raster.FileError)
		case err != nil && !errors.As(err, &other):
			return err
		}
	}
	return nil
}

// open opens a file and keeps it if it meets a box. A raster that hardly holds
// heights is believed where the user named it.
func (s *tileSet) open(ctx context.Context, fsys fs.FS, name string, box orb.Bound, named bool) error {
	src, err := openSource(ctx, fsys, name)
	if err != nil {
		return err
	}
	r, err := openRaster(fsys, src)
	if err != nil {
		src.Close()
		return err
	}
	if doubt := r.head().doubt; doubt != "" && !named {
		src.Close()
		return notHeights(name, "name the file itself to have it read as heights", "%s", doubt)
	}
	t := &tile{raster: r, src: src}
	switch f := r.head().frame; {
	case box == (orb.Bound{}) || !boxWindow(f, box, 0).empty():
		s.tiles = append(s.tiles, t)
	case !boxWindow(f, box, 1).empty():
		s.near = append(s.near, t)
	default:
		return src.Close()
	}
	return nil
}

// AtSeaLevel reports whether a column and row lie on a flat of exactly 0 m: the
// nearest cell and all its neighbours. In most terrains that is the sea, or a
// gap that somebody filled with 0.
func (t *Terrain) AtSeaLevel(col, row float64) bool {
	if !t.Inside(col, row) {
		return false
	}
	c, r := int(math.Round(col)), int(math.Round(row))
	for y := max(r-1, 0); y <= min(r+1, t.Rows-1); y++ {
		for x := max(c-1, 0); x <= min(c+1, t.Cols-1); x++ {
			if t.At(x, y) != 0 {
				return false
			}
		}
	}
	return true
}
