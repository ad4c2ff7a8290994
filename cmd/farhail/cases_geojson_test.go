package main

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/cli"
	"farhail/geo/earth"
	"farhail/geo/layer"
	"farhail/geo/mapfile"
)

// written returns the geometry as mapfile writes it.
func written(t *testing.T, g orb.Geometry, properties ...layer.Property) (geometry, whole string) {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, mapfile.WriteGeoJSON(&b, []layer.Layer{{ID: "x", Features: []layer.Feature{layer.New("f", g, properties...)}}}))
	var file struct {
		Features []struct{ Geometry json.RawMessage }
	}
	require.NoError(t, json.Unmarshal(b.Bytes(), &file))
	var compact bytes.Buffer
	require.NoError(t, json.Compact(&compact, file.Features[0].Geometry))
	return compact.String(), b.String()
}

// ringOf reads the vector's list of positions.
func ringOf(t *testing.T, v vector, key string) orb.Ring {
	var ring orb.Ring
	require.NoError(t, json.Unmarshal(v[key], &ring))
	return ring
}

// pointCase checks a GeoJSON point and wants an exit code and words.
func pointCase(code int, words ...string) func(*testing.T, vector) {
	return func(t *testing.T, v vector) {
		a := checkText(t, "case.geojson", v.text("input"))
		require.Equal(t, code, a.code, a.text)
		for _, w := range words {
			require.Contains(t, a.text, w)
		}
	}
}

var geojsonCases = map[string][]caseRun{
	"J01": {
		{has: "outer ring counter-clockwise", run: func(t *testing.T, v vector) {
			got, _ := written(t, orb.Polygon{ringOf(t, v, "input")})
			requireSameRing(t, ringOf(t, v, "want"), got)
		}},
		{has: "hole given counter-clockwise", run: func(t *testing.T, _ vector) {
			got, _ := written(t, orb.Polygon{
				{{0, 0}, {9, 0}, {9, 9}, {0, 9}, {0, 0}}, {{1, 1}, {2, 1}, {2, 2}, {1, 2}, {1, 1}}, // both counter-clockwise
			})
			var g struct{ Coordinates []orb.Ring }
			require.NoError(t, json.Unmarshal([]byte(got), &g))
			require.Equal(t, []orb.Orientation{orb.CCW, orb.CW}, []orb.Orientation{g.Coordinates[0].Orientation(), g.Coordinates[1].Orientation()})
		}},
		{has: "closed on write", run: func(t *testing.T, v vector) {
			got, _ := written(t, orb.Polygon{ringOf(t, v, "input")})
			var g struct{ Coordinates []orb.Ring }
			require.NoError(t, json.Unmarshal([]byte(got), &g))
			require.True(t, g.Coordinates[0].Closed())
			a := checkText(t, "open.geojson", `{"type":"Polygon","coordinates":[`+string(v["input"])+`]}`)
			require.Regexp(t, "clos", a.text)
		}},
		{has: "clockwise outer ring on read", run: func(t *testing.T, _ vector) {
			a := checkText(t, "cw.geojson", `{"type":"Polygon","coordinates":[[[0,0],[0,1],[1,1],[1,0],[0,0]]]}`)
			require.Equal(t, cli.ExitDone, a.code, a.text)
			require.Greater(t, a.number("files.0.geojson.area_m2"), 1.2e10)
			require.Equal(t, 1.0, a.number("files.0.geojson.reversed_rings"))
		}},
	},
	"J02": {
		{has: "179.61509", run: func(t *testing.T, v vector) {
			in := v.part("input")
			c := in.numbers("centre")
			inNewFolder(t, nil)
			a := get(t, "fix", pair(c[1], c[0]), "--circle", number(in.number("radius_m"))+"m", "-o", "ring.geojson")
			require.Equal(t, 2.0, a.number("circle.parts"))
			require.InEpsilon(t, 1256.6e6, a.number("circle.area_m2"), 0.01)
			for i, want := range []float64{179.61509, 50.82022, -179.81509, 51.17978} {
				box, ok := a.at("circle.bbox").([]any)
				require.True(t, ok)
				require.InDelta(t, want, box[i], 1e-4)
			}
			data, err := os.ReadFile("ring.geojson")
			require.NoError(t, err)
			require.Contains(t, string(data), "MultiPolygon")
			for _, s := range regexp.MustCompile(`\[(-?[0-9.]+), ?-?[0-9.]+\]`).FindAllStringSubmatch(string(data), -1) {
				require.NotRegexp(t, `^-?180\.0*[1-9]|^-?18[1-9]`, s[1])
			}
		}},
		{has: "10.5 km from centre", run: func(t *testing.T, _ vector) {
			require.Less(t, get(t, "fix", "--from", "51.0, 179.9", "--to", "51.0, -179.95").number("distance_m"), 20000.0)
		}},
		{has: "point [0,51]", run: func(t *testing.T, _ vector) {
			require.Greater(t, get(t, "fix", "--from", "51.0, 179.9", "--to", "51, 0").number("distance_m"), 20000.0)
		}},
		{has: "line cut", run: func(t *testing.T, v vector) {
			got, _ := written(t, orb.LineString(ringOf(t, v, "input")))
			require.Equal(t, `{"type":"MultiLineString","coordinates":[[[170,45],[180,45]],[[-180,45],[-170,45]]]}`, got)
		}},
		{has: "midpoint", run: func(t *testing.T, _ vector) {
			half, bearing, _ := earth.Inverse(orb.Point{179.9, 0}, orb.Point{-179.9, 0})
			mid, _ := earth.Direct(orb.Point{179.9, 0}, bearing, half/2)
			got, _ := written(t, mid)
			require.Regexp(t, `\[-?180,-?0\]`, got)
			var b bytes.Buffer
			require.NoError(t, mapfile.WriteGPX(&b, []layer.Layer{{ID: "x", Features: []layer.Feature{layer.New("m", mid)}}}, mapfile.GPXOptions{}))
			require.Regexp(t, `lon="-180(\.0+)?"`, b.String())
		}},
	},
	"J04": {
		{has: "1234", run: pointCase(cli.ExitDone)},
		{has: "[7.5]", run: pointCase(cli.ExitInput, "position")},
		{has: "[]", run: pointCase(cli.ExitInput)},
		{has: "[null,5]", run: pointCase(cli.ExitInput)},
		{has: "1e210", run: pointCase(cli.ExitInput)},
		{has: "[NaN,5]", run: pointCase(cli.ExitInput)},
		{has: "7.123456789012345", run: func(t *testing.T, v vector) {
			p := v.part("input").numbers("write")
			got, _ := written(t, orb.Point{p[0], p[1]})
			require.Equal(t, `{"type":"Point","coordinates":[7.1234568,0.0000001]}`, got)
		}},
		{has: "+Inf", run: func(t *testing.T, _ vector) {
			_, whole := written(t, orb.Point{1, 2}, layer.P("x_m", math.Inf(1)))
			require.True(t, json.Valid([]byte(whole)))
			require.Contains(t, whole, `"x_m":null`)
		}},
	},
	"J05": {
		{has: "--from 7.5,46.5", run: func(t *testing.T, _ vector) {
			inNewFolder(t, map[string]string{"tile.asc": tileN46E007})
			fault(t, cli.ExitInput, []string{"outside", "46.50000 N, 7.50000 E", "the terrain holds"}, "see", "--terrain", "tile.asc", "--from", "7.5,46.5")
		}},
		{has: "120.5,35.0", run: func(t *testing.T, _ vector) {
			fault(t, cli.ExitUsage, []string{"120.5", "swapped"}, "fix", "120.5,35.0")
		}},
		{has: `"geojson"`, run: func(t *testing.T, v vector) {
			p := v.part("input").numbers("geojson")
			inNewFolder(t, map[string]string{"tile.asc": tileN46E007, "p.geojson": `{"type":"Point","coordinates":[` + number(p[0]) + "," + number(p[1]) + "]}"})
			a := ask(t, "check", "p.geojson", "tile.asc")
			require.Contains(t, a.text, "did you mean 46.50000 N, 7.50000 E")
		}},
		{has: "letters decide", run: func(t *testing.T, v vector) {
			for _, s := range []string{v.part("input").text("cli"), "7.5E 46.5N"} {
				a := get(t, "fix", s)
				require.Equal(t, []float64{46.5, 7.5}, []float64{a.number("lat"), a.number("lon")})
			}
		}},
	},
}

// tileN46E007 is flat ground over the tile of that name.
const tileN46E007 = "ncols 2\nnrows 2\nxllcenter 7\nyllcenter 46\ncellsize 1\n500 500\n500 500\n"

// requireSameRing compares rings that may begin at another corner.
func requireSameRing(t *testing.T, want orb.Ring, got string) {
	var g struct{ Coordinates []orb.Ring }
	require.NoError(t, json.Unmarshal([]byte(got), &g))
	require.Len(t, g.Coordinates, 1)
	ring := g.Coordinates[0]
	require.Len(t, ring, len(want))
	require.True(t, ring.Closed())
	twice := strings.Repeat(corners(want[1:]), 2)
	require.Contains(t, twice, corners(ring[1:]))
}

func corners(r orb.Ring) string {
	var b strings.Builder
	for _, p := range r {
		b.WriteString(pair(p[0], p[1]) + "; ")
	}
	return b.String()
}
