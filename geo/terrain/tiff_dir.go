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

// fieldSize is the size in bytes of a value of each TIFF field type.
var fieldSize = [...]int64{1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8}

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
	at     int64
	fields map[uint16]field
}

// maxDirectories bounds the images of one file (overviews and masks).
const maxDirectories = 256

// readDirectory returns the first image of a file that is neither an overview
// nor a mask. The chain is followed to its end, so that a cycle is found.
func readDirectory(s *source) (*directory, error) {
	var start [8]byte
	if n, _ := s.ReadAt(start[:], 0); n < len(start) {
		return nil, malformed(s.name, int64(n), "the TIFF header ends too early")
	}
	var order binary.ByteOrder = binary.LittleEndian
	if start[0] == 'M' {
		order = binary.BigEndian
	}
	var found *directory
	visited := map[int64]bool{}
	link := int64(4)
	for next := int64(order.Uint32(start[4:])); next != 0; {
		if visited[next] || len(visited) == maxDirectories {
			return nil, malformed(s.name, link, "the chain of images does not end")
		}
		visited[next] = true
		if next+2 > s.size {
			return nil, malformed(s.name, link, "the image directory lies at %d, beyond the end", next)
		}
		d := &directory{src: s, order: order, at: next, fields: map[uint16]field{}}
		var err error
		if next, link, err = d.readFields(); err != nil {
			return nil, err
		}
		kind, err := d.one(tagNewSubfileType, 0)
		if err != nil {
			return nil, err
		}
		// Bit 0: a reduced copy; bit 2: a transparency mask (TIFF 6.0 p. 36).
		if found == nil && kind&(1|4) == 0 {
			found = d
		}
	}
	if found == nil {
		return nil, malformed(s.name, 4, "the file holds no full image")
	}
	return found, nil
}

// readFields reads the directory's entries and returns the offset of the next
// one and where that stands.
func (d *directory) readFields() (next, link int64, err error) {
	var word [2]byte
	if n, _ := d.src.ReadAt(word[:], d.at); n < 2 {
		return 0, 0, malformed(d.src.name, d.at, "the image directory ends too early")
	}
	n := int(d.order.Uint16(word[:]))
	raw := make([]byte, 12*n+4)
	if got, _ := d.src.ReadAt(raw, d.at+2); got < len(raw) {
		return 0, 0, malformed(d.src.name, d.at+2+int64(got), "the image directory ends too early")
	}
	for i := range n {
		e := raw[12*i:]
		tag := d.order.Uint16(e)
		f := field{kind: d.order.Uint16(e[2:]), count: int64(d.order.Uint32(e[4:])), at: d.at + 2 + int64(12*i) + 8}
		if int(f.kind) >= len(fieldSize) || fieldSize[f.kind] == 0 {
			continue // a type of a later TIFF; a reader must skip it (TIFF 6.0 p. 16)
		}
		if size := f.count * fieldSize[f.kind]; size > 4 {
			at := int64(d.order.Uint32(e[8:]))
			if at+size > d.src.size {
				return 0, 0, malformed(d.src.name, f.at, "tag %d has %d bytes at %d, beyond the end", tag, size, at)
			}
			f.at = at
		}
		d.fields[tag] = f
	}
	return int64(d.order.Uint32(raw[12*n:])), d.at + 2 + int64(12*n), nil
}

// bytes returns the raw values of a tag, nil where it is absent. The directory
// has been checked to lie inside the file, which bounds what is allocated.
func (d *directory) bytes(tag uint16) ([]byte, field, error) {
	f, ok := d.fields[tag]
	if !ok {
		return nil, f, nil
	}
	raw := make([]byte, f.count*fieldSize[f.kind])
	if n, _ := d.src.ReadAt(raw, f.at); n < len(raw) {
		return nil, f, malformed(d.src.name, f.at+int64(n), "tag %d ends too early", tag)
	}
	return raw, f, nil
}

// uints returns the whole numbers of a tag.
func (d *directory) uints(tag uint16) ([]int64, error) {
	raw, f, err := d.bytes(tag)
	if err != nil || raw == nil {
		return nil, err
	}
	list := make([]int64, f.count)
	for i := range list {
		switch f.kind {
		case 1:
			list[i] = int64(raw[i])
		case 3:
			list[i] = int64(d.order.Uint16(raw[2*i:]))
		case 4:
			list[i] = int64(d.order.Uint32(raw[4*i:]))
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
