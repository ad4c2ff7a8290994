package terrain

import (
	"encoding/binary"
	"math"
	"strings"
)

// TIFF tags that are read. Numbers and names are those of TIFF 6.0, GeoTIFF 1.1
// (the 33xxx and 34xxx) and of the GDAL GeoTIFF driver (the 42xxx).
const (
	tagNewSubfileType  = 254
	tagImageWidth      = 256
	tagImageLength     = 257
	tagBitsPerSample   = 258
	tagCompression     = 259
	tagPhotometric     = 262
	tagFillOrder       = 266
	tagStripOffsets    = 273
	tagSamplesPerPixel = 277
	tagRowsPerStrip    = 278
	tagStripByteCounts = 279
	tagPredictor       = 317
	tagTileWidth       = 322
	tagTileLength      = 323
	tagTileOffsets     = 324
	tagTileByteCounts  = 325
	tagSampleFormat    = 339
	tagPixelScale      = 33550
	tagTiepoint        = 33922
	tagTransformation  = 34264
	tagGeoKeys         = 34735
	tagGeoDoubles      = 34736
	tagGeoASCII        = 34737
	tagGDALMetadata    = 42112
	tagGDALNoData      = 42113
)

// fieldSize is the size in bytes of a value of each field type; those from 13 on
// are of BigTIFF and of Technical Note 1.
var fieldSize = [...]int64{1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4, 16: 8, 17: 8, 18: 8}

// field is one directory entry: where its values lie.
type field struct {
	kind  uint16
	count int64
	at    int64
}

// directory is one image of a TIFF file.
type directory struct {
	src    *source
	order  binary.ByteOrder
	wide   int64 // bytes of an offset: 4, in a BigTIFF 8
	at     int64
	fields map[uint16]field
	masked bool // another image of the file says which cells count
}

const (
	// maxDirectories bounds the images of one file (overviews and masks).
	maxDirectories = 256
	// maxFields bounds the tags of an image; some 40 are in use.
	maxFields = 4096
	// maxTag bounds the values of a tag that are taken at once [bytes].
	maxTag = 1 << 20
)

// readDirectory returns the first image of a file that is neither an overview
// nor a mask, and how many such images there are. The chain is followed to its
// end, so that a cycle is found.
func readDirectory(s *source) (found *directory, full int, err error) {
	order, wide, link, err := readStart(s)
	if err != nil {
		return nil, 0, err
	}
	first := &directory{src: s, order: order, wide: wide}
	next, err := first.offset(link)
	if err != nil {
		return nil, 0, err
	}
	visited, masked := map[int64]bool{}, false
	for next != 0 {
		if visited[next] || len(visited) == maxDirectories {
			return nil, 0, malformed(s.name, link, "the chain of images does not end")
		}
		visited[next] = true
		if next > s.size-2 {
			return nil, 0, malformed(s.name, link, "the image directory lies at %d, beyond the end", next)
		}
		d := &directory{src: s, order: order, wide: wide, at: next, fields: map[uint16]field{}}
		if next, link, err = d.readFields(); err != nil {
			return nil, 0, err
		}
		kind, err := d.one(tagNewSubfileType, 0)
		if err != nil {
			return nil, 0, err
		}
		// Bit 0: a reduced copy; bit 2: a transparency mask (TIFF 6.0 p. 36).
		switch {
		case kind&(1|4) == 4:
			masked = true
		case kind&(1|4) == 0:
			if full++; found == nil {
				found = d
			}
		}
	}
	if found == nil {
		return nil, 0, malformed(s.name, link, "the file holds no full image")
	}
	found.masked = masked
	return found, full, nil
}

// readStart reads the file's header: 8 bytes, in a BigTIFF 16, of which the last
// 4 or 8 are the offset of the first directory.
func readStart(s *source) (order binary.ByteOrder, wide, link int64, err error) {
	var start [8]byte
	if n, _ := s.ReadAt(start[:], 0); n < len(start) {
		return nil, 0, 0, malformed(s.name, int64(n), "the TIFF header ends too early")
	}
	order = binary.LittleEndian
	if start[0] == 'M' {
		order = binary.BigEndian
	}
	if order.Uint16(start[2:]) == 42 {
		return order, 4, 4, nil
	}
	if n := order.Uint16(start[4:]); n != 8 {
		return nil, 0, 0, malformed(s.name, 4, "a BigTIFF with offsets of %d bytes, not 8", n)
	}
	return order, 8, 8, nil
}

// offset reads an offset or a count as wide as the file has them.
func (d *directory) offset(at int64) (int64, error) {
	var word [8]byte
	if n, _ := d.src.ReadAt(word[:d.wide], at); int64(n) < d.wide {
		return 0, malformed(d.src.name, at, "the file ends too early")
	}
	return d.word(word[:]), nil
}

// word decodes an offset; what no file can hold is the largest int64.
func (d *directory) word(raw []byte) int64 {
	if d.wide == 4 {
		return int64(d.order.Uint32(raw))
	}
	return clampInt64(d.order.Uint64(raw))
}

// readFields reads the directory's entries and returns the offset of the next
// one and where that stands.
func (d *directory) readFields() (next, link int64, err error) {
	var word [8]byte
	head := max(2, 2*d.wide-8) // the count of entries has 2 bytes, in a BigTIFF 8
	if n, _ := d.src.ReadAt(word[:head], d.at); int64(n) < head {
		return 0, 0, malformed(d.src.name, d.at, "the image directory ends too early")
	}
	n := int64(d.order.Uint16(word[:]))
	if head == 8 {
		n = clampInt64(d.order.Uint64(word[:]))
	}
	if n > maxFields {
		return 0, 0, malformed(d.src.name, d.at, "an image directory of %d tags", n)
	}
	size := 4 + 2*d.wide // of an entry: tag, type, count, value or offset
	raw := make([]byte, n*size+d.wide)
	if got, _ := d.src.ReadAt(raw, d.at+head); got < len(raw) {
		return 0, 0, malformed(d.src.name, d.at+head+int64(got), "the image directory ends too early")
	}
	for i := range n {
		e := raw[i*size:]
		tag := d.order.Uint16(e)
		f := field{kind: d.order.Uint16(e[2:]), count: d.word(e[4:]), at: d.at + head + i*size + 4 + d.wide}
		if int(f.kind) >= len(fieldSize) || fieldSize[f.kind] == 0 {
			continue // a type of a later TIFF; a reader must skip it (TIFF 6.0 p. 16)
		}
		if f.count > d.src.size {
			return 0, 0, malformed(d.src.name, f.at, "tag %d has %d values in a file of %d bytes", tag, f.count, d.src.size)
		}
		if bytes := f.count * fieldSize[f.kind]; bytes > d.wide {
			at := d.word(e[4+d.wide:])
			if at > d.src.size-bytes {
				return 0, 0, malformed(d.src.name, f.at, "tag %d has %d bytes at %d, beyond the end", tag, bytes, at)
			}
			f.at = at
		}
		d.fields[tag] = f
	}
	return d.word(raw[n*size:]), d.at + head + n*size, nil
}

// bytes returns the raw values of a tag, nil where it is absent.
func (d *directory) bytes(tag uint16) ([]byte, field, error) {
	f, ok := d.fields[tag]
	if !ok {
		return nil, f, nil
	}
	raw, err := d.part(tag, f, 0, f.count)
	return raw, f, err
}

// part returns the raw bytes of n values of a tag from one on. The directory has
// been checked to lie inside the file.
func (d *directory) part(tag uint16, f field, from, n int64) ([]byte, error) {
	size := fieldSize[f.kind]
	if n*size > maxTag {
		return nil, malformed(d.src.name, f.at, "tag %d has %d bytes; at most %d are taken", tag, n*size, maxTag)
	}
	raw := make([]byte, n*size)
	at := f.at + from*size
	if got, _ := d.src.ReadAt(raw, at); got < len(raw) {
		return nil, malformed(d.src.name, at+int64(got), "tag %d ends too early", tag)
	}
	return raw, nil
}

// uints returns the whole numbers of a tag.
func (d *directory) uints(tag uint16) ([]int64, error) {
	return d.someUints(tag, 0, d.fields[tag].count)
}

// someUints returns n whole numbers of a tag from one on, nil where the tag is
// absent.
func (d *directory) someUints(tag uint16, from, n int64) ([]int64, error) {
	f, ok := d.fields[tag]
	if !ok {
		return nil, nil
	}
	raw, err := d.part(tag, f, from, n)
	if err != nil {
		return nil, err
	}
	list := make([]int64, n)
	for i := range list {
		switch f.kind {
		case 1:
			list[i] = int64(raw[i])
		case 3:
			list[i] = int64(d.order.Uint16(raw[2*i:]))
		case 4, 13:
			list[i] = int64(d.order.Uint32(raw[4*i:]))
		case 16, 18:
			list[i] = clampInt64(d.order.Uint64(raw[8*i:]))
		default:
			return nil, malformed(d.src.name, f.at, "tag %d is of type %d, not a whole number", tag, f.kind)
		}
	}
	return list, nil
}

// one returns a tag's first whole number, or a default where it is absent. All
// values of the tag must agree: they are given per sample.
func (d *directory) one(tag uint16, absent int64) (int64, error) {
	list, err := d.uints(tag)
	if err != nil {
		return 0, err
	}
	if len(list) == 0 {
		return absent, nil
	}
	for _, v := range list {
		if v != list[0] {
			return 0, unsupported(d.src.name, "run: gdal_translate -b 1 "+d.src.name+" out.tif", "bands of different kinds")
		}
	}
	return list[0], nil
}

// floats returns the float64 values of a tag.
func (d *directory) floats(tag uint16) ([]float64, error) {
	raw, f, err := d.bytes(tag)
	if err != nil || raw == nil {
		return nil, err
	}
	if f.kind != 12 {
		return nil, malformed(d.src.name, f.at, "tag %d is of type %d, not double", tag, f.kind)
	}
	list := make([]float64, f.count)
	for i := range list {
		list[i] = math.Float64frombits(d.order.Uint64(raw[8*i:]))
		if math.IsNaN(list[i]) || math.IsInf(list[i], 0) {
			return nil, malformed(d.src.name, f.at+int64(8*i), "tag %d holds %g", tag, list[i])
		}
	}
	return list, nil
}

// text returns a tag's text without the closing zero.
func (d *directory) text(tag uint16) (string, error) {
	raw, _, err := d.bytes(tag)
	return strings.TrimRight(string(raw), "\x00"), err
}
