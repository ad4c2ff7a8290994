package job

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"testing/fstest"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A degree of latitude is 110574 m at the equator, of longitude 111320 m: WGS84's
// meridian and equator, b²/a and a times pi/180.
const (
	degNorthM = 6356752.314245 * 6356752.314245 / 6378137 * math.Pi / 180
	degEastM  = 6378137 * math.Pi / 180
)

func TestWhoComesNearAHazard(t *testing.T) {
	// A party and a trip go east along the equator, a lookout stands on it.
	north := func(m float64) string { return fmt.Sprintf("%.9f", m/degNorthM) }
	keys := `trip: {route: way.gpx, start: 2026-03-01 09:00}
looking:
  parties: [{name: first, route: way.gpx}]
  lookouts: [{name: ridge, position: "0.02, -29.95", from: 2026-03-01 10:00, until: 2026-03-01 11:00}]
hazards:
  - {name: across, position: "0, -29.95", radius: 10 m, note: mud, gear: poles, source: KB}
  - {name: near, position: "` + north(110) + `, -29.94", radius: 30 m}
  - {name: beside, position: "` + north(150) + `, -29.94", radius: 40 m}
  - {name: far, position: "40, 20", radius: 30 m}
  - {name: drawn, area: drawn.geojson}
`
	drawn := `{"type":"FeatureCollection","features":[
	{"type":"Feature","properties":{"name":"the crack"},"geometry":{"type":"LineString","coordinates":[[-29.95,0.0205],[-29.951,0.0205]]}},
	{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[[[-29.96,0.03],[-29.95,0.03],[-29.95,0.04],[-29.96,0.04],[-29.96,0.03]]]}}]}`
	r := tripOf(t, keys, "", equator, fstest.MapFS{"drawn.geojson": {Data: []byte(drawn)}})
	require.Len(t, r.Hazards, 5)

	across := r.Hazards[0]
	assert.Equal(t, []any{"across", "mud", "poles", "KB", "", 10.0}, []any{across.Name, across.Note, across.Gear, across.Source, across.File, float64(across.RadiusM)})
	assert.Equal(t, []HazardPass{{"first", PassParty, "across", 0}, {"", PassTrip, "across", 0}}, across.Passes, "through it")

	near := r.Hazards[1]
	require.Len(t, near.Passes, 2)
	for _, p := range near.Passes {
		assert.InDelta(t, 80, float64(p.DistanceM), 0.1, "110 m less its radius")
	}
	assert.Empty(t, r.Hazards[2].Passes, "110 m")
	assert.Empty(t, r.Hazards[3].Passes)

	d := r.Hazards[4]
	assert.True(t, math.IsNaN(float64(d.RadiusM)))
	require.Len(t, d.Parts, 2)
	assert.Equal(t, []string{"drawn: the crack", "drawn 2"}, []string{d.Parts[0].Name, d.Parts[1].Name})
	assert.InDeltaSlice(t, []float64{-29.9505, 0.0205}, d.Parts[0].Point[:], 1e-9)
	assert.InDeltaSlice(t, []float64{-29.955, 0.035}, d.Parts[1].Point[:], 1e-9)
	require.Len(t, d.Passes, 1)
	assert.Equal(t, []any{"ridge", PassLookout, "drawn: the crack"}, []any{d.Passes[0].Who, d.Passes[0].By, d.Passes[0].Part})
	assert.InDelta(t, 0.0005*degNorthM, float64(d.Passes[0].DistanceM), 0.05)
}

func TestNoHazards(t *testing.T) {
	r := tripOf(t, "trip: {route: way.gpx, start: 2026-03-01 09:00}\n", "", equator, nil)
	assert.NotNil(t, r.Hazards)
	assert.Empty(t, r.Hazards)
}

// The place that stands for an area lies in it, in a hook and beside a hole too.
func TestPlaceInAnArea(t *testing.T) {
	square := orb.Ring{{0, 0}, {4, 0}, {4, 4}, {0, 4}, {0, 0}}
	for name, area := range map[string]orb.Polygon{
		"a square": {square},
		"a hook":   {{{0, 0}, {4, 0}, {4, 4}, {3, 4}, {3, 1}, {1, 1}, {1, 4}, {0, 4}, {0, 0}}},
		"a hole":   {square, {{1, 1}, {1, 3}, {3.5, 3}, {3.5, 1}, {1, 1}}},
	} {
		s := flatShape{area: true}
		for _, ring := range area {
			var line [][2]float64
			for _, p := range ring {
				line = append(line, p)
			}
			s.lines = append(s.lines, line)
		}
		assert.True(t, s.inside(placeIn(area)), name)
	}
	assert.Equal(t, orb.Point{0.5, 2}, placeIn(orb.Polygon{square, {{1, 1}, {1, 3}, {3.5, 3}, {3.5, 1}, {1, 1}}}), "in the wider part")
}

// The distance of a straight way from a shape is the least over very many places on both.
func TestGapToAShape(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	at := func() [2]float64 { return [2]float64{rng.Float64() * 100, rng.Float64() * 100} }
	met, apart := 0, 0
	for range 300 {
		a, b, c, d, e := at(), at(), at(), at(), at()
		s := flatShape{lines: [][][2]float64{{c, d, e, c}}, area: rng.IntN(2) == 0}
		least := math.Inf(1)
		const n = 400
		along := func(a, b [2]float64, i int) [2]float64 {
			u := float64(i) / n
			return [2]float64{a[0] + u*(b[0]-a[0]), a[1] + u*(b[1]-a[1])}
		}
		for i := range n + 1 {
			p := along(a, b, i)
			if s.inside(p) {
				least = 0
			}
			for k := range 3 {
				least = min(least, offLine(p, s.lines[0][k], s.lines[0][k+1]))
			}
		}
		got := s.gapM(a, b)
		assert.LessOrEqual(t, got, least+1e-9)
		assert.InDelta(t, least, got, 0.4, "steps of a third of a metre at most")
		if got == 0 {
			met++
		} else {
			apart++
		}
	}
	assert.Greater(t, met, 50)
	assert.Greater(t, apart, 50)
}

// Nobody is drawn across what the plan warns of.
func TestNobodyIsDrawnOverAHazard(t *testing.T) {
	const ask = "placement: {question: attract, count: 1, shows: {name: beacon, light: 2000 cd}, candidates: [{name: east, position: 0.016 -29.9865}]}\nhazards: [{name: bog, %s}]\n"
	const across = `"type":"LineString","coordinates":[[-29.9880,0.0001],[-29.9880,0.0160],[-29.9880,0.0319]]`
	const pit = `"type":"Polygon","coordinates":[[[-29.9882,0.0140],[-29.9876,0.0140],[-29.9876,0.0180],[-29.9882,0.0180],[-29.9882,0.0140]]]`
	file := func(geometry string) string {
		return `{"type":"Feature","properties":{},"geometry":{` + geometry + `}}`
	}
	for name, c := range map[string]struct {
		hazard, file string
		sites        int
	}{
		"a line across":  {"area: ground.geojson", file(across), 0},
		"a pit between":  {"area: ground.geojson", file(pit), 0},
		"a ring between": {`position: "0.016, -29.9876", radius: 60 m`, file(across), 0},
		"to a side":      {`position: "0.004, -29.9876", radius: 60 m`, file(across), 1},
	} {
		r := placeAlone(t, placeHead+fmt.Sprintf(ask, c.hazard), "ground.geojson", c.file)
		require.Len(t, r.Place, 1, name)
		p := r.Place[0]
		require.Len(t, p.Sites, c.sites, name)
		assert.Positive(t, p.Crossing.HazardCells, name)
		if c.sites == 0 {
			assert.Equal(t, 1, p.Crossing.NotProposed, name)
		}
	}
}

// Who is sent to an area is told what it holds: all of it, a part of it, or a hazard that
// holds the area.
func TestNextAreasHoldHazards(t *testing.T) {
	effort := fmt.Sprintf(twoParties, "4 h")
	names := func(hazards string) (got []string, tasks int) {
		for _, task := range fellSearch(t, effort+hazards).Sweep.Next {
			require.NotNil(t, task.Hazards)
			tasks++
			for _, h := range task.Hazards {
				if !slices.Contains(got, h) {
					got = append(got, h)
				}
			}
		}
		return got, tasks
	}
	none, tasks := names("")
	assert.Empty(t, none)
	assert.Positive(t, tasks)
	got, _ := names(`hazards:
  - {name: all, position: "40.0, -30.0", radius: 10 km}
  - {name: hut, position: "40.0, -30.0", radius: 300 m}
  - {name: elsewhere, position: "40.2, -30.0", radius: 100 m}
`)
	assert.ElementsMatch(t, []string{"all", "hut"}, got)
}
