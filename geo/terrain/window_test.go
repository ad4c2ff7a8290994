package terrain

import (
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"testing"
	"testing/fstest"

	"farhail/geo/grid"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// countedFS tells which bytes of its files are read.
type countedFS struct {
	fstest.MapFS
	reads *[][2]int64 // from, to
}

type countedFile struct {
	fs.File
	fs countedFS
}

func (c countedFS) Open(name string) (fs.File, error) {
	f, err := c.MapFS.Open(name)
	return countedFile{f, c}, err
}

func (f countedFile) ReadAt(p []byte, at int64) (int, error) {
	n, err := f.File.(io.ReaderAt).ReadAt(p, at)
	*f.fs.reads = append(*f.fs.reads, [2]int64{at, at + int64(n)})
	return n, err
}

// TestWindowedReads: of a file only the strips or tiles that a box needs are
// read, of strips without compression only the rows.
func TestWindowedReads(t *testing.T) {
	frame := grid.Frame{X0: 10, Y0: 50, DX: 0.001, DY: 0.001, Cols: 1500, Rows: 1100}
	values := make([]float32, frame.Cols*frame.Rows)
	for i := range values {
		values[i] = float32(i*7%4001) / 4
	}
	// Columns 600 to 650 and rows 400 to 430, and one around.
	box := orb.Bound{Min: orb.Point{10.6, 49.57}, Max: orb.Point{10.65, 49.6}}
	w := window{599, 399, 652, 432}
	for name, o := range map[string]WriteOptions{
		"tiles": {}, "plain tiles": {Plain: true}, "strips": {Strips: true}, "plain strips": {Strips: true, Plain: true},
	} {
		t.Run(name, func(t *testing.T) {
			var file bytes.Buffer
			require.NoError(t, WriteGeoTIFF(&file, frame, values, nan32, o))
			data := file.Bytes()
			var reads [][2]int64
			got, err := Load(countedFS{fstest.MapFS{"a.tif": {Data: data}}, &reads}, []string{"a.tif"}, box)
			require.NoError(t, err)
			require.InDelta(t, w.cells(), got.Cols*got.Rows, 200, "the box and a cell around")
			for row := range got.Rows {
				for col := range got.Cols {
					c, r := frame.CellXY(got.XY(float64(col), float64(row)))
					require.Equal(t, values[int(r+0.5)*frame.Cols+int(c+0.5)], got.Row(row)[col])
				}
			}
			r, err := openTIFF(fstest.MapFS{}, &source{ReaderAt: bytes.NewReader(data), name: "a.tif", size: int64(len(data))})
			require.NoError(t, err)
			tf := r.(*tiff)
			read := int64(0)
			for _, r := range reads {
				read += r[1] - r[0]
			}
			needed := int64(0)
			for n := range tf.blocks {
				at, size, err := tf.place(n)
				require.NoError(t, err)
				bx, by := n%tf.across*tf.blockW, n/tf.across*tf.blockH
				if !(window{bx, by, bx + tf.blockW, by + tf.blockH}).meet(w).empty() {
					needed += size
					continue
				}
				for _, r := range reads {
					require.False(t, r[0] < at+size && r[1] > at, "block %d at %d is read", n, at)
				}
			}
			assert.Less(t, needed, int64(len(data)/5), "the test means something")
			assert.Less(t, read, needed+20000, "besides, the head of the file")
			t.Logf("%s: %d bytes of %d are read", name, read, len(data))
		})
	}
}

// TestWindowOfOneStrip: of a large strip without compression only the rows of the
// box are read.
func TestWindowOfOneStrip(t *testing.T) {
	spec := tiffSpec{cols: 400, rows: 1, format: formatInt, bits: 16, values: make([]float64, 400)}
	base := spec.write(t)
	const rows = 2000
	at := uint32(len(base))
	spec.extra = []entry{{tagImageLength, []uint32{rows}}, {tagRowsPerStrip, []uint32{rows}}, {tagStripOffsets, []uint32{at + 100}}, {tagStripByteCounts, []uint32{400 * 2 * rows}},
		{tagPixelScale, []float64{0.001, 0.001, 0}}}
	data := spec.write(t)
	require.LessOrEqual(t, len(data), int(at)+100)
	data = append(data, make([]byte, int(at)+100-len(data))...)
	for row := range rows {
		for range 400 {
			data = append(data, byte(row), byte(row>>8))
		}
	}
	var reads [][2]int64
	box := orb.Bound{Min: orb.Point{10.1, 48.9}, Max: orb.Point{10.1, 48.9}}
	got, err := Load(countedFS{fstest.MapFS{"a.tif": {Data: data}}, &reads}, []string{"a.tif"}, box)
	require.NoError(t, err)
	assert.InDelta(t, 1099.5, got.Sample(box.Min), 1e-6)
	read := int64(0)
	for _, r := range reads {
		read += r[1] - r[0]
	}
	assert.Less(t, read, int64(10000), "of %d", len(data))
}

// TestOverviewFirst: smaller copies are passed over wherever they stand.
func TestOverviewFirst(t *testing.T) {
	for _, big := range []bool{false, true} {
		full := tiffSpec{big: big, cols: 2, rows: 2, format: formatInt, bits: 16, values: []float64{1, 2, 3, 4}}
		small := tiffSpec{big: big, cols: 1, rows: 1, format: formatInt, bits: 16, values: []float64{9}, extra: []entry{{tagNewSubfileType, []uint32{1}}}}
		for name, list := range map[string][]tiffSpec{"first": {small, full}, "last": {full, small}, "around": {small, full, small}, "another image": {full, full}} {
			t.Run(fmt.Sprint(name, big), func(t *testing.T) {
				got, err := loadOne("a.tif", writeTIFF(t, list...))
				require.NoError(t, err)
				equalHeights(t, full.values, got.Z)
				assert.Equal(t, name == "another image", len(got.Info.Notes) > 0, "%q", got.Info.Notes)
			})
		}
	}
}
