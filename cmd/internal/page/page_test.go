package page

import (
	"bytes"
	"compress/zlib"
	"context"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/cmd/internal/plan"
	"farhail/geo/coord"
	"farhail/geo/grid"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// slope is 40 x 40 cells of about 90 m, rising to the north, with one cell of no data.
func slope(west, south float64) string {
	var b strings.Builder
	fmt.Fprintf(&b, "ncols 40\nnrows 40\nxllcenter %g\nyllcenter %g\ncellsize 0.0008\nnodata_value -9999\n", west, south)
	for row := range 40 {
		for col := range 40 {
			z := 1000 - 10*row + col%3
			if row == 20 && col == 20 {
				z = -9999
			}
			fmt.Fprintf(&b, "%d ", z)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

const planText = `version: 1
title: %s
zone: UTC
as_of: 2026-03-01 20:00
%s
hours: [2026-03-01 22:00]
starts:
  - {name: %s, kind: last-known, position: "%.5f %.5f", error: 50 m, time: 2026-03-01 10:00, source: %s}
traveller:
  signals:
    - {name: lamp, light: 50 cd}
person:
  name: Quillon Vesterby
looking:
  lookouts:
    - {name: west, position: "%.5f %.5f", from: 2026-03-01 20:00, until: 2026-03-01 23:00}
`

// result runs a plan around a place.
func result(t testing.TB, lat, lon float64, hasTerrain bool, name string, words cli.Words) *job.Result {
	t.Helper()
	files := fstest.MapFS{}
	terrain := ""
	if hasTerrain {
		terrain = "terrain: t.asc"
		files["t.asc"] = &fstest.MapFile{Data: []byte(slope(lon-0.016, lat-0.016))}
	}
	quoted, err := json.Marshal(name) // a YAML text in double quotes is written as in JSON
	require.NoError(t, err)
	files["plan.yaml"] = &fstest.MapFile{Data: fmt.Appendf(nil, planText, quoted, terrain, quoted, lat, lon, quoted, lat+0.002, lon-0.003)}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	r, err := job.Run(context.Background(), files, p, job.Options{Program: "farhail test", Words: words})
	require.NoError(t, err)
	return r
}

func write(t testing.TB, r *job.Result) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Write(context.Background(), &b, r))
	return b.String()
}

// BenchmarkWrite writes the demo's page. Its ground is another of the same size, rough so that
// it is as hard to pack.
func BenchmarkWrite(b *testing.B) {
	const side = 400
	var ground bytes.Buffer
	fmt.Fprintf(&ground, "ncols %d\nnrows %d\nxllcenter -20.08\nyllcenter 45.9443\ndx 0.0004\ndy 0.00028\n", side, side)
	for row := range side {
		for col := range side {
			x, y := float64(col)/side, float64(side-row)/side
			fmt.Fprintf(&ground, "%.1f ", 900+400*(x+y)+300*math.Sin(9*(x-y))+40*math.Sin(40*x)*math.Sin(47*y))
		}
		ground.WriteByte('\n')
	}
	files := fstest.MapFS{"terrain.asc": {Data: ground.Bytes()}}
	for _, name := range []string{"plan.yaml", "log.txt", "shelf-path.gpx", "valley-path.gpx"} {
		data, err := os.ReadFile(filepath.Join("..", "..", "farhail", "demo", name))
		require.NoError(b, err)
		files[name] = &fstest.MapFile{Data: data}
	}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(b, err)
	r, err := job.Run(b.Context(), files, p, job.Options{Program: "farhail test"})
	require.NoError(b, err)
	for b.Loop() {
		require.NoError(b, Write(b.Context(), io.Discard, r))
	}
}

// TestNothingBreaksOut: a plan's text ends no element, opens none, and is no script.
func TestNothingBreaksOut(t *testing.T) {
	const evil = `</script><script>alert("x")</script><img src=x onerror='alert(1)'>"'` + "`${1}`\u2028<!--"
	page := write(t, result(t, 46, 8, true, evil, cli.Words{}))
	assert.Equal(t, 2, strings.Count(page, "</script>"), "the table and the script, no more")
	assert.Equal(t, 2, strings.Count(page, "<script"))
	assert.NotContains(t, page, "<img")
	assert.NotContains(t, page, "<!--")
	assert.NotContains(t, page, "alert(\"x\")</")
	data := dataOf(t, page)
	assert.Equal(t, evil, data.Title, "and it arrives whole")
}

func TestPolicyNamesWhatRuns(t *testing.T) {
	page := write(t, result(t, 46, 8, false, "hut", cli.Words{}))
	_, policy, _ := strings.Cut(page, `http-equiv="Content-Security-Policy" content="`)
	policy, _, _ = strings.Cut(policy, `"`)
	policy = strings.ReplaceAll(policy, "&#43;", "+")
	style, script, err := parts()
	require.NoError(t, err)
	assert.Contains(t, policy, "default-src 'none'")
	assert.Contains(t, policy, "style-src '"+hash(style)+"'")
	assert.Contains(t, policy, "script-src '"+hash(script)+"'")
	for _, word := range []string{"unsafe", "http:", "https:", "connect", "*"} {
		assert.NotContains(t, policy, word)
	}
	assert.Contains(t, page, "<style>"+style+"</style>", "what is hashed is what stands there")
	assert.Contains(t, page, "<script>"+script+"</script>")
	for _, word := range []string{"http://", "https://", "eval(", "innerHTML", "onclick=", "style=", "fetch(", "XMLHttpRequest", "import("} {
		assert.NotContains(t, page, word)
	}
}

func TestPageSaysWhatMustBeSaid(t *testing.T) {
	r := result(t, 46, 8, true, "hut", cli.Words{})
	r.Plan.Example = true
	page := write(t, r)
	for _, text := range append(overlay.Cautions(), overlay.Standing()...) {
		assert.Contains(t, strings.ReplaceAll(page, "&#34;", `"`), text)
	}
	assert.Contains(t, page, overlay.ExampleLine)
	assert.Contains(t, page, "Your emergency number: ______")
	assert.Contains(t, page, r.Plan.Hash)
	assert.NotContains(t, page, "Vesterby", "the person block is in no page")
	r.Person = []job.Detail{{Key: "name", Value: "Quillon Vesterby"}}
	assert.NotContains(t, write(t, r), "Vesterby", "nor where a result has it")
}

func TestSameBytes(t *testing.T) {
	assert.Equal(t, write(t, result(t, 46, 8, true, "hut", cli.Words{})), write(t, result(t, 46, 8, true, "hut", cli.Words{})))
}

func TestPlanWithoutAPlace(t *testing.T) {
	page := write(t, &job.Result{Map: &job.Map{}})
	assert.Empty(t, dataOf(t, page).Rows)
	assert.Contains(t, page, "Before anybody acts")
}

// dataOf reads the table of a page.
func dataOf(t testing.TB, page string) sheet {
	t.Helper()
	_, data, ok := strings.Cut(page, `id="sheet">`)
	require.True(t, ok)
	data, _, _ = strings.Cut(data, "</script>")
	var s sheet
	require.NoError(t, json.Unmarshal([]byte(data), &s))
	return s
}

// unpacked is the counterpart of pack.
func unpacked(t testing.TB, text string) []byte {
	t.Helper()
	raw, err := base64.StdEncoding.DecodeString(text)
	require.NoError(t, err)
	r, err := zlib.NewReader(bytes.NewReader(raw))
	require.NoError(t, err)
	data, err := io.ReadAll(r)
	require.NoError(t, err)
	return data
}

// look reads a lattice as the page does.
func (l *lattice) look(t testing.TB, at orb.Point) (orb.Point, bool) {
	data := unpacked(t, l.Values)
	u, v := (at[0]-l.X0)/l.DX, (at[1]-l.Y0)/l.DY
	if u < 0 || v < 0 || u > float64(l.Cols-1) || v > float64(l.Rows-1) {
		return orb.Point{}, false
	}
	c, r := min(int(u), l.Cols-2), min(int(v), l.Rows-2)
	a, b := u-float64(c), v-float64(r)
	value := func(c, r, axis int) float64 {
		return math.Float64frombits(binary.LittleEndian.Uint64(data[8*(2*(r*l.Cols+c)+axis):]))
	}
	var out orb.Point
	for axis := range 2 {
		out[axis] = (1-b)*((1-a)*value(c, r, axis)+a*value(c+1, r, axis)) + b*((1-a)*value(c, r+1, axis)+a*value(c+1, r+1, axis))
	}
	return out, true
}

// TestTablesAgainstCoord looks up random places of maps all over the earth as the page does and
// compares with geo/coord: on zone and band edges, in the wide zones of Norway and Svalbard, across
// the equator and the 180th meridian.
func TestTablesAgainstCoord(t *testing.T) {
	for _, c := range []struct {
		name     string
		lat, lon float64
		zones    int
	}{
		{"middle of a zone", 46, 9, 1},
		{"zone edge", 46, 12.001, 2},
		{"band edge", 48.001, 9, 1},
		{"Norway", 60.2, 3.001, 2},
		{"Svalbard", 78.2, 21.001, 2},
		{"equator", 0.001, 9, 2},
		{"antimeridian", -17, 179.999, 2},
		{"south", -41.3, 174.7, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			page := write(t, result(t, c.lat, c.lon, false, "hut", cli.Words{}))
			s := dataOf(t, page)
			assert.Len(t, s.Zones, c.zones)
			rng := rand.New(rand.NewPCG(1, 2))
			var worst float64
			for range 60 {
				at := orb.Point{s.Plane.X + rng.Float64()*s.Plane.WidthM, s.Plane.Y + rng.Float64()*s.Plane.HeightM}
				p, ok := s.Plane.ToEarth.look(t, at)
				require.True(t, ok)
				back, ok := s.Plane.To.look(t, p)
				require.True(t, ok)
				assert.InDelta(t, 0, apartFlat(at, back), 0.08)
				z, band, found := zoneAt(t, s, p, at)
				u, err := coord.UTMOf(orb.Point{math.Remainder(p.Lon(), 360), p.Lat()}, 0)
				require.NoError(t, err)
				assert.Equal(t, u.Zone, z.Zone)
				assert.Equal(t, u.Band, band)
				worst = math.Max(worst, apartFlat(found, orb.Point{u.EastingM, u.NorthingM}))
				square := z.Squares[fmt.Sprintf("%d,%d", int(math.Floor(found[0]/1e5)), int(math.Floor(found[1]/1e5)))]
				assert.Equal(t, coord.MGRS(p, 0)[3:], square)
			}
			assert.Less(t, worst, 0.08, "m")
		})
	}
}

// zoneAt finds the zone of a place as the page does.
func zoneAt(t *testing.T, s sheet, p, at orb.Point) (z utmZone, band string, found orb.Point) {
	for _, b := range s.Boxes {
		if p.Lon() < b.West || p.Lon() > b.East || p.Lat() < b.South || p.Lat() > b.North {
			continue
		}
		z = s.Zones[b.Index]
		if z.Grid == nil {
			return z, b.Band, at
		}
		found, ok := z.Grid.look(t, p)
		if ok {
			return z, b.Band, found
		}
	}
	t.Fatalf("no zone at %v", p)
	return z, "", found
}

// TestRowsArrive decodes the stream as the page does and finds the plan's positions in it.
func TestRowsArrive(t *testing.T) {
	r := result(t, 46, 8, false, "hut", cli.Words{})
	s := dataOf(t, write(t, r))
	data := unpacked(t, s.Rows)
	var rows []flatRow
	for len(data) > 0 {
		n, k := binary.Uvarint(data)
		data = data[k:]
		var row flatRow
		x, y := 0, 0
		for range n {
			dx, k := binary.Varint(data)
			dy, m := binary.Varint(data[k:])
			data = data[k+m:]
			x, y = x+int(dx), y+int(dy)
			row = append(row, x, y)
		}
		rows = append(rows, row)
	}
	next := 0
	var start flatRow
	for _, l := range s.Layers {
		for _, f := range l.Features {
			if l.ID == overlay.Starts {
				start = rows[next]
			}
			next += f.Parts
		}
	}
	assert.Equal(t, len(rows), next)
	u, err := coord.UTMOf(orb.Point{8, 46}, 0)
	require.NoError(t, err)
	require.Len(t, start, 2)
	assert.InDelta(t, u.EastingM, s.Plane.X+unitM*float64(start[0]), unitM/2+1e-6)
	assert.InDelta(t, u.NorthingM, s.Plane.Y+unitM*float64(start[1]), unitM/2+1e-6)
}

// TestHeightsArrive decodes the heights as the page does.
func TestHeightsArrive(t *testing.T) {
	r := result(t, 46, 8, true, "hut", cli.Words{})
	s := dataOf(t, write(t, r))
	h := r.Map.Ground
	data := unpacked(t, s.Ground.Codes)
	codes := make([]uint16, len(h.Z))
	require.Len(t, data, 2*len(codes))
	holes := 0
	for i, z := range h.Z {
		codes[i] = uint16(data[i]) | uint16(data[len(codes)+i])<<8
		switch {
		case i%h.Cols > 0:
			codes[i] += codes[i-1]
		case i > 0:
			codes[i] += codes[i-h.Cols]
		}
		if math.IsNaN(float64(z)) {
			assert.Zero(t, codes[i], "no data is not a height")
			holes++
			continue
		}
		require.InDelta(t, float64(z), s.Ground.BaseM+float64(codes[i]-1)*s.Ground.StepM, s.Ground.StepM/2+1e-3)
	}
	assert.Equal(t, 1, holes)
}

func TestMarginCodes(t *testing.T) {
	nan, inf := float32(math.NaN()), float32(math.Inf(1))
	m := marginsOf(&job.Map{Margins: []job.Margin{{Site: "site 1", Signal: "lamp", Frame: grid.Frame{Cols: 7, Rows: 1, DX: 1, DY: 1}, Log10: []float32{nan, -0.7, 0, 1.25, 2.6, inf, -inf}}}}, nil)
	require.Len(t, m.Words, 256)
	data := unpacked(t, m.Sites[0].Codes)
	var code byte
	var got []float64
	var words []string
	for _, d := range data {
		code += d
		words = append(words, m.Words[code])
		got = append(got, m.BaseLog10+float64(code-1)*m.StepLog10)
	}
	assert.Equal(t, m.Words[0], words[0])
	for i, want := range map[int]float64{1: -0.7, 2: 0, 3: 1.25, 4: 2.6} {
		assert.InDelta(t, want, got[i], m.StepLog10/2+1e-6)
	}
	assert.Equal(t, "only 0.2 of the signal that it takes to be noticed; at best for who knows where to look", words[1])
	assert.Equal(t, "just enough to be noticed", words[2])
	assert.Contains(t, words[3], "noticed, with 1")
	assert.Equal(t, "noticed, with 400 times the signal that it takes", words[4])
	assert.Equal(t, m.Words[255], words[5], "light without end")
	assert.Equal(t, m.Words[0], words[6], "no light at all")
}

// TestScriptsAreShort keeps each part of the page readable, and all of them in it.
func TestScriptsAreShort(t *testing.T) {
	entries, err := os.ReadDir("script")
	require.NoError(t, err)
	assert.Len(t, scripts, len(entries))
	for _, e := range entries {
		assert.Contains(t, scripts, e.Name())
	}
	for _, name := range append([]string{"page.html", "page.css"}, scripts...) {
		if strings.HasSuffix(name, ".js") {
			name = "script/" + name
		}
		text, err := files.ReadFile(name)
		require.NoError(t, err)
		assert.Less(t, bytes.Count(text, []byte("\n")), 700, name)
	}
}

func TestImperialWords(t *testing.T) {
	s := dataOf(t, write(t, result(t, 46, 8, true, "hut", cli.Words{Units: cli.Imperial, Notation: coord.NotationUTM})))
	assert.Equal(t, "ft", s.Units.Short)
	assert.Equal(t, "utm", s.Notation)
}
