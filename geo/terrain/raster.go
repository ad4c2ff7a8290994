package terrain

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"io/fs"
	"math"

	"farhail/geo/grid"
)

// Kinds of terrain files, as in Info.Kind.
const (
	KindHGT     = "hgt"
	KindGeoTIFF = "geotiff"
	KindASCII   = "esri-ascii"
)

// raster is one opened file. Its cells are read later, when it is known which
// are wanted.
type raster interface {
	head() *header
	// read hands over the cells of a window, piece by piece: z holds heights in
	// metres from a column and row of the file on, NaN for no data, and is only
	// valid during the call. It returns how many cells held a fill value that
	// the file does not declare.
	read(w window, put func(col, row int, z []float32)) (undeclared int, err error)
}

// header is what a file says before its cells are read.
type header struct {
	file         string
	kind         string
	bytes        int64 // length of the file
	frame        grid.Frame
	registration string
	datum        string
	surface      string
	scale        scale
	notes        []string
	doubt        string // why the cells may be no heights at all, "" for none
}

// scale turns a stored value into metres: (value · factor + offset) · unit.
type scale struct {
	factor, offset float64
	unitM          float64
	unit           string
}

func (s scale) metres(v float64) float32 { return float32((v*s.factor + s.offset) * s.unitM) }

var plainMetres = scale{factor: 1, unitM: 1, unit: "m"}

// window is a block of columns and rows, the last ones excluded.
type window struct{ col0, row0, col1, row1 int }

func whole(f grid.Frame) window { return window{0, 0, f.Cols, f.Rows} }

func (w window) meet(o window) window {
	return window{max(w.col0, o.col0), max(w.row0, o.row0), min(w.col1, o.col1), min(w.row1, o.row1)}
}

func (w window) empty() bool { return w.col0 >= w.col1 || w.row0 >= w.row1 }

// isFill reports whether a stored value, heightM [m] by the file's scale, can
// only mean "no data" although the file does not say so: a mark that raster
// tools write, or a height that no ground has.
func isFill(stored float64, heightM float32) bool {
	return stored == -32768 || stored == -9999 || !(math.Abs(float64(heightM)) < 20000)
}

// source is an open file with random access.
type source struct {
	io.ReaderAt
	name string
	size int64
	file fs.File
}

func (s *source) Close() error { return s.file.Close() }

// maxFile bounds a file that must be read as a whole because its file system
// gives no random access.
const maxFile = 1 << 30

// untilReader reads until its context ends.
type untilReader struct {
	ctx context.Context
	io.ReaderAt
}

func (r untilReader) ReadAt(p []byte, at int64) (int, error) {
	if err := r.ctx.Err(); err != nil {
		return 0, err
	}
	return r.ReaderAt.ReadAt(p, at)
}

// openSource opens a file whose reads fail when a context ends.
func openSource(ctx context.Context, fsys fs.FS, name string) (*source, error) {
	f, err := fsys.Open(name)
	if err != nil {
		return nil, fmt.Errorf("opening terrain: %w", err)
	}
	info, err := f.Stat()
	if err != nil {
		f.Close()
		return nil, fmt.Errorf("opening terrain: %w", err)
	}
	s := &source{name: name, size: info.Size(), file: f}
	if ra, ok := f.(io.ReaderAt); ok {
		s.ReaderAt = untilReader{ctx, ra}
		return s, nil
	}
	data, err := io.ReadAll(io.LimitReader(f, maxFile+1))
	if err == nil && len(data) > maxFile {
		err = &FileError{File: name, At: -1, Text: "file is larger than 1 GiB", Kind: ErrTooLarge}
	}
	if err != nil {
		f.Close()
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	s.ReaderAt, s.size = bytes.NewReader(data), int64(len(data))
	return s, nil
}

// errNotTerrain is returned for a file that is no terrain at all, which a
// folder may well hold.
type errNotTerrain struct{ *FileError }

func (e errNotTerrain) Unwrap() error { return e.FileError }

// errNotHeights is returned for a raster of something else than heights: a
// folder passes over it and says so.
type errNotHeights struct{ *FileError }

func (e errNotHeights) Unwrap() error { return e.FileError }

func notHeights(file, help, format string, args ...any) error {
	return errNotHeights{&FileError{File: file, At: -1, Text: fmt.Sprintf(format, args...), Kind: ErrUnsupported, Help: help}}
}

// openRaster recognises a file by its content.
func openRaster(fsys fs.FS, s *source) (raster, error) {
	var start [512]byte
	n, err := s.ReadAt(start[:], 0)
	if err != nil && err != io.EOF {
		return nil, fmt.Errorf("reading %s: %w", s.name, err)
	}
	b := start[:n]
	switch {
	case bytes.HasPrefix(b, []byte("II*\x00")), bytes.HasPrefix(b, []byte("MM\x00*")),
		bytes.HasPrefix(b, []byte("II+\x00")), bytes.HasPrefix(b, []byte("MM\x00+")):
		return openTIFF(fsys, s)
	case bytes.HasPrefix(b, []byte("PK\x03\x04")):
		return openZip(s)
	case bytes.HasPrefix(b, []byte("\x1f\x8b")):
		return openGzip(s)
	case looksASC(b):
		return openASC(fsys, s)
	}
	if cols, _ := hgtSize(s.size); cols > 0 {
		return openHGT(s)
	}
	if isHGTName(s.name) {
		return nil, notHGT(s, b)
	}
	return nil, errNotTerrain{&FileError{File: s.name, At: 0, Kind: ErrUnsupported,
		Text: "not a terrain file that is read here",
		Help: "give an .hgt tile, a GeoTIFF or an Esri ASCII grid; gdal_translate turns other formats into GeoTIFF"}}
}
