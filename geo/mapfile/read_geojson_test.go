package mapfile

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"farhail/geo/geotest"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestReadGeoJSONFaults: everything that a lenient reader turns into another
// place is refused with line, column, the text and, where one can be given, a
// hint.
func TestReadGeoJSONFaults(t *testing.T) {
	point := func(c string) string { return "{\"type\":\"Point\",\n \"coordinates\":" + c + "}" }
	cases := []struct {
		name, text, want, found, hint string
		line, col                     int
	}{
		{"empty", "", "empty file", "", "", 0, 0},
		{"blank", " \n", "empty file", "", "", 0, 0},
		{"not JSON", "{\"type\":\n  oops}", "not JSON", "", "", 2, 3},
		{"cut off", "{\"type\":\"Point\",\"coordinates\":[1,", "file ends early", "", "get the file again", 1, 33},
		{"NaN", point("[NaN,5]"), "not JSON", "", "", 2, 17},
		{"list at the root", "[]", "no type", "", "FeatureCollection", 1, 1},
		{"TopoJSON", `{"type":"Topology"}`, "not a geometry", "Topology", "", 1, 1},
		{"member twice", `{"type":"Point","type":"Point","coordinates":[1,2]}`, "stands twice", "type", "", 1, 17},
		{"not UTF-8", "{\"type\":\"Po\xe9\"}", "not UTF-8", "", "UTF-8", 1, 12},
		{"one number", point("[7.5]"), "a position is a list", "[7.5]", "", 2, 16},
		{"none", point("[]"), "a position is a list", "[]", "", 2, 16},
		{"four", point("[1,2,3,4]"), "a position is a list", "[1,2,3,4]", "", 2, 16},
		{"null", point("[null,5]"), "not a number", "null", "", 2, 17},
		{"text", point(`["7",5]`), "not a number", `"7"`, "", 2, 17},
		{"huge", point("[1e210,5]"), "longitude out of range", "1e210", "", 2, 17},
		{"beyond float64", point("[1e999,5]"), "longitude out of range", "1e999", "", 2, 17},
		{"swapped", point("[46.5, 120.5]"), "latitude out of range", "120.5", "may be swapped", 2, 23},
		{"latitude", point("[120.5,95]"), "latitude out of range", "95", "", 2, 23},
		{"height", point("[7,46,99999]"), "height out of range", "99999", "", 2, 22},
		{"no coordinates", `{"type":"Point"}`, "needs coordinates", "", "", 1, 1},
		{"coordinates no list", `{"type":"Point","coordinates":null}`, "needs coordinates", "", "", 1, 1},
		{"short line", `{"type":"LineString","coordinates":[[1,2]]}`, "two positions", "[[1,2]]", "", 1, 36},
		{"line of numbers", `{"type":"LineString","coordinates":[1,2]}`, "a position is a list", "1", "", 1, 37},
		{"open ring", `{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,1]]]}`, "ring not closed", "[0,1]", "repeat the first position, [0,0]", 1, 53},
		{"short ring", `{"type":"Polygon","coordinates":[[[0,0],[1,0],[0,0]]]}`, "four positions", "[[0,0],[1,0],[0,0]]", "", 1, 34},
		{"no ring", `{"type":"Polygon","coordinates":[]}`, "outer ring", "[]", "", 1, 33},
		{"ring no list", `{"type":"Polygon","coordinates":[7]}`, "a list is needed", "7", "", 1, 34},
		{"no features", `{"type":"FeatureCollection"}`, "needs a list of features", "", "", 1, 1},
		{"not a feature", `{"type":"FeatureCollection","features":[{"type":"Point","coordinates":[1,2]}]}`, "not a Feature", `{"type":"Point","coordinates":[1,2]}`, "", 1, 41},
		{"feature without geometry", `{"type":"Feature","properties":{}}`, "needs a geometry", "", "", 1, 1},
		{"properties a list", `{"type":"Feature","properties":[],"geometry":null}`, "neither an object nor null", "[]", "", 1, 32},
		{"other datum", `{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::25831"}},"features":[]}`, "not WGS84", "", "ogr2ogr", 1, 35},
		{"no geometries", `{"type":"GeometryCollection"}`, "list of geometries", "", "", 1, 1},
		{"deep", `{"type":"Feature","geometry":null,"properties":{"a":` + strings.Repeat("[", 300) + strings.Repeat("]", 300) + "}}", "inside each other", "", "", 1, -1},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			g, err := ReadGeoJSON(strings.NewReader(c.text), "t.geojson")
			require.Nil(t, g)
			var e *Error
			require.ErrorAs(t, err, &e)
			assert.Contains(t, err.Error(), c.want)
			file, line, col := e.Where()
			assert.Equal(t, "t.geojson", file)
			assert.Equal(t, c.line, line)
			if c.col >= 0 {
				assert.Equal(t, c.col, col)
			}
			if c.found != "" {
				assert.Equal(t, clip(c.found), e.Offending())
			}
			assert.Contains(t, e.Hint(), c.hint)
		})
	}
}

func readGeo(t testing.TB, text string) *GeoJSON {
	t.Helper()
	g, err := ReadGeoJSON(strings.NewReader(text), "t.geojson")
	require.NoError(t, err)
	return g
}

func TestReadGeoJSON(t *testing.T) {
	g := readGeo(t, "\ufeff"+`{"features":[
{"geometry":{"coordinates":[7.5,46.5,1234],"type":"Point"},"properties":{"n":5,"name":"Hütte","x":1.5,"big":12345678901234567890,"ok":true,"none":null,"list":[1,"a"],"obj":{"a": 1}},"type":"Feature"},
{"type":"Feature","properties":null,"geometry":null},
{"type":"Feature","properties":{},"geometry":{"type":"LineString","coordinates":[[1,2,3],[4,5,6]]}}],"crs":null,"type":"FeatureCollection"}`)
	require.Len(t, g.Features, 3)
	f := g.Features[0]
	assert.Equal(t, "Hütte", f.Name)
	assert.Equal(t, orb.Point{7.5, 46.5}, f.Geometry)
	assert.Equal(t, 1234.0, f.HeightM, "the third number of a point is its height")
	assert.Equal(t, []layer.Property{layer.P("n", int64(5)), layer.P("x", 1.5), layer.P("big", json.Number("12345678901234567890")),
		layer.P("ok", true), layer.P("none", nil), layer.P("list", []any{int64(1), "a"}), layer.P("obj", json.RawMessage(`{"a": 1}`))}, f.Properties)
	assert.Nil(t, g.Features[1].Geometry)
	assert.True(t, math.IsNaN(g.Features[2].HeightM))
	assert.Contains(t, texts(g.Problems), "3:48 warning|feature without a geometry")
	assert.Contains(t, texts(g.Problems), "height of a line or area left out")
}

// TestReadWinding: section 3.1.6 asks readers to accept rings of either
// direction.
func TestReadWinding(t *testing.T) {
	g := readGeo(t, `{"type":"Polygon","coordinates":[[[0,0],[0,1],[1,1],[1,0],[0,0]],[[0.2,0.2],[0.4,0.2],[0.4,0.4],[0.2,0.2]]]}`)
	assert.Equal(t, 2, g.ReversedRings)
	p := g.Features[0].Geometry.(orb.Polygon)
	assert.Equal(t, orb.CCW, p[0].Orientation())
	assert.Equal(t, orb.CW, p[1].Orientation())
	assert.Zero(t, readGeo(t, `{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]}`).ReversedRings)
}

func TestReadNothing(t *testing.T) {
	_, err := ReadGeoJSON(strings.NewReader(``), "t")
	require.ErrorContains(t, err, "empty file")
}

// TestRealGeoJSON reads the real files and compares with the counts of the
// reference facts and with orb's own reader.
func TestRealGeoJSON(t *testing.T) {
	dir := geotest.Shared(t)
	var all struct {
		Landcover map[string]json.RawMessage `json:"landcover"`
	}
	data, err := os.ReadFile(filepath.Join(dir, "data", "REFERENCE.json"))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(data, &all))
	paths, err := filepath.Glob(filepath.Join(dir, "data", "landcover", "*.geojson"))
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	more, err := filepath.Glob(filepath.Join(dir, "data", "reference", "geojson-fixtures", "feature*", "*.geojson"))
	require.NoError(t, err)
	for _, path := range append(paths, more...) {
		t.Run(filepath.Base(path), func(t *testing.T) {
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			g, err := ReadGeoJSON(bytes.NewReader(data), path)
			require.NoError(t, err)
			if fc, err := geojson.UnmarshalFeatureCollection(data); err == nil {
				require.Len(t, g.Features, len(fc.Features))
				for i, f := range fc.Features {
					require.Equal(t, f.Geometry.Bound(), g.Features[i].Geometry.Bound())
				}
			}
			var facts struct {
				Features int `json:"features"`
			}
			if raw := all.Landcover[filepath.Base(path)]; raw != nil {
				require.NoError(t, json.Unmarshal(raw, &facts))
				assert.Len(t, g.Features, facts.Features)
			}
			first, ok := rewrite(t, g)
			require.True(t, ok)
			back, err := ReadGeoJSON(bytes.NewReader(first), path)
			require.NoError(t, err)
			assert.Zero(t, back.ReversedRings)
			assert.Len(t, back.Features, len(g.Features))
		})
	}
}

// TestRealGeometries reads the fixtures of all geometry types, with and without
// heights.
func TestRealGeometries(t *testing.T) {
	dir := geotest.Shared(t)
	paths, err := filepath.Glob(filepath.Join(dir, "data", "reference", "geojson-fixtures", "geometry", "*.geojson"))
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) {
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			want, err := geojson.UnmarshalGeometry(data)
			require.NoError(t, err)
			g, err := ReadGeoJSON(bytes.NewReader(data), path)
			require.NoError(t, err)
			require.Len(t, g.Features, 1)
			assert.Equal(t, want.Geometry().GeoJSONType(), g.Features[0].Geometry.GeoJSONType())
			assert.Equal(t, want.Geometry().Bound(), g.Features[0].Geometry.Bound())
		})
	}
}
