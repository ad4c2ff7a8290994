package mapfile

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"testing"

	"farhail/geo/layer"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A geoChecker checks a GeoJSON text against RFC 7946, written down anew from its text.
type geoChecker struct {
	faults []string
	all    [][2]float64
}

func (c *geoChecker) say(format string, a ...any) {
	c.faults = append(c.faults, fmt.Sprintf(format, a...))
}

// geoJSONFaults returns what is wrong with a feature collection.
func geoJSONFaults(data []byte) []string {
	var doc struct {
		Type     string
		BBox     []float64
		Features []struct {
			Type       string
			Properties *map[string]any
			Geometry   json.RawMessage
		}
	}
	c := &geoChecker{}
	if err := json.Unmarshal(data, &doc); err != nil {
		return []string{err.Error()}
	}
	if doc.Type != "FeatureCollection" || doc.Features == nil {
		c.say("not a feature collection (section 3.3)")
	}
	for i, f := range doc.Features {
		if f.Type != "Feature" || f.Properties == nil || f.Geometry == nil {
			c.say("feature %d lacks a member (section 3.2)", i)
			continue
		}
		if string(f.Geometry) != "null" {
			c.geometry(f.Geometry)
		}
	}
	c.box(doc.BBox)
	return c.faults
}

func (c *geoChecker) geometry(raw json.RawMessage) {
	var g struct {
		Type        string
		Coordinates json.RawMessage
		Geometries  []json.RawMessage
	}
	if err := json.Unmarshal(raw, &g); err != nil {
		c.say("geometry: %v", err)
		return
	}
	if g.Type == "GeometryCollection" {
		for _, m := range g.Geometries {
			c.geometry(m)
		}
		return
	}
	var err error
	switch g.Type {
	case "Point":
		var p []float64
		err = json.Unmarshal(g.Coordinates, &p)
		c.line([][]float64{p}, 1)
	case "MultiPoint":
		var p [][]float64
		err = json.Unmarshal(g.Coordinates, &p)
		for _, m := range p {
			c.line([][]float64{m}, 1)
		}
	case "LineString":
		var l [][]float64
		err = json.Unmarshal(g.Coordinates, &l)
		c.line(l, 2)
	case "MultiLineString":
		var l [][][]float64
		err = json.Unmarshal(g.Coordinates, &l)
		for _, m := range l {
			c.line(m, 2)
		}
	case "Polygon":
		var p [][][]float64
		err = json.Unmarshal(g.Coordinates, &p)
		c.polygon(p)
	case "MultiPolygon":
		var p [][][][]float64
		err = json.Unmarshal(g.Coordinates, &p)
		for _, m := range p {
			c.polygon(m)
		}
	default:
		c.say("type %q (section 1.4)", g.Type)
	}
	if err != nil {
		c.say("%s: %v", g.Type, err)
	}
}

// line checks positions: their number, their range, and that no edge goes the long way
// round, which is a crossing of the 180 degree line (section 3.1.9).
func (c *geoChecker) line(l [][]float64, least int) {
	if len(l) < least {
		c.say("%d positions (section 3.1.4)", len(l))
	}
	for i, p := range l {
		if len(p) != 2 || !(math.Abs(p[0]) <= 180) || !(math.Abs(p[1]) <= 90) {
			c.say("position %v (section 3.1.1, 4)", p)
			return
		}
		if i > 0 && math.Abs(p[0]-l[i-1][0]) > 180 && math.Abs(p[1]) < 90 && math.Abs(l[i-1][1]) < 90 {
			c.say("an edge from %v to %v (section 3.1.9)", l[i-1], p)
		}
		c.all = append(c.all, [2]float64{p[0], p[1]})
	}
}

// polygon checks rings: closed, of four positions or more, the outer one against the clock
// and holes with it (section 3.1.6).
func (c *geoChecker) polygon(rings [][][]float64) {
	if len(rings) == 0 {
		c.say("a polygon without a ring")
	}
	for i, r := range rings {
		c.line(r, 4)
		if len(r) < 4 {
			continue
		}
		if first, last := r[0], r[len(r)-1]; first[0] != last[0] || first[1] != last[1] {
			c.say("an open ring (section 3.1.6)")
		}
		twice := 0.0
		for k := 1; k < len(r); k++ {
			twice += (r[k-1][0]-r[0][0])*(r[k][1]-r[0][1]) - (r[k][0]-r[0][0])*(r[k-1][1]-r[0][1])
		}
		if (twice > 0) != (i == 0) {
			c.say("ring %d winds the wrong way (section 3.1.6)", i)
		}
	}
}

// box checks that the box holds every position and touches one on each side (section 5).
func (c *geoChecker) box(b []float64) {
	if len(c.all) == 0 {
		return
	}
	if len(b) != 4 {
		c.say("a box of %d numbers (section 5)", len(b))
		return
	}
	var touched [4]bool
	for _, p := range c.all {
		in := p[0] >= b[0] && p[0] <= b[2]
		if b[0] > b[2] {
			in = p[0] >= b[0] || p[0] <= b[2]
		}
		if !in || p[1] < b[1] || p[1] > b[3] {
			c.say("%v outside the box %v", p, b)
		}
		touched = [4]bool{touched[0] || p[0] == b[0], touched[1] || p[1] == b[1], touched[2] || p[0] == b[2], touched[3] || p[1] == b[3]}
	}
	if touched != [4]bool{true, true, true, true} {
		c.say("the box %v is wider than what it holds", b)
	}
}

func collection(t require.TestingT, features ...layer.Feature) []byte {
	var b bytes.Buffer
	require.NoError(t, WriteGeoJSON(&b, []layer.Layer{{ID: "a", Features: features}}))
	return b.Bytes()
}

func TestGeoJSONIsValid(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, WriteGeoJSON(&b, everyKind))
	assert.Empty(t, geoJSONFaults(b.Bytes()))
	b.Reset()
	require.NoError(t, WriteGeoJSON(&b, nil))
	assert.Empty(t, geoJSONFaults(b.Bytes()))

	rapid.Check(t, func(t *rapid.T) {
		at := orb.Point{rapid.Float64Range(-180, 180).Draw(t, "lon"), rapid.Float64Range(-80, 80).Draw(t, "lat")}
		var list []layer.Feature
		for range rapid.IntRange(1, 4).Draw(t, "features") {
			near := func() orb.Point {
				return orb.Point{at[0] + rapid.Float64Range(-20, 20).Draw(t, "x"), at[1] + rapid.Float64Range(-9, 9).Draw(t, "y")}
			}
			w, h := rapid.Float64Range(0.001, 30).Draw(t, "width"), rapid.Float64Range(0.001, 9).Draw(t, "height")
			p := near()
			ring := orb.Ring{p, {p[0] + w, p[1]}, {p[0] + w, p[1] + h}, {p[0], p[1] + h}}
			if rapid.Bool().Draw(t, "clockwise") {
				ring.Reverse()
			}
			list = append(list, layer.New("p", near()), layer.New("l", orb.LineString{near(), near(), near()}))
			if p[1]+h <= 90 {
				list = append(list, layer.New("a", orb.Polygon{ring}))
			}
		}
		require.Empty(t, geoJSONFaults(collection(t, list...)))
	})
}

// TestGeoJSONBox: the boxes are the project's own cases, the rule that of section 5.2.
func TestGeoJSONBox(t *testing.T) {
	for _, c := range []struct {
		name string
		g    orb.Geometry
		want string
	}{
		{"a line", orb.LineString{{1, 2}, {3, -4}}, `"bbox":[1,-4,3,2]`},
		{"across the 180 degree line", orb.LineString{{179, 2}, {-179, 4}}, `"bbox":[179,2,-179,4]`},
		{"far apart, the short way", orb.MultiPoint{{-170, 1}, {170, 1}, {0, 1}}, `"bbox":[0,1,-170,1]`},
		{"half of the world", orb.MultiPoint{{-80, 1}, {80, 1}}, `"bbox":[-80,1,80,1]`},
		{"around the pole", orb.Polygon{{{0, 80}, {120, 80}, {-120, 80}, {0, 80}}}, `"bbox":[-180,80,180,90]`},
	} {
		text := string(collection(t, layer.New("x", c.g)))
		assert.Contains(t, text, "],"+c.want, c.name)
		assert.Empty(t, geoJSONFaults([]byte(text)), c.name)
	}
	assert.NotContains(t, string(collection(t, layer.New("x", nil))), "bbox")
}

// TestGeoJSONFaultsSees: the checker must be able to fail.
func TestGeoJSONFaultsSees(t *testing.T) {
	doc := func(geometry, box string) []byte {
		return []byte(`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":` + geometry + `}],"bbox":` + box + `}`)
	}
	ring := `{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]}`
	require.Empty(t, geoJSONFaults(doc(ring, `[0,0,1,1]`)))
	for _, bad := range [][]byte{
		doc(ring, `[0,0,2,1]`), doc(ring, `[0,0,0.5,1]`), doc(ring, `[]`),
		doc(`{"type":"Polygon","coordinates":[[[0,0],[1,1],[1,0],[0,0]]]}`, `[0,0,1,1]`),
		doc(`{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,1]]]}`, `[0,0,1,1]`),
		doc(`{"type":"LineString","coordinates":[[0,0]]}`, `[0,0,0,0]`),
		doc(`{"type":"LineString","coordinates":[[179,0],[-179,0]]}`, `[-179,0,179,0]`),
		doc(`{"type":"Point","coordinates":[181,0]}`, `[181,0,181,0]`),
		doc(`{"type":"Circle","coordinates":[1,0]}`, `[1,0,1,0]`),
		[]byte(`{"type":"FeatureCollection","features":[{"type":"Feature","geometry":null}]}`),
		[]byte(`{"type":"Feature"}`),
	} {
		assert.NotEmpty(t, geoJSONFaults(bad), "%s", bad)
	}
}
