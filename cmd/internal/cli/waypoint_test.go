package cli

import (
	"errors"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var dayFS = fstest.MapFS{
	"day.gpx": {Data: []byte(`<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1">
<wpt lat="42.5" lon="1.5"><name>Old mill</name></wpt>
<wpt lat="42.6" lon="1.4"><name>Camp</name></wpt>
<wpt lat="42.61" lon="1.41"><name>Camp 2</name></wpt>
<wpt lat="42.7" lon="1.4"><name>Twice</name></wpt>
<wpt lat="42.8" lon="1.4"><name>Twice</name></wpt>
<wpt lat="42.9" lon="1.4"><name>Same</name></wpt>
<wpt lat="42.9" lon="1.4"><name>Same</name></wpt>
<wpt lat="43" lon="1.4"><name>C#4 "x"</name></wpt>
<wpt lat="43.1" lon="1.4"/>
<rte><rtept lat="44" lon="2"><name>Ford</name></rtept></rte>
</gpx>`)},
	"my #1.GPX": {Data: []byte(`<gpx version="1.0" creator="t"><wpt lat="1" lon="2"><name>A</name></wpt></gpx>`)},
	"none.gpx":  {Data: []byte(`<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"></gpx>`)},
	"bad.gpx":   {Data: []byte("<gpx version=\"1.1\">\n<wpt lat=\"1\"")},
}

func TestWaypoint(t *testing.T) {
	for _, c := range []struct {
		text string
		lat  float64
	}{
		{"day.gpx#Old mill", 42.5},
		{"day.gpx#old  MILL ", 42.5},
		{`day.gpx#"Old mill"`, 42.5},
		{"day.gpx#'Camp'", 42.6},
		{"day.gpx#Same", 42.9},
		{`day.gpx#C#4 "x"`, 43},
		{"day.gpx#Ford", 44},
		{"my #1.GPX#A", 1},
	} {
		pos, ours, err := Waypoint(dayFS, c.text)
		require.True(t, ours, c.text)
		require.NoError(t, err, c.text)
		assert.Equal(t, c.lat, pos.Point.Lat(), c.text)
		assert.Equal(t, "WGS84", pos.Datum)
	}
	for _, text := range []string{"42.5, 1.5", "day.gpx", "#A", ".gpx#A", "day.txt#A"} {
		_, ours, err := Waypoint(dayFS, text)
		assert.False(t, ours, text)
		assert.NoError(t, err)
	}
}

func TestWaypointFaults(t *testing.T) {
	for _, c := range []struct {
		text, word, hint string
		code             int
	}{
		{"day.gpx#Old mil", `no waypoint named "Old mil"`, "did you mean day.gpx#Old mill", ExitUsage},
		{"day.gpx#mill", "no waypoint named", "day.gpx#Old mill", ExitUsage},
		{"day.gpx#cam", "no waypoint named", "day.gpx#Camp or day.gpx#Camp 2", ExitUsage},
		{"day.gpx#Summit", "no waypoint named", "its waypoints: Old mill, Camp", ExitUsage},
		{"day.gpx#", `named ""`, "its waypoints: Old mill", ExitUsage},
		{"day.gpx#Twice", `2 waypoints named "Twice"`, "42.70000 N, 1.40000 E or 42.80000 N", ExitUsage},
		{"none.gpx#A", "no waypoint named", "no waypoints with a name", ExitUsage},
		{"lost.gpx#A", "lost.gpx", "", ExitInput},
		{"bad.gpx#A", "bad.gpx:", "", ExitInput},
	} {
		_, ours, err := Waypoint(dayFS, c.text)
		require.True(t, ours, c.text)
		require.Error(t, err, c.text)
		assert.Contains(t, err.Error(), c.word)
		assert.Equal(t, c.code, ExitCode(err), c.text)
		var h hinted
		if c.hint != "" {
			require.True(t, errors.As(err, &h))
			assert.Contains(t, h.Hint(), c.hint)
		}
	}
}

func TestReadPosition(t *testing.T) {
	pos, err := ReadPosition("42.5N 1.5E")
	require.NoError(t, err)
	assert.Equal(t, 42.5, pos.Point.Lat())
	_, err = ReadPosition("day.txt#A")
	var u *UsageError
	require.ErrorAs(t, err, &u)
	assert.Contains(t, u.Advice, "FILE.gpx#NAME")
	_, err = ReadPosition("45.5, -110.5 NAD27")
	assert.ErrorContains(t, err, "not WGS84")
	pos, err = ReadPositionOn("45.5, -110.5", "NAD27")
	require.NoError(t, err)
	assert.InDelta(t, 45.499913, pos.Point.Lat(), 1e-6)
}

func TestWithHint(t *testing.T) {
	cause := errors.New("no")
	err := WithHint(cause, "try again")
	assert.ErrorIs(t, err, cause)
	assert.Equal(t, "no", err.Error())
	assert.Equal(t, "try again", *faults(err)[0].Hint)
	assert.Equal(t, ExitFailed, ExitCode(err))
}
