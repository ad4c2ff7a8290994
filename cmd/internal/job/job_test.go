package job

import (
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
	"farhail/geo/grid"
	"farhail/geo/walk"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A plain of 120 x 120 cells of about 30 m in the open ocean, 100 m high, with a
// wall of 50 m through it from north to south at column 60.
func plain(t testing.TB) *fstest.MapFile {
	t.Helper()
	var b strings.Builder
	b.WriteString("ncols 120\nnrows 120\nxllcenter -30.0\nyllcenter 0.0\ncellsize 0.00027\nnodata_value -9999\n")
	for range 120 {
		for col := range 120 {
			z := 100
			if col == 60 {
				z = 150
			}
			fmt.Fprintf(&b, "%d ", z)
		}
		b.WriteByte('\n')
	}
	return &fstest.MapFile{Data: []byte(b.String())}
}

const planText = `version: 1
title: Wall
zone: Etc/GMT+2
as_of: 2026-03-01 20:00
%s
weather: {visibility: 20 km}
hours: [2026-03-01 12:00, 2026-03-01 22:00]
starts:
  - {name: hut, kind: last-known, position: 0.016 -29.995, error: 50 m, time: 2026-03-01 10:00}
traveller:
  rule: tobler
  after: [5 min]
  signals:
    - {name: lamp, light: 50 cd, lit_from: 2026-03-01 21:00, rated_time: 2 h}
    - {name: flag, flag: 1x1 m, reflectance: 0.4, on: 0.05}
looking:
  lookouts:
    - {name: west, position: 0.016 -29.998, from: 2026-03-01 20:00, until: 2026-03-01 22:00}
    - {name: east, position: 0.016 -29.970, from: 2026-03-01 20:00, until: 2026-03-01 22:00, people: 3}
placement:
  count: 1
  candidates:
    - {name: near west, position: 0.016 -29.992}
    - {name: near east, position: 0.016 -29.974}
`

func runPlanText(t testing.TB, terrain string, files fstest.MapFS) *Result {
	t.Helper()
	if files == nil {
		files = fstest.MapFS{}
	}
	files["plan.yaml"] = &fstest.MapFile{Data: fmt.Appendf(nil, planText, terrain)}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	r, err := Run(context.Background(), files, p, Options{})
	require.NoError(t, err)
	return r
}

func TestTheWallDecides(t *testing.T) {
	r := runPlanText(t, "terrain: plain.asc", fstest.MapFS{"plain.asc": plain(t)})

	require.Len(t, r.Place, 2)
	for i, want := range []string{"flag", "lamp"} {
		p := r.Place[i]
		assert.Equal(t, want, p.Signal, "the lamp is not lit at noon")
		require.Len(t, p.Sites, 1)
		// Three people look from the east, one from the west, and the wall parts them.
		assert.Equal(t, "near east", p.Sites[0].Name)
		// A minute's look finds the lamp from there, but for a few of the draws; they look
		// by night, in which the flag is found in few.
		if want == "lamp" {
			assert.InDelta(t, 0.75, float64(p.Sites[0].SeenShare), 0.01)
		} else {
			assert.Less(t, float64(p.Sites[0].SeenShare), 0.4)
			assert.Greater(t, float64(p.Sites[0].SeenShare), 0.1)
		}
		assert.Zero(t, float64(p.Gap))
	}
	// The lamp burns in the second of the two hours of watching.
	assert.InDelta(t, 4*7200.0, float64(r.Place[0].Total), 1e-6)
	assert.InDelta(t, 4*3600.0, float64(r.Place[1].Total), 1e-6)

	for _, s := range r.Sight {
		if s.LuminousNoticedM > 2000 {
			// The hut stands 600 m or so west of the wall and the terrain ends 550 m
			// west of the hut: the farthest ground in view is at a corner.
			assert.Equal(t, "edge", s.LimitNoticed, s.Signal)
			assert.Less(t, float64(s.NoticedM), 2300.0, s.Signal)
		}
		assert.LessOrEqual(t, float64(s.NoticedM), float64(s.PerceptibleM))
	}
}

// TestTheBeamDecides turns a lamp with a beam to the west at a site from which
// the watchers in the east would see it.
func TestTheBeamDecides(t *testing.T) {
	for _, c := range []struct {
		beam string
		want float64 // share of the person-seconds
	}{
		{"", 0.75},
		{", beam: 40 deg, azimuth: 90 deg", 0.75},
		{", beam: 40 deg, azimuth: 270 deg", 0},
		{", beam: 40 deg, azimuth: 90 deg, tilt: 60 deg", 0},
	} {
		lamp := strings.NewReplacer("{name: lamp, light: 50 cd", "{name: lamp, light: 50 cd"+c.beam, "    - {name: near west, position: 0.016 -29.992}\n", "")
		files := fstest.MapFS{"plain.asc": plain(t), "plan.yaml": &fstest.MapFile{Data: []byte(lamp.Replace(fmt.Sprintf(planText, "terrain: plain.asc")))}}
		p, err := plan.Read(files, "plan.yaml")
		require.NoError(t, err)
		r, err := Run(context.Background(), files, p, Options{Parts: Placing})
		require.NoError(t, err)
		require.Len(t, r.Place, 2)
		require.Equal(t, "lamp", r.Place[1].Signal)
		assert.InDelta(t, c.want, float64(r.Place[1].Covered)/float64(r.Place[1].Total), 0.01, "beam%s", c.beam)
	}
}

func TestWithoutTerrainTheRestIsDone(t *testing.T) {
	r := runPlanText(t, "", nil)
	assert.Nil(t, r.Terrain)
	assert.Empty(t, r.Place)
	require.Len(t, r.Sight, 4)
	require.NotNil(t, r.Rings)
	assert.True(t, r.Rings.Flat)
	// Tobler's walker on the flat goes 6 exp(-0.175) km/h (Tobler 1993).
	usual := r.Rings.Rings[1]
	assert.InDelta(t, 300*6000.0/3600*math.Exp(-0.175)+50, float64(usual.FarthestM), 0.5)
	assert.Contains(t, strings.Join(r.LeftOut, "\n"), "terrain")
	for _, s := range r.Sight {
		if s.NoticedM > 0 {
			assert.LessOrEqual(t, float64(s.NoticedM), float64(s.GeographicM))
		}
	}
	data, err := json.Marshal(r)
	require.NoError(t, err)
	assert.NotContains(t, string(data), "NaN")
}

// TestSameBytes runs one plan twice: results must not depend on the order in
// which workers finish.
func TestSameBytes(t *testing.T) {
	files := func() fstest.MapFS { return fstest.MapFS{"plain.asc": plain(t)} }
	first, err := json.Marshal(runPlanText(t, "terrain: plain.asc", files()))
	require.NoError(t, err)
	for range 3 {
		again, err := json.Marshal(runPlanText(t, "terrain: plain.asc", files()))
		require.NoError(t, err)
		require.Equal(t, string(first), string(again))
	}
}

func TestCancel(t *testing.T) {
	files := fstest.MapFS{"plain.asc": plain(t), "plan.yaml": &fstest.MapFile{Data: fmt.Appendf(nil, planText, "terrain: plain.asc")}}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = Run(ctx, files, p, Options{})
	require.ErrorIs(t, err, context.Canceled)
}

func TestDuring(t *testing.T) {
	at := func(h int) time.Time { return time.Date(2026, 3, 1, h, 0, 0, 0, time.UTC) }
	w := watcher{weight: 1, from: at(20), stay: 4 * time.Hour}
	for _, c := range []struct {
		name        string
		from, until time.Time
		want        float64
	}{
		{"all of it", at(18), at(25), 1},
		{"the first half", at(18), at(22), 0.5},
		{"a quarter inside", at(21), at(22), 0.25},
		{"before", at(10), at(12), 0},
		{"after", at(25), at(26), 0},
	} {
		assert.InDelta(t, c.want, w.during(c.from, c.until), 1e-12, c.name)
	}
	assert.Equal(t, 1.0, watcher{stay: time.Hour}.during(at(1), at(2)), "no clock: counted in full")
}

func TestRingStart(t *testing.T) {
	at := func(h int) time.Time { return time.Date(2026, 3, 1, h, 0, 0, 0, time.UTC) }
	got, ok := ringStart([]plan.Start{
		{Name: "car", Time: at(8)}, {Name: "hut", Time: at(12)}, {Name: "rumour", Time: at(14), SupersededBy: "hut"},
	})
	assert.True(t, ok)
	assert.Equal(t, "hut", got.Name)
	got, _ = ringStart([]plan.Start{{Name: "first"}, {Name: "last"}})
	assert.Equal(t, "last", got.Name, "without times the last in the plan")
	_, ok = ringStart(nil)
	assert.False(t, ok)
}

// TestBarriersOfAPlan walks with a stream west of the hut: nobody is beyond it,
// and the ring is smaller than without.
func TestBarriersOfAPlan(t *testing.T) {
	free := runPlanText(t, "terrain: plain.asc", fstest.MapFS{"plain.asc": plain(t)})
	files := fstest.MapFS{"plain.asc": plain(t),
		"stream.geojson": {Data: []byte(`{"type":"LineString","coordinates":[[-29.996,-1],[-29.9961,1]]}`)}}
	text := strings.Replace(fmt.Sprintf(planText, "terrain: plain.asc"), "  after: [5 min]\n", "  after: [5 min]\n  barriers: stream.geojson\n", 1)
	files["plan.yaml"] = &fstest.MapFile{Data: []byte(text)}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	r, err := Run(context.Background(), files, p, Options{})
	require.NoError(t, err)
	require.Zero(t, free.Rings.BarrierCells)
	require.Equal(t, 120, r.Rings.BarrierCells)
	for i, ring := range r.Rings.Rings {
		require.Less(t, float64(ring.AreaM2), float64(free.Rings.Rings[i].AreaM2))
		require.Greater(t, ring.Shape.Bound().Min.Lon(), -29.9963)
	}
}

// TestReadShapes reads lines and areas of either kind of file.
func TestReadShapes(t *testing.T) {
	files := fstest.MapFS{
		"mixed.geojson": {Data: []byte(`{"type":"FeatureCollection","features":[
			{"type":"Feature","properties":{"name":"beck"},"geometry":{"type":"MultiLineString","coordinates":[[[1,2],[1,3]],[[4,2],[4,3]]]}},
			{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[1,2]}},
			{"type":"Feature","properties":{"name":"tarn"},"geometry":{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]}}]}`)},
		"route.gpx": {Data: []byte(`<gpx version="1.1" creator="t"><rte><name>up</name><rtept lat="1" lon="2"/><rtept lat="1" lon="3"/></rte></gpx>`)},
		"collection.geojson": {Data: []byte(`{"type":"GeometryCollection","geometries":[{"type":"LineString","coordinates":[[1,2],[3,4]]},
			{"type":"MultiLineString","coordinates":[[[5,6],[7,8]],[[9,10],[11,12]]]},{"type":"Point","coordinates":[0,0]}]}`)},
		"point.geojson": {Data: []byte(`{"type":"Point","coordinates":[0,0]}`)},
		"point.gpx":     {Data: []byte(`<gpx version="1.1" creator="t"><trk><trkseg><trkpt lat="1" lon="2"/></trkseg></trk></gpx>`)},
		"broken.json":   {Data: []byte(`{"type":`)},
	}
	mixed, _, err := ReadShapes(files, "mixed.geojson")
	require.NoError(t, err)
	require.Len(t, mixed, 3)
	require.Equal(t, []string{"beck", "beck", "tarn"}, []string{mixed[0].Name, mixed[1].Name, mixed[2].Name})
	require.Len(t, linesOf(mixed), 2)
	route, _, err := ReadShapes(files, "route.gpx")
	require.NoError(t, err)
	require.Equal(t, []Shape{{Name: "up", Line: orb.LineString{{2, 1}, {3, 1}}}}, route)
	parts, _, err := ReadShapes(files, "collection.geojson")
	require.NoError(t, err)
	require.Equal(t, []Shape{{Line: orb.LineString{{1, 2}, {3, 4}}}, {Line: orb.LineString{{5, 6}, {7, 8}}}, {Line: orb.LineString{{9, 10}, {11, 12}}}}, parts)
	for name, word := range map[string]string{"point.gpx": "no lines", "point.geojson": "no lines", "broken.json": "broken.json:1", "gone": "gone"} {
		_, _, err := ReadShapes(files, name)
		require.ErrorContains(t, err, word)
	}
	require.Nil(t, MarkShapes(grid.Frame{Cols: 2, Rows: 2}, nil))
}

// TestMarkLineHasNoBreak draws lines in many directions and walks them: each
// marked cell but the first must touch one before it.
func TestMarkLineHasNoBreak(t *testing.T) {
	f := grid.Frame{X0: 0, Y0: 1, DX: 0.01, DY: 0.013, Cols: 60, Rows: 60}
	for angle := 0.0; angle < 360; angle += 7 {
		mask := make([]bool, f.Cols*f.Rows)
		sin, cos := math.Sincos(angle * math.Pi / 180)
		centre := f.Point(30, 30)
		far := orb.Point{centre.Lon() + 0.25*sin, centre.Lat() + 0.3*cos}
		walk.MarkLine(mask, f, orb.LineString{centre, far})
		reached := map[int]bool{30*f.Cols + 30: true}
		for grown := true; grown; {
			grown = false
			for i, on := range mask {
				if !on || reached[i] {
					continue
				}
				for _, step := range []int{-1, 1, -f.Cols, f.Cols, -f.Cols - 1, -f.Cols + 1, f.Cols - 1, f.Cols + 1} {
					if reached[i+step] {
						reached[i], grown = true, true
						break
					}
				}
			}
		}
		col, row := f.Cell(far)
		assert.True(t, reached[int(math.Round(row))*f.Cols+int(math.Round(col))], "angle %.0f", angle)
	}
}

func TestCandidatesAreThinnedToTheLimit(t *testing.T) {
	h := &grid.Heights{Frame: grid.Frame{X0: 0, Y0: 0.5, DX: 0.005, DY: 0.005, Cols: 101, Rows: 101}}
	h.Z = make([]float32, h.Cols*h.Rows)
	p := &plan.Plan{Placements: []plan.Placement{{SpacingM: 100, WithinM: 5000}}}
	r := &run{plan: p, heights: h, local: earth.NewLocal(h.Point(50, 50)), watch: &watch{watchers: []watcher{{point: h.Point(50, 50)}}}, result: &Result{}}
	list, spacing, err := (&placing{run: r, ask: p.Placements[0]}).candidates(context.Background())
	require.NoError(t, err)
	assert.LessOrEqual(t, len(list), maxCandidates)
	assert.Greater(t, len(list), maxCandidates/2)
	assert.Greater(t, spacing, 100.0)
	require.Len(t, r.result.Notes, 1, "thinning is told")
	for i, c := range list {
		assert.LessOrEqual(t, math.Hypot(c.x, c.y), 5000+1e-3)
		if i > 0 {
			assert.False(t, c.y > list[i-1].y+1, "from the north")
		}
	}
}
