package plan

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestReadHazards(t *testing.T) {
	p, err := read(full)
	require.NoError(t, err)
	require.Len(t, p.Hazards, 2)
	shaft, face := p.Hazards[0], p.Hazards[1]
	require.Equal(t, []any{"old shaft", 30.0, "", "open, no fence", "a rope", "the warden"}, []any{shaft.Name, shaft.RadiusM, shaft.Area, shaft.Note, shaft.Gear, shaft.Source})
	require.InDeltaSlice(t, []float64{1.605, 42.56}, shaft.Point[:], 1e-12)
	require.Equal(t, []any{"north face", 0.0, "trip/trails.geojson", "stones fall after noon"}, []any{face.Name, face.RadiusM, face.Area, face.Note})
	require.Equal(t, lineOf(t, "north face"), face.Line)
	require.Equal(t, []string{"trip/trails.geojson"}, p.HazardFiles())
}

func TestHazardsThatSayTooLittleOrTooMuch(t *testing.T) {
	const first = `{name: old shaft, position: "42.56, 1.605", radius: 30 m,`
	for _, c := range []struct{ instead, want string }{
		{`{name: old shaft,`, "needs one of the keys position, area"},
		{`{name: old shaft, position: "42.56, 1.605",`, "without its radius"},
		{`{name: old shaft, area: trails.geojson, radius: 30 m,`, "an area of its own"},
		{`{name: old shaft, position: "42.56, 1.605", area: trails.geojson,`, "both"},
		{`{name: old shaft, position: "42.56, 1.605", radius: 30 km,`, "at most"},
		{`{name: old shaft, position: "42.56, 1.605", radius: 30,`, "unit"},
		{`{name: old shaft, area: nothere.geojson,`, "no such file"},
		{`{position: "42.56, 1.605", radius: 30 m,`, "name"},
		{`{name: north face, position: "42.56, 1.605", radius: 30 m,`, "north face"}, // two of a name
		{`{name: old shaft, danger: high, position: "42.56, 1.605", radius: 30 m,`, "unknown key"},
	} {
		_, err := read(strings.Replace(full, first, c.instead, 1))
		require.ErrorContains(t, err, c.want, c.instead)
	}
}
