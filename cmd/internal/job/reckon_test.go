package job

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/reckon"
	"farhail/geo/track"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

func logOf(t *testing.T, text string) *reckon.Log {
	t.Helper()
	l, err := reckon.ParseLog(strings.NewReader(text), "log")
	require.NoError(t, err)
	return l
}

// What somebody stated comes before the log's header, that before its calibration, that
// before the default.
func TestErrorsOfALog(t *testing.T) {
	const calibrated = "calibrate: 116 single over 100 m, 118, 115\n"
	for _, tc := range []struct {
		name, head string
		stated     bool
		sigma      float64
		from       string
	}{
		{"nothing", "", false, 0.05, errorDefault},
		{"stated", "sigma-distance: 4%\n" + calibrated, true, 0.05, errorStated},
		{"header", "sigma-distance: 4%\n" + calibrated, false, 0.04, errorHeader},
		{"calibration", calibrated, false, 0.0131, errorCalibration},
	} {
		t.Run(tc.name, func(t *testing.T) {
			pace := ""
			if !strings.Contains(tc.head, "calibrate") {
				pace = "pace: 0.8 m per step\n"
			}
			l := logOf(t, "north: true\n"+tc.head+pace+"090 1000 paces\n")
			r, _, err := ReckonLog(l, AskedLog{Options: reckon.Options{SigmaDistance: 0.05, SigmaBearingDeg: 3}, Stated: StatedErrors{SigmaDistance: tc.stated}})
			require.NoError(t, err)
			require.Equal(t, tc.from, r.Inputs.SigmaDistanceFrom)
			require.InDelta(t, tc.sigma, float64(r.Inputs.SigmaDistance), 1e-4)
			// along the leg, east: what is printed is what the ellipse rests on
			long := float64(r.LengthM) * math.Hypot(float64(r.Inputs.SigmaDistance), float64(r.Inputs.ScaleBias))
			require.InDelta(t, long*long, float64(r.Covariance[1][1]), 1e-6*long*long)
			require.Equal(t, errorDefault, r.Inputs.BearingBiasDegFrom)
		})
	}
}

// The stake map of a loop is drawn by the compass though there is no way home.
func TestStakeMapNorth(t *testing.T) {
	o := AskedLog{SideM: 3, OtherM: 2}
	r, _, err := ReckonLog(logOf(t, "north: true\ndeclination: 5E\n000 100 m\n090 100 m\n180 100 m\n270 100 m\n"), o)
	require.NoError(t, err)
	require.Equal(t, "magnetic", r.StakeMap.North)
	require.InDelta(t, 355, float64(r.StakeMap.Legs[0].BearingDeg), 1e-9)
	require.True(t, math.IsNaN(float64(r.StakeMap.HomeBearing)))
	r, _, err = ReckonLog(logOf(t, "north: true\n000 100 m\n"), o)
	require.NoError(t, err)
	require.Equal(t, "true", r.StakeMap.North)
	require.Equal(t, "north-south", r.StakeMap.LongSide)
}

// Logs kept of real tracks lead to where they end, and scored against them they have no
// slips.
func TestKeptOfRealTracks(t *testing.T) {
	dir := filepath.Join(geotest.Shared(t), "data", "gpx")
	for _, name := range []string{"grouse-grind.gpx", "andorra-map-matching.gpx", "mojstrovka.gpx", "korita-zbevnica.gpx", "setnjica-kod-karojbe.gpx", "visnjan-mytracks.gpx"} {
		t.Run(name, func(t *testing.T) {
			way, _, _, err := ReadTrack(os.DirFS(dir), name)
			require.NoError(t, err)
			o := AskedLog{Options: reckon.Options{SigmaDistance: 0.05, SigmaBearingDeg: 3}}
			k, _, err := KeepLog(way, name, Keeping{Pace: "116 per 100 m single"}, o)
			require.NoError(t, err)
			summary := way.Summary()
			t.Logf("%s: %.0f m in %d legs, end off by %.1f m", name, summary.LengthM, len(k.Legs), float64(k.EndErrorM))
			require.Less(t, float64(k.EndErrorM), 5+0.005*summary.LengthM)
			l := logOf(t, k.Text)
			s, err := ScoreLog(l, way, o)
			require.NoError(t, err)
			require.InDelta(t, float64(k.EndErrorM), float64(s.EndErrorM), 1e-6)
			for _, leg := range s.Legs {
				require.Empty(t, leg.Slip, "leg %d of\n%s", leg.Leg, k.Text)
			}
		})
	}
}

func TestKeepLogRefuses(t *testing.T) {
	line := func(when time.Time, points ...orb.Point) track.Track {
		var s track.Segment
		for i, p := range points {
			f := track.At(p)
			if !when.IsZero() {
				f.Time = when.Add(time.Duration(i) * time.Minute)
			}
			s = append(s, f)
		}
		return track.Track{Segments: []track.Segment{s}}
	}
	day := time.Date(2026, 6, 1, 10, 0, 0, 0, time.UTC)
	for _, tc := range []struct {
		name, word string
		way        track.Track
		k          Keeping
	}{
		{"magnetic without a date", "no date", line(time.Time{}, orb.Point{1, 42}, orb.Point{1, 42.01}), Keeping{North: "magnetic"}},
		{"magnetic out of the model", "WMM2025", line(time.Date(2013, 6, 1, 0, 0, 0, 0, time.UTC), orb.Point{1, 42}, orb.Point{1, 42.01}), Keeping{North: "magnetic"}},
		{"grid at the pole", "UTM", line(day, orb.Point{1, 89}, orb.Point{1, 89.01}), Keeping{North: "grid"}},
		{"a pace without its kind", "kind", line(day, orb.Point{1, 42}, orb.Point{1, 42.01}), Keeping{Pace: "116 per 100 m"}},
		{"a track that stands still", "nowhere", line(day, orb.Point{1, 42}, orb.Point{1, 42}), Keeping{}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			_, _, err := KeepLog(tc.way, "walk.gpx", tc.k, AskedLog{})
			require.ErrorContains(t, err, tc.word)
			var told interface{ Hint() string }
			require.True(t, errors.As(err, &told))
			require.NotEmpty(t, told.Hint())
		})
	}
	// Without a north stated a track too old for the model gets true bearings, told.
	old := line(time.Date(2013, 6, 1, 0, 0, 0, 0, time.UTC), orb.Point{1, 42}, orb.Point{1, 42.01})
	k, warnings, err := KeepLog(old, "walk.gpx", Keeping{}, AskedLog{})
	require.NoError(t, err)
	require.Contains(t, k.Text, "north: true\n")
	require.NotEmpty(t, warnings)
	require.Contains(t, warnings[0].Text, "2013")
	var usage *cli.UsageError
	_, _, err = KeepLog(old, "walk.gpx", Keeping{Pace: "x"}, AskedLog{})
	require.ErrorAs(t, err, &usage)
}

// A student's log takes from the track what it does not state.
func TestAlongTrack(t *testing.T) {
	begin := orb.Point{1.5, 42.5}
	way := track.Track{Segments: []track.Segment{{track.At(begin), track.At(orb.Point{1.5, 42.51})}}}
	l, warnings := AlongTrack(logOf(t, "north: true\n000 100 m\n"), way)
	require.Equal(t, begin, l.Start)
	require.Len(t, warnings, 1)
	far, _ := earth.Direct(begin, 90, 500)
	stated := logOf(t, "north: true\n000 100 m\n")
	stated.Start = far
	l, warnings = AlongTrack(stated, way)
	require.Equal(t, far, l.Start)
	require.Contains(t, warnings[0].Text, "500 m")
}
