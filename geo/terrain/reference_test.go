package terrain

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"farhail/geo/geotest"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// demFacts are the facts of one file in REFERENCE.json, computed by GDAL 3.6.2.
type demFacts struct {
	Width, Height int
	CRS           string
	PixelSize     [2]float64 `json:"pixel_size"`
	Origin        [2]float64 `json:"origin_upper_left_outer_edge"`
	NoData        *float64
	VoidCells     int `json:"void_cells"`
	ZeroCells     int `json:"zero_cells"`
	Min, Max      float64
	Mean          float64
	AreaOrPoint   *string `json:"area_or_point"`
	Points        []struct {
		Point             string
		Lon, Lat          float64
		X, Y              *float64
		Nearest, Bilinear *float64
	}
}

func sharedDEM(t testing.TB) (string, map[string]demFacts) {
	t.Helper()
	dir := filepath.Join(geotest.Shared(t), "data")
	raw, err := os.ReadFile(filepath.Join(dir, "REFERENCE.json"))
	require.NoError(t, err)
	var ref struct{ DEM map[string]demFacts }
	require.NoError(t, json.Unmarshal(raw, &ref))
	require.NotEmpty(t, ref.DEM)
	return filepath.Join(dir, "dem"), ref.DEM
}

// TestReferenceFiles reads every terrain file of the shared data and compares
// it with what GDAL 3.6.2 says of it.
func TestReferenceFiles(t *testing.T) {
	dir, facts := sharedDEM(t)
	for name, want := range facts {
		t.Run(name, func(t *testing.T) {
			if testing.Short() && want.Width*want.Height > 2e6 {
				t.Skip("large file")
			}
			got, err := Load(os.DirFS(dir), []string{name}, orb.Bound{})
			require.NoError(t, err)
			assert.Equal(t, [2]int{want.Width, want.Height}, [2]int{got.Cols, got.Rows}, "size")
			// REFERENCE.json prints what the files hold; an .hgt tile's is exact.
			assert.InDelta(t, want.PixelSize[0], got.DX, 1e-15*want.PixelSize[0]+1e-17)
			assert.InDelta(t, want.PixelSize[1], got.DY, 1e-12)
			assert.InDelta(t, want.Origin[0], got.X0-got.DX/2, 1e-9)
			assert.InDelta(t, want.Origin[1], got.Y0+got.DY/2, 1e-9)
			switch want.CRS {
			case "UTM Zone 25, Southern Hemisphere":
				assert.Equal(t, "EPSG:32725", got.CRS.String())
				assert.NotEmpty(t, got.Info.Notes, "a datum of its own is told")
			default:
				assert.Equal(t, want.CRS, got.CRS.String())
			}
			if want.AreaOrPoint != nil {
				assert.Equal(t, strings.ToLower(*want.AreaOrPoint), got.Info.Registration)
			}
			assert.Equal(t, want.VoidCells, got.Info.Voids, "voids")
			assert.Equal(t, want.Width*want.Height-want.VoidCells, got.Info.Known)
			assert.Zero(t, got.Info.Undeclared)
			assert.Equal(t, [2]float64{want.Min, want.Max}, [2]float64{got.Info.MinM, got.Info.MaxM})
			sum, zero := 0.0, 0
			for _, z := range got.Z {
				if z == z {
					sum += float64(z)
				}
				if z == 0 {
					zero++
				}
			}
			assert.Equal(t, want.ZeroCells, zero)
			assert.InDelta(t, want.Mean, sum/float64(got.Info.Known), 6e-5, "printed to 4 decimals")
			for _, p := range want.Points {
				col, row := got.Cell(orb.Point{p.Lon, p.Lat})
				if p.X != nil {
					// Positions of a projected grid: by both ways.
					c, r := got.CellXY(*p.X, *p.Y)
					assert.InDelta(t, c, col, 1e-5, p.Point)
					assert.InDelta(t, r, row, 1e-5, p.Point)
					col, row = c, r
				}
				near := got.At(int(math.Round(col)), int(math.Round(row)))
				sameHeight(t, p.Nearest, near, 0, p.Point+", nearest")
				// The positions are printed to 1e-9 degrees, 1.2e-6 of a cell of
				// 3 arc-seconds, on slopes up to 100 m a cell.
				sameHeight(t, p.Bilinear, got.SampleCell(col, row), 5e-4, p.Point+", bilinear")
			}
		})
	}
}

func sameHeight(t *testing.T, want *float64, got, tolerance float64, what string) {
	t.Helper()
	if want == nil {
		assert.True(t, math.IsNaN(got), "%s: got %g, want no data", what, got)
		return
	}
	assert.InDelta(t, *want, got, tolerance, what)
}

// TestSeamOfTiles joins two tiles that share the row at 42 N.
func TestSeamOfTiles(t *testing.T) {
	dir, facts := sharedDEM(t)
	both, err := Load(os.DirFS(dir), []string{"N41E001.hgt.zip", "N42E001.hgt.zip"}, orb.Bound{})
	require.NoError(t, err)
	assert.Equal(t, [2]int{1201, 2401}, [2]int{both.Cols, both.Rows})
	// One shared row of 1201 cells; voids that only one file has are filled.
	assert.LessOrEqual(t, both.Info.Seam, 1201)
	assert.Greater(t, both.Info.Seam, 1100)
	assert.Zero(t, both.Info.SeamDiffer)
	assert.Equal(t, "EGM96", both.Info.Datum)
	for _, name := range []string{"N41E001.hgt.zip", "N42E001.hgt.zip"} {
		for _, p := range facts[name].Points {
			sameHeight(t, p.Bilinear, both.Sample(orb.Point{p.Lon, p.Lat}), 5e-4, p.Point)
		}
	}
	// The order of names changes nothing but the order of files.
	turned, err := Load(os.DirFS(dir), []string{"N42E001.hgt.zip", "N41E001.hgt.zip"}, orb.Bound{})
	require.NoError(t, err)
	assert.Equal(t, both.Frame, turned.Frame)
	sameCells(t, both.Z, turned.Z)
}

// TestOverlappingFiles joins two GeoTIFFs of which the western one ends in an
// empty column that the eastern one fills, and two Esri ASCII grids.
func TestOverlappingFiles(t *testing.T) {
	dir, facts := sharedDEM(t)
	got, err := Load(os.DirFS(dir), []string{"sf-1s-west.tif", "sf-1s-east.tif"}, orb.Bound{})
	require.NoError(t, err)
	assert.Equal(t, [2]int{24 + 23 - 1, 37}, [2]int{got.Cols, got.Rows})
	assert.Zero(t, got.Info.Seam, "of the shared column only one file has heights")
	assert.Equal(t, 96+23-37, got.Info.Voids)
	for _, name := range []string{"sf-1s-west.tif", "sf-1s-east.tif"} {
		for _, p := range facts[name].Points {
			// Beside the seam the other file may give a neighbour.
			sameHeight(t, p.Bilinear, got.Sample(orb.Point{p.Lon, p.Lat}), 5e-4, p.Point)
		}
	}
	overlap, err := Load(os.DirFS(dir), []string{"colorado-srtmgl3.asc", "colorado-srtmgl3-wide.asc"}, orb.Bound{})
	require.NoError(t, err)
	assert.Equal(t, [2]int{252, 144}, [2]int{overlap.Cols, overlap.Rows}, "0.01 degrees are 12 cells")
	assert.Equal(t, 132*144, overlap.Info.Seam)
	assert.Zero(t, overlap.Info.SeamDiffer)
	assert.Equal(t, KindASCII, overlap.Info.Kind)
}

// TestFolder reads the tiles of a folder that a box needs.
func TestFolder(t *testing.T) {
	dir, _ := sharedDEM(t)
	andorra := orb.Bound{Min: orb.Point{1.4, 42.4}, Max: orb.Point{1.8, 42.7}}
	got, err := Load(os.DirFS(dir), []string{"N42E001.hgt.zip"}, andorra)
	require.NoError(t, err)
	assert.Empty(t, got.Info.Missing)
	all, err := Load(os.DirFS(dir), []string{"N42E001.hgt.zip"}, orb.Bound{})
	require.NoError(t, err)
	for _, p := range []orb.Point{andorra.Min, andorra.Max, {1.5, 42.6}, {1.4, 42.7}} {
		assert.InDelta(t, all.Sample(p), got.Sample(p), 1e-6)
	}
	assert.InDelta(t, 0.4/got.DX, got.Cols, 4, "the box and a cell around")
	// The folder holds a second grid over the same ground, with other cells.
	_, err = Load(os.DirFS(dir), []string{"."}, andorra)
	require.ErrorIs(t, err, ErrMixed)
	_, err = Load(os.DirFS(dir), []string{"N42E001.hgt.zip"}, orb.Bound{Min: orb.Point{8, 46.2}, Max: orb.Point{8.5, 46.8}})
	require.ErrorIs(t, err, ErrOutside)
	assert.Contains(t, hintOf(t, err), "N46E008")
	edge, err := Load(os.DirFS(dir), []string{"N42E001.hgt.zip"}, orb.Bound{Min: orb.Point{1.9, 42.9}, Max: orb.Point{2.1, 43.1}})
	require.NoError(t, err)
	assert.Equal(t, []string{"N42E002", "N43E001", "N43E002"}, edge.Info.Missing)
}

func hintOf(t *testing.T, err error) string {
	t.Helper()
	h, ok := err.(interface{ Hint() string })
	require.True(t, ok, "%v has no hint", err)
	return h.Hint()
}

func sameCells(t *testing.T, want, got []float32) {
	t.Helper()
	require.Len(t, got, len(want))
	for i := range want {
		if want[i] != got[i] && (want[i] == want[i] || got[i] == got[i]) {
			t.Fatalf("cell %d: got %g, want %g", i, got[i], want[i])
		}
	}
}
