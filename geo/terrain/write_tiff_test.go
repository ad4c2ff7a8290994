package terrain

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"farhail/geo/geotest"
	"farhail/geo/grid"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// writeFrames have several strips and tiles, the last ones in part, on both
// kinds of coordinates and both halves of the Earth.
var writeFrames = map[string]grid.Frame{
	"lon/lat":         {X0: 1.5, Y0: 42.625, DX: 1.0 / 1200, DY: 1.0 / 1200, Cols: 300, Rows: 270},
	"lon/lat, oblong": {X0: -77.75, Y0: -12.25, DX: 1.0 / 1800, DY: 1.0 / 3600, Cols: 7, Rows: 520},
	"over 180":        {X0: 179.5, Y0: 10, DX: 0.01, DY: 0.01, Cols: 260, Rows: 3},
	"zone 31 north":   {CRS: grid.CRS{Zone: 31}, X0: 350015, Y0: 4701590.5, DX: 30, DY: 25, Cols: 257, Rows: 256},
	"zone 19 south":   {CRS: grid.CRS{Zone: 19, South: true}, X0: 350000.25, Y0: 6300000, DX: 12.5, DY: 12.5, Cols: 40, Rows: 1},
	"one cell":        {X0: 0, Y0: 0, DX: 1, DY: 1, Cols: 1, Rows: 1},
}

var writeOptions = map[string]WriteOptions{
	"tiles": {}, "strips": {Strips: true}, "plain tiles": {Plain: true}, "plain strips": {Strips: true, Plain: true},
}

// testCells makes heights with fractions and some voids, and bytes.
func testCells(f grid.Frame) (heights []float32, bytes []uint8) {
	rng := rand.New(rand.NewPCG(5, 6))
	heights, bytes = make([]float32, f.Cols*f.Rows), make([]uint8, f.Cols*f.Rows)
	for i := range heights {
		heights[i] = rng.Float32()*4000 - 200
		bytes[i] = uint8(rng.IntN(256))
		if i%11 == 5 {
			heights[i] = float32(math.NaN())
		}
	}
	return heights, bytes
}

func wide(list []float32) []float64 {
	out := make([]float64, len(list))
	for i, v := range list {
		out[i] = float64(v)
	}
	return out
}

// sameFrame compares places to a thousandth of a millimetre.
func sameFrame(t testing.TB, want, got grid.Frame) {
	t.Helper()
	tolerance := 1e-6
	if want.CRS.LonLat() {
		tolerance = 1e-12
	}
	assert.InDelta(t, want.X0, got.X0, tolerance)
	assert.InDelta(t, want.Y0, got.Y0, tolerance)
	got.X0, got.Y0 = want.X0, want.Y0
	assert.Equal(t, want, got)
}

func TestWriteGeoTIFF(t *testing.T) {
	for name, f := range writeFrames {
		heights, cells := testCells(f)
		for layout, o := range writeOptions {
			t.Run(name+", "+layout, func(t *testing.T) {
				var file, again bytes.Buffer
				require.NoError(t, WriteGeoTIFF(&file, f, heights, float32(math.NaN()), o))
				require.NoError(t, WriteGeoTIFF(&again, f, heights, float32(math.NaN()), o))
				assert.True(t, bytes.Equal(file.Bytes(), again.Bytes()), "same bytes")
				got, err := loadOne("a.tif", file.Bytes())
				require.NoError(t, err)
				sameFrame(t, f, got.Frame)
				equalHeights(t, wide(heights), got.Z)
				assert.Zero(t, got.Info.Undeclared)
				assert.Empty(t, got.Info.Notes)

				file.Reset()
				require.NoError(t, WriteGeoTIFF(&file, f, cells, 255, o))
				got, err = loadOne("a.tif", file.Bytes())
				require.NoError(t, err)
				sameFrame(t, f, got.Frame)
				for i, v := range cells {
					if v == 255 {
						require.True(t, math.IsNaN(float64(got.Z[i])))
					} else {
						require.Equal(t, float32(v), got.Z[i])
					}
				}
			})
		}
	}
}

// TestWriteContent: a result is not read as terrain, by name or in a folder.
func TestWriteContent(t *testing.T) {
	f := writeFrames["one cell"]
	var file bytes.Buffer
	require.NoError(t, WriteGeoTIFF(&file, f, []float32{7}, float32(math.NaN()), WriteOptions{Content: "seconds <of> walking", Unit: "m"}))
	_, err := loadOne("a.tif", file.Bytes())
	require.ErrorIs(t, err, ErrUnsupported)
	require.ErrorContains(t, err, "seconds <of> walking")
	_, err = Load(files(map[string][]byte{"dem/a.tif": file.Bytes()}), []string{"dem"}, everything)
	require.ErrorIs(t, err, ErrOutside)

	file.Reset()
	require.NoError(t, WriteGeoTIFF(&file, f, []float32{7}, -9999, WriteOptions{Unit: "ft"}))
	got, err := loadOne("a.tif", file.Bytes())
	require.NoError(t, err)
	assert.InDelta(t, 7*0.3048, got.At(0, 0), 1e-6)
}

// A title is for people: heights with one are read as before.
func TestWriteTitle(t *testing.T) {
	f := writeFrames["one cell"]
	for _, strips := range []bool{false, true} {
		var file bytes.Buffer
		require.NoError(t, WriteGeoTIFF(&file, f, []float32{7}, -9999, WriteOptions{Unit: "m", Title: "EXAMPLE: Coma d\u2019Or\x00", Strips: strips}))
		assert.Contains(t, file.String(), "EXAMPLE: Coma d?Or?\x00")
		got, err := loadOne("a.tif", file.Bytes())
		require.NoError(t, err)
		assert.InDelta(t, 7, got.At(0, 0), 0)
	}
}

type fullDisk struct{ left int }

var errFull = errors.New("full")

func (d *fullDisk) Write(p []byte) (int, error) {
	if len(p) > d.left {
		return 0, errFull
	}
	d.left -= len(p)
	return len(p), nil
}

func TestWriteRefused(t *testing.T) {
	f := writeFrames["one cell"]
	bad := f
	bad.DX = 0
	require.ErrorIs(t, WriteGeoTIFF(&bytes.Buffer{}, bad, []uint8{1}, 0, WriteOptions{}), grid.ErrFrame)
	assert.Panics(t, func() { _ = WriteGeoTIFF(&bytes.Buffer{}, f, []uint8{1, 2}, 0, WriteOptions{}) })
	var file bytes.Buffer
	require.NoError(t, WriteGeoTIFF(&file, f, []uint8{1}, 0, WriteOptions{}))
	for _, room := range []int{0, file.Len() - 1} {
		require.ErrorIs(t, WriteGeoTIFF(&fullDisk{room}, f, []uint8{1}, 0, WriteOptions{}), errFull)
	}
}

// TestWriteForGDAL: another program finds the same cells at the same places.
func TestWriteForGDAL(t *testing.T) {
	if testing.Short() {
		t.Skip("starts other programs")
	}
	t.Parallel()
	info, locate := geotest.Tool(t, "gdalinfo"), geotest.Tool(t, "gdallocationinfo")
	dir := t.TempDir()
	path := filepath.Join(dir, "out.tif")
	for _, name := range []string{"lon/lat", "zone 31 north", "zone 19 south"} {
		f := writeFrames[name]
		heights, cells := testCells(f)
		for layout, o := range writeOptions {
			if name != "lon/lat" && o != (WriteOptions{}) {
				continue // the layout does not depend on the coordinates
			}
			t.Run(name+", "+layout, func(t *testing.T) {
				var file bytes.Buffer
				o.Content, o.Unit = "needed height", "m"
				require.NoError(t, WriteGeoTIFF(&file, f, heights, float32(math.NaN()), o))
				require.NoError(t, os.WriteFile(path, file.Bytes(), 0o600))
				out, err := exec.Command(info, path).CombinedOutput()
				require.NoError(t, err, string(out))
				text := string(out)
				for _, want := range []string{
					fmt.Sprintf("Size is %d, %d", f.Cols, f.Rows), fmt.Sprintf("ID[\"EPSG\",%d]]\nData", f.CRS.EPSG()), "AREA_OR_POINT=Area",
					"Type=Float32", "NoData Value=nan", "Unit Type: m", "Description = needed height",
				} {
					assert.Contains(t, text, want)
				}
				assert.NotContains(t, text, "Warning")
				assert.NotContains(t, text, "ERROR")
				assert.Equal(t, !o.Strips, strings.Contains(text, "Block=256x256"))
				assert.Equal(t, !o.Plain, strings.Contains(text, "COMPRESSION=DEFLATE"))
				compareGDAL(t, locate, path, f, func(i int) float64 { return float64(heights[i]) })

				file.Reset()
				require.NoError(t, WriteGeoTIFF(&file, f, cells, 255, o))
				require.NoError(t, os.WriteFile(path, file.Bytes(), 0o600))
				out, err = exec.Command(info, path).CombinedOutput()
				require.NoError(t, err, string(out))
				assert.Contains(t, string(out), "Type=Byte")
				assert.Contains(t, string(out), "NoData Value=255")
				compareGDAL(t, locate, path, f, func(i int) float64 { return float64(cells[i]) })
			})
		}
	}
}

// compareGDAL asks for the values at 60 places within cells, and compares them.
func compareGDAL(t *testing.T, locate, path string, f grid.Frame, want func(i int) float64) {
	t.Helper()
	rng := rand.New(rand.NewPCG(1, 2))
	var ask strings.Builder
	var cells []int
	for range 60 {
		col, row := rng.IntN(f.Cols), rng.IntN(f.Rows)
		cells = append(cells, row*f.Cols+col)
		// Anywhere well within the cell.
		x, y := f.XY(float64(col)+0.9*(rng.Float64()-0.5), float64(row)+0.9*(rng.Float64()-0.5))
		fmt.Fprintf(&ask, "%.12f %.12f\n", x, y)
	}
	cmd := exec.Command(locate, "-valonly", "-geoloc", path)
	cmd.Stdin = strings.NewReader(ask.String())
	out, err := cmd.Output()
	require.NoError(t, err)
	lines := strings.Fields(string(out))
	require.Len(t, lines, len(cells))
	for i, cell := range cells {
		got, err := strconv.ParseFloat(lines[i], 64)
		require.NoError(t, err)
		if w := want(cell); math.IsNaN(w) {
			assert.True(t, math.IsNaN(got))
		} else {
			// Printed with 15 figures.
			assert.InDelta(t, w, got, 1e-9*math.Abs(w))
		}
	}
}

// FuzzWriteGeoTIFF: whatever is written is read back, cell by cell and at the
// same place.
func FuzzWriteGeoTIFF(f *testing.F) {
	f.Add([]byte("\x00\x00\x80\x3f\x00\x00\xc0\x7f"), uint16(1), uint8(0), 1.5, 42.5, 0.001)
	f.Add([]byte("0123456789abcdef"), uint16(2), uint8(31), 350000.0, 4.7e6, 30.0)
	f.Add(bytes.Repeat([]byte{255, 0, 3}, 300), uint16(300), uint8(0xff), 179.9, -89.0, 1e-5)
	f.Fuzz(func(t *testing.T, data []byte, cols uint16, how uint8, x, y, d float64) {
		frame := grid.Frame{X0: x, Y0: y, DX: d, DY: d, Cols: int(cols)}
		if how&0x0f > 0 {
			frame.CRS = grid.CRS{Zone: int(how & 0x0f), South: how&0x10 > 0}
		}
		o := WriteOptions{Strips: how&0x20 > 0, Plain: how&0x40 > 0}
		var file bytes.Buffer
		if how&0x80 > 0 {
			cells := data[:len(data)-len(data)%max(int(cols), 1)]
			if frame.Rows = len(cells) / max(int(cols), 1); frame.Validate() != nil {
				return
			}
			require.NoError(t, WriteGeoTIFF(&file, frame, cells, 255, o))
			readBack(t, file.Bytes(), frame, 255, func(i int) float64 { return float64(cells[i]) })
			return
		}
		values := make([]float32, len(data)/4/max(int(cols), 1)*int(cols))
		for i := range values {
			values[i] = math.Float32frombits(binary.LittleEndian.Uint32(data[4*i:]))
		}
		if frame.Rows = len(values) / max(int(cols), 1); frame.Validate() != nil {
			return
		}
		require.NoError(t, WriteGeoTIFF(&file, frame, values, float32(math.NaN()), o))
		readBack(t, file.Bytes(), frame, math.NaN(), func(i int) float64 { return float64(values[i]) })
	})
}

// readBack compares a written file with its cells. What no ground can be comes
// back as no data.
func readBack(t *testing.T, data []byte, f grid.Frame, noData float64, want func(i int) float64) {
	t.Helper()
	got, err := loadOne("a.tif", data)
	if err != nil {
		// The corner of the outer cell may round to a frame that just fails.
		require.ErrorIs(t, err, ErrFormat)
		require.ErrorContains(t, err, "impossible frame")
		return
	}
	assert.Equal(t, [3]any{f.CRS, f.Cols, f.Rows}, [3]any{got.CRS, got.Cols, got.Rows})
	assert.InDelta(t, f.X0, got.X0, 1e-9*max(math.Abs(f.X0), f.DX, 1))
	assert.InDelta(t, f.Y0, got.Y0, 1e-9*max(math.Abs(f.Y0), f.DY, 1))
	for i, z := range got.Z {
		w := want(i)
		if w == noData || w != w || isFill(w, float32(w)) {
			require.True(t, z != z, "cell %d: %g for %g", i, z, w)
		} else {
			require.Equal(t, float32(w), z, "cell %d", i)
		}
	}
}
