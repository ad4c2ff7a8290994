package job

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/geotest"
	"farhail/geo/terrain"
)

func groundOf(t *testing.T, files map[string]string) (fstest.MapFS, *terrain.Terrain) {
	t.Helper()
	fsys := fstest.MapFS{}
	for name, text := range files {
		fsys[name] = &fstest.MapFile{Data: []byte(text)}
	}
	ground, err := terrain.Load(fsys, []string{"a.asc"}, orb.Bound{})
	require.NoError(t, err)
	return fsys, ground
}

// cone is a summit of 1000 m on cells of some 80 by 110 m, and a void.
const cone = "ncols 7\nnrows 7\nxllcenter 1.5\nyllcenter 42.5\ncellsize 0.001\nnodata_value -1\n" +
	"700 700 700 700 700 700 700\n700 800 800 800 800 800 700\n700 800 900 900 900 800 700\n700 800 900 1000 900 800 700\n" +
	"700 800 900 900 900 800 700\n700 -1 800 800 800 800 700\n700 700 700 700 700 700 700\n"

func TestGroundChanges(t *testing.T) {
	for name, spots := range map[string]string{
		"GPX": `<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="42.503" lon="1.503"><ele>1034</ele><name>top</name></wpt>` +
			`<wpt lat="42.5" lon="9"><ele>12</ele><name>far off</name></wpt><wpt lat="42.501" lon="1.502"><name>no height</name></wpt></gpx>`,
		"third number": `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"top"},"geometry":{"type":"Point","coordinates":[1.503,42.503,1034]}},` +
			`{"type":"Feature","properties":{"name":"far off"},"geometry":{"type":"Point","coordinates":[9,42.5,12]}}]}`,
		"ele": `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"top","ele":"1034 m"},"geometry":{"type":"Point","coordinates":[1.503,42.503]}},` +
			`{"type":"Feature","properties":{"name":"far off","elevation":12},"geometry":{"type":"Point","coordinates":[9,42.5]}},` +
			`{"type":"Feature","properties":{"name":"no height","ele":"high"},"geometry":{"type":"Point","coordinates":[1.501,42.501]}}]}`,
	} {
		t.Run(name, func(t *testing.T) {
			fsys, ground := groundOf(t, map[string]string{"a.asc": cone, "spots": spots})
			top := Spot{"the lamp", orb.Point{1.503, 42.503}}
			cut := func() bool {
				text := ""
				for _, n := range GroundNotes(ground, top) {
					text += n.Text + "; "
				}
				return strings.Contains(text, "the lamp stands on a summit, and cells of 82 by 111 m cut summits")
			}
			require.True(t, cut())
			got, err := GroundChanges{FillVoids: 3, Spots: []string{"spots"}}.Apply(fsys, ground)
			require.NoError(t, err)
			assert.InDelta(t, 1034, ground.Sample(top.Point), 1e-6, "the summit gains its height")
			assert.False(t, cut())
			require.Len(t, got.Spots, 2)
			assert.Equal(t, SpotSet{Name: "top", Lat: 42.503, Lon: 1.503, HeightM: 1034, DifferM: 34, Set: true}, got.Spots[0])
			assert.True(t, !got.Spots[1].Set && math.IsNaN(float64(got.Spots[1].DifferM)))
			assert.Equal(t, 1, got.FilledCells)
			assert.Equal(t, fmt.Sprint([]Hole{{1, 42.501, 1.501}}), fmt.Sprint(got.Filled))
			assert.InDelta(t, 750, ground.At(1, 5), 10)
		})
	}
}

func TestGroundChangesFaults(t *testing.T) {
	fsys, ground := groundOf(t, map[string]string{"a.asc": cone, "empty.gpx": `<gpx version="1.1" creator="t"></gpx>`, "bad.json": "{"})
	got, err := GroundChanges{}.Apply(fsys, ground)
	require.NoError(t, err)
	assert.Nil(t, got)
	_, err = GroundChanges{Spots: []string{"empty.gpx"}}.Apply(fsys, ground)
	require.ErrorContains(t, err, "no point with a height")
	_, err = GroundChanges{Spots: []string{"bad.json"}}.Apply(fsys, ground)
	require.ErrorContains(t, err, "bad.json")
	_, err = GroundChanges{Spots: []string{"none.gpx"}}.Apply(fsys, ground)
	require.ErrorContains(t, err, "none.gpx")
}

func TestMetresOfProperty(t *testing.T) {
	for _, c := range []struct {
		value any
		want  float64
	}{{"2942", 2942}, {" 2942.5 ", 2942.5}, {"2942 m", 2942}, {"2317m", 2317}, {"2694,7", 2694.7}, {"2896,0", 2896}, {2942, 2942}, {2942.25, 2942.25}, {int64(-3), -3}} {
		assert.Equal(t, c.want, metres(c.value), "%v", c.value)
	}
	for _, v := range []any{"2,942", "1.2,3", "high", "", "inf", "nan", nil, true, "2942 ft"} {
		assert.True(t, math.IsNaN(metres(v)), "%v", v)
	}
}

// TestPeaksAreCut sets the mapped peaks of Andorra into a 3 arc-second terrain.
// REFERENCE.json says by how much the nearest cells are lower, computed by another
// program.
func TestPeaksAreCut(t *testing.T) {
	dir := filepath.Join(geotest.Shared(t), "data")
	raw, err := os.ReadFile(filepath.Join(dir, "landcover", "andorra-points.geojson"))
	require.NoError(t, err)
	var points struct {
		Type     string           `json:"type"`
		Features []map[string]any `json:"features"`
	}
	require.NoError(t, json.Unmarshal(raw, &points))
	points.Features = slices.DeleteFunc(points.Features, func(f map[string]any) bool {
		return f["properties"].(map[string]any)["natural"] != "peak"
	})
	raw, err = json.Marshal(points)
	require.NoError(t, err)
	tile, err := os.ReadFile(filepath.Join(dir, "dem", "N42E001.hgt.zip"))
	require.NoError(t, err)
	fsys := fstest.MapFS{"peaks.geojson": {Data: raw}, "N42E001.hgt.zip": {Data: tile}}
	ground, err := terrain.Load(fsys, []string{"N42E001.hgt.zip"}, orb.Bound{})
	require.NoError(t, err)
	flagged := 0
	for _, f := range points.Features {
		at := f["geometry"].(map[string]any)["coordinates"].([]any)
		if ground.CutSummit(orb.Point{at[0].(float64), at[1].(float64)}) {
			flagged++
		}
	}
	got, err := GroundChanges{Spots: []string{"peaks.geojson"}}.Apply(fsys, ground)
	require.NoError(t, err)
	sum, squares, n := 0.0, 0.0, 0.0
	for _, s := range got.Spots {
		if d := float64(s.DifferM); d == d {
			sum, squares, n = sum+d, squares+d*d, n+1
			if s.Set {
				assert.InDelta(t, float64(s.HeightM), ground.Sample(ground.Point(rounded(ground.Cell(orb.Point{float64(s.Lon), float64(s.Lat)})))), 1e-3)
			}
		}
	}
	mean := sum / n
	t.Logf("%.0f heights, mean %.1f m, sd %.1f m; %d flagged", n, mean, math.Sqrt(squares/n-mean*mean), flagged)
	assert.InDelta(t, 34.5, mean, 0.1)
	assert.InDelta(t, 17, math.Sqrt(squares/n-mean*mean), 0.2)
	assert.Greater(t, flagged, 60, "most peaks are known as cut summits")
}

func rounded(col, row float64) (float64, float64) { return math.Round(col), math.Round(row) }
