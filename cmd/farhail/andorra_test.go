package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"farhail/cmd/internal/cli"
	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/mapfile"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// andorraPlan is an invented search on real ground: a lamp, an orange flag and a
// fire, two lookouts, the GR-11 as the route of a party.
const andorraPlan = `version: 1
title: Exercise on the GR-11
example: true
as_of: 2026-11-24 19:00
zone: Europe/Andorra
terrain: %[1]s/data/dem/N42E001.hgt.zip
weather: {visibility: 20 km}
hours: [2026-11-24 13:00, 2026-11-24 21:00]
starts:
  - name: path above the river
    kind: last-known
    position: 42.5555 1.5711
    error: 100 m
    time: 2026-11-24 14:00
    source: a note in the hut book
traveller:
  log: log.txt
  track: %[1]s/data/gpx/andorra-gr11.gpx
  trails: %[1]s/data/gpx/andorra-gr11.gpx
  after: [1 h, 2 h]
  signals:
    - {name: lamp, light: 100 cd, rated_time: 8 h, lit_from: 2026-11-24 18:00}
    - {name: orange flag, flag: 1x1 m, reflectance: 0.4, on: 0.05}
    - {name: fire, fire: 100 kW, bed: 0.5 m, height: 0.5 m}
looking:
  parties:
    - {name: Trail party, route: %[1]s/data/gpx/andorra-gr11.gpx, people: 2, start: 2026-11-24 19:30}
  lookouts:
    - {name: East lookout, position: 42.5570 1.6100, from: 2026-11-24 19:00, until: 2026-11-24 23:00}
    - {name: West lookout, position: 42.5900 1.5300, from: 2026-11-24 19:00, until: 2026-11-24 23:00}
placement: {count: 3}
`

const andorraLog = `start: 42.5555 1.5711
north: magnetic
date: 2026-11-24 Europe/Andorra
pace: 62 per 100 m double
045 400 double paces @14:20 up to the meadow
010 350 double paces @14:50 slope +20% along the stream
330 300 double paces @15:20 to the boulder
`

// runAndorra runs the plan in a fresh folder and returns that of its outputs.
func runAndorra(t testing.TB) string {
	t.Helper()
	shared := geotest.Shared(t)
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "plan.yaml"), fmt.Appendf(nil, andorraPlan, shared), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "log.txt"), []byte(andorraLog), 0o600))
	var stdout, stderr bytes.Buffer
	out := filepath.Join(dir, "out")
	code := run(context.Background(), []string{"plan", filepath.Join(dir, "plan.yaml"), "-o", out}, strings.NewReader(""), &stdout, &stderr)
	require.Equal(t, cli.ExitDone, code, "stderr: %s", stderr.String())
	return out
}

// result is what the test reads of result.json.
type result struct {
	Starts []struct {
		Name     string
		Lat, Lon float64
	}
	Reckon struct {
		End  struct{ Lat, Lon float64 }
		Legs []any
		Home struct {
			DistanceM float64 `json:"distance_m"`
		}
	}
	Rings struct {
		Rings []struct {
			Walker    string
			AfterS    float64 `json:"after_s"`
			FarthestM float64 `json:"farthest_m"`
			AreaM2    float64 `json:"area_m2"`
			Open      bool
		}
	}
	Sight []struct {
		Signal       string
		NoticedM     float64 `json:"noticed_m"`
		PerceptibleM float64 `json:"perceptible_m"`
		LimitNoticed string  `json:"limit_noticed"`
	}
	Place []struct {
		Signal string
		Sites  []struct {
			Name      string
			Lat, Lon  float64
			Gain      float64
			SeenShare float64 `json:"seen_share"`
		}
		Covered, Bound, Gap, Total float64
	}
	Looking struct {
		Parties []struct {
			Name    string
			Gaps    int
			LengthM float64 `json:"length_m"`
		}
		Lookouts []struct {
			Name     string
			Lat, Lon float64
		}
	}
	LeftOut []string `json:"left_out"`
}

func TestAndorraPlan(t *testing.T) {
	if testing.Short() {
		t.Skip("seconds of work on real terrain; the full run does it")
	}
	out := runAndorra(t)
	var r result
	data, err := os.ReadFile(filepath.Join(out, "result.json"))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(data, &r))

	require.Len(t, r.Sight, 6, "three signals at two hours")
	require.Len(t, r.Rings.Rings, 6, "two times, three walkers")
	require.Len(t, r.Place, 2, "a placement at each hour")
	require.Empty(t, r.LeftOut)
	for _, s := range r.Sight {
		assert.LessOrEqual(t, s.NoticedM, s.PerceptibleM, s.Signal)
	}
	for i := 1; i < len(r.Rings.Rings); i++ {
		if g := r.Rings.Rings; g[i].AfterS == g[i-1].AfterS {
			assert.Greater(t, g[i].AreaM2, g[i-1].AreaM2, "a faster walker reaches more")
		}
	}
	for _, p := range r.Place {
		assert.LessOrEqual(t, p.Covered, p.Bound)
		assert.NotEmpty(t, p.Sites)
		sum := 0.0
		for _, s := range p.Sites {
			sum += s.Gain
		}
		assert.InEpsilon(t, p.Covered, sum, 1e-8)
	}

	t.Run("the four files agree", func(t *testing.T) { sameInAllFiles(t, out, r) })
	t.Run("no leg joins pieces of the route", func(t *testing.T) { noJoinedPieces(t, out) })
	t.Run("the GPX is valid by the 1.1 schema", func(t *testing.T) {
		xmllint := geotest.Tool(t, "xmllint")
		schema := filepath.Join(geotest.Shared(t), "data", "reference", "gpx-1.1.xsd")
		said, err := exec.Command(xmllint, "--noout", "--schema", schema, filepath.Join(out, "plan.gpx")).CombinedOutput()
		require.NoError(t, err, "%s", said)
	})
}

// named are the points that every file must hold, by layer.
func named(r result) map[string][]orb.Point {
	points := map[string][]orb.Point{}
	add := func(layer, name string, lat, lon float64) {
		points[layer+"/"+name] = append(points[layer+"/"+name], orb.Point{lon, lat})
	}
	for _, s := range r.Starts {
		add("start", s.Name, s.Lat, s.Lon)
	}
	add("log-end", "end of the log", r.Reckon.End.Lat, r.Reckon.End.Lon)
	for _, l := range r.Looking.Lookouts {
		add("lookout", l.Name, l.Lat, l.Lon)
	}
	for _, p := range r.Place {
		for _, s := range p.Sites {
			add("site", s.Name, s.Lat, s.Lon)
		}
	}
	return points
}

func sameInAllFiles(t *testing.T, out string, r result) {
	want := named(r)
	count := 0
	for _, list := range want {
		count += len(list)
	}

	// GeoJSON: the same points under the same names, and the same distances.
	geo := readGeoJSON(t, filepath.Join(out, "plan.geojson"))
	found := 0
	farthest, noticed, perceptible := []float64{}, []float64{}, []float64{}
	for _, f := range geo.Features {
		p := f.Properties
		// Where trails lead out is for maps alone.
		if f.Geometry.Type == "Point" && p["layer"] != "sight" && p["layer"] != "ring-exit" {
			found++
			var c [2]float64
			require.NoError(t, json.Unmarshal(f.Geometry.Coordinates, &c))
			assertNear(t, want[fmt.Sprintf("%s/%s", p["layer"], p["name"])], orb.Point(c), fmt.Sprint(p["name"]))
		}
		switch p["layer"] {
		case "ring":
			farthest = append(farthest, p["farthest_m"].(float64))
		case "sight":
			noticed, perceptible = append(noticed, p["noticed_m"].(float64)), append(perceptible, p["perceptible_m"].(float64))
		case "way-home":
			assert.InEpsilon(t, r.Reckon.Home.DistanceM, p["distance_m"].(float64), 1e-8)
		}
	}
	assert.Equal(t, count, found, "points in plan.geojson")
	require.Len(t, farthest, len(r.Rings.Rings))
	for i, g := range r.Rings.Rings {
		assert.InEpsilon(t, g.FarthestM, farthest[i], 1e-8)
	}
	require.Len(t, noticed, len(r.Sight))
	for i, s := range r.Sight {
		assert.InDelta(t, s.NoticedM, noticed[i], 1e-4)
		assert.InDelta(t, s.PerceptibleM, perceptible[i], 1e-4)
	}

	// GPX: the same points.
	f, err := os.Open(filepath.Join(out, "plan.gpx"))
	require.NoError(t, err)
	defer f.Close()
	g, err := mapfile.ReadGPX(f, "plan.gpx")
	require.NoError(t, err)
	require.Empty(t, g.Problems)
	var wanted, there []orb.Point
	for _, list := range want {
		wanted = append(wanted, list...)
	}
	names := map[string]bool{}
	for _, w := range g.Waypoints {
		assertNear(t, wanted, w.Point, w.Name)
		assert.False(t, names[strings.ToLower(w.Name)], "%s twice", w.Name)
		names[strings.ToLower(w.Name)] = true
		there = append(there, w.Point)
	}
	for key, list := range want {
		for _, p := range list {
			assertNear(t, there, p, key)
		}
	}
	assert.Len(t, g.Waypoints, count, "waypoints in plan.gpx")

	// Brief: the same positions, and the distances as it rounds them.
	brief, err := os.ReadFile(filepath.Join(out, "brief.txt"))
	require.NoError(t, err)
	text := string(brief)
	positions := regexp.MustCompile(`(-?\d+\.\d{7}) (-?\d+\.\d{7})   `).FindAllStringSubmatch(text, -1)
	require.Len(t, positions, count, "positions in brief.txt")
	var all []orb.Point
	for _, list := range want {
		all = append(all, list...)
	}
	for _, m := range positions {
		lat, err := strconv.ParseFloat(m[1], 64)
		require.NoError(t, err)
		lon, err := strconv.ParseFloat(m[2], 64)
		require.NoError(t, err)
		assertNear(t, all, orb.Point{lon, lat}, m[0])
	}
	for _, s := range r.Sight {
		line := lineWith(t, text, regexp.QuoteMeta(s.Signal)+` .*`+briefMetres(s.NoticedM)+` +`+briefMetres(s.PerceptibleM))
		assert.Contains(t, line, s.LimitNoticed)
	}
	for _, g := range r.Rings.Rings {
		lineWith(t, text, g.Walker+` +`+briefMetres(g.FarthestM))
	}
	for _, l := range strings.Split(text, "\n") {
		assert.LessOrEqual(t, len(l), 80)
		for _, c := range l {
			assert.Less(t, c, rune(128), "brief.txt is ASCII: %q", l)
		}
	}
}

// briefMetres is the brief's way to write a distance, as a pattern.
func briefMetres(m float64) string {
	if m < 999.5 {
		return regexp.QuoteMeta(three(m)) + " m"
	}
	return regexp.QuoteMeta(three(m/1000)) + " km"
}

// three writes three significant digits by another way than the brief does.
func three(v float64) string {
	if v == 0 {
		return "0"
	}
	rounded, _ := strconv.ParseFloat(fmt.Sprintf("%.2e", v), 64)
	decimals := 2 - int(math.Floor(math.Log10(rounded)))
	return fmt.Sprintf("%.*f", min(max(decimals, 0), 3), rounded)
}

func lineWith(t *testing.T, text, pattern string) string {
	t.Helper()
	line := regexp.MustCompile(`(?m)^.*` + pattern + `.*$`).FindString(text)
	assert.NotEmpty(t, line, "no line %s", pattern)
	return line
}

// assertNear asserts that a point is one of a list to 1e-7 degrees.
func assertNear(t *testing.T, list []orb.Point, p orb.Point, name string) {
	t.Helper()
	for _, q := range list {
		if math.Abs(p.Lon()-q.Lon()) <= 1e-7 && math.Abs(p.Lat()-q.Lat()) <= 1e-7 {
			return
		}
	}
	t.Errorf("%s at %v is none of %v", name, p, list)
}

type geoJSON struct {
	Features []struct {
		Geometry struct {
			Type        string
			Coordinates json.RawMessage
		}
		Properties map[string]any
	}
}

func readGeoJSON(t *testing.T, path string) geoJSON {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	var g geoJSON
	require.NoError(t, json.Unmarshal(data, &g))
	return g
}

// noJoinedPieces compares every leg of the party's line with the route as
// recorded: the route's own longest step is 430 m, and no leg may be one that
// the file does not have.
func noJoinedPieces(t *testing.T, out string) {
	shared := geotest.Shared(t)
	f, err := os.Open(filepath.Join(shared, "data", "gpx", "andorra-gr11.gpx"))
	require.NoError(t, err)
	defer f.Close()
	g, err := mapfile.ReadGPX(f, "andorra-gr11.gpx")
	require.NoError(t, err)
	type leg [4]int64
	key := func(p, q orb.Point) leg {
		round := func(v float64) int64 { return int64(math.Round(v * 1e7)) }
		return leg{round(p.Lon()), round(p.Lat()), round(q.Lon()), round(q.Lat())}
	}
	recorded := map[leg]bool{}
	for _, s := range g.Tracks[0].Segments {
		for i := 1; i < len(s); i++ {
			recorded[key(s[i-1].Point, s[i].Point)] = true
		}
	}
	legs := 0
	for _, f := range readGeoJSON(t, filepath.Join(out, "plan.geojson")).Features {
		if f.Properties["layer"] != "party" {
			continue
		}
		var lines [][]orb.Point
		require.NoError(t, json.Unmarshal(f.Geometry.Coordinates, &lines))
		for _, line := range lines {
			for i := 1; i < len(line); i++ {
				legs++
				d, _, _ := earth.Inverse(line[i-1], line[i])
				assert.True(t, recorded[key(line[i-1], line[i])] || d <= 50, "leg of %.0f m from %v to %v is not in the file", d, line[i-1], line[i])
			}
		}
	}
	assert.Equal(t, len(recorded), legs)
}

func BenchmarkAndorraPlan(b *testing.B) {
	for b.Loop() {
		runAndorra(b)
	}
}
