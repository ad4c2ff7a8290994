package terrain

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
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

// An .hgt tile is a square of big-endian 16-bit integers, row by row from the
// north-west, over one degree with the outer cell centres on whole degrees:
// neighbours share a row or column.
type hgt struct {
	src    io.ReaderAt // nil until a zipped tile is unpacked
	zipped *zip.File   // nil for a plain tile
	h      header
}

// hgtSide returns the cells along a side of a tile of a size in bytes: 1201 for
// 3 arc-seconds, 3601 for 1, 0 for no tile.
func hgtSide(size int64) int {
	for _, n := range []int{1201, 3601} {
		if size == int64(2*n*n) {
			return n
		}
	}
	return 0
}

var hgtName = regexp.MustCompile(`(?i)^([NS])(\d\d)([EW])(\d\d\d)(?:[^\d]|$)`)

// hgtCorner returns the south-west cell centre that a file's name gives, such
// as N42E001.hgt.
func hgtCorner(name string) (lon, lat float64, ok bool) {
	m := hgtName.FindStringSubmatch(path.Base(name))
	if m == nil {
		return 0, 0, false
	}
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

func newHGT(file, name string, side int) (*hgt, error) {
	lon, lat, ok := hgtCorner(name)
	if !ok {
		return nil, unsupported(file, "name it after its south-west corner, such as N42E001.hgt", "an .hgt tile without its corner in the name")
	}
	d := 1 / float64(side-1)
	return &hgt{h: header{
		file: file, kind: KindHGT, registration: "point", datum: "EGM96", surface: "surface", scale: plainMetres,
		frame: grid.Frame{X0: lon, Y0: lat + 1, DX: d, DY: d, Cols: side, Rows: side},
	}}, nil
}

func openHGT(s *source, side int) (raster, error) {
	t, err := newHGT(s.name, s.name, side)
	if err != nil {
		return nil, err
	}
	t.src = s
	return t, nil
}

// openZip opens the one .hgt tile in a zip archive. Its declared size is
// checked before a byte is unpacked.
func openZip(s *source) (raster, error) {
	archive, err := zip.NewReader(s, s.size)
	if err != nil {
		return nil, malformed(s.name, 0, "zip archive: %v", err)
	}
	var tile *zip.File
	for _, f := range archive.File {
		if !strings.EqualFold(path.Ext(f.Name), ".hgt") {
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
	side := 0
	if tile.UncompressedSize64 <= 2*3601*3601 {
		side = hgtSide(int64(tile.UncompressedSize64))
	}
	if side == 0 {
		return nil, malformed(s.name, -1, "%s unpacks to %d bytes, which is no 1 or 3 arc-second tile", tile.Name, tile.UncompressedSize64)
	}
	name := tile.Name
	if _, _, ok := hgtCorner(name); !ok {
		name = s.name
	}
	t, err := newHGT(s.name, name, side)
	if err != nil {
		return nil, err
	}
	t.zipped = tile
	return t, nil
}

// unpack reads a zipped tile, never more than its declared size.
func (t *hgt) unpack() error {
	r, err := t.zipped.Open()
	if err != nil {
		return malformed(t.h.file, -1, "%s: %v", t.zipped.Name, err)
	}
	defer r.Close()
	raw := make([]byte, t.zipped.UncompressedSize64)
	if _, err := io.ReadFull(r, raw); err != nil {
		return malformed(t.h.file, -1, "%s: %v", t.zipped.Name, err)
	}
	// The archive compares its checksum at the end of the stream.
	if _, err := io.CopyN(io.Discard, r, 1); err != io.EOF {
		return malformed(t.h.file, -1, "%s: longer than declared, or a wrong checksum (%v)", t.zipped.Name, err)
	}
	t.src = bytes.NewReader(raw)
	return nil
}

func (t *hgt) head() *header { return &t.h }

func (t *hgt) read(w window, put func(col, row int, z []float32)) (int, error) {
	if t.src == nil {
		if err := t.unpack(); err != nil {
			return 0, err
		}
	}
	n := w.col1 - w.col0
	raw, z := make([]byte, 2*n), make([]float32, n)
	for row := w.row0; row < w.row1; row++ {
		at := 2 * (int64(row)*int64(t.h.frame.Cols) + int64(w.col0))
		if got, err := t.src.ReadAt(raw, at); got < len(raw) {
			return 0, malformed(t.h.file, at+int64(got), "the tile ends too early: %v", err)
		}
		for i := range z {
			v := int16(binary.BigEndian.Uint16(raw[2*i:]))
			if z[i] = float32(v); v == hgtVoid {
				z[i] = float32(math.NaN())
			}
		}
		put(w.col0, row, z)
	}
	return 0, nil
}
