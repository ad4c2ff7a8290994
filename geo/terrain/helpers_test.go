package terrain

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"io/fs"
	"math"
	"testing"
	"testing/fstest"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

// everything is the zero box.
var everything orb.Bound

func files(list map[string][]byte) fs.FS {
	m := fstest.MapFS{}
	for name, data := range list {
		m[name] = &fstest.MapFile{Data: data}
	}
	return m
}

func loadOne(name string, data []byte) (*Terrain, error) {
	return Load(files(map[string][]byte{name: data}), []string{name}, everything)
}

// entry is a directory entry of a TIFF to write: values are uint16s, uint32s,
// float64s or a text.
type entry struct {
	tag   uint16
	value any
}

// tiffSpec describes a small GeoTIFF to write, one row a strip.
type tiffSpec struct {
	order      binary.ByteOrder
	big        bool // BigTIFF
	cols, rows int
	format     uint16
	bits       uint16
	deflate    bool
	predictor  uint16
	values     []float64
	extra      []entry // replaces entries of the same tag; a nil value drops one
	cut        int     // bytes cut off at the end
}

// geographic is 10 E, 50 N as the outer corner, cells of 0.1 degrees.
var geographic = []entry{
	{tagPixelScale, []float64{0.1, 0.1, 0}},
	{tagTiepoint, []float64{0, 0, 0, 10, 50, 0}},
	{tagGeoKeys, []uint16{1, 1, 0, 3, keyModelType, 0, 1, 2, keyRasterType, 0, 1, 1, keyGeographicType, 0, 1, 4326}},
}

// write makes the file. It is written apart from the reader, strip by strip.
func (s tiffSpec) write(t testing.TB) []byte { return writeTIFF(t, s) }

// writeTIFF makes a file of several images, in the byte order of the first.
func writeTIFF(t testing.TB, list ...tiffSpec) []byte {
	t.Helper()
	if list[0].order == nil {
		list[0].order = binary.LittleEndian
	}
	var file bytes.Buffer
	file.WriteString(map[bool]string{true: "II", false: "MM"}[list[0].order == binary.ByteOrder(binary.LittleEndian)])
	head, link := []uint16{42, 0, 0}, 4
	if list[0].big {
		head, link = []uint16{43, 8, 0, 0, 0, 0, 0}, 8
	}
	require.NoError(t, binary.Write(&file, list[0].order, head))
	for _, s := range list {
		s.order, s.big = list[0].order, list[0].big
		link = s.image(t, &file, link)
	}
	return file.Bytes()[:file.Len()-list[0].cut]
}

// image appends an image, links to it from a place and returns the place of the
// next link.
func (s tiffSpec) image(t testing.TB, file *bytes.Buffer, link int) int {
	offsets, sizes := make([]uint32, s.rows), make([]uint32, s.rows)
	for row := range s.rows {
		strip := s.strip(t, s.values[row*s.cols:(row+1)*s.cols])
		offsets[row], sizes[row] = uint32(file.Len()), uint32(len(strip))
		file.Write(strip)
	}
	entries := []entry{
		{tagImageWidth, []uint32{uint32(s.cols)}}, {tagImageLength, []uint32{uint32(s.rows)}},
		{tagBitsPerSample, []uint16{s.bits}}, {tagCompression, []uint16{1}}, {tagStripOffsets, offsets},
		{tagSamplesPerPixel, []uint16{1}}, {tagRowsPerStrip, []uint16{1}}, {tagStripByteCounts, sizes},
		{tagPredictor, []uint16{max(s.predictor, 1)}}, {tagSampleFormat, []uint16{s.format}},
	}
	if s.deflate {
		entries[3].value = []uint16{8}
	}
	for _, e := range append(append([]entry{}, geographic...), s.extra...) {
		replaced := false
		for i := range entries {
			if entries[i].tag == e.tag {
				entries[i], replaced = e, true
			}
		}
		if !replaced {
			entries = append(entries, e)
		}
	}
	return s.directory(t, file, link, entries)
}

// word writes an offset or a count as wide as the file has them.
func (s tiffSpec) word(t testing.TB, w *bytes.Buffer, v int) {
	if s.big {
		require.NoError(t, binary.Write(w, s.order, uint64(v)))
	} else {
		require.NoError(t, binary.Write(w, s.order, uint32(v)))
	}
}

// directory writes the entries behind the strips and links to them.
func (s tiffSpec) directory(t testing.TB, file *bytes.Buffer, link int, entries []entry) (next int) {
	var dir, data bytes.Buffer
	n := 0
	for _, e := range entries {
		if e.value != nil {
			n++
		}
	}
	at, wide := file.Len(), 4
	base := at + 2 + 12*n + 4
	if s.big {
		wide, base = 8, at+8+20*n+8
		require.NoError(t, binary.Write(&dir, s.order, uint64(n)))
	} else {
		require.NoError(t, binary.Write(&dir, s.order, uint16(n)))
	}
	for _, e := range entries {
		if e.value == nil {
			continue
		}
		var raw bytes.Buffer
		kind, count := uint16(0), 0
		switch v := e.value.(type) {
		case []uint16:
			kind, count = 3, len(v)
			require.NoError(t, binary.Write(&raw, s.order, v))
		case []uint32:
			kind, count = 4, len(v)
			require.NoError(t, binary.Write(&raw, s.order, v))
		case []uint64:
			kind, count = 16, len(v)
			require.NoError(t, binary.Write(&raw, s.order, v))
		case []float64:
			kind, count = 12, len(v)
			require.NoError(t, binary.Write(&raw, s.order, v))
		case string:
			kind, count = 2, len(v)+1
			raw.WriteString(v + "\x00")
		}
		require.NoError(t, binary.Write(&dir, s.order, []uint16{e.tag, kind}))
		s.word(t, &dir, count)
		if raw.Len() <= wide {
			dir.Write(append(raw.Bytes(), make([]byte, wide-raw.Len())...))
			continue
		}
		s.word(t, &dir, base+data.Len())
		data.Write(raw.Bytes())
	}
	next = at + dir.Len()
	dir.Write(make([]byte, wide))
	file.Write(dir.Bytes())
	file.Write(data.Bytes())
	var word bytes.Buffer
	s.word(t, &word, at)
	copy(file.Bytes()[link:], word.Bytes())
	return next
}

// strip packs one row.
func (s tiffSpec) strip(t testing.TB, row []float64) []byte {
	var raw bytes.Buffer
	for i, v := range row {
		var stored any
		switch [2]uint16{s.format, s.bits} {
		case [2]uint16{formatUint, 8}:
			stored = uint8(v)
		case [2]uint16{formatInt, 8}:
			stored = int8(v)
		case [2]uint16{formatUint, 16}:
			stored = uint16(v)
		case [2]uint16{formatInt, 16}:
			if s.predictor == 2 && i > 0 {
				v -= row[i-1]
			}
			stored = int16(v)
		case [2]uint16{formatUint, 32}:
			stored = uint32(v)
		case [2]uint16{formatInt, 32}:
			stored = int32(v)
		case [2]uint16{formatFloat, 16}:
			stored = uint16(v) // its bits
		case [2]uint16{formatFloat, 32}:
			stored = float32(v)
		default:
			stored = v
		}
		require.NoError(t, binary.Write(&raw, s.order, stored))
	}
	if !s.deflate {
		return raw.Bytes()
	}
	var packed bytes.Buffer
	w := zlib.NewWriter(&packed)
	_, err := w.Write(raw.Bytes())
	require.NoError(t, err)
	require.NoError(t, w.Close())
	return packed.Bytes()
}

// hgtFile makes a 3 arc-second tile from a function of column and row.
func hgtFile(z func(col, row int) int16) []byte {
	data := make([]byte, 2*1201*1201)
	for row := range 1201 {
		for col := range 1201 {
			binary.BigEndian.PutUint16(data[2*(row*1201+col):], uint16(z(col, row)))
		}
	}
	return data
}

// equalHeights compares cells, NaN being equal to NaN.
func equalHeights(t *testing.T, want []float64, got []float32) {
	t.Helper()
	require.Len(t, got, len(want))
	for i := range want {
		if math.IsNaN(want[i]) != (got[i] != got[i]) || !math.IsNaN(want[i]) && float32(want[i]) != got[i] {
			t.Fatalf("cell %d: got %g, want %g (the first: %v)", i, got[i], want[i], got[:min(len(got), 20)])
		}
	}
}
