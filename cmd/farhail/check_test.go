package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/geotest"
)

// checkAnswer is what farhail check --json prints.
type checkAnswer struct {
	Files   []map[string]any
	Written map[string]any
	Notes   []any
}

// runCheck runs farhail check --json and returns what it printed and its exit
// code.
func runCheck(t *testing.T, args ...string) (result checkAnswer, code int) {
	var out, messages bytes.Buffer
	app := newRoot(strings.NewReader(""), &out, &messages)
	code = app.Execute(context.Background(), append([]string{"check", "--json"}, args...))
	require.NoError(t, json.Unmarshal(out.Bytes(), &result), "%s", out.String())
	return result, code
}

// TestCheckAgainstReference runs every real GPX file through check and compares
// with facts that other programs computed: lxml for the counts, pyproj 3.4.1
// geodesics for the lengths.
func TestCheckAgainstReference(t *testing.T) {
	dir := geotest.Shared(t)
	data, err := os.ReadFile(filepath.Join(dir, "data", "REFERENCE.json"))
	require.NoError(t, err)
	var all struct {
		GPX map[string]map[string]any `json:"gpx"`
	}
	require.NoError(t, json.Unmarshal(data, &all))
	require.Greater(t, len(all.GPX), 40)
	for name, want := range all.GPX {
		t.Run(name, func(t *testing.T) {
			got, code := runCheck(t, filepath.Join(dir, "data", "gpx", name))
			require.Len(t, got.Files, 1)
			file := got.Files[0]
			assert.Equal(t, "gpx", file["kind"])
			if want["well_formed"] == false {
				assert.Equal(t, 3, code)
				assert.Nil(t, file["gpx"])
				line := file["problems"].([]any)[0].(map[string]any)["line"]
				assert.Contains(t, want["xml_error"], "line "+jsonText(t, line)+",")
				return
			}
			assert.Equal(t, 0, code)
			compareCheck(t, want, file["gpx"].(map[string]any))
		})
	}
}

// gpxKeys are the keys of the contract.
const gpxKeys = "version name waypoints routes tracks segments points dropped duplicates first last elapsed_s recorded_s length_m gap_m ele_points min_ele_m max_ele_m mean_speed_m_s"

func compareCheck(t *testing.T, want, got map[string]any) {
	var keys []string
	for k := range got {
		keys = append(keys, k)
	}
	wanted := strings.Fields(gpxKeys)
	sort.Strings(keys)
	sort.Strings(wanted)
	assert.Equal(t, wanted, keys)
	number := func(m map[string]any, key string) float64 {
		v, ok := m[key].(float64)
		if !ok {
			return math.NaN()
		}
		return v
	}
	same := func(key, reference string, tolerance float64) {
		w, g := number(want, reference), number(got, key)
		if math.IsNaN(w) {
			assert.True(t, math.IsNaN(g), "%s: %v, want null", key, g)
			return
		}
		assert.InDelta(t, w, g, tolerance, key)
	}
	invalid := number(want, "invalid_positions")
	assert.Equal(t, invalid, number(got, "dropped"))
	same("routes", "routes", 0)
	same("tracks", "tracks", 0)
	same("segments", "segments", 0)
	if v := want["version"]; v == "" {
		assert.Nil(t, got["version"])
	} else {
		assert.Equal(t, v, got["version"])
	}
	if invalid > 0 {
		return // the other facts count the points that are dropped
	}
	same("waypoints", "waypoints", 0)
	same("points", "track_points", 0)
	same("ele_points", "track_points_with_ele", 0)
	same("duplicates", "identical_consecutive_positions", 0)
	same("length_m", "track_length_m_wgs84_2d", 0.002)
	if number(want, "track_points_with_ele") > 0 {
		same("min_ele_m", "ele_min", 1e-4)
		same("max_ele_m", "ele_max", 1e-4)
	} else {
		assert.Nil(t, got["min_ele_m"])
		assert.Nil(t, got["max_ele_m"])
	}
	if number(want, "track_points_with_time") == 0 {
		for _, key := range []string{"first", "last", "elapsed_s", "recorded_s", "mean_speed_m_s"} {
			assert.Nil(t, got[key], key)
		}
		return
	}
	first, last := instantOf(t, want["min_time"]), instantOf(t, want["max_time"])
	assert.WithinDuration(t, first, instantOf(t, got["first"]), time.Microsecond)
	assert.WithinDuration(t, last, instantOf(t, got["last"]), time.Microsecond)
	assert.InDelta(t, last.Sub(first).Seconds(), number(got, "elapsed_s"), 1e-3)
}

func instantOf(t *testing.T, v any) time.Time {
	at, err := time.Parse(time.RFC3339, v.(string))
	require.NoError(t, err)
	return at
}

func jsonText(t *testing.T, v any) string {
	b, err := json.Marshal(v)
	require.NoError(t, err)
	return string(b)
}

// TestCheckGeoJSONAgainstReference compares the counts of features.
func TestCheckGeoJSONAgainstReference(t *testing.T) {
	dir := geotest.Shared(t)
	data, err := os.ReadFile(filepath.Join(dir, "data", "REFERENCE.json"))
	require.NoError(t, err)
	var all struct {
		Landcover map[string]struct{ Features int }
	}
	require.NoError(t, json.Unmarshal(data, &all))
	require.NotEmpty(t, all.Landcover)
	for name, want := range all.Landcover {
		got, code := runCheck(t, filepath.Join(dir, "data", "landcover", name))
		assert.Zero(t, code)
		assert.Equal(t, "geojson", got.Files[0]["kind"])
		g := got.Files[0]["geojson"].(map[string]any)
		assert.Equal(t, float64(want.Features), g["features"], name)
		assert.Len(t, g["bbox"], 4)
	}
}

// TestCheckTerrainAgainstReference compares with GDAL 3.6.2: sizes, voids,
// heights, and samples by bilinear interpolation that is null at voids.
func TestCheckTerrainAgainstReference(t *testing.T) {
	if testing.Short() {
		t.Skip("reads 50 MB of terrain")
	}
	dir := geotest.Shared(t)
	data, err := os.ReadFile(filepath.Join(dir, "data", "REFERENCE.json"))
	require.NoError(t, err)
	var all struct {
		DEM map[string]struct {
			Width, Height int
			CRS           string
			Assumed       bool `json:"crs_assumed"`
			Voids         *int `json:"void_cells"`
			Min, Max      float64
			Points        []struct {
				Lon, Lat float64
				Bilinear *float64
			}
		}
	}
	require.NoError(t, json.Unmarshal(data, &all))
	require.NotEmpty(t, all.DEM)
	for name, want := range all.DEM {
		t.Run(name, func(t *testing.T) {
			args := []string{filepath.Join(dir, "data", "dem", name)}
			for _, p := range want.Points {
				args = append(args, "--sample", jsonText(t, p.Lat)+", "+jsonText(t, p.Lon))
			}
			got, code := runCheck(t, args...)
			require.Zero(t, code)
			f := got.Files[0]
			terrain := f["terrain"].(map[string]any)
			assert.Equal(t, float64(want.Width), terrain["columns"])
			assert.Equal(t, float64(want.Height), terrain["rows"])
			assert.Equal(t, float64(want.Width*want.Height), terrain["known"].(float64)+terrain["unknown"].(float64))
			samples, _ := f["samples"].([]any)
			require.Len(t, samples, len(want.Points))
			for i, s := range samples {
				h := s.(map[string]any)["height_m"]
				if want.Points[i].Bilinear == nil {
					assert.Nil(t, h, "%v", want.Points[i])
				} else if assert.NotNil(t, h, "%v", want.Points[i]) {
					assert.InDelta(t, *want.Points[i].Bilinear, h, 0.01, "%v", want.Points[i])
				}
			}
		})
	}
}

// bigGPX writes a made-up GPX file: a winding track, a route and waypoints.
func bigGPX(t *testing.T, track, route, waypoints int) string {
	var b strings.Builder
	b.WriteString(`<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1">`)
	point := func(kind string, i int) {
		fmt.Fprintf(&b, "<%s lat=\"%.6f\" lon=\"%.6f\"/>\n", kind, 46.5+1e-4*float64(i)+1e-4*math.Sin(float64(i)), 7.5+1e-4*math.Cos(1.3*float64(i)))
	}
	for i := range waypoints {
		point("wpt", i)
	}
	b.WriteString("<rte><name>way</name>")
	for i := range route {
		point("rtept", i)
	}
	b.WriteString("</rte><trk><name>day</name><trkseg>")
	for i := range track {
		point("trkpt", i)
	}
	b.WriteString("</trkseg></trk></gpx>")
	name := filepath.Join(t.TempDir(), "big.gpx")
	require.NoError(t, os.WriteFile(name, []byte(b.String()), 0o666))
	return name
}

// TestCheckProfiles: what a profile promises holds for the file that is written,
// counted in the file by check itself.
func TestCheckProfiles(t *testing.T) {
	name := bigGPX(t, 12345, 260, 1200)
	for _, c := range []struct {
		profile                        string
		track, route, routes, warnings int
	}{{"", 12345, 260, 1, 0}, {"points-250", 250, 125, 3, 1}, {"points-500", 500, 125, 3, 1}, {"points-2000", 2000, 250, 2, 1}, {"points-10000", 10000, 250, 2, 0}} {
		t.Run(c.profile, func(t *testing.T) {
			out := filepath.Join(t.TempDir(), "out.gpx")
			args := []string{name, "-o", out}
			if c.profile != "" {
				args = append(args, "--profile", c.profile)
			}
			result, code := runCheck(t, args...)
			require.Zero(t, code)
			w := result.Written
			assert.Equal(t, out, w["file"])
			assert.Equal(t, float64(c.track), w["points"])
			assert.Equal(t, float64(1200), w["waypoints"], "none is lost")
			assert.Equal(t, float64(c.routes), w["routes"])
			assert.Len(t, result.Notes, c.warnings)
			if c.profile == "" {
				assert.Zero(t, w["worst_offset_m"])
			} else {
				assert.Positive(t, w["worst_offset_m"])
			}
			again, code := runCheck(t, out, "--points")
			require.Zero(t, code)
			counts := map[string]int{}
			for _, p := range again.Files[0]["points"].([]any) {
				p := p.(map[string]any)
				counts[fmt.Sprint(p["kind"], p["track"])]++
			}
			assert.Equal(t, c.track, counts["trkpt0"])
			assert.Equal(t, c.route, counts["rtept0"])
			total := 0
			for i := range c.routes {
				total += counts[fmt.Sprint("rtept", i)]
			}
			assert.Equal(t, 260+c.routes-1, total, "each joint is in two parts")
			assert.Equal(t, 1200, counts["wpt<nil>"])
		})
	}
}
