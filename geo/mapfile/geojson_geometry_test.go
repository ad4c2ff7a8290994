package mapfile

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestManyGeoJSONFaults: one reading tells every fault, each with its place.
func TestManyGeoJSONFaults(t *testing.T) {
	_, err := ReadGeoJSON(strings.NewReader(`{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{},"geometry":null},
{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[46.5,120.5]}},
{"type":"Feature","properties":[],"geometry":{"type":"LineString","coordinates":[[7,46],[7],[190,46],[null,46]]}},
{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,1]],[[0,0],[0,0]]]}},
{"type":"Feature","properties":{},"geometry":{"type":"GeometryCollection","geometries":[{"type":"Point"},{"type":"Circle"}]}}
]}`), "many.geojson")
	var list Errors
	require.ErrorAs(t, err, &list)
	want := []string{"3:82: latitude out of range", "4:32: properties", "4:89: a position is a list", "4:94: longitude out of range", "4:103: not a number",
		"5:98: ring not closed", "5:105: a ring needs four", "6:89: a Point needs", "6:106: not a geometry"}
	require.Len(t, list, len(want), "%v", err)
	for i, w := range want {
		assert.True(t, strings.HasPrefix(list[i].Error(), "many.geojson:"+w), "%s, want %s", list[i], w)
	}
	assert.Contains(t, list[0].Hint(), "swapped")
	assert.Contains(t, list[3].Hint(), "write it as -170")
	require.Len(t, list[0].Before, 1)
	assert.Contains(t, list[0].Before[0].Text, "feature without a geometry")
	assert.Len(t, list.Unwrap(), len(want))

	_, err = ReadGeoJSON(strings.NewReader(`{"type":"MultiPoint","coordinates":[`+strings.Repeat("[1],", 1000)+`[1,2]]}`), "x")
	require.ErrorAs(t, err, &list)
	require.Len(t, list, listed+1)
	assert.Equal(t, fmt.Sprintf("x: %d more faults from here on", 1000-listed), list[listed].Error())
}

// TestGeoJSONWarnings: what is legal and yet odd is told and read.
func TestGeoJSONWarnings(t *testing.T) {
	collection := func(bbox, features string) string {
		return `{"type":"FeatureCollection","bbox":` + bbox + `,"made by":{"x":[1]},"features":[` + features + `]}`
	}
	feature := func(member, geometry string) string {
		return `{"type":"Feature","id":7,"foreign":{"type":"x"},` + member + `"properties":null,"geometry":` + geometry + `}`
	}
	const point, line = `{"type":"Point","coordinates":[7.5,46.5]}`, `{"type":"LineString","coordinates":[[179,10],[-179,11]]}`
	cases := []struct{ name, text, want string }{
		{"foreign members and a good box", collection("[7,46,8,47]", feature(`"bbox":[7.5,46.5,7.5,46.5],`, point)), ""},
		{"heights in the box", collection("[7,46,100,8,47,900]", feature("", point)), ""},
		{"rounded box", collection("[7.500001,46.5,7.500001,46.5]", feature("", point)), ""},
		{"no features", collection("[7,46,8,47]", ""), ""},
		{"box over the 180 degree line", collection("[178,9,-178,12]", feature("", `{"type":"MultiPoint","coordinates":[[179,10],[-179,11]]}`)), ""},
		{"box elsewhere", collection("[8,46,9,47]", feature("", point)), "1:36 warning|bbox does not hold"},
		{"box of a feature elsewhere", collection("[7,46,8,47]", feature(`"bbox":[1,2,3,4],`, point)), "bbox does not hold"},
		{"latitude first in the box", collection("[46,7,47,8]", feature("", point)), "bbox does not hold"},
		{"too few numbers", collection("[7,46,8]", feature("", point)), "bbox is not four numbers"},
		{"text in the box", collection(`["7",46,8,47]`, feature("", point)), "bbox is not four numbers"},
		{"null", collection("null", feature("", point)), "bbox is not four numbers"},
		{"north below south", collection("[7,47,8,46]", feature("", point)), "bbox is no box on the earth"},
		{"beyond the earth", collection("[7,46,1e999,47]", feature("", point)), "bbox is no box on the earth"},
		{"uncut line", collection("[179,10,-179,11]", feature("", line)), "a step of more than 180 degrees"},
		{"uncut area", `{"type":"Polygon","coordinates":[[[179,1],[-179,1],[-179,2],[179,2],[179,1]]]}`, "1:43 warning|a step of more than 180 degrees"},
		{"cut at the pole", `{"type":"Polygon","coordinates":[[[-180,80],[180,80],[180,90],[-180,90],[-180,80]]]}`, ""},
		{"nothing in it", `{"type":"GeometryCollection","geometries":[]}`, "geometry without positions"},
		{"a null feature", collection("[7,46,8,47]", feature("", "null")), "feature without a geometry"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			g := readGeo(t, c.text)
			if c.want == "" {
				assert.Empty(t, g.Problems)
				return
			}
			require.Len(t, g.Problems, 1, "%s", texts(g.Problems))
			assert.Contains(t, texts(g.Problems), c.want)
		})
	}
}

// TestNoNumbers: JSON has no word for a number that is none; the hint says so.
func TestNoNumbers(t *testing.T) {
	for _, word := range []string{"NaN", "nan", "Infinity", "-Infinity", "inf"} {
		_, err := ReadGeoJSON(strings.NewReader(`{"type":"Point","coordinates":[`+word+`,5]}`), "x")
		var e *Error
		require.ErrorAs(t, err, &e)
		assert.Contains(t, e.Hint(), "JSON has no", word)
	}
}
