package terrain

import (
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"farhail/geo/geotest"
	"farhail/geo/grid"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// needs leaves a test out of short runs, since it starts the program of that name,
// and lets it run beside others.
func needs(t *testing.T, program string) {
	t.Helper()
	if testing.Short() {
		t.Skip("starts other programs")
	}
	t.Parallel()
	geotest.Tool(t, program)
}

// gdalCols and gdalRows make several strips and tiles, the last ones in part.
const gdalCols, gdalRows = 70, 53

// gdalSource writes a grid with heights from lo to hi, whole or with fractions
// that float32 holds, and a few voids, and returns its path and its heights.
func gdalSource(t *testing.T, dir string, lo, hi float64, fractions, voids bool, noData string) (string, []float64) {
	t.Helper()
	rng := rand.New(rand.NewPCG(11, 12))
	want := make([]float64, gdalCols*gdalRows)
	var b strings.Builder
	fmt.Fprintf(&b, "ncols %d\nnrows %d\nxllcorner 350000\nyllcorner 4700000\ncellsize 30\nNODATA_value %s\n", gdalCols, gdalRows, noData)
	for i := range want {
		// A rough ramp, so that differences of neighbours take all signs.
		v := lo + (hi-lo)*(0.8*float64(i)/float64(len(want))+0.2*rng.Float64())
		if v = float64(int(v)); fractions {
			v += float64(rng.IntN(64)) / 64
		}
		text := strconv.FormatFloat(v, 'f', -1, 64)
		if want[i] = v; voids && i%97 == 5 {
			want[i], text = nan, noData
		}
		b.WriteString(text)
		if b.WriteByte(' '); i%gdalCols == gdalCols-1 {
			b.WriteByte('\n')
		}
	}
	path := filepath.Join(dir, "source.asc")
	require.NoError(t, os.WriteFile(path, []byte(b.String()), 0o600))
	return path, want
}

func runTool(t *testing.T, dir, name string, args ...string) {
	t.Helper()
	cmd := exec.Command(geotest.Tool(t, name), args...)
	cmd.Dir = dir
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s %v: %s", name, args, out)
}

// gdalLayouts are the ways in which samples of one kind and packing may lie in a
// file.
var gdalLayouts = func() (list [][]string) {
	for _, order := range []string{"LITTLE", "BIG"} {
		for _, blocks := range []string{"TILED=YES BLOCKXSIZE=16 BLOCKYSIZE=32", "BLOCKYSIZE=1", "BLOCKYSIZE=20"} {
			for _, big := range []string{"NO", "YES"} {
				list = append(list, append(strings.Fields(blocks), "ENDIANNESS="+order, "BIGTIFF="+big))
			}
		}
	}
	return list
}()

// TestGDALWritten reads GeoTIFFs that gdal_translate wrote: every kind of sample
// with every compression and predictor that it writes, and with those in turn
// every byte order, layout and size of offsets. Every cell is compared. Where the
// tools are not required every third file is enough.
func TestGDALWritten(t *testing.T) {
	needs(t, "gdal_translate")
	dir := t.TempDir()
	type heights struct {
		file string
		want []float64
	}
	source := func(name string, lo, hi float64, fractions, voids bool) heights {
		path, want := gdalSource(t, dir, lo, hi, fractions, voids, "-9999")
		require.NoError(t, os.Rename(path, filepath.Join(dir, name)))
		return heights{name, want}
	}
	whole, fine := source("whole.asc", -80, 4800, false, true), source("fine.asc", -80, 4800, true, true)
	bytes, small := source("byte.asc", 0, 255, false, false), source("small.asc", -120, 120, false, false)
	signed := heights{bytes.file, make([]float64, len(bytes.want))} // GDAL 3.6 takes a signed byte's bits for a byte
	for i, v := range bytes.want {
		signed.want[i] = float64(int8(uint8(v)))
	}
	kinds := []struct {
		name   string
		args   []string
		from   heights
		floats bool
	}{
		{"Byte", nil, bytes, false}, {"Byte", []string{"-co", "PIXELTYPE=SIGNEDBYTE"}, signed, false},
		{"UInt16", nil, bytes, false}, {"Int16", nil, whole, false}, {"UInt32", nil, bytes, false}, {"Int32", nil, whole, false},
		{"Float32", []string{"-co", "NBITS=16"}, small, true}, {"Float32", nil, fine, true}, {"Float64", nil, fine, true},
	}
	zstd := gdalWrites(t, "ZSTD")
	turn, n := 0, 0
	for _, k := range kinds {
		for _, pack := range []string{"NONE", "PACKBITS", "LZW", "DEFLATE", "ZSTD"} {
			predictors := []string{"1"}
			if pack != "NONE" && pack != "PACKBITS" {
				if predictors = []string{"1", "2"}; k.floats {
					predictors = []string{"1", "2", "3"}
				}
			}
			if pack == "ZSTD" && !zstd {
				continue
			}
			for _, predictor := range predictors {
				layout := gdalLayouts[turn%len(gdalLayouts)]
				if predictor == "3" {
					// GDAL 3.6 does not read its own big-endian files with predictor
					// 3 back right: the first half of the layouts is little-endian.
					layout = gdalLayouts[turn%(len(gdalLayouts)/2)]
				}
				turn += 5 // without a common factor with the number of layouts
				if n++; !sampled(n) {
					continue
				}
				out := fmt.Sprintf("out%d.tif", n)
				t.Run(fmt.Sprint(k.name, k.args, pack, predictor, layout), func(t *testing.T) {
					t.Parallel()
					args := append([]string{"-q", "-ot", k.name, "-a_srs", "EPSG:32631", "-co", "COMPRESS=" + pack}, k.args...)
					if predictor != "1" {
						args = append(args, "-co", "PREDICTOR="+predictor)
					}
					for _, o := range layout {
						args = append(args, "-co", o)
					}
					if k.name[0] == 'U' || k.name == "Byte" {
						args = append(args, "-a_nodata", "none")
					}
					runTool(t, dir, "gdal_translate", append(args, k.from.file, out)...)
					got, err := Load(os.DirFS(dir), []string{out}, everything)
					require.NoError(t, err)
					equalHeights(t, k.from.want, got.Z)
					assert.Equal(t, "EPSG:32631", got.CRS.String())
					assert.InDelta(t, 350015, got.X0, 1e-6)
					assert.InDelta(t, 4700015+30*(gdalRows-1), got.Y0, 1e-6)
				})
			}
		}
	}
	require.GreaterOrEqual(t, n, 40)
}

// gdalFormats is what GDAL says of the GeoTIFFs that it writes.
var gdalFormats = sync.OnceValues(func() (string, error) {
	out, err := exec.Command("gdalinfo", "--format", "GTiff").Output()
	return string(out), err
})

// gdalWrites reports whether this GDAL writes a compression.
func gdalWrites(t *testing.T, pack string) bool {
	t.Helper()
	geotest.Tool(t, "gdalinfo")
	formats, err := gdalFormats()
	require.NoError(t, err)
	return strings.Contains(formats, "<Value>"+pack+"</Value>")
}

// sampled reports whether the n-th of many files is tried: all where the tools
// are required, else a third.
func sampled(n int) bool { return n%3 == 0 || os.Getenv("FARHAIL_REQUIRE_TOOLS") == "1" }

// TestGDALNoData: marks of no data as GDAL writes them.
func TestGDALNoData(t *testing.T) {
	needs(t, "gdal_translate")
	dir := t.TempDir()
	for kind, marks := range map[string][]string{
		"Int16":   {"-32768.0", "32767"},
		"Float32": {"nan", "1e+38", "-3.4028234663852886e+38", "0.1"},
		"Float64": {"-9999", "-1.7976931348623157e+308"},
	} {
		for _, mark := range marks {
			t.Run(kind+" "+mark, func(t *testing.T) {
				path, want := gdalSource(t, dir, 100, 4000, false, true, mark)
				runTool(t, dir, "gdal_translate", "-q", "--config", "AAIGRID_DATATYPE", "Float64", "-ot", kind, "-a_srs", "EPSG:32631", path, "nodata.tif")
				got, err := Load(os.DirFS(dir), []string{"nodata.tif"}, everything)
				require.NoError(t, err)
				equalHeights(t, want, got.Z)
				assert.Zero(t, got.Info.Undeclared)
			})
		}
	}
}

// TestGDALReads: cells of a file that is not ours, read by GDAL too: plain values
// by way of a raw file, and one place by gdallocationinfo.
func TestGDALReads(t *testing.T) {
	needs(t, "gdal_translate")
	shared, _ := sharedDEM(t)
	dir := t.TempDir()
	for _, name := range []string{"bigtujunga-utm11.tif", "jacksboro-fault.tif", "N49W124.tif", "olinda_dem_utm25s.tif"} {
		t.Run(name, func(t *testing.T) {
			from := filepath.Join(shared, name)
			runTool(t, dir, "gdal_translate", "-q", "-of", "ENVI", "-ot", "Float32", from, "raw.img")
			raw, err := os.ReadFile(filepath.Join(dir, "raw.img"))
			require.NoError(t, err)
			got, err := Load(os.DirFS(shared), []string{name}, everything)
			require.NoError(t, err)
			require.Len(t, raw, 4*len(got.Z))
			for i, z := range got.Z {
				if v := math.Float32frombits(binary.LittleEndian.Uint32(raw[4*i:])); z == z && z != v {
					t.Fatalf("cell %d: got %g, GDAL %g", i, z, v)
				}
			}
			out, err := exec.Command(geotest.Tool(t, "gdallocationinfo"), "-valonly", from, "77", "55").Output()
			require.NoError(t, err)
			v, err := strconv.ParseFloat(strings.TrimSpace(string(out)), 64)
			require.NoError(t, err)
			assert.InDelta(t, v, got.At(77, 55), 1e-3)
		})
	}
}

// TestGDALOptions: what else gdal_translate may write into a file; a third of it where
// the tools are not required.
func TestGDALOptions(t *testing.T) {
	needs(t, "gdal_translate")
	dir := t.TempDir()
	_, want := gdalSource(t, dir, 100, 4000, false, true, "-9999")
	// The grid's corners are 350000 and 352100 E, 4700000 and 4701590 N.
	cases := []struct {
		name  string
		args  []string
		crs   string
		point bool
		after []string // a tool to run on the file
	}{
		{name: "southern zone", args: []string{"-a_srs", "EPSG:32719"}, crs: "EPSG:32719"},
		{name: "zone without a code", args: []string{"-a_srs", "+proj=utm +zone=31 +ellps=WGS84 +units=m"}, crs: "EPSG:32631"},
		{name: "southern zone by parameters", args: []string{"-a_srs", "+proj=tmerc +lat_0=0 +lon_0=-69 +k=0.9996 +x_0=500000 +y_0=10000000 +datum=WGS84 +units=m"}, crs: "EPSG:32719"},
		{name: "longitude and latitude", args: []string{"-a_srs", "EPSG:4326", "-a_ullr", "10", "50", "10.7", "49.47"}, crs: "EPSG:4326"},
		{name: "ETRS89", args: []string{"-a_srs", "EPSG:4258", "-a_ullr", "10", "50", "10.7", "49.47"}, crs: "EPSG:4326"},
		{name: "cells that are not square", args: []string{"-a_srs", "EPSG:4326", "-a_ullr", "10", "50", "10.7", "49.735"}, crs: "EPSG:4326"},
		{name: "BigTIFF, cloud optimised, zstd", args: []string{"-a_srs", "EPSG:32631", "-of", "COG", "-co", "COMPRESS=ZSTD", "-co", "BIGTIFF=YES", "-co", "BLOCKSIZE=128", "-co", "OVERVIEWS=IGNORE_EXISTING"}, crs: "EPSG:32631"},
		{name: "point with a vertical datum", args: []string{"-a_srs", "EPSG:32631+5773", "-mo", "AREA_OR_POINT=Point"}, crs: "EPSG:32631", point: true},
		{name: "pixel is point", args: []string{"-a_srs", "EPSG:32631", "-mo", "AREA_OR_POINT=Point"}, crs: "EPSG:32631", point: true},
		{name: "ESRI's texts", args: []string{"-a_srs", "EPSG:32631", "-co", "GEOTIFF_KEYS_FLAVOR=ESRI_PE"}, crs: "EPSG:32631"},
		{name: "no-data nan", args: []string{"-a_srs", "EPSG:32631", "-ot", "Float32", "-a_nodata", "nan"}, crs: "EPSG:32631"},
		{name: "nothing declared", args: []string{"-a_srs", "EPSG:32631", "-a_nodata", "none"}, crs: "EPSG:32631"},
		{name: "sparse", args: []string{"-a_srs", "EPSG:32631", "-co", "SPARSE_OK=YES", "-co", "TILED=YES", "-co", "BLOCKXSIZE=16", "-co", "BLOCKYSIZE=16"}, crs: "EPSG:32631"},
		{name: "BigTIFF with overviews inside", args: []string{"-a_srs", "EPSG:32631", "-co", "BIGTIFF=YES", "-co", "COMPRESS=DEFLATE"}, crs: "EPSG:32631", after: []string{"gdaladdo", "-q", "out.tif", "2"}},
		{name: "overviews", args: []string{"-a_srs", "EPSG:32631"}, crs: "EPSG:32631", after: []string{"gdaladdo", "-q", "-r", "average", "out.tif", "2", "4"}},
		{name: "cloud optimised", args: []string{"-a_srs", "EPSG:32631", "-of", "COG", "-co", "COMPRESS=LZW"}, crs: "EPSG:32631"},
	}
	for i, c := range cases {
		if !sampled(i) {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			os.Remove(filepath.Join(dir, "out.tif"))
			runTool(t, dir, "gdal_translate", append(append([]string{"-q"}, c.args...), "source.asc", "out.tif")...)
			if c.after != nil {
				runTool(t, dir, c.after[0], c.after[1:]...)
			}
			got, err := Load(os.DirFS(dir), []string{"out.tif"}, everything)
			require.NoError(t, err)
			assert.Equal(t, c.crs, got.CRS.String())
			assert.Equal(t, c.point, got.Info.Registration == "point")
			if c.crs == "EPSG:4326" {
				assert.InDelta(t, 10+0.005, got.X0, 1e-9)
			} else {
				assert.InDelta(t, 350015, got.X0, 1e-6, "registration moves no cell")
			}
			if c.name == "no-data nan" {
				// gdal_translate -a_nodata renames the mark without changing cells.
				assert.Positive(t, got.Info.Undeclared)
			}
			equalHeights(t, want, got.Z)
			assert.Equal(t, c.name == "nothing declared" || c.name == "no-data nan", got.Info.Undeclared > 0)
		})
	}
}

// TestGDALFeet: a vertical code in feet makes metres, one that counts downwards is
// refused; neither names its unit beside.
func TestGDALFeet(t *testing.T) {
	needs(t, "gdal_translate")
	dir := t.TempDir()
	_, want := gdalSource(t, dir, 100, 4000, false, true, "-9999")
	for i := range want {
		want[i] *= 1200. / 3937
	}
	runTool(t, dir, "gdal_translate", "-q", "-a_srs", "EPSG:32631+6360", "source.asc", "feet.tif")
	got, err := Load(os.DirFS(dir), []string{"feet.tif"}, everything)
	require.NoError(t, err)
	assert.Equal(t, []any{"NAVD88", "ft"}, []any{got.Info.Datum, got.Info.Unit})
	for i, z := range got.Z {
		if !math.IsNaN(want[i]) {
			require.InDelta(t, want[i], float64(z), 1e-4)
		}
	}
	runTool(t, dir, "gdal_translate", "-q", "-a_srs", "EPSG:32631+5831", "source.asc", "depths.tif")
	_, err = Load(os.DirFS(dir), []string{"depths.tif"}, everything)
	assert.ErrorIs(t, err, ErrUnsupported)
	assert.ErrorContains(t, err, "depths that count downwards")
}

// TestGDALMasks: cells that a mask takes away, inside the file or beside it, are
// never read as heights; the command that the error names makes them no data.
func TestGDALMasks(t *testing.T) {
	needs(t, "gdal_translate")
	dir := t.TempDir()
	_, want := gdalSource(t, dir, 100, 4000, false, true, "-9999")
	for _, inside := range []string{"YES", "NO"} {
		out := "mask-" + inside + ".tif"
		runTool(t, dir, "gdal_translate", "-q", "--config", "GDAL_TIFF_INTERNAL_MASK", inside, "-a_srs", "EPSG:32631", "-ot", "Int16", "-b", "1", "-mask", "1", "-a_nodata", "none", "source.asc", out)
		_, err := Load(os.DirFS(dir), []string{out}, everything)
		require.ErrorIs(t, err, ErrUnsupported, out)
		var fault *FileError
		require.ErrorAs(t, err, &fault)
		args := strings.Fields(strings.TrimPrefix(fault.Help, "run: gdalwarp"))
		runTool(t, dir, "gdalwarp", append([]string{"-q", "-overwrite"}, args...)...)
		got, err := Load(os.DirFS(dir), []string{"out.tif"}, everything)
		require.NoError(t, err)
		equalHeights(t, want, got.Z)
	}
}

// TestGDALScale: a scale and an offset set by another program, with a no-data
// mark that belongs to the stored numbers.
func TestGDALScale(t *testing.T) {
	needs(t, "gdal_translate")
	dir := t.TempDir()
	_, stored := gdalSource(t, dir, 100, 4000, false, true, "-9999")
	runTool(t, dir, "gdal_translate", "-q", "-a_srs", "EPSG:32631", "-ot", "Int16", "-a_scale", "0.25", "-a_offset", "-50", "source.asc", "out.tif")
	got, err := Load(os.DirFS(dir), []string{"out.tif"}, everything)
	require.NoError(t, err)
	assert.Equal(t, [2]float64{0.25, -50}, [2]float64{got.Info.Scale, got.Info.Offset})
	want := make([]float64, len(stored))
	for i, v := range stored {
		want[i] = v*0.25 - 50
	}
	equalHeights(t, want, got.Z)
}

// TestGDALHints: a file that is not read says what to run, and after that it is
// read.
func TestGDALHints(t *testing.T) {
	needs(t, "gdal_translate")
	dir := t.TempDir()
	_, want := gdalSource(t, dir, 100, 4000, false, true, "-9999")
	cases := []struct {
		name, says string
		args       []string
		resampled  bool
	}{
		{"lerc", "LERC", []string{"-a_srs", "EPSG:32631", "-ot", "Float32", "-co", "COMPRESS=LERC"}, false},
		{"jpeg", "JPEG", []string{"-a_srs", "EPSG:32631", "-ot", "Byte", "-scale", "100", "4000", "1", "255", "-a_nodata", "none", "-co", "COMPRESS=JPEG"}, true},
		{"bits", "12 bits", []string{"-a_srs", "EPSG:32631", "-ot", "UInt16", "-co", "NBITS=12"}, true},
		{"south up", "north-up", []string{"-a_srs", "EPSG:32631", "-a_ullr", "350000", "4700000", "352100", "4701590"}, true},
		{"two bands", "2 bands", []string{"-a_srs", "EPSG:32631", "-b", "1", "-b", "1"}, false},
		{"complex samples", "complex", []string{"-a_srs", "EPSG:32631", "-ot", "CFloat32"}, false},
		{"another projection", "2154", []string{"-a_srs", "EPSG:2154"}, true},
		{"another datum", "4230", []string{"-a_srs", "EPSG:4230", "-a_ullr", "2", "42.1", "2.7", "41.57"}, true},
		{"no coordinates", "where it lies", []string{"-a_ullr", "0", "0", "0", "0", "-co", "PROFILE=BASELINE"}, true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			for _, a := range c.args {
				if pack, ok := strings.CutPrefix(a, "COMPRESS="); ok && !gdalWrites(t, pack) {
					t.Skip("this GDAL does not write " + pack)
				}
			}
			for _, f := range []string{"in.tif", "out.tif"} {
				os.Remove(filepath.Join(dir, f))
			}
			runTool(t, dir, "gdal_translate", append(append([]string{"-q"}, c.args...), "source.asc", "in.tif")...)
			_, err := Load(os.DirFS(dir), []string{"in.tif"}, everything)
			require.ErrorIs(t, err, ErrUnsupported)
			assert.ErrorContains(t, err, c.says)
			command := strings.TrimPrefix(hintOf(t, err), "run: ")
			command, _, _ = strings.Cut(command, " (")
			command = strings.NewReplacer("326ZZ", "32631", "WEST NORTH EAST SOUTH", "2 42.1 2.7 41.57").Replace(command)
			words := strings.Fields(command)
			runTool(t, dir, words[0], words[1:]...)
			got, err := Load(os.DirFS(dir), []string{"out.tif"}, everything)
			require.NoError(t, err)
			if !c.resampled {
				equalHeights(t, want, got.Z)
			} else {
				assert.Positive(t, got.Info.Known)
				assert.Greater(t, got.Info.MaxM, got.Info.MinM)
			}
		})
	}
}

// TestMixedHint runs the command that the error for two grids names, and joins
// what it makes.
func TestMixedHint(t *testing.T) {
	needs(t, "gdalwarp")
	dir := t.TempDir()
	gdalSource(t, dir, 100, 4000, false, true, "-9999")
	runTool(t, dir, "gdal_translate", "-q", "-a_srs", "EPSG:32631", "source.asc", "first.tif")
	runTool(t, dir, "gdalwarp", "-q", "-t_srs", "EPSG:4326", "-tr", "0.0005", "0.0004", "first.tif", "other.tif")
	_, err := Load(os.DirFS(dir), []string{"first.tif", "other.tif"}, everything)
	require.ErrorIs(t, err, ErrMixed)
	words := strings.Fields(strings.TrimPrefix(hintOf(t, err), "run: "))
	runTool(t, dir, words[0], words[1:]...)
	got, err := Load(os.DirFS(dir), []string{"first.tif", "out.tif"}, everything)
	require.NoError(t, err)
	assert.Greater(t, got.Info.Seam, gdalCols*gdalRows/2)
}

// TestGDALShades compares slopes and shades with those of gdaldem, which writes
// a shade as 1 + 254 times ours in whole numbers. It takes the grid's lengths
// for those on the ground, which differ by 0.04 % at most here.
func TestGDALShades(t *testing.T) {
	needs(t, "gdaldem")
	dir := t.TempDir()
	h := &Terrain{Heights: grid.Heights{Frame: grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 500000, Y0: 4700000, DX: 30, DY: 20, Cols: 60, Rows: 50}}}
	h.Z = geotest.Rough(5, 400).Cells(60, 50, 30)
	h.Z[20*60+30] = nan32
	file, err := os.Create(filepath.Join(dir, "in.tif"))
	require.NoError(t, err)
	require.NoError(t, WriteGeoTIFF(file, h.Frame, h.Z, nan32, WriteOptions{}))
	require.NoError(t, file.Close())
	raw := func(args ...string) []byte {
		runTool(t, dir, "gdaldem", append(args, "-q", "-of", "ENVI", "in.tif", "out.img")...)
		out, err := os.ReadFile(filepath.Join(dir, "out.img"))
		require.NoError(t, err)
		return out
	}
	known := 0
	slopes := raw("slope")
	for row := range h.Rows {
		for col := range h.Cols {
			want := math.Float32frombits(binary.LittleEndian.Uint32(slopes[4*(row*h.Cols+col):]))
			if got := SlopeDeg(&h.Heights, col, row); want == -9999 {
				assert.True(t, math.IsNaN(got), "column %d, row %d", col, row)
			} else {
				known++
				assert.InDelta(t, want, got, 0.02, "column %d, row %d", col, row)
			}
		}
	}
	assert.Equal(t, 58*48-9, known)
	for _, light := range []struct{ az, alt, z float64 }{{315, 45, 1}, {90, 20, 1}, {200, 70, 3}, {0, 5, 1}} {
		want := raw("hillshade", "-az", fmt.Sprint(light.az), "-alt", fmt.Sprint(light.alt), "-z", fmt.Sprint(light.z))
		shade, err := Hillshade(t.Context(), &h.Heights, light.az, light.alt, light.z)
		require.NoError(t, err)
		for i, v := range shade {
			if v != v {
				require.Zero(t, want[i], "cell %d", i)
				continue
			}
			require.InDelta(t, float64(want[i]), 1+254*float64(v), 0.7, "cell %d, light %v", i, light)
		}
	}
}

// TestVerticalDatums: the names of vertical coordinates, and which of them are in feet
// or count downwards, are those of PROJ's copy of the EPSG data set, all of it.
func TestVerticalDatums(t *testing.T) {
	needs(t, "projinfo")
	list, err := exec.Command("projinfo", "--list-crs", "vertical").Output()
	require.NoError(t, err)
	official := map[int]string{}
	for line := range strings.Lines(string(list)) {
		var code int
		if _, err := fmt.Sscanf(line, "EPSG:%d", &code); err == nil && !strings.Contains(line, "example") {
			official[code] = strings.Trim(strings.TrimSpace(line[strings.Index(line, " "):]), `"`)
		}
	}
	require.Greater(t, len(official), 200)
	for code, name := range verticalDatums {
		want, _, _ := strings.Cut(official[code], " (")
		assert.Equal(t, name+" height", want, "EPSG:%d", code)
	}
	for code, name := range official {
		assert.Equal(t, strings.Contains(name, "depth"), depths[code], "EPSG:%d, %s", code, name)
		unit := ""
		switch {
		case strings.Contains(name, "depth"):
		case strings.Contains(name, "(ftUS)"):
			unit = "us-ft"
		case strings.Contains(name, "(ft"):
			unit = "ft"
		}
		assert.Equal(t, unit, verticalUnits[code], "EPSG:%d, %s", code, name)
	}
	assert.Equal(t, []any{"EGM2008", "EPSG:5714", notStated}, []any{datumOf(t, 3855), datumOf(t, 5714), datumOf(t, 0)})
}

func datumOf(t *testing.T, code float64) string {
	t.Helper()
	datum, _, err := geoKeys{keyVerticalType: code}.datumAndUnit("a.tif")
	require.NoError(t, err)
	return datum
}
