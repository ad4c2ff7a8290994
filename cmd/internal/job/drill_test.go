package job

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"farhail/cmd/internal/plan"
	"farhail/geo/earth"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

const (
	moorCells    = 60
	moorX, moorY = -30.0, 40.0 // centre of its south-west cell
)

// moor is invented open ground of 1.2 km with a steep bank along one side, as Esri
// ASCII, about 20 m a cell.
func moor(steep float64) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "ncols %d\nnrows %d\nxllcenter %g\nyllcenter %g\ncellsize %g\n", moorCells, moorCells, moorX, moorY, 0.0002)
	for row := range moorCells {
		for col := range moorCells {
			z := 500.0
			if col > 40 {
				z += steep * float64(min(col-40, 5))
			}
			fmt.Fprintf(&b, "%g ", z+0.2*float64(row%3))
		}
		b.WriteByte('\n')
	}
	return b.Bytes()
}

// A stream from west to east, with a tarn.
const moorWater = `{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"waterway":"stream"},"geometry":{"type":"LineString","coordinates":[[-30.001,40.0041],[-29.9945,40.0043],[-29.987,40.0039]]}},
{"type":"Feature","properties":{"natural":"water"},"geometry":{"type":"Polygon","coordinates":[[[-29.998,40.001],[-29.9965,40.001],[-29.9965,40.002],[-29.998,40.002],[-29.998,40.001]]]}}]}`

const moorPlan = `version: 1
as_of: 2026-06-20T06:00:00Z
title: Drill on the moor
terrain: moor.asc
person:
  name: Quill Underwood
  phone: 555 0177
starts:
  - {name: gate, kind: planning, position: "40.0060, -29.9940", error: 10 m, time: "2026-06-20T07:00:00Z"}
traveller:
  signals:
    - {name: flag, flag: 1x1 m, reflectance: 0.4, on: 0.05}
looking:
  parties:
    - {name: North, route: way.gpx, people: 3, spacing: 20 m, start: "2026-06-20T09:00:00Z"}
likelihood:
  outside: 0 %
  by: KB
  within: 500 m
  views:
    - {name: anywhere, weight: 1, by: KB, from: nothing, even: true}
drill:
  begins: 2026-06-20T09:00:00Z
  ends: 2026-06-20T13:00:00Z
`

// nobodyLooks is the plan without the parties, quicker for want of a forecast.
var nobodyLooks = moorPlan[:strings.Index(moorPlan, "looking:")] + moorPlan[strings.Index(moorPlan, "likelihood:"):]

// moorWay is a route from west to east along a latitude.
func moorWay(latDeg float64) []byte {
	return fmt.Appendf(nil, `<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><rte><rtept lat="%g" lon="-29.9995"/><rtept lat="%g" lon="-29.9885"/></rte></gpx>`, latDeg, latDeg)
}

func moorFiles(text string) fstest.MapFS {
	return fstest.MapFS{
		"plan.yaml": {Data: []byte(text)}, "moor.asc": {Data: moor(30)}, "water.geojson": {Data: []byte(moorWater)}, "way.gpx": {Data: moorWay(40.008)},
		"closed.geojson": {Data: []byte(`{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[[[-30.01,40.005],[-29.995,40.005],[-29.995,40.02],[-30.01,40.02],[-30.01,40.005]]]}}`)},
	}
}

func setMoor(t *testing.T, text string, ask DrillAsk) (*Result, *DrillSet, error) {
	t.Helper()
	fsys := moorFiles(text)
	p, err := plan.Read(fsys, "plan.yaml")
	require.NoError(t, err)
	return SetDrill(context.Background(), fsys, p, Options{}, ask)
}

// toLine returns how far a point lies from a line [m], in a plane about it.
func toLine(p orb.Point, line []orb.Point) float64 {
	local := earth.NewLocal(p)
	best := math.Inf(1)
	for i := 1; i < len(line); i++ {
		x0, y0, _ := local.Forward(line[i-1])
		x1, y1, _ := local.Forward(line[i])
		dx, dy := x1-x0, y1-y0
		k := min(1, max(0, -(x0*dx+y0*dy)/(dx*dx+dy*dy)))
		best = min(best, math.Hypot(x0+k*dx, y0+k*dy))
	}
	return best
}

// TestDrillKeepsItsDistances draws many places and measures each against the water
// itself and the slopes of the ground as it was made.
func TestDrillKeepsItsDistances(t *testing.T) {
	text := nobodyLooks + "  not_in: closed.geojson\n  hide:\n"
	for i := range 20 {
		text += fmt.Sprintf("    - name: n%d\n", i)
	}
	text = strings.Replace(text, "terrain: moor.asc", "terrain: moor.asc\ncover: water.geojson\ncover_elsewhere: grass", 1)
	stream := []orb.Point{{-30.001, 40.0041}, {-29.9945, 40.0043}, {-29.987, 40.0039}}
	tarn := []orb.Point{{-29.998, 40.001}, {-29.9965, 40.001}, {-29.9965, 40.002}, {-29.998, 40.002}, {-29.998, 40.001}}
	// The bank climbs from column 40 to 45: these are the outer ones that are steep.
	bank := []orb.Point{{moorX + 40*0.0002, 39}, {moorX + 40*0.0002, 41}}
	foot := []orb.Point{{moorX + 45*0.0002, 39}, {moorX + 45*0.0002, 41}}
	west, south := false, false
	for seed := range uint64(5) {
		_, d, err := setMoor(t, text, DrillAsk{Seed: seed})
		require.NoError(t, err)
		require.Len(t, d.Hidden, 20)
		for _, h := range d.Hidden {
			p := h.Point()
			require.Greater(t, toLine(p, stream), 30.0)
			require.Greater(t, toLine(p, tarn), 30.0)
			require.Greater(t, toLine(p, bank), 50.0)
			require.Greater(t, toLine(p, foot), 50.0)
			require.False(t, p.Lon() < -29.995 && p.Lat() > 40.005, "where nobody may be hidden")
			require.LessOrEqual(t, float64(h.WalkS), float64(d.Ground.DaylightS))
			west, south = west || p.Lon() < -29.996, south || p.Lat() < 40.0035
		}
		require.Positive(t, d.Ground.Wet)
		require.Positive(t, d.Ground.Steep)
		require.Positive(t, d.Ground.Closed)
	}
	require.True(t, west && south, "the whole field is used")
}

func TestDrillAsksWhatNobodyKnows(t *testing.T) {
	_, _, err := setMoor(t, nobodyLooks, DrillAsk{})
	require.ErrorContains(t, err, "no cover file")
	r, d, err := setMoor(t, nobodyLooks, DrillAsk{WaterKnown: "KB"})
	require.NoError(t, err)
	require.Contains(t, d.Ground.Water, "KB has looked")
	require.Contains(t, fmt.Sprint(r.Notes), "rest on the word of KB")
	_, d, err = setMoor(t, nobodyLooks+"  water_known: TR\n", DrillAsk{})
	require.NoError(t, err)
	require.Contains(t, d.Ground.Water, "TR has looked")

	lakes := strings.Replace(nobodyLooks, "terrain: moor.asc", "terrain: moor.asc\ncover: closed.geojson", 1)
	fsys := moorFiles(lakes)
	fsys["closed.geojson"].Data = bytes.Replace(fsys["closed.geojson"].Data, []byte(`"properties":{}`), []byte(`"properties":{"natural":"water"}`), 1)
	p, err := plan.Read(fsys, "plan.yaml")
	require.NoError(t, err)
	_, _, err = SetDrill(context.Background(), fsys, p, Options{}, DrillAsk{})
	require.ErrorContains(t, err, "hold no stream")

	// Cells of 100 m: cliffs cannot be told.
	coarse := moorFiles(nobodyLooks)
	coarse["moor.asc"].Data = bytes.Replace(coarse["moor.asc"].Data, []byte("cellsize 0.0002"), []byte("cellsize 0.001"), 1)
	if p, err = plan.Read(coarse, "plan.yaml"); err == nil {
		_, _, err = SetDrill(context.Background(), coarse, p, Options{}, DrillAsk{})
	}
	require.ErrorContains(t, err, "no cover file")
	require.ErrorContains(t, err, "cliffs cannot be told")
	_, _, err = SetDrill(context.Background(), coarse, p, Options{}, DrillAsk{WaterKnown: "KB", GroundSeen: "TR"})
	require.NoError(t, err)

	for text, want := range map[string]string{
		strings.Split(moorPlan, "drill:")[0]:                                    "no drill: block",
		strings.Replace(moorPlan, "terrain: moor.asc\n", "", 1):                 "without terrain",
		strings.Replace(moorPlan, `"40.0060, -29.9940"`, `"40.1, -29.9940"`, 1): "no height at the start",
		nobodyLooks + "  not_in: closed.geojson\n":                              "nobody may be hidden",
	} {
		fsys := moorFiles(text)
		fsys["closed.geojson"].Data = []byte(`{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[[[-31,39],[-29,39],[-29,41],[-31,41],[-31,39]]]}}`)
		p, err := plan.Read(fsys, "plan.yaml")
		require.NoError(t, err)
		_, _, err = SetDrill(context.Background(), fsys, p, Options{}, DrillAsk{WaterKnown: "KB"})
		require.ErrorContains(t, err, want)
	}
}

func TestDrillSeeds(t *testing.T) {
	at := func(seed uint64) string {
		_, d, err := setMoor(t, nobodyLooks, DrillAsk{Seed: seed, WaterKnown: "KB"})
		require.NoError(t, err)
		data, err := json.Marshal(d)
		require.NoError(t, err)
		return string(data)
	}
	require.Equal(t, at(7), at(7))
	require.NotEqual(t, at(7), at(8))
}

func TestDrillWithoutLikelihood(t *testing.T) {
	text := nobodyLooks[:strings.Index(nobodyLooks, "likelihood:")] + nobodyLooks[strings.Index(nobodyLooks, "drill:"):]
	r, d, err := setMoor(t, text, DrillAsk{WaterKnown: "KB"})
	require.NoError(t, err)
	require.False(t, d.Ground.Told)
	require.Contains(t, d.Ground.From, "within 3.00 km")
	require.Contains(t, fmt.Sprint(r.Notes), "the plan has no likelihood")
	text = strings.Replace(text, "traveller:\n", "traveller:\n  after: [10 min]\n", 1)
	_, d, err = setMoor(t, text, DrillAsk{WaterKnown: "KB"})
	require.NoError(t, err)
	require.Contains(t, d.Ground.From, "reached in 10 min")
	for _, h := range d.Hidden {
		require.Less(t, earth.Distance(h.Point(), orb.Point{-29.9940, 40.0060}), 1500.0)
	}
}

// TestDrillForecast: a party that goes through the field finds more by the hour, all
// of it where a flag shows from afar, and nothing where nothing shows.
func TestDrillForecast(t *testing.T) {
	_, d, err := setMoor(t, moorPlan+"  hide: [{name: a, shows: flag}, {name: b}, {name: c, shows: flag}]\n", DrillAsk{WaterKnown: "KB"})
	require.NoError(t, err)
	require.Len(t, d.Forecast, 2, "a and c show the same")
	flag, person := d.Forecast[0], d.Forecast[1]
	require.Equal(t, []string{"a", "c"}, flag.Names)
	require.Len(t, flag.Hours, 4)
	last := func(f DrillForecast) float64 { return float64(f.Hours[len(f.Hours)-1].Found) }
	require.Greater(t, last(flag), 0.8)
	require.Less(t, last(person), last(flag))
	require.Positive(t, last(person))
	for _, f := range d.Forecast {
		for i := 1; i < len(f.Hours); i++ {
			require.GreaterOrEqual(t, f.Hours[i].Found, f.Hours[i-1].Found)
		}
	}
	_, d, err = setMoor(t, nobodyLooks, DrillAsk{WaterKnown: "KB"})
	require.NoError(t, err)
	require.Empty(t, d.Forecast)
}

// TestDrillForecastOfAll: parties and lookouts together find more than either, and no more
// than if neither knew of the other's day.
func TestDrillForecastOfAll(t *testing.T) {
	const parties = `  parties:
    - {name: North, route: way.gpx, people: 3, spacing: 20 m, start: "2026-06-20T09:00:00Z"}
`
	lookouts := fmt.Sprintf(`  lookouts:
    - {name: Edge, position: "40.006, %.6f", from: "2026-06-20T09:00:00Z", until: "2026-06-20T09:30:00Z"}
`, moorX+45*0.0002)
	found := func(looking string) float64 {
		text := strings.Replace(moorPlan, parties, looking, 1)
		text = strings.Replace(text, "  signals:\n", "  signals:\n    - {name: rag, flag: 0.03x0.03 m, reflectance: 0.2, on: 0.05}\n    - {name: whistle, whistle: 115 dB}\n", 1)
		r, d, err := setMoor(t, text+"  hide: [{name: a, shows: [rag, whistle], alone: true}]\n", DrillAsk{WaterKnown: "KB"})
		require.NoError(t, err)
		require.Contains(t, fmt.Sprint(r.LeftOut), "whistle in a drill's chances: it is heard")
		require.Len(t, d.Forecast[0].Hours, 4)
		return float64(d.Forecast[0].Hours[3].Found)
	}
	walked, watched, all := found(parties), found(lookouts), found(parties+lookouts)
	t.Logf("walked %.3f, watched %.3f, both %.3f", walked, watched, all)
	require.Greater(t, min(walked, watched), 0.05)
	require.Greater(t, all, max(walked, watched)+0.02)
	require.Less(t, all, walked+watched)
}

// moorTrack is a track from west to east, so far north of a place, 1 km/h to 2 km/h.
func moorTrack(name string, at orb.Point, northM float64, begins time.Time) []byte {
	local := earth.NewLocal(at)
	var b bytes.Buffer
	fmt.Fprintf(&b, `<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><trk><name>%s</name><trkseg>`, name)
	for i := range 61 {
		p := local.Inverse(float64(i-30)*10, northM)
		fmt.Fprintf(&b, `<trkpt lat="%.8f" lon="%.8f"><time>%s</time></trkpt>`, p.Lat(), p.Lon(), begins.Add(time.Duration(i)*20*time.Second).UTC().Format(time.RFC3339))
	}
	b.WriteString("</trkseg></trk></gpx>")
	return b.Bytes()
}

func TestDrillScore(t *testing.T) {
	text := moorPlan + "  hide: [{name: walker}, {name: jacket, shows: flag, alone: true}]\n"
	_, d, err := setMoor(t, text, DrillAsk{Seed: 3, WaterKnown: "KB"})
	require.NoError(t, err)
	data, err := json.Marshal(d)
	require.NoError(t, err)
	answer, err := ReadAnswer(bytes.NewReader(data), "answer.json")
	require.NoError(t, err)
	require.Less(t, earth.Distance(d.Hidden[0].Point(), answer.Hidden[0].Point()), 0.001)

	fsys := moorFiles(text)
	walker := answer.Hidden[0].Point()
	fsys["north.gpx"] = &fstest.MapFile{Data: moorTrack("", walker, 8, answer.Begins)}
	fsys["far.gpx"] = &fstest.MapFile{Data: moorTrack("South", walker, -300, answer.Begins.Add(time.Hour))}
	found := earth.NewLocal(walker).Inverse(30, 0)
	fsys["r.csv"] = &fstest.MapFile{Data: fmt.Appendf(nil, "who,time,position,what\nN,09:20,\"%.6f, %.6f\",walker\nN,09:30,\"%.6f, %.6f\",walker\n", found.Lat()+0.005, found.Lon(), found.Lat(), found.Lon())}
	square := func(name string, at orb.Point, share string) string {
		x, y := at.Lon(), at.Lat()
		return fmt.Sprintf(`{"type":"Feature","properties":{"name":"%s"%s},"geometry":{"type":"Polygon","coordinates":[[[%g,%g],[%g,%g],[%g,%g],[%g,%g],[%g,%g]]]}}`,
			name, share, x-.001, y-.001, x+.001, y-.001, x+.001, y+.001, x-.001, y+.001, x-.001, y-.001)
	}
	away := orb.Point{2*-29.994 - walker.Lon(), 2*40.006 - walker.Lat()} // across the start
	fsys["good.geojson"] = &fstest.MapFile{Data: []byte(`{"type":"FeatureCollection","features":[` + square("a", walker, `,"share":0.8`) + "," + square("b", away, `,"share":"10 %"`) + "," + square("off the map", orb.Point{-29, 40}, `,"share":0.1`) + "]}")}
	fsys["bad.geojson"] = &fstest.MapFile{Data: []byte(`{"type":"FeatureCollection","features":[` + square("b", away, `,"share":1`) + "]}")}
	fsys["half.geojson"] = &fstest.MapFile{Data: []byte(`{"type":"FeatureCollection","features":[` + square("a", walker, `,"share":0.8`) + "," + square("b", away, "") + "]}")}
	from := earth.NewLocal(walker).Inverse(-300, 8)
	fsys["north.txt"] = &fstest.MapFile{Data: fmt.Appendf(nil, "start: %.7f, %.7f\nnorth: true\n090 590 m\n", from.Lat(), from.Lon())}
	fsys["stray.txt"] = &fstest.MapFile{Data: fmt.Appendf(nil, "start: %.7f, %.7f\nnorth: true\n060 590 m\n", from.Lat(), from.Lon())}

	score := func(papers DrillPapers) (*DrillScore, error) {
		p, err := plan.Read(fsys, "plan.yaml")
		require.NoError(t, err)
		_, s, err := ScoreDrill(context.Background(), fsys, p, Options{}, answer, papers)
		return s, err
	}
	s, err := score(DrillPapers{Tracks: []string{"north.gpx", "far.gpx"}, Sightings: "r.csv", Areas: "good.geojson", Logs: []string{"north.txt"}})
	require.NoError(t, err)
	require.Equal(t, 1800.0, float64(s.FoundS))
	require.Equal(t, "N", s.Hidden[0].FoundBy)
	require.InDelta(t, 8, float64(s.ClosestM), 0.1)
	require.Equal(t, "North", s.Hidden[0].ClosestBy)
	require.Greater(t, float64(s.RankScore), 0.9)
	require.Equal(t, 3, s.Areas)
	require.Greater(t, float64(s.ChanceOfSighting), 0.5)
	require.True(t, math.IsNaN(float64(s.Hidden[1].FoundS)))
	require.Equal(t, []any{true, 3, false}, []any{s.Parties[0].Known, s.Parties[0].People, s.Parties[1].Known})
	north := s.Hidden[0].Passes[0]
	require.WithinDuration(t, answer.Begins.Add(10*time.Minute), *north.At, 2*time.Second)
	require.Greater(t, float64(north.InSightM), 0.0)
	require.True(t, north.FirstSeen.Before(*north.At))
	require.Less(t, float64(s.Hidden[0].Passes[1].Chance), float64(north.Chance))
	require.Equal(t, []bool{false, true}, []bool{s.Reports[0].Counts, s.Reports[1].Counts})
	require.Less(t, float64(s.Logs[0].EndErrorShare), 0.05)
	require.Greater(t, float64(s.Coverage), 0.0)
	require.Less(t, float64(s.POD), float64(s.ChanceOfSighting))
	require.Equal(t, "jacket", s.LessonsOf, "which was not found")
	require.Equal(t, []string{"never-near", "strays"}, s.Lessons[:2])

	// The figures flip the lessons.
	for _, tc := range []struct {
		papers DrillPapers
		want   []string
	}{
		{DrillPapers{}, []string{"no-tracks", "no-areas", "no-logs"}},
		{DrillPapers{Tracks: []string{"north.gpx"}}, []string{"passed-by", "thin", "no-areas"}},
		{DrillPapers{Tracks: []string{"far.gpx"}}, []string{"never-near", "thin", "no-areas"}},
		{DrillPapers{Tracks: []string{"far.gpx"}, Areas: "bad.geojson"}, []string{"never-near", "map-off", "thin"}},
		{DrillPapers{Areas: "good.geojson", Tracks: []string{"north.gpx"}, Logs: []string{"stray.txt"}}, []string{"passed-by", "thin", "log-off"}},
	} {
		s, err := score(tc.papers)
		require.NoError(t, err)
		require.Equal(t, tc.want, s.Lessons, "%+v", tc.papers)
	}
	for want, papers := range map[string]DrillPapers{
		"1 of 2 areas have a share":  {Areas: "half.geojson"},
		"no areas in the file":       {Areas: "r.geojson"},
		"no track goes with the log": {Tracks: []string{"north.gpx", "far.gpx"}, Logs: []string{"stray.txt"}},
		"none.gpx":                   {Tracks: []string{"none.gpx"}},
	} {
		fsys["r.geojson"] = &fstest.MapFile{Data: []byte(`{"type":"Point","coordinates":[1,2]}`)}
		_, err := score(papers)
		require.ErrorContains(t, err, want)
	}
}

// TestDrillScoreOfLookouts: who watches from above the moor should have noticed, who
// stands behind the edge has no line, and neither counts after the find.
func TestDrillScoreOfLookouts(t *testing.T) {
	at := func(col float64) string { return fmt.Sprintf("%.6f, %.6f", 40.006, moorX+col*0.0002) }
	text := strings.Replace(moorPlan, "looking:\n", `looking:
  lookouts:
    - {name: Edge, position: "`+at(45)+`", people: 2, from: "2026-06-20T08:00:00Z", until: "2026-06-20T10:00:00Z"}
    - {name: Behind, position: "`+at(57)+`", from: "2026-06-20T09:00:00Z", until: "2026-06-20T13:00:00Z"}
    - {name: Yesterday, position: "`+at(45)+`", from: "2026-06-19T09:00:00Z", until: "2026-06-19T13:00:00Z"}
`, 1) + "  hide: [{name: walker, shows: flag}]\n"
	text = strings.Replace(text, "  signals:\n", "  signals:\n    - {name: rag, flag: 0.05x0.05 m, reflectance: 0.4, on: 0.05}\n", 1)
	fsys := moorFiles(text)
	begins := time.Date(2026, 6, 20, 9, 0, 0, 0, time.UTC)
	place := orb.Point{-29.995, 40.0055}
	fsys["north.gpx"] = &fstest.MapFile{Data: moorTrack("North", place, 30, begins)}
	fsys["early.gpx"] = &fstest.MapFile{Data: moorTrack("North", place, 30, begins.Add(-time.Hour))}
	fsys["r.csv"] = &fstest.MapFile{Data: fmt.Appendf(nil, "who,time,position\nE,09:20,\"%.6f, %.6f\"\n", place.Lat(), place.Lon())}
	answer := &DrillSet{DrillTold: DrillTold{Begins: begins, Ends: begins.Add(4 * time.Hour)}, Hidden: []DrillHidden{{Name: "walker", Alone: true, Shows: []string{"rag"}, LatLon: latLon(place)}}}
	score := func(papers DrillPapers) (*Result, *DrillScore) {
		p, err := plan.Read(fsys, "plan.yaml")
		require.NoError(t, err)
		r, s, err := ScoreDrill(context.Background(), fsys, p, Options{}, answer, papers)
		require.NoError(t, err)
		return r, s
	}
	r, s := score(DrillPapers{})
	require.Contains(t, fmt.Sprint(r.Notes), "all through it: Yesterday")
	edge, behind, yesterday := s.Hidden[0].Watches[0], s.Hidden[0].Watches[1], s.Hidden[0].Watches[2]
	require.True(t, edge.InSight)
	require.InDelta(t, earth.Distance(orb.Point{moorX + 45*0.0002, 40.006}, place), float64(edge.DistanceM), 0.1)
	require.Equal(t, "rag", edge.Shows)
	require.True(t, edge.From.Equal(begins), "before it nobody was hidden")
	require.True(t, edge.Until.Equal(begins.Add(time.Hour)))
	require.Greater(t, float64(edge.Chance), 0.5)
	require.Equal(t, []any{false, "", 0.0}, []any{behind.InSight, behind.Shows, float64(behind.Chance)})
	require.True(t, yesterday.Until.Equal(answer.Ends))
	require.Equal(t, "overlooked", s.Lessons[0])
	require.True(t, math.IsNaN(float64(s.ChanceOfSighting)), "nobody knows what the parties did")

	_, walked := score(DrillPapers{Tracks: []string{"north.gpx"}})
	pass := walked.Hidden[0].Passes[0]
	require.Greater(t, float64(walked.ChanceOfSighting), max(float64(pass.Chance), float64(edge.Chance)), "together they find more")

	// Until the find, less the walk up to it.
	_, found := score(DrillPapers{Tracks: []string{"north.gpx"}, Sightings: "r.csv"})
	first := found.Hidden[0].Watches[0]
	require.True(t, first.Until.Equal(begins.Add(15*time.Minute)))
	require.Less(t, float64(first.Chance), float64(edge.Chance))
	require.NotContains(t, found.Lessons, "overlooked")

	// Before it begins nobody searches.
	r, early := score(DrillPapers{Tracks: []string{"early.gpx"}})
	require.Contains(t, fmt.Sprint(r.Notes), "outside of the drill")
	require.Empty(t, early.Hidden[0].Passes)
	require.Zero(t, float64(early.Parties[0].LengthM))
}

func TestReadAnswerRefuses(t *testing.T) {
	for text, want := range map[string]string{
		"":            "not the answer",
		"[]":          "not the answer",
		`{"form": 2}`: "form 2",
		`{"form": 1}`: "without anything hidden",
		`{"form": 1, "begins": "2026-06-20T09:00:00Z", "ends": "2026-06-20T10:00:00Z", "hidden": [{"name": "a", "lat": 91, "lon": 0}]}`: "nowhere",
	} {
		_, err := ReadAnswer(strings.NewReader(text), "answer.json")
		require.ErrorContains(t, err, want, text)
	}
}

// TestDrillPODAgainstTheSweep: the POD of a drill, a mean over drawn places with lines
// from each, is that of the same tracks as an operation of a search, cell by cell with
// lines from the ways.
func TestDrillPODAgainstTheSweep(t *testing.T) {
	text := strings.Replace(moorPlan, "likelihood:", `searched:
  - name: the same
    looked_for: person
    parties: [{name: North, tracks: [one.gpx, two.gpx], people: 3, spacing: 20 m}]
likelihood:`, 1) + "  hide: [{name: walker}]\n"
	fsys := moorFiles(text)
	begins := time.Date(2026, 6, 20, 9, 0, 0, 0, time.UTC)
	fsys["one.gpx"] = &fstest.MapFile{Data: moorTrack("North", orb.Point{-29.995, 40.007}, 0, begins)}
	fsys["two.gpx"] = &fstest.MapFile{Data: moorTrack("North", orb.Point{-29.993, 40.004}, 0, begins.Add(time.Hour))}
	p, err := plan.Read(fsys, "plan.yaml")
	require.NoError(t, err)
	swept, err := Run(context.Background(), fsys, p, Options{Parts: Chances | Sweeping})
	require.NoError(t, err)
	answer := &DrillSet{DrillTold: DrillTold{Begins: begins, Ends: begins.Add(4 * time.Hour)}, Hidden: []DrillHidden{{Name: "walker", LatLon: LatLon{Lat: 40.005, Lon: -29.994}}}}
	_, one, err := ScoreDrill(context.Background(), fsys, p, Options{}, answer, DrillPapers{Tracks: []string{"one.gpx"}})
	require.NoError(t, err)
	_, both, err := ScoreDrill(context.Background(), fsys, p, Options{}, answer, DrillPapers{Tracks: []string{"one.gpx", "two.gpx"}})
	require.NoError(t, err)
	t.Logf("sweep %.4f, drill %.4f +- %.4f, one track %.4f", float64(swept.Sweep.POS), float64(both.PODUncapped), float64(both.PODError), float64(one.PODUncapped))
	require.Greater(t, float64(swept.Sweep.POS), 0.05)
	require.InDelta(t, float64(swept.Sweep.POS), float64(both.PODUncapped), 3.5*float64(both.PODError)+0.003)
	require.Less(t, float64(one.PODUncapped), float64(both.PODUncapped)-5*float64(both.PODError))
}

// TestDrillDaylight: half of what is left, of the whole day where it begins in the
// dark. Sun times by geo/sky, whose own tests hold them to almanacs.
func TestDrillDaylight(t *testing.T) {
	for _, tc := range []struct {
		name   string
		at     orb.Point
		begins time.Time
		wantH  float64 // of the way there; NaN: no drill
	}{
		{"equator at noon, six hours left", orb.Point{0, 0}, time.Date(2026, 3, 20, 12, 7, 0, 0, time.UTC), 3.03},
		{"equator by night, twelve hours of day", orb.Point{0, 0}, time.Date(2026, 3, 20, 22, 0, 0, 0, time.UTC), 6.06},
		{"midnight sun", orb.Point{20, 78}, time.Date(2026, 6, 21, 9, 0, 0, 0, time.UTC), 12},
		{"polar night", orb.Point{20, 78}, time.Date(2026, 12, 21, 9, 0, 0, 0, time.UTC), math.NaN()},
	} {
		h := &hiding{
			run: &run{result: &Result{Plan: PlanInfo{location: time.UTC}}}, out: &DrillSet{},
			start: plan.Start{Point: tc.at}, plan: plan.Drill{Begins: tc.begins},
		}
		s, err := h.daylight()
		if math.IsNaN(tc.wantH) {
			require.ErrorContains(t, err, "does not rise", tc.name)
			continue
		}
		require.NoError(t, err, tc.name)
		require.InDelta(t, tc.wantH, s/3600, 0.02, tc.name)
	}
}
