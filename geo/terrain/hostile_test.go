package terrain

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"runtime"
	"strings"
	"testing"
	"time"

	"farhail/geo/grid"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// refused loads a hostile file. It must be an error of the file that says where,
// with a hint, and neither memory nor time may go into what the file claims.
func refused(t *testing.T, name string, data []byte) error {
	t.Helper()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	start := time.Now()
	_, err := loadOne(name, data)
	// No measurement of speed: a reader that follows a claim takes minutes.
	assert.Less(t, time.Since(start), time.Minute)
	runtime.ReadMemStats(&after)
	assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(64<<20), "bytes taken for a file of %d", len(data))
	require.Error(t, err)
	assert.NotEmpty(t, hintOf(t, err))
	file, line, _ := err.(interface{ Where() (string, int, int) }).Where()
	assert.Equal(t, name, file)
	var e *FileError
	if errors.As(err, &e) {
		assert.Less(t, e.Offset(), int64(len(data)+1))
	} else {
		assert.Positive(t, line)
	}
	return err
}

// deflated packs a number of zeros, which deflate shortens a thousand times.
func deflated(t *testing.T, zeros int) []byte {
	t.Helper()
	var buf bytes.Buffer
	w := zlib.NewWriter(&buf)
	_, err := io.CopyN(w, zeroes{}, int64(zeros))
	require.NoError(t, err)
	require.NoError(t, w.Close())
	return buf.Bytes()
}

func TestHostileTIFF(t *testing.T) {
	for _, big := range []bool{false, true} {
		base := tiffSpec{big: big, cols: 3, rows: 2, format: formatInt, bits: 16, values: []float64{1, 2, 3, 4, 5, 6}}
		with := func(e ...entry) []byte {
			s := base
			s.extra = e
			return s.write(t)
		}
		poke := func(data []byte, at int, put ...byte) []byte {
			out := bytes.Clone(data)
			copy(out[at:], put)
			return out
		}
		good := with()
		wide, first := 4, 8
		if big {
			wide, first = 8, 16
		}
		dir := int(binary.LittleEndian.Uint32(good[wide:]))
		ones := bytes.Repeat([]byte{0xff}, 8)
		list := 0 // where the first tag's entry begins
		if list = dir + 2; big {
			list = dir + 8
		}
		bomb := deflated(t, 1<<26)
		strip := func(cols, rows uint32, extra ...entry) []byte {
			// The bomb as the first strip or tile, behind the image.
			e := append([]entry{{tagImageWidth, []uint32{cols}}, {tagImageLength, []uint32{rows}}, {tagRowsPerStrip, []uint32{rows}}, {tagCompression, []uint16{8}}}, extra...)
			e = append(e, entry{tagStripOffsets, []uint32{uint32(len(with(e...)) + 200)}}, entry{tagStripByteCounts, []uint32{uint32(len(bomb))}})
			data := with(e...)
			at := int(e[len(e)-2].value.([]uint32)[0])
			return append(append(data, make([]byte, at-len(data))...), bomb...)
		}
		cases := map[string]struct {
			data []byte
			want error
			says string
		}{
			"header cut":                {good[:first-1], ErrFormat, ""},
			"first directory far off":   {poke(good, wide, ones[:wide]...), ErrFormat, "beyond the end"},
			"first directory at itself": {poke(good, wide, byte(wide), 0, 0, 0), ErrFormat, ""},
			"more tags than bytes":      {poke(good, dir, ones[:list-dir]...), ErrFormat, "tags"},
			"a tag of 2^63 values":      {poke(good, list+4, ones[:wide]...), ErrFormat, "tag 256"},
			"cyclic":                    {cyclic(good, dir, wide), ErrFormat, "does not end"},
			"300 images":                {writeTIFF(t, repeat(base, 300)...), ErrFormat, "does not end"},
			"2^31 columns":              {with(entry{tagImageWidth, []uint32{1 << 31}}), ErrFormat, ""},
			"2^24 by 2^24":              {with(entry{tagImageWidth, []uint32{1 << 24}}, entry{tagImageLength, []uint32{1 << 24}}), ErrTooLarge, ""},
			"2^24 by 2^24, one strip":   {with(entry{tagImageWidth, []uint32{1 << 22}}, entry{tagImageLength, []uint32{1 << 24}}, entry{tagRowsPerStrip, []uint32{1 << 24}}, entry{tagPixelScale, []float64{1e-6, 1e-6, 0}}), ErrTooLarge, "cells"},
			"one sparse tile, all void": {with(entry{tagImageWidth, []uint32{1 << 14}}, entry{tagImageLength, []uint32{1 << 14}}, entry{tagTileWidth, []uint32{1 << 14}}, entry{tagTileLength, []uint32{1 << 14}},
				entry{tagTileOffsets, []uint32{0}}, entry{tagTileByteCounts, []uint32{0}}, entry{tagPixelScale, []float64{0.001, 0.001, 0}}), ErrTooLarge, "hardly any"},
			"tiles of 1 cell, not listed": {with(entry{tagImageWidth, []uint32{1 << 14}}, entry{tagImageLength, []uint32{1 << 14}}, entry{tagTileWidth, []uint32{1}}, entry{tagTileLength, []uint32{1}},
				entry{tagTileOffsets, []uint32{8}}, entry{tagTileByteCounts, []uint32{2}}), ErrFormat, "needed"},
			"bands without end":        {with(entry{tagSamplesPerPixel, []uint32{1 << 30}}), ErrUnsupported, "bands"},
			"metadata of 2 MB":         {with(entry{tagGDALMetadata, strings.Repeat("<a>", 700000)}), ErrFormat, "at most"},
			"metadata nested deep":     {with(entry{tagGDALMetadata, strings.Repeat("<a>", 300000)}), ErrFormat, "metadata"},
			"keys of 2 MB":             {with(entry{tagGeoKeys, make([]uint16, 1<<20)}), ErrFormat, "at most"},
			"NaN cell size":            {with(entry{tagPixelScale, []float64{nan, 0.1, 0}}), ErrFormat, "NaN"},
			"infinite corner":          {with(entry{tagTiepoint, []float64{0, 0, 0, math.Inf(1), 50, 0}}), ErrFormat, "Inf"},
			"NaN in the matrix":        {with(entry{tagTransformation, []float64{nan, 0, 0, 10, 0, -0.1, 0, 50, 0, 0, 0, 0, 0, 0, 0, 1}}), ErrFormat, "NaN"},
			"cells of 1e300 degrees":   {with(entry{tagPixelScale, []float64{1e300, 1e300, 0}}), ErrFormat, ""},
			"cells of 1e-320 degrees":  {with(entry{tagPixelScale, []float64{5e-324, 5e-324, 0}}, entry{tagTiepoint, []float64{1e308, 0, 0, 1e308, 50, 0}}), ErrFormat, ""},
			"bomb, too few bytes":      {strip(1<<13, 1<<15, entry{tagPixelScale, []float64{0.001, 0.001, 0}}), ErrTooLarge, "hardly any"},
			"bomb that ends too early": {strip(1<<13, 1<<13, entry{tagPixelScale, []float64{0.001, 0.001, 0}}), ErrFormat, "strip 0"},
		}
		for name, c := range cases {
			t.Run(fmt.Sprintf("%s big %v", name, big), func(t *testing.T) {
				err := refused(t, "a.tif", c.data)
				require.ErrorIs(t, err, c.want)
				require.ErrorContains(t, err, c.says)
			})
		}
	}
}

// repeat lists an image again and again.
func repeat(s tiffSpec, n int) []tiffSpec {
	list := make([]tiffSpec, n)
	for i := range list {
		list[i] = s
	}
	return list
}

// cyclic links the last image of a file to itself.
func cyclic(data []byte, dir, wide int) []byte {
	data = bytes.Clone(data)
	at := dir + 2 + 12*int(binary.LittleEndian.Uint16(data[dir:]))
	if wide == 8 {
		at = dir + 8 + 20*int(binary.LittleEndian.Uint16(data[dir:]))
	}
	binary.LittleEndian.PutUint32(data[at:], uint32(dir))
	return data
}

// TestTruncated: a file cut anywhere is an error, or, where the cut leaves its
// cells whole, still itself.
func TestTruncated(t *testing.T) {
	frame := grid.Frame{X0: 10, Y0: 50, DX: 0.01, DY: 0.01, Cols: 40, Rows: 30}
	values := make([]float32, frame.Cols*frame.Rows)
	for i := range values {
		values[i] = float32(i % 97)
	}
	for name, o := range map[string]WriteOptions{"tiles": {}, "strips": {Strips: true}, "plain": {Plain: true, Strips: true}} {
		var file bytes.Buffer
		require.NoError(t, WriteGeoTIFF(&file, frame, values, nan32, o))
		for cut := 1; cut < file.Len(); cut += 1 + cut/50 {
			data := file.Bytes()[:file.Len()-cut]
			if got, err := loadOne("a.tif", data); err == nil {
				require.Equal(t, values, got.Z, "%s, %d bytes cut", name, cut)
			} else if !strings.Contains(err.Error(), "not a terrain file") {
				require.ErrorIs(t, err, ErrFormat, "%s, %d bytes cut", name, cut)
			}
		}
	}
}

// TestHostileZstd: a frame that asks for a window of 2 GiB is refused.
func TestHostileZstd(t *testing.T) {
	// Magic number, a frame header without content size, a window of 2^31 bytes
	// (exponent 21), one raw block of 4 bytes (RFC 8878, section 3.1.1).
	frame := []byte{0x28, 0xb5, 0x2f, 0xfd, 0x00, 21 << 3, 0x21, 0, 0, 1, 0, 2, 0}
	spec := tiffSpec{cols: 2, rows: 1, format: formatInt, bits: 16, values: []float64{1, 2}}
	spec.extra = []entry{{tagCompression, []uint16{packZstd}}, {tagStripByteCounts, []uint32{uint32(len(frame))}}, {tagStripOffsets, []uint32{0}}}
	at := uint32(len(spec.write(t)))
	spec.extra[2].value = []uint32{at}
	err := refused(t, "a.tif", append(spec.write(t), frame...))
	require.ErrorIs(t, err, ErrFormat)
	frame[5] = 0 // 1 KiB
	got, err := loadOne("a.tif", append(spec.write(t), frame...))
	require.NoError(t, err)
	equalHeights(t, []float64{1, 2}, got.Z)
}

// TestHostilePacked: archives that unpack to something else than they declare.
func TestHostilePacked(t *testing.T) {
	if testing.Short() {
		t.Skip("hundreds of megabytes to unpack")
	}
	const tile, large = 2 * 1201 * 1201, 2 * 7201 * 7201
	gz := func(zeros int, declared uint32) []byte {
		var buf bytes.Buffer
		w := gzip.NewWriter(&buf)
		_, err := io.CopyN(w, zeroes{}, int64(zeros))
		require.NoError(t, err)
		require.NoError(t, w.Close())
		binary.LittleEndian.PutUint32(buf.Bytes()[buf.Len()-4:], declared)
		return buf.Bytes()
	}
	entries := func(n int) []byte {
		var buf bytes.Buffer
		w := zip.NewWriter(&buf)
		for i := range n {
			_, err := w.Create(fmt.Sprintf("%d.txt", i))
			require.NoError(t, err)
		}
		require.NoError(t, w.Close())
		return buf.Bytes()
	}
	full := gz(large, large)
	for _, c := range []struct {
		name, file string
		data       []byte
	}{
		{"gzip of more than told", "N42E001.hgt.gz", gz(1<<28, tile)},
		{"gzip of a large tile, cut", "N42E001.hgt.gz", append(bytes.Clone(full[:len(full)-5000]), full[len(full)-8:]...)},
		{"gzip with a wrong checksum", "N42E001.hgt.gz", append(append(bytes.Clone(full[:len(full)-8]), 1, 2, 3, 4), full[len(full)-4:]...)},
		{"gzip of no tile's length", "N42E001.hgt.gz", gz(1000, 1000)},
		{"a thousand files", "a.zip", entries(1000)},
		{"an archive cut", "a.zip", entries(10)[:200]},
	} {
		t.Run(c.name, func(t *testing.T) { refused(t, c.file, c.data) })
	}
}

type zeroes struct{}

func (zeroes) Read(p []byte) (int, error) {
	clear(p)
	return len(p), nil
}

func TestHostileASC(t *testing.T) {
	head := func(cols, rows, more string) []byte {
		return []byte("ncols " + cols + "\nnrows " + rows + "\nxllcorner 10\nyllcorner 50\ncellsize 0.0001\n" + more)
	}
	for name, data := range map[string][]byte{
		"a million columns":           head("1000000", "1", "1 2 3"),
		"a million by a million":      head("1000000", "1000000", "1 2 3"),
		"10^19 columns":               head("10000000000000000000", "1", "1"),
		"a product beyond 64 bits":    head("9999999", "9999999", "1"),
		"infinite columns":            head("inf", "1", "1"),
		"NaN corner":                  []byte("ncols 1\nnrows 1\nxllcorner nan\nyllcorner 0\ncellsize 1\n1"),
		"cells of 1e308":              []byte("ncols 1\nnrows 2\nxllcorner 0\nyllcorner 0\ncellsize 1e308\n1 2"),
		"one word of a million":       head("1", "1", strings.Repeat("1", 1000000)),
		"a million blanks, no height": head("3", "3", strings.Repeat(" ", 1000000)),
		"a header without end":        []byte("ncols " + strings.Repeat("ncols ", 100000)),
		"zeros of a file with holes":  append(head("2", "2", ""), make([]byte, 1000000)...),
	} {
		t.Run(name, func(t *testing.T) { refused(t, "a.asc", data) })
	}
}

// TestFarApart: two small files so far apart that the grid around them would be
// empty.
func TestFarApart(t *testing.T) {
	list := map[string][]byte{}
	for name, west := range map[string]int{"a.asc": 100, "b.asc": 105} {
		list[name] = []byte(strings.Replace(string(ascGrid(west, west, 2, 2)), "cellsize 0.1", "cellsize 0.0001", 1))
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	_, err := Load(files(list), []string{"."}, everything)
	runtime.ReadMemStats(&after)
	require.ErrorIs(t, err, ErrTooLarge)
	require.ErrorContains(t, err, "far apart")
	assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(64<<20))
}
