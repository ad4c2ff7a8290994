package mapfile

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
	"github.com/paulmach/orb/planar"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// geometryJSON is the geometry part that the writer makes.
func geometryJSON(t testing.TB, g orb.Geometry) string {
	t.Helper()
	n, err := normalise(g)
	require.NoError(t, err)
	return string(appendGeometry(nil, n))
}

func TestWriteGeoJSON(t *testing.T) {
	var b, again bytes.Buffer
	require.NoError(t, WriteGeoJSON(&b, everyKind))
	require.NoError(t, WriteGeoJSON(&again, everyKind))
	assert.Equal(t, b.String(), again.String(), "the same bytes")
	require.True(t, json.Valid(b.Bytes()))
	lines := strings.Split(strings.TrimSpace(b.String()), "\n")
	assert.Equal(t, `{"type":"Feature","properties":{"layer":"signals","name":"Lamp & <1>","height_m":1234.567,"time":"2026-03-01T10:00:00.5Z","noticed_m":2090,"limit":"eye","power_cd":null,"sites":[1,2]},"geometry":{"type":"Point","coordinates":[1.5,42.5]}},`, lines[1])
	fc, err := geojson.UnmarshalFeatureCollection(b.Bytes())
	require.NoError(t, err)
	assert.Len(t, fc.Features, 11)
	assert.Contains(t, b.String(), `"coordinates":[0,0]`, "1e-12 degrees, without a sign or an exponent")

	b.Reset()
	require.NoError(t, WriteGeoJSON(&b, nil))
	assert.Equal(t, "{\"type\":\"FeatureCollection\",\"features\":[\n]}\n", b.String())
}

// A title stands first and changes nothing else: our own reader and another find the same
// features and no problem.
func TestWriteGeoJSONTitled(t *testing.T) {
	var plain, titled bytes.Buffer
	require.NoError(t, WriteGeoJSON(&plain, everyKind))
	require.NoError(t, WriteGeoJSONTitled(&titled, everyKind, `EXAMPLE: "a"`))
	head, rest, found := strings.Cut(titled.String(), `"title":"EXAMPLE: \"a\"",`)
	require.True(t, found)
	assert.Equal(t, plain.String(), head+rest)
	want, err := ReadGeoJSON(&plain, "a")
	require.NoError(t, err)
	got, err := ReadGeoJSON(&titled, "a")
	require.NoError(t, err)
	assert.Equal(t, want.Problems, got.Problems)
	assert.Len(t, got.Features, len(want.Features))
}

// TestValues: what the contract says about numbers, 9 significant digits, no
// NaN, never -0.
func TestValues(t *testing.T) {
	type kind string
	cases := []struct {
		in   any
		want string
	}{
		{nil, "null"}, {true, "true"}, {"a\"b\n<é>", `"a\"b\n<é>"`}, {kind("k"), `"k"`}, {"\xff", `"\ufffd"`},
		{7, "7"}, {int64(-1 << 62), "-4611686018427387904"}, {uint8(255), "255"},
		{1.0, "1"}, {math.Pi * 1e6, "3141592.65"}, {1.0 / 3, "0.333333333"}, {123456789.4, "123456789"}, {-2.5, "-2.5"},
		{math.Copysign(0, -1), "0"}, {-1e-320, "-1e-320"}, {1e-7, "1e-07"}, {1e-6, "0.000001"}, {1e20, "100000000000000000000"},
		{math.NaN(), "null"}, {math.Inf(1), "null"}, {float32(0.5), "0.5"},
		{[]float64{1, math.NaN()}, "[1,null]"}, {[]any{"a", nil, []int{}}, `["a",null,[]]`}, {[2]bool{true}, "[true,false]"},
		{time.Time{}, "null"}, {time.Date(2026, 1, 2, 3, 4, 5, 0, time.FixedZone("", 3600)), `"2026-01-02T02:04:05Z"`},
		{json.RawMessage(`{"a": 1}`), `{"a":1}`}, {json.Number("12345678901234567890"), "12345678901234567890"},
	}
	for _, c := range cases {
		got, err := appendValue(nil, c.in)
		require.NoError(t, err)
		assert.Equal(t, c.want, string(got))
		assert.True(t, json.Valid(got))
	}
	for _, bad := range []any{struct{}{}, map[string]int{}, func() {}, []any{struct{}{}}, json.Number("x"), json.RawMessage("{")} {
		_, err := appendValue(nil, bad)
		assert.Error(t, err, "%T", bad)
	}
}

// TestWinding: RFC 7946 section 3.1.6; the rings are the project's own cases.
func TestWinding(t *testing.T) {
	ccw := `{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,1],[0,0]]]}`
	assert.Equal(t, ccw, geometryJSON(t, orb.Polygon{{{0, 0}, {0, 1}, {1, 1}, {1, 0}, {0, 0}}}), "clockwise outer ring")
	assert.Equal(t, ccw, geometryJSON(t, orb.Polygon{{{0, 0}, {1, 0}, {1, 1}, {0, 1}}}), "open ring")
	assert.Equal(t, ccw, geometryJSON(t, orb.Ring{{0, 0}, {1, 0}, {1, 1}, {0, 1}}))
	hole := orb.Ring{{.2, .2}, {.4, .2}, {.4, .4}, {.2, .2}}
	want := `{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,1],[0,0]],[[0.2,0.2],[0.4,0.4],[0.4,0.2],[0.2,0.2]]]}`
	assert.Equal(t, want, geometryJSON(t, orb.Polygon{{{0, 0}, {1, 0}, {1, 1}, {0, 1}, {0, 0}}, hole}))
	hole.Reverse()
	assert.Equal(t, want, geometryJSON(t, orb.Polygon{{{0, 0}, {1, 0}, {1, 1}, {0, 1}, {0, 0}}, hole}))
	// Rings that vanish at 7 decimals.
	assert.Equal(t, "null", geometryJSON(t, orb.Polygon{{{0, 0}, {1e-9, 0}, {1e-9, 1e-9}}}))
	assert.Equal(t, "null", geometryJSON(t, orb.MultiPolygon{{}, {{}}, {{{1, 1}}}}))
	assert.Equal(t, ccw, geometryJSON(t, orb.Polygon{{{0, 0}, {1, 0}, {1, 1}, {0, 1}}, {{.2, .2}, {.2, .2}, {.3, .3}}}))
}

func TestCoordinates(t *testing.T) {
	assert.Equal(t, `{"type":"Point","coordinates":[7.1234568,0.0000001]}`, geometryJSON(t, orb.Point{7.123456789012345, 1e-7}))
	assert.Equal(t, `{"type":"Point","coordinates":[0,-90]}`, geometryJSON(t, orb.Point{math.Copysign(0, -1), -90}))
	assert.Equal(t, `{"type":"Point","coordinates":[-179.5,1]}`, geometryJSON(t, orb.Point{180.5, 1}))
	assert.Equal(t, `{"type":"Point","coordinates":[3,4]}`, geometryJSON(t, orb.LineString{{3, 4}}))
	assert.Equal(t, `{"type":"MultiPoint","coordinates":[[1,2],[3,4]]}`, geometryJSON(t, orb.MultiLineString{{{1, 2}}, {{3, 4}}}))
	assert.Equal(t, `{"type":"GeometryCollection","geometries":[{"type":"LineString","coordinates":[[1,2],[3,4]]},{"type":"MultiPoint","coordinates":[[5,6]]}]}`,
		geometryJSON(t, orb.MultiLineString{{{1, 2}, {3, 4}}, {{5, 6}}, {}}))
	for _, none := range []orb.Geometry{nil, orb.MultiPoint{}, orb.LineString{}, orb.Polygon{}, orb.Collection{}, orb.Collection{orb.LineString{}}} {
		assert.Equal(t, "null", geometryJSON(t, none))
	}
}

func TestWriteGeoJSONRefuses(t *testing.T) {
	write := func(f layer.Feature) error {
		return WriteGeoJSON(&bytes.Buffer{}, []layer.Layer{{ID: "x", Features: []layer.Feature{f}}})
	}
	nan := math.NaN()
	for _, g := range []orb.Geometry{orb.Point{nan, 1}, orb.Point{1, 90.001}, orb.Point{541, 0}, orb.MultiPoint{{nan, 1}},
		orb.LineString{{1, 1}, {1, nan}}, orb.Polygon{{{0, 0}, {1, 0}, {1, math.Inf(1)}}}, orb.Collection{orb.Point{nan, 1}}} {
		err := write(layer.New("a", g))
		require.ErrorIs(t, err, ErrPosition, "%v", g)
		require.ErrorContains(t, err, `layer x, "a"`)
	}
	require.ErrorIs(t, write(layer.New("belt", orb.Polygon{{{0, 0}, {1, 0}, {1, 1}}, {{0, 80}, {90, 80}, {180, 80}, {-90, 80}}})), ErrPole)
	require.ErrorContains(t, write(layer.New("a", orb.Point{}, layer.P("name", 1))), "property name stands twice")
	require.ErrorContains(t, write(layer.New("a", orb.Point{}, layer.P("x", struct{}{}))), "property x")
}

// TestAntimeridianCheck: the examples of RFC 7946 section 3.1.9.
func TestAntimeridianCheck(t *testing.T) {
	geotest.Check(t, "geojson-antimeridian", func(in []string) ([]any, error) {
		v, err := geotest.Floats(in[1:])
		if err != nil {
			return nil, err
		}
		west, south, east, north := v[0], v[1], v[2], v[3]
		if in[0] == "line" {
			return []any{geometryJSON(t, orb.LineString{{west, south}, {east, north}})}, nil
		}
		g, err := normalise(orb.Polygon{{{west, south}, {east, south}, {east, north}, {west, north}}})
		if err != nil {
			return nil, err
		}
		for _, p := range g.(orb.MultiPolygon) {
			rotate(p[0])
		}
		return []any{string(appendGeometry(nil, g))}, nil
	})
}

// rotate lets a closed ring begin at its smallest position.
func rotate(r orb.Ring) {
	open := slices.Clone(r[:len(r)-1])
	least := 0
	for i, p := range open {
		if q := open[least]; p[0] < q[0] || p[0] == q[0] && p[1] < q[1] {
			least = i
		}
	}
	for i := range r {
		r[i] = open[(least+i)%len(open)]
	}
}

// TestCircleCheck cuts a circle drawn by geodesics across the 180 degree line.
func TestCircleCheck(t *testing.T) {
	geotest.Check(t, "geojson-circle", func(in []string) ([]any, error) {
		v, err := geotest.Floats(in)
		if err != nil {
			return nil, err
		}
		var ring orb.Ring
		for i := range 720 {
			p, _ := earth.Direct(orb.Point{v[0], v[1]}, earth.NewTrue(float64(i)/2), v[2])
			ring = append(ring, p)
		}
		g, err := normalise(orb.Polygon{ring})
		if err != nil {
			return nil, err
		}
		parts := g.(orb.MultiPolygon)
		b := g.Bound()
		assert.True(t, planar.MultiPolygonContains(parts, orb.Point{-179.95, 51}))
		assert.False(t, planar.MultiPolygonContains(parts, orb.Point{0, 51}))
		east, north := earth.MetresPerDegree(51)
		area := 0.0
		west, eastEnd := 180.0, -180.0
		for _, p := range parts {
			assert.Equal(t, orb.CCW, p[0].Orientation())
			area += math.Abs(planar.Area(p)) * east * north / 1e6
			if p[0].Bound().Max.Lon() == 180 {
				west = p[0].Bound().Min.Lon()
			}
			if p[0].Bound().Min.Lon() == -180 {
				eastEnd = p[0].Bound().Max.Lon()
			}
		}
		return []any{strconv.Itoa(len(parts)), west, eastEnd, b.Min.Lat(), b.Max.Lat(), area}, nil
	})
}

// TestCutShapes: shapes on which simple clipping leaves bridging edges or loses
// holes. Areas are in square degrees, by hand.
func TestCutShapes(t *testing.T) {
	box := func(w, s, e, n float64) orb.Ring { return orb.Ring{{w, s}, {e, s}, {e, n}, {w, n}, {w, s}} }
	cases := []struct {
		name  string
		in    orb.Polygon
		parts int
		area  float64
	}{
		{"whole west", orb.Polygon{box(170, 0, 175, 5)}, 1, 25},
		{"whole east of the line", orb.Polygon{box(181, 0, 185, 5)}, 1, 20},
		{"up to the line", orb.Polygon{box(170, 0, 180, 5)}, 1, 50},
		{"from the line", orb.Polygon{box(180, 0, 190, 5)}, 1, 50},
		{"from the line, wrapped", orb.Polygon{box(-180, 0, -170, 5)}, 1, 50},
		{"across", orb.Polygon{box(170, 0, 190, 5)}, 2, 100},
		{"across, wrapped", orb.Polygon{box(170, 0, -170, 5)}, 2, 100},
		{"hole west", orb.Polygon{box(170, 0, 190, 5), box(171, 1, 172, 2)}, 2, 99},
		{"hole east, wrapped", orb.Polygon{box(170, 0, 190, 5), box(-172, 1, -171, 2)}, 2, 99},
		{"hole across", orb.Polygon{box(170, 0, 190, 5), box(179, 1, 181, 2)}, 2, 98},
		{"two holes across", orb.Polygon{box(170, 0, 190, 9), box(179, 1, 181, 2), box(178, 4, 182, 5)}, 2, 180 - 2 - 4},
		// A comb whose three teeth pass the line: one part west, three east.
		{"comb", orb.Polygon{{{170, 0}, {190, 0}, {190, 1}, {175, 1}, {175, 2}, {190, 2}, {190, 3}, {175, 3}, {175, 4}, {190, 4}, {190, 5}, {170, 5}}}, 4, 25 + 3*15},
		// A tip that just touches the line is not cut.
		{"tip on the line", orb.Polygon{{{170, 0}, {180, 5}, {170, 10}}}, 1, 50},
		{"tip from the east", orb.Polygon{{{190, 0}, {190, 10}, {180, 5}}}, 1, 50},
		{"notch to the line", orb.Polygon{{{170, 0}, {190, 0}, {190, 10}, {180, 5}, {170, 10}}}, 2, 150},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			for range 2 { // and the other way round
				g, err := normalise(c.in)
				require.NoError(t, err)
				list, many := g.(orb.MultiPolygon)
				if !many {
					list = orb.MultiPolygon{g.(orb.Polygon)}
				}
				assert.Len(t, list, c.parts)
				area := 0.0
				for _, p := range list {
					for i, r := range p {
						assert.Equal(t, r[0], r[len(r)-1])
						assert.Equal(t, i == 0, signedArea(r[:len(r)-1]) > 0)
						assert.GreaterOrEqual(t, r.Bound().Min.Lon(), -180.0)
						assert.LessOrEqual(t, r.Bound().Max.Lon(), 180.0)
						area += signedArea(r[:len(r)-1]) / 2
					}
				}
				assert.InDelta(t, c.area, area, 1e-6)
				for _, r := range c.in {
					r.Reverse()
				}
			}
		})
	}
}

// TestCutKeepsArea: cutting any star-shaped area with a hole neither adds nor
// loses ground, and a point is inside after it if it was before.
func TestCutKeepsArea(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lon := rapid.Float64Range(170, 190).Draw(t, "lon")
		n := rapid.IntRange(3, 12).Draw(t, "n")
		var ring, hole orb.Ring
		for i := range n {
			a := 2 * math.Pi * float64(i) / float64(n)
			r := rapid.Float64Range(4, 9).Draw(t, "r")
			ring = append(ring, orb.Point{lon + r*math.Cos(a), r * math.Sin(a)})
			hole = append(hole, orb.Point{lon + r/4*math.Cos(a), r / 4 * math.Sin(a)})
		}
		want := (signedArea(ring) - signedArea(hole)) / 2
		g, err := normalise(orb.Polygon{ring, hole})
		if err != nil {
			t.Fatal(err)
		}
		list, many := g.(orb.MultiPolygon)
		if !many {
			list = orb.MultiPolygon{g.(orb.Polygon)}
		}
		got := 0.0
		for _, p := range list {
			for _, r := range p {
				got += signedArea(r[:len(r)-1]) / 2
			}
		}
		if math.Abs(got-want) > 1e-5 {
			t.Fatalf("area %v, want %v, %v", got, want, list)
		}
		p := orb.Point{lon + rapid.Float64Range(-9, 9).Draw(t, "x"), rapid.Float64Range(-9, 9).Draw(t, "y")}
		before := planar.PolygonContains(orb.Polygon{closed(ring), closed(hole)}, p)
		after := planar.MultiPolygonContains(list, wrapped(p))
		if before != after && !nearEdge(p, ring, hole) {
			t.Fatalf("%v inside %v before, %v after", p, before, after)
		}
	})
}

func closed(r orb.Ring) orb.Ring { return append(slices.Clone(r), r[0]) }

// nearEdge: within the rounding of the writer of a ring or of the cut.
func nearEdge(p orb.Point, rings ...orb.Ring) bool {
	for _, r := range rings {
		if planar.DistanceFrom(orb.LineString(closed(r)), p) < 1e-6 {
			return true
		}
	}
	return math.Abs(p[0]-180) < 1e-6
}

// TestCutLines: section 3.1.9 for lines, parts of no length left out.
func TestCutLines(t *testing.T) {
	cases := []struct {
		in   orb.LineString
		want string
	}{
		{orb.LineString{{170, 0}, {180, 5}}, `[[170,0],[180,5]]`},
		{orb.LineString{{180, 5}, {170, 0}}, `[[180,5],[170,0]]`},
		{orb.LineString{{180, 5}, {-170, 0}}, `[[-180,5],[-170,0]]`},
		{orb.LineString{{180, 0}, {180, 5}}, `[[-180,0],[-180,5]]`},
		{orb.LineString{{170, 0}, {190, 10}, {170, 20}}, `[[[170,0],[180,5]],[[-180,5],[-170,10],[-180,15]],[[180,15],[170,20]]]`},
		{orb.LineString{{-170, 0}, {170, 10}}, `[[[-170,0],[-180,5]],[[180,5],[170,10]]]`},
		{orb.LineString{{170, 0}, {180, 5}, {170, 10}}, `[[170,0],[180,5]],[[180,5],[170,10]]`},
		{orb.LineString{{7, 46}, {7, 46}}, `[[7,46],[7,46]]`},
	}
	for _, c := range cases {
		t.Run(fmt.Sprint(c.in), func(t *testing.T) {
			assert.Contains(t, geometryJSON(t, c.in), c.want)
		})
	}
}
