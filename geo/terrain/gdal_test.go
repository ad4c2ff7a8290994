package terrain

import (
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"farhail/geo/geotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// gdalCols and gdalRows make several strips and tiles, the last ones in part.
const gdalCols, gdalRows = 70, 53

// gdalSource writes a grid with heights from lo to hi, whole or with fractions
// that float32 holds, and a few voids, and returns its path and its heights.
func gdalSource(t *testing.T, dir string, lo, hi float64, fractions, voids bool) (string, []float64) {
	t.Helper()
	rng := rand.New(rand.NewPCG(11, 12))
	want := make([]float64, gdalCols*gdalRows)
	var b strings.Builder
	fmt.Fprintf(&b, "ncols %d\nnrows %d\nxllcorner 350000\nyllcorner 4700000\ncellsize 30\nNODATA_value -9999\n", gdalCols, gdalRows)
	for i := range want {
		// A rough ramp, so that differences of neighbours take all signs.
		v := lo + (hi-lo)*(0.8*float64(i)/float64(len(want))+0.2*rng.Float64())
		if v = float64(int(v)); fractions {
			v += float64(rng.IntN(64)) / 64
		}
		want[i] = v
		if voids && i%97 == 5 {
			want[i] = nan
			v = -9999
		}
		b.WriteString(strconv.FormatFloat(v, 'f', -1, 64))
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

// TestGDALWritten reads GeoTIFFs that gdal_translate wrote in all the ways that
// are read here, and compares every cell.
func TestGDALWritten(t *testing.T) {
	if testing.Short() {
		t.Skip("starts other programs")
	}
	t.Parallel()
	geotest.Tool(t, "gdal_translate")
	dir := t.TempDir()
	whole, wholeWant := gdalSource(t, dir, -80, 4800, false, true)
	require.NoError(t, os.Rename(whole, filepath.Join(dir, "whole.asc")))
	fine, fineWant := gdalSource(t, dir, -80, 4800, true, true)
	require.NoError(t, os.Rename(fine, filepath.Join(dir, "fine.asc")))
	small, smallWant := gdalSource(t, dir, 0, 255, false, false)
	require.NoError(t, os.Rename(small, filepath.Join(dir, "small.asc")))
	type written struct{ kind, compress, predictor, layout string }
	// Each scheme, predictor, byte order and layout with each kind of sample
	// that takes other code for it. GDAL 3.6 does not read its own big-endian
	// files with predictor 3 back right, so there is none.
	const tiles = "TILED=YES BLOCKXSIZE=16 BLOCKYSIZE=32"
	for _, w := range []written{
		{"Int16", "NONE", "", ""}, {"Int16", "NONE", "", tiles}, {"Int16", "NONE", "", "BLOCKYSIZE=1"}, {"Int16", "NONE", "", "ENDIANNESS=BIG"},
		{"Int16", "LZW", "1", tiles}, {"Int16", "LZW", "2", ""}, {"Int16", "PACKBITS", "", ""},
		{"Int16", "DEFLATE", "1", ""}, {"Int16", "DEFLATE", "2", tiles}, {"Int16", "DEFLATE", "2", "ENDIANNESS=BIG"},
		{"Byte", "DEFLATE", "2", ""}, {"Byte", "PACKBITS", "", tiles},
		{"UInt16", "LZW", "2", "ENDIANNESS=BIG " + tiles}, {"UInt32", "NONE", "", "ENDIANNESS=BIG"}, {"Int32", "DEFLATE", "2", ""},
		{"Float32", "NONE", "", "ENDIANNESS=BIG"}, {"Float32", "LZW", "3", ""}, {"Float32", "DEFLATE", "3", tiles}, {"Float32", "DEFLATE", "2", ""},
		{"Float64", "DEFLATE", "3", ""}, {"Float64", "LZW", "2", tiles},
	} {
		t.Run(fmt.Sprint(w), func(t *testing.T) {
			source, want := "whole.asc", wholeWant
			switch w.kind {
			case "Byte", "UInt16", "UInt32":
				source, want = "small.asc", smallWant
			case "Float32", "Float64":
				source, want = "fine.asc", fineWant
			}
			args := []string{"-q", "-ot", w.kind, "-a_srs", "EPSG:32631", "-co", "COMPRESS=" + w.compress}
			if w.predictor != "" {
				args = append(args, "-co", "PREDICTOR="+w.predictor)
			}
			for _, o := range strings.Fields(w.layout) {
				args = append(args, "-co", o)
			}
			if source == "small.asc" {
				args = append(args, "-a_nodata", "none")
			}
			runTool(t, dir, "gdal_translate", append(args, source, "out.tif")...)
			got, err := Load(os.DirFS(dir), []string{"out.tif"}, everything)
			require.NoError(t, err)
			equalHeights(t, want, got.Z)
			assert.Equal(t, "EPSG:32631", got.CRS.String())
			assert.InDelta(t, 350015, got.X0, 1e-6)
			assert.InDelta(t, 4700015+30*(gdalRows-1), got.Y0, 1e-6)
		})
	}
}

// TestGDALOptions: what else gdal_translate may write into a file.
func TestGDALOptions(t *testing.T) {
	if testing.Short() {
		t.Skip("starts other programs")
	}
	t.Parallel()
	geotest.Tool(t, "gdal_translate")
	dir := t.TempDir()
	_, want := gdalSource(t, dir, 100, 4000, false, true)
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
		{name: "pixel is point", args: []string{"-a_srs", "EPSG:32631", "-mo", "AREA_OR_POINT=Point"}, crs: "EPSG:32631", point: true},
		{name: "no-data nan", args: []string{"-a_srs", "EPSG:32631", "-ot", "Float32", "-a_nodata", "nan"}, crs: "EPSG:32631"},
		{name: "nothing declared", args: []string{"-a_srs", "EPSG:32631", "-a_nodata", "none"}, crs: "EPSG:32631"},
		{name: "sparse", args: []string{"-a_srs", "EPSG:32631", "-co", "SPARSE_OK=YES", "-co", "TILED=YES", "-co", "BLOCKXSIZE=16", "-co", "BLOCKYSIZE=16"}, crs: "EPSG:32631"},
		{name: "overviews", args: []string{"-a_srs", "EPSG:32631"}, crs: "EPSG:32631", after: []string{"gdaladdo", "-q", "-r", "average", "out.tif", "2", "4"}},
		{name: "cloud optimised", args: []string{"-a_srs", "EPSG:32631", "-of", "COG", "-co", "COMPRESS=LZW"}, crs: "EPSG:32631"},
	}
	for _, c := range cases {
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

// TestGDALScale: a scale and an offset set by another program, with a no-data
// mark that belongs to the stored numbers.
func TestGDALScale(t *testing.T) {
	if testing.Short() {
		t.Skip("starts other programs")
	}
	t.Parallel()
	geotest.Tool(t, "gdal_translate")
	dir := t.TempDir()
	_, stored := gdalSource(t, dir, 100, 4000, false, true)
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
	if testing.Short() {
		t.Skip("starts other programs")
	}
	t.Parallel()
	geotest.Tool(t, "gdal_translate")
	dir := t.TempDir()
	_, want := gdalSource(t, dir, 100, 4000, false, true)
	cases := []struct {
		name, says string
		args       []string
		resampled  bool
	}{
		{"BigTIFF", "BigTIFF", []string{"-a_srs", "EPSG:32631", "-co", "BIGTIFF=YES"}, false},
		{"zstd", "ZSTD", []string{"-a_srs", "EPSG:32631", "-co", "COMPRESS=ZSTD"}, false},
		{"lzma", "LZMA", []string{"-a_srs", "EPSG:32631", "-co", "COMPRESS=LZMA"}, false},
		{"two bands", "2 bands", []string{"-a_srs", "EPSG:32631", "-b", "1", "-b", "1"}, false},
		{"complex samples", "format", []string{"-a_srs", "EPSG:32631", "-ot", "CFloat32"}, false},
		{"another projection", "2154", []string{"-a_srs", "EPSG:2154"}, true},
		{"another datum", "4230", []string{"-a_srs", "EPSG:4230", "-a_ullr", "2", "42.1", "2.7", "41.57"}, true},
		{"no coordinates", "where it lies", []string{"-a_ullr", "0", "0", "0", "0", "-co", "PROFILE=BASELINE"}, true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if c.name == "zstd" || c.name == "lzma" {
				formats, err := exec.Command(geotest.Tool(t, "gdalinfo"), "--format", "GTiff").CombinedOutput()
				require.NoError(t, err)
				if !strings.Contains(string(formats), strings.ToUpper(c.name)) {
					t.Skip("this GDAL does not write " + c.name)
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
				assert.InDelta(t, 4000, got.Info.MaxM, 400)
			}
		})
	}
}

// TestMixedHint runs the command that the error for two grids names, and joins
// what it makes.
func TestMixedHint(t *testing.T) {
	if testing.Short() {
		t.Skip("starts other programs")
	}
	t.Parallel()
	geotest.Tool(t, "gdalwarp")
	dir := t.TempDir()
	gdalSource(t, dir, 100, 4000, false, true)
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
