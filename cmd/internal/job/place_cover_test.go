package job

import (
	"fmt"
	"strings"
	"testing"

	"farhail/geo/grid"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// mappedGround writes a cover file of lines and areas: tags and coordinates in turn.
func mappedGround(features ...string) string {
	var list []string
	for i := 0; i < len(features); i += 2 {
		kind, open, shut := "LineString", "[", "]"
		if strings.HasPrefix(features[i+1], "[[[") {
			kind, open, shut = "Polygon", "", ""
		}
		list = append(list, fmt.Sprintf(`{"type":"Feature","properties":{%s},"geometry":{"type":"%s","coordinates":%s%s%s}}`, features[i], kind, open, features[i+1], shut))
	}
	return `{"type":"FeatureCollection","features":[` + strings.Join(list, ",") + `]}`
}

// Nobody is drawn over mapped water or a mapped cliff: not by the bridge or the path that
// crosses it beside the straight line either. A stream is no bar.
func TestNobodyIsDrawnOverWhatIsMapped(t *testing.T) {
	const across, path = "[-29.9880,0.0001],[-29.9880,0.0160],[-29.9880,0.0319]", "[-29.9900,0.0160],[-29.9860,0.0160]"
	ask := "cover: ground.geojson\ncover_elsewhere: grass\nplacement: {question: attract, count: 1, shows: {name: beacon, light: 2000 cd}, %s candidates: [{name: east, position: 0.016 -29.9865}]}\n"
	for name, c := range map[string]struct {
		ground string
		sites  int
	}{
		"a stream":             {mappedGround(`"waterway":"stream"`, across), 1},
		"a river":              {mappedGround(`"waterway":"river"`, across), 0},
		"a river with bridge":  {mappedGround(`"waterway":"river"`, across, `"highway":"path","bridge":"yes"`, path), 0},
		"a cliff":              {mappedGround(`"natural":"cliff"`, across), 0},
		"a cliff with a path":  {mappedGround(`"natural":"cliff"`, across, `"highway":"path"`, path), 0},
		"a lake":               {mappedGround(`"natural":"water"`, "[[[-29.9882,0.0001],[-29.9872,0.0001],[-29.9872,0.0319],[-29.9882,0.0319],[-29.9882,0.0001]]]"), 0},
		"a lake far to a side": {mappedGround(`"natural":"water"`, "[[[-29.9882,0.0001],[-29.9872,0.0001],[-29.9872,0.0030],[-29.9882,0.0030],[-29.9882,0.0001]]]"), 1},
	} {
		r := placeAlone(t, placeHead+fmt.Sprintf(ask, ""), "ground.geojson", c.ground)
		require.Len(t, r.Place, 1, name)
		p := r.Place[0]
		require.Len(t, p.Sites, c.sites, name)
		if c.sites == 0 {
			assert.Equal(t, 1, p.Crossing.NotProposed, name)
			assert.Positive(t, p.Crossing.WaterCells+p.Crossing.MappedCells, name)
			forced := placeAlone(t, placeHead+fmt.Sprintf(ask, "forced: true,"), "ground.geojson", c.ground)
			require.Len(t, forced.Place[0].Sites, 1, name)
			assert.Greater(t, float64(forced.Place[0].Sites[0].CrossingShare), 0.1, name)
			continue
		}
		assert.LessOrEqual(t, float64(p.Sites[0].CrossingShare), 0.1, name)
	}
}

// No candidate of any question stands on water: one that is given is told, those looked for
// are left out; and what is steep within its cell counts against max_slope.
func TestNoCandidateOnWater(t *testing.T) {
	lake := mappedGround(`"natural":"water"`, "[[[-29.9990,0.0150],[-29.9960,0.0150],[-29.9960,0.0180],[-29.9990,0.0180],[-29.9990,0.0150]]]")
	head := placeHead + westLookout + "cover: ground.geojson\ncover_elsewhere: grass\n"
	given := placeAlone(t, head+"placement: {signal: flag, count: 1, candidates: [{name: wet, position: 0.0165 -29.9975}, {name: dry, position: 0.0165 -29.9950}]}\n", "ground.geojson", lake)
	require.Len(t, given.Place, 1)
	assert.Equal(t, 1, given.Place[0].Candidates)
	assert.Equal(t, "dry", given.Place[0].Sites[0].Name)
	var told []string
	for _, n := range given.Notes {
		told = append(told, n.Text)
	}
	assert.Contains(t, told, "candidate wet lies on water by the ground cover and is left out")
	for _, question := range []string{"passive, signal: flag", "lookouts, signal: flag"} {
		r := placeAlone(t, head+"placement: {question: "+question+", count: 4, spacing: 60 m, within: 400 m}\n", "ground.geojson", lake)
		require.Len(t, r.Place, 1)
		require.NotEmpty(t, r.Place[0].Sites)
		for _, s := range r.Place[0].Sites {
			assert.Equal(t, "grass", s.Cover, question)
		}
	}
}

// Looked-for candidates do not stand where the ground is a cliff within the cell, which
// Horn's slope of the wall, 39.8 degrees, would let pass.
func TestNoCandidateOnAWall(t *testing.T) {
	near := "looking:\n  lookouts: [{name: west, position: 0.016 -29.9865, from: 2026-03-01 21:30, until: 2026-03-01 23:00}]\n"
	r := placeAlone(t, placeHead+near+"placement: {signal: lamp, count: 3, spacing: 30 m, within: 450 m}\n")
	require.Len(t, r.Place, 1)
	require.NotEmpty(t, r.Place[0].Sites)
	for _, s := range r.Place[0].Sites {
		assert.LessOrEqual(t, float64(s.SlopeDeg), 40.0)
	}
	given := placeAlone(t, placeHead+near+"placement: {signal: lamp, count: 1, candidates: [{name: top, position: 0.0162 -29.9838}]}\n")
	require.Len(t, given.Place[0].Sites, 1, "the user's own candidate stands, with its slope")
	assert.InDelta(t, 59, float64(given.Place[0].Sites[0].SlopeDeg), 1)
}

// A line between two cells that touch by a corner passes over both, and a way that leaves
// the ground that was looked at is not known to be free.
func TestCornersAndTheEdgeOfWhatWasLookedAt(t *testing.T) {
	h := &hazards{Heights: &grid.Heights{Frame: grid.Frame{Cols: 9, Rows: 7}}}
	h.mask, h.pieces = make([]bool, 63), make([]int32, 63)
	at := func(col, row float64) candidate { return candidate{col: col, row: row} }
	for i := range h.pieces {
		h.pieces[i] = -1
	}
	h.mask[2*9+3], h.mask[3*9+4] = true, true // a chain over the corner
	h.join(1, 0, 8, 6)
	for _, n := range []float64{0, 0.2, 0.4} {
		assert.True(t, h.straight(at(4+n, 2-n), at(3+n, 3-n)), "%v", n)
	}
	assert.False(t, h.straight(at(5, 2), at(8, 5)))
	assert.True(t, h.along([]candidate{at(4, 2), at(3, 3)}))
	assert.False(t, h.along([]candidate{at(5, 2), at(6, 2), at(6, 4)}))
	assert.True(t, h.along([]candidate{at(2, 5), at(0, 5), at(0, 6)}), "column 0 was not looked at")
}

// No distance is less than a cell: what is nearer counts as that far.
func TestDistancesAreAtLeastACell(t *testing.T) {
	l := &looks{from: 3}
	for range 100 {
		l.rows = append(l.rows, nil)
	}
	o := sightOver{looks: []*looks{l}, leastM: 30}
	here := candidate{x: 100, y: 100}
	near, cell := o.row(here, lookedAt{candidate: candidate{x: 102, y: 100}}), o.row(here, lookedAt{candidate: candidate{x: 130, y: 100}})
	assert.Equal(t, cell, near)
	assert.Greater(t, o.row(here, lookedAt{candidate: candidate{x: 140, y: 100}}), cell)
	assert.Equal(t, -1, o.row(here, lookedAt{candidate: candidate{x: 9100, y: 100}}), "too far")
}
