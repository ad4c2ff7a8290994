package main

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/cli"
	"farhail/geo/layer"
	"farhail/geo/mapfile"
)

const gpxHead = `<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1">`

// gpxOf returns the file that a vector gives, whole or by one value of a point;
// a second point without a fault follows.
func gpxOf(v vector) string {
	const next = `<trkpt lat="46.5001" lon="7.5"/></trkseg></trk></gpx>`
	if s := v.text("input_time"); s != "" {
		return gpxHead + `<trk><trkseg><trkpt lat="46.5" lon="7.5"><time>` + s + `</time></trkpt>` + next
	}
	if s := v.text("input_ele"); s != "" {
		return gpxHead + `<trk><trkseg><trkpt lat="46.5" lon="7.5"><ele>` + s + `</ele></trkpt>` + next
	}
	return v.text("input")
}

// checkText writes a file and asks farhail check about it.
func checkText(t *testing.T, name, text string) answer {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, []byte(text), 0o666))
	return ask(t, "check", "--points", path)
}

// readsAs reads the vector's GPX and wants the values of its first points: nil
// for one that is missing. words stand in its warnings.
func readsAs(key string, words string, want ...any) func(*testing.T, vector) {
	return func(t *testing.T, v vector) {
		a := checkText(t, "case.gpx", gpxOf(v))
		require.Equal(t, cli.ExitDone, a.code, a.text)
		for i, w := range want {
			p, ok := a.at("files.0.points." + string(rune('0'+i))).(map[string]any)
			require.True(t, ok, a.text)
			require.Equal(t, w, p[key], a.text)
		}
		problems, err := json.Marshal(a.at("files.0.problems"))
		require.NoError(t, err)
		require.Contains(t, string(problems), words)
	}
}

// dropsPoint wants the only point left out with a warning.
func dropsPoint(words string) func(*testing.T, vector) {
	return func(t *testing.T, v vector) {
		a := checkText(t, "case.gpx", gpxOf(v))
		require.Equal(t, cli.ExitDone, a.code, a.text)
		require.Equal(t, 0.0, a.number("files.0.gpx.points"))
		require.Equal(t, 1.0, a.number("files.0.gpx.dropped"))
		require.Contains(t, a.text, "point 1: ")
		require.Contains(t, a.text, words)
	}
}

// refusedFile wants the file refused as a whole; text replaces the vector's input
// where that is a description.
func refusedFile(text string, words ...string) func(*testing.T, vector) {
	return func(t *testing.T, v vector) {
		if text == "" && v.text("input") != "empty file" {
			text = v.text("input")
		}
		a := checkText(t, "case.gpx", text)
		require.Equal(t, cli.ExitInput, a.code, a.text)
		require.NotContains(t, a.text, "EOF")
		for _, w := range words {
			require.Contains(t, a.text, w)
		}
		require.Zero(t, strings.Count(a.text, `"lat"`), "nothing is imported")
	}
}

// writes makes a GPX file of one point and looks at it.
func writes(lat, lon, ele float64, look func(t *testing.T, text string, err error)) func(*testing.T, vector) {
	return func(t *testing.T, _ vector) {
		f := layer.New("p", orb.Point{lon, lat})
		f.HeightM = ele
		var b bytes.Buffer
		err := mapfile.WriteGPX(&b, []layer.Layer{{ID: "x", Features: []layer.Feature{f}}}, mapfile.GPXOptions{})
		look(t, b.String(), err)
	}
}

var exponent = regexp.MustCompile(`[0-9][eE][+-]?[0-9]`)

var gpxCases = map[string][]caseRun{
	"P01": {
		{has: "08:00:00+02:00", run: readsAs("time", "", "2026-03-01T06:00:00Z")},
		{has: "06:00:00+0000", run: readsAs("time", "", "2026-03-01T06:00:00Z", nil)},
		{has: `"2026-03-01T06:00:00"`, run: readsAs("time", "without a zone", "2026-03-01T06:00:00Z", nil)},
		{has: "24:00:00Z", run: readsAs("time", "", "2026-03-02T00:00:00Z", nil)},
		{has: "23:59:60Z", run: readsAs("time", "second 60", "2017-01-01T00:00:00Z", nil)},
		{has: "2026-02-30", run: readsAs("time", "point 1: time cannot be read", nil, nil)},
	},
	"P03": {
		{has: "missing, missing, 0, 12", run: func(t *testing.T, v vector) {
			readsAs("ele_m", "elevation empty", nil, nil, 0.0, 12.0)(t, v)
			a := checkText(t, "case.gpx", gpxOf(v))
			require.Equal(t, []float64{0, 12, 2}, []float64{a.number("files.0.gpx.min_ele_m"), a.number("files.0.gpx.max_ele_m"), a.number("files.0.gpx.ele_points")})
		}},
		{has: `\n12.5\n`, run: readsAs("ele_m", "", 12.5)},
		{has: "12,5", run: readsAs("ele_m", "comma", nil, nil)},
		{has: "NaN", run: readsAs("ele_m", "elevation", nil, nil)},
	},
	"P05": {
		{has: "n:gpx", run: readsAs("ele_m", "", 5.0)},
		{has: "no version/namespace", run: readsAs("lat", "version", 1.0)},
		{has: "one byte per Read call", run: func(t *testing.T, v vector) {
			g, err := mapfile.ReadGPX(iotest.OneByteReader(strings.NewReader(v.text("input"))), "case.gpx")
			require.NoError(t, err)
			require.Equal(t, "Ten", g.Name)
			require.Equal(t, 1, g.TrackPoints())
		}},
		{has: "version = ", run: func(t *testing.T, v vector) {
			a := checkText(t, "case.gpx", v.text("input"))
			require.Equal(t, "Ten", a.at("files.0.gpx.name"), a.text)
		}},
		{has: "undeclared prefix", run: readsAs("lat", "xtension", 1.0)},
	},
	"P06": {
		{has: "Hut &amp; Lake", run: func(t *testing.T, v vector) {
			const name = "Hut & Lake é <x>"
			readsAs("name", "", name)(t, v)
			inNewFolder(t, map[string]string{"in.gpx": v.text("input")})
			get(t, "check", "in.gpx", "-o", "out.gpx")
			require.Equal(t, name, get(t, "check", "--points", "out.gpx").at("files.0.points.0.name"))
		}},
		{has: "Hut & Lake", run: refusedFile("", `"line": 1`, "&")},
		{has: "caf&eacute;", run: refusedFile("", `"line": 1`, "eacute")},
		{has: "ENTITY", run: refusedFile("", "DOCTYPE")},
		{has: "cut off after", run: refusedFile(gpxHead+`<trk><trkseg><trkpt lat="46.5" lon="7.5"></trkpt>`, "file ends early")},
		{has: "HTML login page", run: refusedFile("<!DOCTYPE html>\n<html><head><title>Log in</title></head><body>…</body></html>", "not a GPX file", "HTML")},
		{has: "empty file", run: refusedFile("", "empty file")},
	},
	"P07": {
		{has: `<trkpt lon=\"7.5\"/>`, run: dropsPoint("latitude")},
		{has: `lat=\"\"`, run: dropsPoint("latitude")},
		{has: `lat=\"95\"`, run: dropsPoint("latitude beyond 90")},
		{has: `lat=\"NaN\"`, run: dropsPoint("latitude")},
		{has: `lat=\"46,5\"`, run: dropsPoint("comma")},
		{has: `lon=\"10.25\"`, run: readsAs("lat", "", 0.0, 51.5)},
		{has: "46.5001", run: func(t *testing.T, v vector) {
			a := checkText(t, "case.gpx", gpxOf(v))
			require.Contains(t, a.text, "point 2")
			require.Less(t, a.number("files.0.gpx.length_m"), 20.0, "the jump is no distance: %s", a.text)
		}},
		{has: `lon=\"180\"`, run: readsAs("lon", "", -180.0)},
	},
	"P09": {
		{has: "1.2e-05", run: writes(1.234e-05, 7, 1.2e-05, func(t *testing.T, text string, err error) {
			require.NoError(t, err)
			require.NotRegexp(t, exponent, text)
		})},
		{has: "1234567.5", run: writes(1, 2, 1234567.5, func(t *testing.T, _ string, err error) {
			require.ErrorContains(t, err, "1234567.5")
		})},
		{has: "+Inf", run: writes(math.NaN(), math.Inf(1), 0, func(t *testing.T, _ string, err error) {
			require.ErrorContains(t, err, `"p"`, "names the point")
		})},
		{has: `"ele":"NaN"`, run: writes(1, 2, math.NaN(), func(t *testing.T, text string, err error) {
			require.NoError(t, err)
			require.NotContains(t, text, "<ele")
		})},
		{has: "180", run: writes(10, 180, 0, func(t *testing.T, text string, err error) {
			require.NoError(t, err)
			require.Regexp(t, `lon="-180(\.0+)?"`, text)
		})},
		{has: "A & B", by: "geo/mapfile TestControlCharacters"},
	},
	"P11": {
		{has: "12 345 points", by: "geo/mapfile TestFitTracks"},
		{has: "track_points:500", by: "geo/mapfile TestFitTracks"},
		{has: "route of 260", by: "geo/mapfile TestFitRoutes"},
		{has: "1 200 waypoints", by: "geo/mapfile TestFitWaypoints"},
		{has: "profile none", by: "geo/mapfile TestFitTracks"},
	},
}
