package plan

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const waypointPlan = `version: 1
as_of: 2026-11-24T19:00:00Z
starts:
  - name: hut
    kind: last-known
    position: PLACE
    time: 2026-11-24T15:00:00Z
    error: 10 m
`

func waypointFS(position string) fstest.MapFS {
	return fstest.MapFS{
		"search/plan.yaml": {Data: []byte(strings.Replace(waypointPlan, "PLACE", position, 1))},
		"search/day.gpx": {Data: []byte(`<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1">
<wpt lat="42.5" lon="1.5"><name>Old mill</name></wpt></gpx>`)},
		"search/bad.gpx": {Data: []byte("<gpx>\n  <wpt lat=")},
	}
}

func TestPlanWaypoint(t *testing.T) {
	for _, text := range []string{"day.gpx#Old mill", `"day.gpx#Old mill"`, "day.gpx#'old mill'"} {
		p, err := Read(waypointFS(text), "search/plan.yaml")
		require.NoError(t, err, text)
		assert.Equal(t, orb.Point{1.5, 42.5}, p.Starts[0].Point)
		assert.Equal(t, []string{"search/day.gpx"}, p.WaypointFiles, "no output may replace it")
	}
}

func TestPlanWaypointFaults(t *testing.T) {
	for _, c := range []struct{ text, message, hint string }{
		{"day.gpx#Old mil", "search/day.gpx has no waypoint named \"Old mil\"", "did you mean search/day.gpx#Old mill"},
		{"lost.gpx#A", "no such file", "paths start from the folder of the plan"},
		{"bad.gpx#A", "search/bad.gpx:", ""},
		{"45.5 -110.5 NAD27", "a position on NAD27, which is not WGS84", "write it on WGS84: 45.49991 N, 110.50081 W"},
	} {
		_, err := Read(waypointFS(c.text), "search/plan.yaml")
		var list Problems
		require.ErrorAs(t, err, &list, c.text)
		require.Len(t, list, 1)
		assert.Contains(t, list[0].Message, c.message)
		assert.Contains(t, list[0].Advice, c.hint)
		assert.Equal(t, 6, list[0].Line)
		assert.Equal(t, 15, list[0].Column)
	}
}
