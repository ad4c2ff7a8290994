package cover

import (
	"testing"
	"testing/fstest"

	"farhail/geo/grid"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

// A stream with a footbridge, a tarn with a path along its shore, and a cliff.
const tarn = `{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"waterway":"stream"},"geometry":{"type":"LineString","coordinates":[[0.0005,0.0095],[0.0095,0.0095]]}},
{"type":"Feature","properties":{"highway":"path","bridge":"yes"},"geometry":{"type":"LineString","coordinates":[[0.0045,0.0085],[0.0045,0.0105]]}},
{"type":"Feature","properties":{"natural":"water"},"geometry":{"type":"Polygon","coordinates":[[[0.002,0.002],[0.005,0.002],[0.005,0.005],[0.002,0.005],[0.002,0.002]]]}},
{"type":"Feature","properties":{"highway":"path"},"geometry":{"type":"LineString","coordinates":[[0.0025,0.0015],[0.0025,0.006]]}},
{"type":"Feature","properties":{"natural":"cliff"},"geometry":{"type":"LineString","coordinates":[[0.0075,0.001],[0.0075,0.004]]}}]}`

func TestWaterToKeepAwayFrom(t *testing.T) {
	m, err := Read(fstest.MapFS{"a.geojson": {Data: []byte(tarn)}}, []string{"a.geojson"}, orb.Bound{})
	require.NoError(t, err)
	g := m.On(grid.Frame{X0: 0.0005, Y0: 0.0105, DX: 0.001, DY: 0.001, Cols: 10, Rows: 11}, Unknown)
	water, cliffs := m.Water(g), m.Cliffs(g)
	at := func(mask []bool, col, row int) bool { return mask[row*g.Cols+col] }
	stops := m.Stops(g, StreamsStop).Mask
	for col := range g.Cols {
		require.True(t, at(water, col, 1), "the stream, column %d", col)
	}
	require.False(t, at(stops, 4, 1), "a walker crosses the bridge")
	require.True(t, at(water, 2, 6) && at(water, 4, 8), "the tarn, along the path too")
	require.False(t, at(stops, 2, 6))
	require.False(t, at(water, 7, 8))
	require.True(t, at(cliffs, 7, 8))
	require.False(t, at(cliffs, 2, 6))
	require.True(t, m.TellsStreams())
}

func TestLakesAloneTellNoStreams(t *testing.T) {
	m, err := Read(fstest.MapFS{"a.geojson": {Data: []byte(`{"type":"Feature","properties":{"natural":"water"},"geometry":{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]}}`)}}, []string{"a.geojson"}, orb.Bound{})
	require.NoError(t, err)
	require.False(t, m.TellsStreams())
}
