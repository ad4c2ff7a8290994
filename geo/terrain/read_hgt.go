package terrain

import (
	"archive/zip"
	"bufio"
	"compress/gzip"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"path"
	"regexp"
	"strconv"
	"strings"

	"farhail/geo/grid"
)

// hgtVoid marks a cell without a height in an .hgt tile (SRTM Quick Start).
const hgtVoid = -32768

// An .hgt tile is a grid of big-endian 16-bit integers, row by row from the
// north-west, over one degree with the outer cell centres on whole degrees:
// neighbours share a row or column.
type hgt struct {
	src io.ReaderAt // nil for a packed tile
	in  packedTile
	h   header
}

// hgtSizes are the grids that tiles come in: only the length of the file tells
// which. 1801 by 3601 is 2 by 1 arc-seconds, used towards the poles; half an
// arc-second is the finest.
var hgtSizes = []struct{ cols, rows int }{{1201, 1201}, {3601, 3601}, {1801, 3601}, {7201, 7201}}

// hgtSize returns the columns and rows of a tile of a length in bytes, 0 for
// none.
func hgtSize(length int64) (cols, rows int) {
	for _, s := range hgtSizes {
		if length == int64(2*s.cols*s.rows) {
			return s.cols, s.rows
		}
	}
	return 0, 0
}

// hgtLengths lists the lengths of tiles for a message.
func hgtLengths() string {
	var list []string
	for _, s := range hgtSizes {
		list = append(list, fmt.Sprintf("%d (%d by %d)", 2*s.cols*s.rows, s.cols, s.rows))
	}
	return strings.Join(list, ", ")
}

// hgtName finds a corner in a name: N42E001, n46_e007_1arc_v3, x_S33W071.
var hgtName = regexp.MustCompile(`(?i)(?:^|[^a-z0-9])([NS])(\d\d)_?([EW])(\d\d\d)`)

// hgtCorner returns the south-west cell centre that a file's name gives, such
// as N42E001.hgt.
func hgtCorner(name string) (lon, lat float64, ok bool) {
	name = path.Base(name)
	at := hgtName.FindAllStringSubmatchIndex(name, 2)
	if len(at) != 1 || strings.ContainsAny(name[at[0][1]:min(at[0][1]+1, len(name))], "0123456789") {
		return 0, 0, false // none, two, or more figures than a corner has
	}
	m := hgtName.FindStringSubmatch(name)
	lat, _ = strconv.ParseFloat(m[2], 64)
	lon, _ = strconv.ParseFloat(m[4], 64)
	if strings.EqualFold(m[1], "S") {
		lat = -lat
	}
	if strings.EqualFold(m[3], "W") {
		lon = -lon
	}
	return lon, lat, lat >= -90 && lat < 90 && lon >= -180 && lon < 180
}

// newHGT makes the tile of a length in bytes whose corner a name gives.
func newHGT(file, name string, length int64) (*hgt, error) {
	cols, rows := hgtSize(length)
	if cols == 0 {
		return nil, wrongHGT(file, name, length)
	}
	lon, lat, ok := hgtCorner(name)
	if !ok {
		return nil, unsupported(file, "name it after its south-west corner, such as N42E001.hgt or S13W078.hgt", "an .hgt tile without its corner in the name")
	}
	return &hgt{h: header{
		file: file, kind: KindHGT, bytes: length, registration: "point", datum: "EGM96", surface: SurfaceTops, scale: plainMetres,
		frame: grid.Frame{X0: lon, Y0: lat + 1, DX: 1 / float64(cols-1), DY: 1 / float64(rows-1), Cols: cols, Rows: rows},
	}}, nil
}

func wrongHGT(file, name string, length int64) error {
	e := malformed(file, -1, "an .hgt tile of %d bytes; there are tiles of %s", length, hgtLengths()).(*FileError)
	if path.Base(name) != path.Base(file) {
		e.Text = name + ": " + e.Text
	}
	e.Help = "it was cut short or is another kind of file: fetch it again"
	return e
}

// isHGTName reports whether a name says that a file is a tile.
func isHGTName(name string) bool { return strings.EqualFold(path.Ext(name), ".hgt") }

// notHGT returns the error for a file that is named a tile and holds none.
func notHGT(s *source, start []byte) error {
	// What a server sends instead of a tile is a text.
	if text := strings.TrimSpace(string(start[:min(len(start), 60)])); strings.HasPrefix(text, "{") || strings.HasPrefix(text, "<") {
		return unsupported(s.name, "it is what a server sent instead of the tile: fetch it again", "not a terrain file: it begins with %q", text)
	}
	return wrongHGT(s.name, s.name, s.size)
}

func openHGT(s *source) (raster, error) {
	t, err := newHGT(s.name, s.name, s.size)
	if err != nil {
		return nil, err
	}
	t.src = s
	return t, nil
}

// packedTile is a compressed tile: its name, its declared length and how to
// read it. The length is checked before a byte is unpacked.
type packedTile struct {
	name           string
	length, packed int64
	open           func() (io.ReadCloser, error)
}

// openZip opens the one .hgt tile in a zip archive.
func openZip(s *source) (raster, error) {
	archive, err := zip.NewReader(s, s.size)
	if err != nil {
		return nil, malformed(s.name, 0, "zip archive: %v", err)
	}
	var tile *zip.File
	for _, f := range archive.File {
		if !isHGTName(f.Name) {
			continue
		}
		if tile != nil {
			return nil, unsupported(s.name, "unpack it and give the folder", "several tiles in one zip archive")
		}
		tile = f
	}
	if tile == nil {
		return nil, errNotTerrain{&FileError{File: s.name, At: -1, Kind: ErrUnsupported,
			Text: "no .hgt tile in the zip archive", Help: "unpack it and give the terrain file inside"}}
	}
	return openPacked(s, packedTile{tile.Name, clampInt64(tile.UncompressedSize64), clampInt64(tile.CompressedSize64), tile.Open})
}

// openGzip opens a gzipped .hgt tile.
func openGzip(s *source) (raster, error) {
	if !isHGTName(strings.TrimSuffix(s.name, path.Ext(s.name))) {
		return nil, errNotTerrain{&FileError{File: s.name, At: -1, Kind: ErrUnsupported,
			Text: "a gzipped file that is not named a tile", Help: "unpack it with gunzip"}}
	}
	// The last four bytes are the length unpacked (RFC 1952, section 2.3.1).
	var tail [4]byte
	if n, _ := s.ReadAt(tail[:], s.size-4); n < len(tail) {
		return nil, malformed(s.name, s.size, "the file ends too early")
	}
	return openPacked(s, packedTile{s.name, int64(binary.LittleEndian.Uint32(tail[:])), s.size, func() (io.ReadCloser, error) {
		return gzip.NewReader(io.NewSectionReader(s, 0, s.size))
	}})
}

func openPacked(s *source, in packedTile) (raster, error) {
	name := in.name
	if _, _, ok := hgtCorner(name); !ok {
		name = s.name
	}
	t, err := newHGT(s.name, name, in.length)
	if err != nil {
		return nil, err
	}
	if in.length/maxPacking > in.packed {
		return nil, malformed(s.name, -1, "%s: %d packed bytes cannot hold %d", in.name, in.packed, in.length)
	}
	t.in, t.h.bytes = in, in.packed
	return t, nil
}

func clampInt64(v uint64) int64 { return int64(min(v, math.MaxInt64)) }

func (t *hgt) head() *header { return &t.h }

func (t *hgt) read(w window, put func(col, row int, z []float32)) (undeclared int, err error) {
	if t.src == nil {
		return t.readPacked(w, put)
	}
	raw, z := make([]byte, 2*(w.col1-w.col0)), make([]float32, w.col1-w.col0)
	for row := w.row0; row < w.row1; row++ {
		at := 2 * (int64(row)*int64(t.h.frame.Cols) + int64(w.col0))
		if got, err := t.src.ReadAt(raw, at); got < len(raw) {
			return 0, malformed(t.h.file, at+int64(got), "the tile ends too early: %v", err)
		}
		undeclared += hgtHeights(z, raw)
		put(w.col0, row, z)
	}
	return undeclared, nil
}

// readPacked reads a packed tile row by row, always to its end, where the
// archive compares its checksum.
func (t *hgt) readPacked(w window, put func(col, row int, z []float32)) (undeclared int, err error) {
	fault := func(format string, v any) error {
		return malformed(t.h.file, -1, "%s: "+format, t.in.name, v)
	}
	r, err := t.in.open()
	if err != nil {
		return 0, fault("%v", err)
	}
	defer r.Close()
	in := bufio.NewReaderSize(r, 1<<16)
	raw, z := make([]byte, 2*t.h.frame.Cols), make([]float32, w.col1-w.col0)
	for row := range t.h.frame.Rows {
		if _, err := io.ReadFull(in, raw); err != nil {
			return 0, fault("%v", err)
		}
		if row >= w.row0 && row < w.row1 {
			undeclared += hgtHeights(z, raw[2*w.col0:])
			put(w.col0, row, z)
		}
	}
	if _, err := in.ReadByte(); err != io.EOF {
		return 0, fault("longer than declared, or a wrong checksum (%v)", err)
	}
	return undeclared, nil
}

// hgtHeights decodes cells, NaN for no data, and returns how many held a fill
// value of other formats: some converters write 32767 or -9999 for a void.
func hgtHeights(z []float32, raw []byte) (undeclared int) {
	for i := range z {
		v := int16(binary.BigEndian.Uint16(raw[2*i:]))
		z[i] = float32(v)
		if v == hgtVoid {
			z[i] = nan32
		} else if isFill(float64(v), z[i]) {
			z[i] = nan32
			undeclared++
		}
	}
	return undeclared
}
