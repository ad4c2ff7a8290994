package job

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"farhail/cmd/internal/plan"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A wood around a clearing of 400 m in which the hut stands, a stream through it
// from north to south 110 m west of the hut, a path over both.
const clearing = `{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"natural":"wood"},"geometry":{"type":"Polygon","coordinates":[
[[-29.9990,0.012],[-29.9910,0.012],[-29.9910,0.020],[-29.9990,0.020],[-29.9990,0.012]],
[[-29.9968,0.0142],[-29.9968,0.0178],[-29.9932,0.0178],[-29.9932,0.0142],[-29.9968,0.0142]]]}},
{"type":"Feature","properties":{"waterway":"stream"},"geometry":{"type":"LineString","coordinates":[[-29.996,-1],[-29.9961,1]]}},
{"type":"Feature","properties":{"highway":"path","name":"the path"},"geometry":{"type":"LineString","coordinates":[[-29.9995,0.016],[-29.98,0.016]]}}]}`

// runCovered runs the plan of the wall over a terrain of that name with the cover.
func runCovered(t *testing.T, terrain, traveller string) *Result {
	t.Helper()
	text := fmt.Sprintf(planText, "terrain: "+terrain+"\ncover: land.geojson\ncanopy_height: 18 m")
	text = strings.Replace(text, "  after: [5 min]\n", "  after: [5 min]\n"+traveller, 1)
	files := fstest.MapFS{terrain: plain(t), "land.geojson": {Data: []byte(clearing)}, "plan.yaml": {Data: []byte(text)}}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	r, err := Run(context.Background(), files, p, Options{})
	require.NoError(t, err)
	return r
}

// TestTreesOfAPlan: the wood ends what the ground would let be seen, at its near edge,
// and both are told; a surface model has its trees already.
func TestTreesOfAPlan(t *testing.T) {
	bare := runPlanText(t, "terrain: dtm.asc", fstest.MapFS{"dtm.asc": plain(t)})
	wooded := runCovered(t, "dtm.asc", "")
	require.Len(t, wooded.Sight, len(bare.Sight))
	limited := 0
	for i, s := range wooded.Sight {
		open := bare.Sight[i]
		assert.Nil(t, open.WithoutTrees)
		if open.NoticedM == 0 {
			continue // the lamp at noon
		}
		require.NotNil(t, s.WithoutTrees, s.Signal)
		assert.Equal(t, OpenSight{open.NoticedM, open.PerceptibleM, open.SeenAreaM2}, *s.WithoutTrees, s.Signal)
		limited++
		assert.Equal(t, "vegetation", s.LimitNoticed, s.Signal)
		// The corner of the clearing is 283 m off, and its edge is seen.
		assert.Less(t, float64(s.NoticedM), 350.0, s.Signal)
		assert.Greater(t, float64(s.NoticedM), 200.0, s.Signal)
		assert.Less(t, float64(s.SeenAreaM2), 0.25e6, s.Signal)
		assert.Contains(t, s.Why, "Over bare ground it would be noticed to ")
	}
	assert.Positive(t, limited)
	require.NotNil(t, wooded.Terrain.LandCover)
	assert.Contains(t, wooded.Terrain.Cover, "stand in the way of sight")
	assert.Contains(t, textsOf(wooded), "the lookout west lies below 16.3 m of wood")

	tops := runCovered(t, "dsm.asc", "")
	for i, s := range tops.Sight {
		assert.Nil(t, s.WithoutTrees)
		assert.Equal(t, bare.Sight[i].NoticedM, s.NoticedM)
	}
	assert.Contains(t, tops.Terrain.LandCover.Screen, "not used")
	assert.Contains(t, textsOf(tops), "trees of the ground cover are not put on the terrain")
}

// TestWalkingOverCover: a stream stops walkers where the plan says so; the path leads
// farther than the ground beside it, which the wood slows as the user says.
func TestWalkingOverCover(t *testing.T) {
	lakes := runCovered(t, "dtm.asc", "").Rings
	streams := runCovered(t, "dtm.asc", "  crossing: streams\n  time_factors: {wood: 4}\n")
	require.Equal(t, 120, streams.Rings.BarrierCells)
	require.Equal(t, &CoverBarrier{Crossing: "streams", WaterCells: 120, CutCells: 1, Trails: 1}, streams.Terrain.LandCover.Barriers)
	require.Contains(t, textsOf(streams), "1 cells of trails lie in running water without a bridge")
	require.Zero(t, lakes.BarrierCells)
	require.Positive(t, lakes.TrailCells)
	require.Equal(t, "the path", streams.Rings.Handrails[0].Name)
	for i, ring := range streams.Rings.Rings {
		assert.Less(t, float64(ring.AreaM2), float64(lakes.Rings[i].AreaM2))
		assert.Greater(t, ring.Shape.Bound().Min.Lon(), -29.9964, "west of the stream")
		assert.Less(t, lakes.Rings[i].Shape.Bound().Min.Lon(), -29.9964)
	}
	for _, c := range streams.Terrain.LandCover.Classes {
		if c.Class == "wood" {
			assert.InDelta(t, 4, float64(c.TimeFactor), 1e-12)
			assert.Equal(t, "given", c.TimeFactorFrom)
		}
	}
}

func textsOf(r *Result) string {
	var b strings.Builder
	for _, n := range r.Notes {
		b.WriteString(n.Text + "\n")
	}
	return b.String()
}
