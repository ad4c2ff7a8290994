package terrain

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"farhail/geo/geotest"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestCodesOfEurope: a cut of CORINE 2018 in EPSG:3035, with its cells in the
// middle and near the corners as gdallocationinfo -wgs84 reads them.
func TestCodesOfEurope(t *testing.T) {
	dir := filepath.Join(geotest.Shared(t), "data", "landcover")
	c, err := LoadCodes(os.DirFS(dir), "corine2018-eifel-cut.tif", orb.Bound{})
	require.NoError(t, err)
	assert.Equal(t, "EPSG:3035", c.CRS)
	cells, area := 0, 0.0
	for _, a := range c.Areas() {
		cells += a.Cells
		area += a.AreaM2
	}
	assert.Equal(t, 366*293, cells)
	assert.InDelta(t, 366*293*1e4, area, 1)
	assert.Zero(t, c.At(orb.Point{6.5, 50.5}), "outside")

	spots := []orb.Point{{6.88, 50.52}, {6.65, 50.63}, {7.11, 50.41}, {6.7, 50.45}, {7.0, 50.6}, {6.951, 50.487}}
	cut, err := LoadCodes(os.DirFS(dir), "corine2018-eifel-cut.tif", orb.MultiPoint{{6.9, 50.48}, {7.0, 50.62}}.Bound())
	require.NoError(t, err)
	assert.Less(t, cut.cols*cut.rows, c.cols*c.rows/2)
	assert.Equal(t, c.At(orb.Point{6.951, 50.487}), cut.At(orb.Point{6.951, 50.487}), "a window holds the same")
	assert.Equal(t, c.At(orb.Point{6.9, 50.48}), cut.At(orb.Point{6.9, 50.48}), "to its corner")

	info := geotest.Tool(t, "gdallocationinfo")
	for _, p := range spots {
		out, err := exec.Command(info, "-valonly", "-wgs84", filepath.Join(dir, "corine2018-eifel-cut.tif"),
			strconv.FormatFloat(p.Lon(), 'f', -1, 64), strconv.FormatFloat(p.Lat(), 'f', -1, 64)).Output()
		require.NoError(t, err)
		assert.Equal(t, strings.TrimSpace(string(out)), strconv.Itoa(c.At(p)), "%v", p)
	}
}

// TestCodesRefused: heights with fractions, a result of farhail, a text and
// a box elsewhere are no classes of the area.
func TestCodesRefused(t *testing.T) {
	dir := geotest.Shared(t)
	_, err := LoadCodes(os.DirFS(filepath.Join(dir, "data", "landcover")), "corine2018-eifel-cut.tif", orb.Point{1.5, 42.5}.Bound())
	require.ErrorIs(t, err, ErrOutside)
	_, err = LoadCodes(os.DirFS(filepath.Join(dir, "data", "landcover")), "andorra-trails.geojson", orb.Bound{})
	require.ErrorIs(t, err, ErrUnsupported)
	_, err = LoadCodes(os.DirFS(filepath.Join(dir, "data", "dem")), "sf-1s-east.tif", orb.Bound{})
	require.ErrorContains(t, err, "no code of a class")
	_, err = Load(os.DirFS(filepath.Join(dir, "data", "landcover")), []string{"corine2018-eifel-cut.tif"}, orb.Bound{})
	require.ErrorIs(t, err, ErrUnsupported, "classes are no terrain")
}

// TestCodesByParameters: the projection told by its numbers instead of its code,
// and a warp to longitude and latitude, give the same codes; of a warp to the
// nearest cell those that are not within a cell of another class.
func TestCodesByParameters(t *testing.T) {
	file := filepath.Join(geotest.Shared(t), "data", "landcover", "corine2018-eifel-cut.tif")
	geotest.Tool(t, "gdal_translate")
	dir := t.TempDir()
	for _, args := range [][]string{
		{"gdal_translate", "-q", "-a_srs", "+proj=laea +lat_0=52 +lon_0=10 +x_0=4321000 +y_0=3210000 +ellps=GRS80 +units=m", file, filepath.Join(dir, "own.tif")},
		{"gdalwarp", "-q", "-t_srs", "EPSG:4326", "-r", "near", "-dstnodata", "-32768", file, filepath.Join(dir, "degrees.tif")},
	} {
		out, err := exec.Command(args[0], args[1:]...).CombinedOutput()
		require.NoError(t, err, "%s", out)
	}
	want, err := LoadCodes(os.DirFS(filepath.Dir(file)), filepath.Base(file), orb.Bound{})
	require.NoError(t, err)
	own, err := LoadCodes(os.DirFS(dir), "own.tif", orb.Bound{})
	require.NoError(t, err)
	assert.Equal(t, want.code, own.code)
	degrees, err := LoadCodes(os.DirFS(dir), "degrees.tif", orb.Bound{})
	require.NoError(t, err)
	assert.Equal(t, "EPSG:4326", degrees.CRS)
	inner := 0
	for lon := 6.65; lon < 7.1; lon += 0.003 {
		for lat := 50.41; lat < 50.63; lat += 0.002 {
			code, border := want.At(orb.Point{lon, lat}), false
			for i := -4.0; i <= 4; i++ {
				for j := -4.0; j <= 4; j++ {
					border = border || want.At(orb.Point{lon + 0.0004*i, lat + 0.00025*j}) != code
				}
			}
			if !border {
				inner++
				require.Equal(t, code, degrees.At(orb.Point{lon, lat}), "%g, %g", lon, lat)
			}
		}
	}
	assert.Greater(t, inner, 5000)
}
