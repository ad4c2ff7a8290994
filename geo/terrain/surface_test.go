package terrain

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSurfaceFromName(t *testing.T) {
	for name, want := range map[string]string{
		"Copernicus_DSM_COG_10_N46_00_E007_00_DEM.tif": SurfaceTops,
		"colorado-srtmgl3.asc":                         SurfaceTops,
		"ASTGTMV003_N46E007_dem.tif":                   SurfaceTops,
		"ALPSMLC30_N046E007_DSM.tif":                   SurfaceTops,
		"swiss-dtm-2m.tif":                             SurfaceGround,
		"DTM.asc":                                      SurfaceGround,
		"dsm/ground.tif":                               SurfaceUnknown, // a folder's name is of no file
		"midsummer.asc":                                SurfaceUnknown,
		"dsm-minus-dtm.tif":                            SurfaceUnknown,
		"grid.asc":                                     SurfaceUnknown,
	} {
		got, note := surfaceFromName(name)
		assert.Equal(t, want, got, name)
		assert.Equal(t, want != SurfaceUnknown, note != "", name)
	}
}

// TestSurface: every kind has its caution, and a terrain of two kinds says so.
func TestSurface(t *testing.T) {
	grid := func(x string) []byte {
		return []byte("ncols 2\nnrows 1\nxllcorner " + x + "\nyllcorner 42\ncellsize 1\n1 2\n")
	}
	fsys := files(map[string][]byte{"dsm.asc": grid("0"), "dtm.asc": grid("2"), "plain.asc": grid("4"),
		"N42E001.hgt": hgtFile(func(int, int) int16 { return 1 })})
	for _, c := range []struct{ names, want, says string }{
		{"dsm.asc", "surface", "surface model"},
		{"N42E001.hgt", "surface", "surface model"},
		{"dtm.asc", "ground", "bare ground"},
		{"plain.asc", "unknown", "surface kind not stated"},
		{"dsm.asc dtm.asc", "surface+ground", "different kinds"},
	} {
		got, err := Load(fsys, strings.Fields(c.names), everything)
		require.NoError(t, err)
		assert.Equal(t, c.want, got.Info.Surface)
		assert.Contains(t, got.Info.Caution(), c.says)
	}
}
