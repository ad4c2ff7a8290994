package terrain

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strings"

	"farhail/geo/grid"
)

// Cell is what a cell of a GeoTIFF is written as.
type Cell interface{ uint8 | float32 }

// WriteOptions say how a GeoTIFF is laid out and what it holds. The zero value
// is a terrain in deflated tiles.
type WriteOptions struct {
	Strips bool // strips of whole rows instead of tiles of 256 by 256 cells
	Plain  bool // not compressed, instead of deflate
	// Content says in a few words what the cells are where they are not the
	// heights of a terrain, such as "seconds of walking". [Load] refuses such a
	// file, so that a result is never taken for ground.
	Content string
	Unit    string // of the cells, such as "m" or "s"; may be empty
	Title   string // of the file, for people; may be empty; what ASCII cannot hold becomes ?
}

const tagImageDescription = 270 // written, not read

const (
	tileSide   = 256     // cells; TIFF 6.0 p. 67 asks for a multiple of 16
	stripBytes = 1 << 16 // a strip holds as many rows as fit, or one
)

// WriteGeoTIFF writes a grid of one band as a GeoTIFF 1.1 in EPSG:4326 or WGS84
// UTM, row by row from the north-west as grids are. noData is declared as the
// value that stands for no data; a float32 NaN is fitting. Cells are areas; the
// place is exact to the last bit but one of the frame's coordinates.
//
// The same grid gives the same bytes. Besides the values, memory is as much as
// the packed file. It returns an error that wraps grid.ErrFrame for an
// impossible frame, ErrTooLarge beyond the 4 GiB of a TIFF, or that of w. It
// panics where the number of values is not that of the frame's cells.
func WriteGeoTIFF[T Cell](w io.Writer, f grid.Frame, values []T, noData T, o WriteOptions) error {
	if err := f.Validate(); err != nil {
		return fmt.Errorf("writing a GeoTIFF: %w", err)
	}
	if len(values) != f.Cols*f.Rows {
		panic("terrain: values do not fill the frame")
	}
	l := layoutOf[T](f, o)
	packed, sizes, err := packBlocks(l, f, values, noData, o.Plain)
	if err != nil {
		return fmt.Errorf("writing a GeoTIFF: %w", err)
	}
	head, err := l.head(f, sizes, strings.ToLower(fmt.Sprint(noData)), o)
	if err != nil {
		return err
	}
	for _, part := range [][]byte{head, packed} {
		if _, err := w.Write(part); err != nil {
			return fmt.Errorf("writing a GeoTIFF: %w", err)
		}
	}
	return nil
}

// layout is how a grid is cut into blocks: tiles, or strips of whole rows.
type layout struct {
	tiled        bool
	cols, rows   int // of a block
	across, down int // blocks
	bytes        int // of a sample
	format       uint16
}

func layoutOf[T Cell](f grid.Frame, o WriteOptions) layout {
	l := layout{tiled: !o.Strips, cols: tileSide, rows: tileSide, bytes: binary.Size(T(0)), format: formatUint}
	if l.bytes == 4 {
		l.format = formatFloat
	}
	if o.Strips {
		l.cols = f.Cols
		l.rows = min(max(stripBytes/(f.Cols*l.bytes), 1), f.Rows)
	}
	l.across = (f.Cols + l.cols - 1) / l.cols
	l.down = (f.Rows + l.rows - 1) / l.rows
	return l
}

// packBlocks returns the blocks one after the other and their sizes.
func packBlocks[T Cell](l layout, f grid.Frame, values []T, noData T, plain bool) (packed []byte, sizes []uint32, err error) {
	var out bytes.Buffer
	deflate := zlib.NewWriter(&out)
	line := make([]T, l.cols)
	raw := make([]byte, 0, l.cols*l.rows*l.bytes)
	for by := range l.down {
		rows := l.rows
		if !l.tiled { // the last strip ends with the grid; tiles are always whole
			rows = min(rows, f.Rows-by*l.rows)
		}
		for bx := range l.across {
			raw = raw[:0]
			for row := by * l.rows; row < by*l.rows+rows; row++ {
				for i := range line {
					line[i] = noData
				}
				if row < f.Rows {
					copy(line, values[row*f.Cols+bx*l.cols:(row+1)*f.Cols])
				}
				raw = appendCells(raw, line)
			}
			start := out.Len()
			if plain {
				out.Write(raw)
			} else if err := deflateInto(deflate, &out, raw); err != nil {
				return nil, nil, err
			}
			sizes = append(sizes, uint32(out.Len()-start))
			if int64(out.Len()) > math.MaxUint32-maxHead {
				return nil, nil, fmt.Errorf("%w: a TIFF holds 4 GiB", ErrTooLarge)
			}
		}
	}
	return out.Bytes(), sizes, nil
}

// maxHead bounds what stands before the blocks: 8 bytes for each of fewer than
// 2^23 blocks, and the tags.
const maxHead = 1 << 27

func deflateInto(z *zlib.Writer, out io.Writer, raw []byte) error {
	z.Reset(out)
	if _, err := z.Write(raw); err != nil {
		return err
	}
	return z.Close()
}

func appendCells[T Cell](raw []byte, line []T) []byte {
	switch line := any(line).(type) {
	case []uint8:
		return append(raw, line...)
	case []float32:
		for _, v := range line {
			raw = binary.LittleEndian.AppendUint32(raw, math.Float32bits(v))
		}
	}
	return raw
}

// written is a directory entry to write; its data is little-endian.
type written struct {
	tag, kind uint16
	count     int
	data      []byte
}

func shorts(tag uint16, list ...uint16) written {
	e := written{tag: tag, kind: 3, count: len(list)}
	for _, v := range list {
		e.data = binary.LittleEndian.AppendUint16(e.data, v)
	}
	return e
}

func longs(tag uint16, list ...uint32) written {
	e := written{tag: tag, kind: 4, count: len(list)}
	for _, v := range list {
		e.data = binary.LittleEndian.AppendUint32(e.data, v)
	}
	return e
}

func doubles(tag uint16, list ...float64) written {
	e := written{tag: tag, kind: 12, count: len(list)}
	for _, v := range list {
		e.data = binary.LittleEndian.AppendUint64(e.data, math.Float64bits(v))
	}
	return e
}

func ascii(tag uint16, text string) written {
	return written{tag: tag, kind: 2, count: len(text) + 1, data: append([]byte(text), 0)}
}

// head returns the file up to the first block: the TIFF header, the directory
// and its values.
func (l layout) head(f grid.Frame, sizes []uint32, noData string, o WriteOptions) ([]byte, error) {
	entries, offsets, err := l.entries(f, sizes, noData, o)
	if err != nil {
		return nil, err
	}
	const header = 8
	values := header + 2 + 12*len(entries) + 4
	end := values
	for _, e := range entries {
		if len(e.data) > 4 {
			end += len(e.data) + len(e.data)%2 // on a word boundary (TIFF 6.0 p. 15)
		}
	}
	at := uint32(end)
	for i, n := range sizes {
		binary.LittleEndian.PutUint32(offsets[4*i:], at)
		at += n
	}
	out := append(make([]byte, 0, end), "II*\x00"...)
	out = binary.LittleEndian.AppendUint32(out, header)
	out = binary.LittleEndian.AppendUint16(out, uint16(len(entries)))
	var data []byte
	for _, e := range entries {
		out = binary.LittleEndian.AppendUint16(out, e.tag)
		out = binary.LittleEndian.AppendUint16(out, e.kind)
		out = binary.LittleEndian.AppendUint32(out, uint32(e.count))
		if len(e.data) <= 4 {
			out = append(out, e.data...)
			out = append(out, make([]byte, 4-len(e.data))...)
			continue
		}
		out = binary.LittleEndian.AppendUint32(out, uint32(values+len(data)))
		data = append(data, e.data...)
		data = append(data, make([]byte, len(e.data)%2)...)
	}
	out = append(out, 0, 0, 0, 0) // no further image
	return append(out, data...), nil
}

// entries returns the directory in the order of its tags, and the bytes of its
// block offsets, to be filled in.
func (l layout) entries(f grid.Frame, sizes []uint32, noData string, o WriteOptions) (list []written, offsets []byte, err error) {
	pack := uint16(packDeflate)
	if o.Plain {
		pack = packNone
	}
	list = []written{
		longs(tagImageWidth, uint32(f.Cols)), longs(tagImageLength, uint32(f.Rows)),
		shorts(tagBitsPerSample, uint16(8*l.bytes)), shorts(tagCompression, pack),
		shorts(tagPhotometric, 1), // black is zero
	}
	if o.Title != "" {
		list = append(list, ascii(tagImageDescription, asciiOnly(o.Title)))
	}
	starts := longs(tagTileOffsets, make([]uint32, len(sizes))...)
	if l.tiled {
		list = append(list, shorts(tagSamplesPerPixel, 1), longs(tagTileWidth, tileSide), longs(tagTileLength, tileSide),
			starts, longs(tagTileByteCounts, sizes...))
	} else {
		starts.tag = tagStripOffsets
		list = append(list, starts, shorts(tagSamplesPerPixel, 1), longs(tagRowsPerStrip, uint32(l.rows)), longs(tagStripByteCounts, sizes...))
	}
	list = append(list, shorts(tagSampleFormat, l.format),
		doubles(tagPixelScale, f.DX, f.DY, 0), doubles(tagTiepoint, 0, 0, 0, f.X0-f.DX/2, f.Y0+f.DY/2, 0),
		shorts(tagGeoKeys, geoKeysOf(f.CRS)...))
	meta, err := metadataOf(o)
	if err != nil {
		return nil, nil, err
	}
	if meta != "" {
		list = append(list, ascii(tagGDALMetadata, meta))
	}
	return append(list, ascii(tagGDALNoData, noData)), starts.data, nil
}

// asciiOnly puts a question mark for what 7-bit ASCII cannot hold, NUL among it (TIFF 6.0
// p. 15).
func asciiOnly(s string) string {
	return strings.Map(func(c rune) rune {
		if c < ' ' || c > '~' {
			return '?'
		}
		return c
	}, s)
}

// geoKeysOf returns the key directory of coordinates (GeoTIFF 1.1, chapter 7).
func geoKeysOf(c grid.CRS) []uint16 {
	const (
		areas     = 1
		degree    = 9102 // EPSG
		metre     = 9001
		version   = 1
		minor     = 1
		ownKeys   = 4
		here      = 0 // the value stands in the key itself
		angleUnit = 2054
	)
	if c.LonLat() {
		return []uint16{version, 1, minor, ownKeys,
			keyModelType, here, 1, 2, keyRasterType, here, 1, areas, keyGeographicType, here, 1, uint16(c.EPSG()), angleUnit, here, 1, degree}
	}
	return []uint16{version, 1, minor, ownKeys,
		keyModelType, here, 1, 1, keyRasterType, here, 1, areas, keyProjectedType, here, 1, uint16(c.EPSG()), keyLinearUnits, here, 1, metre}
}

// metadataOf returns the text of tag 42112, "" for none.
func metadataOf(o WriteOptions) (string, error) {
	var m struct {
		XMLName xml.Name `xml:"GDALMetadata"`
		gdalMetadata
	}
	if o.Content != "" {
		m.Items = append(m.Items, metadataItem{Name: contentItem, Value: o.Content},
			metadataItem{Name: "DESCRIPTION", Sample: "0", Role: "description", Value: o.Content})
	}
	if o.Unit != "" {
		m.Items = append(m.Items, metadataItem{Name: "UNITTYPE", Sample: "0", Role: "unittype", Value: o.Unit})
	}
	if m.Items == nil {
		return "", nil
	}
	text, err := xml.Marshal(m)
	return string(text), err
}
