package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/cmd/internal/plan"
	"farhail/cmd/internal/sheet"
	"farhail/geo/geotest"
	"farhail/geo/mapfile"
)

// demoResult is the demo's plan with a likelihood and search areas besides, so that every
// file has something to hold.
func demoResult(t *testing.T) *job.Result {
	t.Helper()
	text, err := demoFiles.ReadFile("demo/plan.yaml")
	require.NoError(t, err)
	fsys := moreDemo{demoFS{}, append(text, `
likelihood:
  outside: 20 %
  by: KB
  within: 3 km
  views: [{name: near the start, weight: 1, by: KB, start: sheepfold gate}]
handheld: points-250
route_limit: 50
`...)}
	p, err := plan.Read(fsys, "demo/plan.yaml")
	require.NoError(t, err)
	r, err := job.Run(context.Background(), fsys, p, job.Options{Program: "farhail test"})
	require.NoError(t, err)
	return r
}

// moreDemo is the demo with another plan.
type moreDemo struct {
	demoFS
	plan []byte
}

func (d moreDemo) Open(name string) (fs.File, error) {
	if name == "demo/plan.yaml" {
		return &memoryFile{bytes.NewReader(d.plan), int64(len(d.plan)), "plan.yaml"}, nil
	}
	return d.demoFS.Open(name)
}

// TestPlanFiles: what the help says is written is what is written, and other programs read
// it: the right cells at the right places, all features, valid by the schemas.
func TestPlanFiles(t *testing.T) {
	if testing.Short() {
		t.Skip("runs the demo")
	}
	r := demoResult(t)
	gpx, err := fitHandheld(r, overlay.HandheldLayers(r))
	require.NoError(t, err)
	dir := t.TempDir()
	var names []string
	for _, f := range outputs(context.Background(), r, gpx, sheet.Options{}) {
		names = append(names, f.Name)
		if f.Name == "sheet.pdf" || f.Name == "map.html" {
			continue // tested where they are made
		}
		var b bytes.Buffer
		require.NoError(t, f.Write(&b), f.Name)
		require.NoError(t, os.WriteFile(filepath.Join(dir, f.Name), b.Bytes(), 0o600))
	}
	assert.Equal(t, "result.json", names[len(names)-1], "it comes last")
	var told []string
	for _, f := range planFiles {
		told = append(told, f.name)
	}
	for _, name := range names {
		assert.Contains(t, told, name, "the help tells of every file")
	}
	for _, name := range []string{"plan.geojson", "plan.kml", "plan.gpx", "legs.csv", "segments.csv", "chance.tif", "reach.tif"} {
		require.Contains(t, names, name)
	}

	t.Run("rasters", func(t *testing.T) { rastersRead(t, dir, r) })
	t.Run("kml", func(t *testing.T) { kmlRead(t, filepath.Join(dir, "plan.kml"), r) })
	t.Run("geojson", func(t *testing.T) { geoJSONRead(t, filepath.Join(dir, "plan.geojson"), r) })
	t.Run("gpx", func(t *testing.T) { gpxFits(t, filepath.Join(dir, "plan.gpx"), gpx.profile) })
	t.Run("tables", func(t *testing.T) { tablesRead(t, dir, r) })
}

// runTool runs a reference program.
func runTool(t *testing.T, tool string, args ...string) string {
	t.Helper()
	out, err := exec.Command(geotest.Tool(t, tool), args...).CombinedOutput()
	require.NoError(t, err, "%s", out)
	return string(out)
}

// rastersRead looks at the rasters with GDAL: place, size, and the value at places.
func rastersRead(t *testing.T, dir string, r *job.Result) {
	reach, chance := r.Rings.Reach, r.Chance.Surface
	density := chance.DensityKM2()
	for _, c := range []struct {
		file       string
		cols, rows int
		x0, y0     float64
		at         func(col, row int) float64
		lonLat     func(col, row int) (float64, float64)
	}{
		{"reach.tif", reach.Frame.Cols, reach.Frame.Rows, reach.Frame.X0, reach.Frame.Y0,
			func(col, row int) float64 { return float64(reach.Seconds[row*reach.Frame.Cols+col]) },
			func(col, row int) (float64, float64) {
				p := reach.Frame.Point(float64(col), float64(row))
				return p[0], p[1]
			}},
		{"chance.tif", chance.Cols, chance.Rows, chance.X0, chance.Y0,
			func(col, row int) float64 { return density[row*chance.Cols+col] },
			func(col, row int) (float64, float64) {
				p := chance.Point(float64(col), float64(row))
				return p[0], p[1]
			}},
	} {
		path := filepath.Join(dir, c.file)
		var info struct {
			Size        []int
			CornerCoord struct{ UpperLeft []float64 } `json:"cornerCoordinates"`
			Bands       []struct{ NoDataValue any }
			Metadata    map[string]map[string]any
		}
		require.NoError(t, json.Unmarshal([]byte(runTool(t, "gdalinfo", "-json", path)), &info))
		assert.Equal(t, []int{c.cols, c.rows}, info.Size, c.file)
		require.Len(t, info.Bands, 1)
		assert.Equal(t, overlay.DocumentName(r), info.Metadata[""]["TIFFTAG_IMAGEDESCRIPTION"], c.file)
		assert.Equal(t, "NaN", fmt.Sprint(info.Bands[0].NoDataValue))
		known := 0
		for i := range 6 {
			col, row := (2*i+1)*c.cols/12, ((5*i)%6*2+1)*c.rows/12
			lon, lat := c.lonLat(col, row)
			text := strings.TrimSpace(runTool(t, "gdallocationinfo", "-valonly", "-wgs84", path, strconv.FormatFloat(lon, 'f', 9, 64), strconv.FormatFloat(lat, 'f', 9, 64)))
			want := c.at(col, row)
			if math.IsNaN(want) {
				assert.Equal(t, "nan", strings.ToLower(text), c.file)
				continue
			}
			got, err := strconv.ParseFloat(text, 64)
			require.NoError(t, err, "%s: %q", c.file, text)
			assert.InDelta(t, want, got, 1e-5*math.Abs(want)+1e-9, "%s at column %d, row %d", c.file, col, row)
			known++
		}
		assert.Greater(t, known, 2, c.file)
	}
	// Where walking begins nobody has walked yet, and the whole surface is on the map.
	at := strings.TrimSpace(runTool(t, "gdallocationinfo", "-valonly", "-wgs84", filepath.Join(dir, "reach.tif"),
		fmt.Sprint(float64(r.Rings.Lon)), fmt.Sprint(float64(r.Rings.Lat))))
	assert.Equal(t, "0", at)
}

// kmlRead looks at the KML with GDAL: every feature that has a place, in its folder.
func kmlRead(t *testing.T, path string, r *job.Result) {
	text := runTool(t, "ogrinfo", "-ro", "-so", "-al", path)
	for _, l := range overlay.Layers(r) {
		if len(l.Features) == 0 {
			continue
		}
		_, after, found := strings.Cut(text, "Layer name: "+l.Title+"\n")
		require.True(t, found, l.Title)
		assert.Contains(t, after[:min(400, len(after))], fmt.Sprintf("Feature Count: %d\n", len(l.Features)), l.Title)
	}
	start := r.Starts[len(r.Starts)-1]
	all := runTool(t, "ogrinfo", "-ro", "-al", path)
	assert.Regexp(t, fmt.Sprintf(`POINT (Z )?\(%g %g`, float64(start.Lon), float64(start.Lat)), all)
}

// geoJSONRead looks at the GeoJSON with GDAL and with this program's own check.
func geoJSONRead(t *testing.T, path string, r *job.Result) {
	n := 0
	for _, l := range overlay.Layers(r) {
		n += len(l.Features)
	}
	text := runTool(t, "ogrinfo", "-ro", "-so", "-al", path)
	assert.Contains(t, text, fmt.Sprintf("Feature Count: %d\n", n))
	assert.Contains(t, text, "Layer name: plan\n", "the title is not taken for the layer's name")
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Contains(t, string(data[:min(len(data), 300)]), overlay.DocumentName(r), "an example is told as one")
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	read, err := mapfile.ReadGeoJSON(f, "plan.geojson")
	require.NoError(t, err)
	assert.Empty(t, read.Problems)
	assert.Len(t, read.Features, n)
}

// gpxFits holds the GPX against the schema and the profile.
func gpxFits(t *testing.T, path string, p mapfile.Profile) {
	assert.Equal(t, 50, p.RoutePoints, "the limit of the plan")
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	g, err := mapfile.ReadGPX(f, "plan.gpx")
	require.NoError(t, err)
	assert.Empty(t, g.Problems)
	require.NotEmpty(t, g.Tracks)
	require.NotEmpty(t, g.Routes, "the way home")
	names := map[string]bool{}
	for _, w := range g.Waypoints {
		assert.LessOrEqual(t, len([]rune(w.Name)), p.NameLength)
		assert.False(t, names[strings.ToLower(w.Name)], w.Name)
		names[strings.ToLower(w.Name)] = true
	}
	for _, x := range g.Tracks {
		assert.LessOrEqual(t, x.Points(), p.TrackPoints)
	}
	for _, x := range g.Routes {
		assert.LessOrEqual(t, x.Points(), p.RoutePoints)
	}
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Regexp(t, `Fits points-250: points left out of \d+ lines? lie within [\d.]+ k?m of them`, string(data))
	runTool(t, "xmllint", "--nonet", "--noout", "--schema", filepath.Join(geotest.Shared(t), "data", "reference", "gpx-1.1.xsd"), path)
}

// tablesRead reads the tables as a spreadsheet would.
func tablesRead(t *testing.T, dir string, r *job.Result) {
	read := func(name string) (head []string, rows [][]string) {
		f, err := os.Open(filepath.Join(dir, name))
		require.NoError(t, err)
		defer f.Close()
		all, err := csv.NewReader(f).ReadAll()
		require.NoError(t, err)
		return all[0], all[1:]
	}
	column := func(head []string, row []string, name string) float64 {
		for i, h := range head {
			if h == name {
				v, err := strconv.ParseFloat(row[i], 64)
				require.NoError(t, err, "%s: %q", name, row[i])
				return v
			}
		}
		require.Fail(t, "no column "+name)
		return 0
	}
	head, rows := read("legs.csv")
	require.Len(t, rows, len(r.Reckon.Legs))
	north, length := 0.0, 0.0
	for _, row := range rows {
		north, length = north+column(head, row, "north_m"), length+column(head, row, "distance_m")
		assert.Equal(t, "EXAMPLE, NOT A REAL SEARCH "+r.Plan.Hash, row[len(row)-1])
	}
	assert.InEpsilon(t, float64(r.Reckon.NorthM), north, 1e-6, "the legs sum to the log")
	assert.InEpsilon(t, float64(r.Reckon.LengthM), length, 1e-6)
	last := rows[len(rows)-1]
	assert.InDelta(t, float64(r.Reckon.End.Lat), column(head, last, "end_lat_deg"), 1e-8)
	assert.InDelta(t, float64(r.Reckon.End.Lon), column(head, last, "end_lon_deg"), 1e-8)

	head, rows = read("segments.csv")
	require.Len(t, rows, len(r.Chance.SearchAreas))
	share := float64(r.Chance.Elsewhere + r.Chance.OutsideShare)
	for _, row := range rows {
		share += column(head, row, "share_before")
		assert.Positive(t, column(head, row, "area_m2"))
	}
	assert.InDelta(t, 1, share, 1e-6, "with what lies elsewhere and outside all is told")
	for i, h := range head {
		if h == "pod" {
			assert.Empty(t, rows[0][i], "nothing was searched")
		}
	}
}
