package job

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"farhail/cmd/internal/plan"

	"github.com/stretchr/testify/require"
)

// wandered runs a plan of one view, people who wander for 20 minutes over open ground,
// with keys of the traveller and of the plan, and returns by how much they spread
// east and north [m, root of the mean square].
func wandered(t *testing.T, traveller, top string) (r *Result, eastM, northM float64) {
	t.Helper()
	text := fmt.Sprintf(planText, "terrain: open.asc"+top)
	text = strings.Replace(text, "  rule: tobler\n", "  rule: tobler-off\n"+traveller, 1)
	text += "likelihood: {outside: 10 %, by: KB, within: 500 m, views: [{name: v, weight: 1, by: KB, wander: 8 min, turns: 40 deg}]}\n"
	flat := &fstest.MapFile{Data: []byte(strings.ReplaceAll(string(plain(t).Data), "150", "100"))}
	files := fstest.MapFS{
		"open.asc": flat, "land.geojson": {Data: []byte(clearing)}, "plan.yaml": {Data: []byte(text)},
		"trail.geojson":  {Data: []byte(`{"type":"LineString","coordinates":[[-29.9999,0.016],[-29.97,0.016]]}`)},
		"stream.geojson": {Data: []byte(`{"type":"LineString","coordinates":[[-29.996,-1],[-29.9961,1]]}`)},
	}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	r, err = Run(context.Background(), files, p, Options{Parts: Chances})
	require.NoError(t, err)
	s := r.Chance.Surface
	col0, row0 := s.Cell(p.Starts[0].Point)
	dx, dy := s.Metres(s.Rows / 2)
	for i, m := range s.Mass {
		e, n := (float64(i%s.Cols)-col0)*dx, (float64(i/s.Cols)-row0)*dy
		eastM, northM = eastM+m*e*e/0.9, northM+m*n*n/0.9
	}
	return r, math.Sqrt(eastM), math.Sqrt(northM)
}

// Wanderers keep what is told of the traveller: a load and a night shorten their way,
// a rest stops them, trails lead them on and barriers hold them.
func TestWanderersAreTheTraveller(t *testing.T) {
	_, east, north := wandered(t, "", "")
	require.InEpsilon(t, east, north, 0.05)
	// 0.8 by night: the ways, and 20 m of the start's error beside them.
	_, night, _ := wandered(t, "  night: \"08:00-16:00\"\n", "")
	start := 50 / 2.4477
	way := func(rms float64) float64 { return math.Sqrt(rms*rms - start*start) }

	require.InEpsilon(t, 0.8, way(night)/way(east), 0.02)
	_, load, _ := wandered(t, "  load: 20 kg\n", "")
	require.InEpsilon(t, 0.847, way(load)/way(east), 0.02)
	_, rest, _ := wandered(t, "  rest: \"10:04-16:00\"\n", "")
	require.Less(t, way(rest), 0.7*way(east)) // half the time
	require.Greater(t, way(rest), 0.5*way(east))
	_, along, across := wandered(t, "  trails: trail.geojson\n", "")
	require.Greater(t, along, 1.05*east)
	require.Less(t, across, along)
	r, _, _ := wandered(t, "  barriers: stream.geojson\n", "")
	s := r.Chance.Surface
	for i, m := range s.Mass {
		if s.Point(float64(i%s.Cols), float64(i/s.Cols)).Lon() < -29.9963 {
			require.Zero(t, m)
		}
	}
}

// So do they what is told of the ground: woods slow them, and a stream of the cover
// holds them where the plan says so.
func TestWanderersOverCover(t *testing.T) {
	_, bare, _ := wandered(t, "", "")
	r, wood, _ := wandered(t, "  crossing: streams\n", "\ncover: land.geojson")
	require.Less(t, wood, bare)
	s := r.Chance.Surface
	for i, m := range s.Mass {
		if s.Point(float64(i%s.Cols), float64(i/s.Cols)).Lon() < -29.9963 {
			require.Zero(t, m)
		}
	}
}
