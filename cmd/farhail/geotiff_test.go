package main

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/geotest"
	"farhail/geo/terrain"
)

// wallASC is level ground with a wall 50 m high, 4 cells east of the first
// column.
const wallASC = `ncols 9
nrows 3
xllcenter 1.5
yllcenter 42.499
cellsize 0.001
0 0 0 0 50 0 0 0 0
0 0 0 0 50 0 0 0 0
0 0 0 0 50 0 0 0 0
`

// runVerb runs a command line and returns its JSON.
func runVerb(t *testing.T, args ...string) map[string]any {
	t.Helper()
	var out, messages bytes.Buffer
	app := newRoot(bytes.NewReader(nil), &out, &messages)
	require.Zero(t, app.Execute(context.Background(), append(args, "--json")), messages.String())
	var result map[string]any
	require.NoError(t, json.Unmarshal(out.Bytes(), &result))
	return result
}

// readGeoTIFF reads a written file by way of another program's text grid.
func readGeoTIFF(t *testing.T, path string) *terrain.Terrain {
	t.Helper()
	dir := t.TempDir()
	cmd := exec.Command(geotest.Tool(t, "gdal_translate"), "-q", "-of", "AAIGrid", "-co", "FORCE_CELLSIZE=TRUE", path, filepath.Join(dir, "out.asc"))
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	got, err := terrain.Load(os.DirFS(dir), []string{"out.asc"}, orb.Bound{})
	require.NoError(t, err)
	return got
}

// TestSeeGeoTIFF: the cells of seen.tif and needed.tif are those that the answer
// counts, and behind the wall the needed height is that of similar triangles.
func TestSeeGeoTIFF(t *testing.T) {
	dir := t.TempDir()
	wall, seen, needed := filepath.Join(dir, "wall.asc"), filepath.Join(dir, "seen.tif"), filepath.Join(dir, "needed.tif")
	require.NoError(t, os.WriteFile(wall, []byte(wallASC), 0o600))
	look := []string{"see", "--terrain", wall, "--from", "42.5N 1.5E", "--eye-height", "2m", "--refraction", "1"}
	runVerb(t, append(look, "-o", seen)...)
	answer := runVerb(t, append(look, "--needed", "-o", needed)...)
	assert.EqualValues(t, 15, answer["seen"])

	got := readGeoTIFF(t, seen)
	assert.InDelta(t, 1.5, got.X0, 1e-9)
	assert.InDelta(t, 42.501, got.Y0, 1e-9)
	assert.Equal(t, [2]int{9, 3}, [2]int{got.Cols, got.Rows})
	for row := range 3 {
		for col := range 9 {
			want := 1.0
			if col > 4 {
				want = 0
			}
			assert.Equal(t, want, got.At(col, row), "column %d, row %d", col, row)
		}
	}
	got = readGeoTIFF(t, needed)
	for col, want := range []float64{0, 0, 0, 0, 0, 62, 74, 86, 98} {
		// The eye is 2 m up and the wall 48 m higher, 4 cells away.
		assert.InDelta(t, want, got.At(col, 1), 1e-4, "column %d", col)
	}

	// Beyond the radius there is no data.
	runVerb(t, append(look, "--radius", "190m", "-o", seen)...)
	got = readGeoTIFF(t, seen)
	assert.Equal(t, 7, got.Info.Known)
}

// TestReachGeoTIFF: the cells with seconds are those of the usual walker's last
// ring.
func TestReachGeoTIFF(t *testing.T) {
	dir := t.TempDir()
	wall, reach := filepath.Join(dir, "wall.asc"), filepath.Join(dir, "reach.tif")
	require.NoError(t, os.WriteFile(wall, []byte(wallASC), 0o600))
	answer := runVerb(t, "rings", "--terrain", wall, "--from", "42.5N 1.5E", "--after", "2min,4min", "--rule", "tobler", "--reach", reach)
	var areaM2 float64
	for _, r := range answer["rings"].([]any) {
		if ring := r.(map[string]any); ring["walker"] == "usual" && ring["after_s"] == 240.0 {
			areaM2 = ring["area_m2"].(float64)
		}
	}
	require.Positive(t, areaM2)
	got := readGeoTIFF(t, reach)
	sum := 0.0
	for row := range got.Rows {
		for col := range got.Cols {
			if !math.IsNaN(got.At(col, row)) {
				sum += got.AreaM2(row)
			}
		}
	}
	assert.InDelta(t, areaM2, sum, 1)
	assert.LessOrEqual(t, got.Info.MaxM, 240.0)
	assert.Equal(t, 0.0, got.At(0, 1))
}
