package job

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"farhail/cmd/internal/plan"

	"github.com/stretchr/testify/require"
)

// tripOf runs a plan of a trip over the open ocean, where a route of GPX points is
// walked by Tobler's function.
func tripOf(t *testing.T, keys, walker string, points []string, files fstest.MapFS) *Result {
	t.Helper()
	if files == nil {
		files = fstest.MapFS{}
	}
	gpx := `<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><rte>`
	for _, p := range points {
		var lat, lon, name string
		_, err := fmt.Sscan(p, &lat, &lon, &name)
		require.NoError(t, err)
		gpx += fmt.Sprintf(`<rtept lat="%s" lon="%s">%s</rtept>`, lat, lon, map[bool]string{true: "<name>" + name + "</name>"}[name != "-"])
	}
	files["way.gpx"] = &fstest.MapFile{Data: []byte(gpx + "</rte></gpx>")}
	files["plan.yaml"] = &fstest.MapFile{Data: []byte(`version: 1
zone: Etc/GMT+2
as_of: 2026-03-01 08:00
traveller: {rule: tobler` + walker + `}
` + keys)}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	r, err := Run(context.Background(), files, p, Options{Parts: Reaching})
	require.NoError(t, err)
	return r
}

// The equator is 6378137 m round its axis, so that 0.1 degrees east are 11131.949 m;
// 0.05 degrees north of it are 6335439.327 m x 0.05 deg = 5528.715 m.
var equator = []string{"0 -30 car", "0 -29.9 spring", "0.05 -29.9 car2"}

// TestTripTimes is worked by hand. Tobler on the flat: 6 km/h x exp(-3.5 x 0.05) =
// 5.036742 km/h = 1.3990950 m/s; 16660.664 m take 11908.2 s = 3 h 18 min 28 s, the slow
// walker (0.6) 19846.9 s = 5 h 30 min 47 s.
func TestTripTimes(t *testing.T) {
	for _, tc := range []struct {
		name, keys, walker         string
		back, alarm, suggested, by string // by: at the end of the first leg
	}{
		// The first leg is 0.66816 of the way: 2 h 12 min 37 s and 20 min 03 s of the rests.
		{"on one day", "start: 2026-03-01 09:00, rests: 30 min, alarm_margin: 4 h", "", "1 12:48:28", "1 16:48:28", "1 16:00:47", "1 11:32:39"},
		{"no margin", "start: 2026-03-01 09:00", "", "1 12:18:28", "", "1 15:30:47", "1 11:12:37"},
		// Two hours until 22:00, then from 06:00 on.
		{"a night's rest", "start: 2026-03-01 20:00, rests: 30 min, alarm_margin: 4 h", `, rest: "22:00-06:00"`, "2 07:48:28", "2 11:48:28", "2 11:00:47", "2 06:32:39"},
		{"twice as fast", "start: 2026-03-01 09:00, alarm_margin: 1 h", ", walkers: {slow: 1, usual: 2, fast: 2}", "1 10:39:14", "1 11:39:14", "1 13:18:28", "1 10:06:19"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			r := tripOf(t, "trip: {route: way.gpx, "+tc.keys+"}\n", tc.walker, equator, nil)
			trip := r.Trip
			require.NotNil(t, trip, r.LeftOut)
			require.InDelta(t, 16660.664, float64(trip.LengthM), 0.01)
			require.True(t, trip.Flat)
			near := func(want string, got *time.Time, what string) {
				if want == "" {
					require.Nil(t, got, what)
					return
				}
				at, err := time.ParseInLocation("2006-01 2 15:04:05", "2026-03 "+want, r.Plan.Location())
				require.NoError(t, err)
				require.WithinDuration(t, at, *got, time.Second, what)
			}
			near(tc.back, trip.BackBy, "back by")
			near(tc.alarm, trip.AlarmAt, "alarm")
			near(tc.suggested, trip.SuggestedAt, "suggested")
			require.Len(t, trip.Legs, 2)
			near(tc.by, trip.Legs[0].By, "the first leg")
			near(tc.back, trip.Legs[1].By, "the last leg")
			require.InDelta(t, 90, float64(trip.Legs[0].TrueDeg), 1e-6)
			require.InDelta(t, 5528.715, float64(trip.Legs[1].LengthM), 0.01)
			require.Equal(t, []string{"spring", "car2"}, []string{trip.Legs[0].To, trip.Legs[1].To})
		})
	}
}

// TestTripAlarmAtNight: an alarm after midnight and before dawn is pointed out; at 30 W
// on the equator the sun is 6 degrees down at about 05:47 of the zone 2 h behind UTC.
func TestTripAlarmAtNight(t *testing.T) {
	for margin, night := range map[string]bool{"11 h": false, "12 h": true, "16 h": true, "16.5 h": true, "17.5 h": false, "36 h": true} {
		r := tripOf(t, "trip: {route: way.gpx, start: 2026-03-01 09:00, rests: 30 min, alarm_margin: "+margin+"}\n", "", equator, nil)
		require.Equal(t, night, r.Trip.Dawn != nil, margin)
		if night {
			require.Equal(t, 5, r.Trip.Dawn.Hour(), margin)
		}
	}
	// Midsummer at 80 N: it does not get dark.
	north := []string{"80 15 -", "80.05 15 -"}
	r := tripOf(t, "trip: {route: way.gpx, start: 2026-06-21 20:00, alarm_margin: 4 h}\n", "", north, nil)
	require.Nil(t, r.Trip.Dawn)
	require.Equal(t, 0, r.Trip.AlarmAt.Hour()-1)
}

// TestTripOverAPlane: up a slope of 10 % Tobler walks 6 x exp(-3.5 x 0.15) = 3.549332 km/h,
// down it 5.036742 km/h. The way there is 50 cells of 111.31949 m and 556.597 m up: 5645.4 s,
// back 3978.3 s.
func TestTripOverAPlane(t *testing.T) {
	var b strings.Builder
	b.WriteString("ncols 80\nnrows 5\nxllcenter -30.0\nyllcenter -0.002\ncellsize 0.001\n")
	for range 5 {
		for col := range 80 {
			fmt.Fprintf(&b, "%.6f ", 11.131949*float64(col))
		}
		b.WriteByte('\n')
	}
	files := fstest.MapFS{"plane.asc": &fstest.MapFile{Data: []byte(b.String())}}
	r := tripOf(t, "terrain: plane.asc\ntrip: {route: way.gpx, start: 2026-03-01 09:00}\n", "", []string{"0 -29.99 -", "0 -29.94 top", "0 -29.99 -"}, files)
	trip := r.Trip
	require.False(t, trip.Flat)
	require.InDelta(t, 556.597, float64(trip.ClimbM), 0.1)
	require.InDelta(t, 556.597, float64(trip.DescentM), 0.1)
	require.InDelta(t, 5645.4, float64(trip.Legs[0].WalkS), 1)
	require.InDelta(t, 3978.3, float64(trip.Legs[1].WalkS), 1)
	require.Zero(t, float64(trip.ApartM))
}

// TestTripLegsWithoutNames: bends are found, and the way along them is what counts.
func TestTripLegsWithoutNames(t *testing.T) {
	var points []string
	for i := range 101 { // a zigzag of four long sides, a point every 0.001 degrees
		north := i % 50
		if north > 25 {
			north = 50 - north
		}
		points = append(points, fmt.Sprintf("%.6f %.6f -", 0.001*float64(north), -30+0.001*float64(i)))
	}
	trip := tripOf(t, "trip: {route: way.gpx, start: 2026-03-01 09:00}\n", "", points, nil).Trip
	require.LessOrEqual(t, len(trip.Legs), tripLegs)
	require.GreaterOrEqual(t, len(trip.Legs), 4)
	var sum, walk float64
	for _, l := range trip.Legs {
		sum += float64(l.LengthM)
		walk += float64(l.WalkS)
	}
	require.InDelta(t, float64(trip.LengthM), sum, 1e-6)
	require.InDelta(t, float64(trip.WalkS), walk, 1e-6)
	require.Less(t, float64(trip.LegsOff), 1.0, "straight sides")
}

func TestTripLeftOut(t *testing.T) {
	require.Contains(t, tripOf(t, "trip: {start: 2026-03-01 09:00}\n", "", equator, nil).LeftOut, "trip sheet: the plan gives no route (trip: route:)")
	require.Contains(t, tripOf(t, "trip: {route: way.gpx}\n", "", equator, nil).LeftOut, "trip sheet: nothing says when it begins (trip: start:)")
	require.Nil(t, tripOf(t, "", "", equator, nil).Trip, "no trip")
	broken := []string{"0 -30 -", "0 -29.9 -"}
	r := tripOf(t, "trip: {route: way.gpx, start: 2026-03-01 09:00}\nemergency: 112\n", ", walkers: {slow: 0.5, usual: 1, fast: 2}", broken, nil)
	require.Empty(t, r.Trip.Asks)
	require.Equal(t, r.Trip.SlowWalkS, 2*r.Trip.WalkS)
}

// TestTripInTheDark: the night that counts is the first that the traveller meets, not that
// of the day on which they are back, and a return at night is told as such.
func TestTripInTheDark(t *testing.T) {
	for _, tc := range []struct {
		start, dusk string // at the equator on 30 W it is dark from about 18:30 to 05:50 of its zone
		night       bool
	}{
		{"2026-03-01 09:00", "2026-03-01", false},
		{"2026-03-01 17:00", "2026-03-01", false}, // back at 20:18
		{"2026-03-01 22:00", "2026-03-01", true},  // sets out in the dark, back at 01:18
		{"2026-03-02 01:00", "2026-03-01", true},
	} {
		trip := tripOf(t, "trip: {route: way.gpx, start: "+tc.start+"}\n", "", equator, nil).Trip
		require.Equal(t, tc.dusk, trip.Dusk.Format(time.DateOnly), tc.start)
		require.Equal(t, 18, trip.Dusk.Hour(), tc.start)
		require.Equal(t, tc.night, trip.BackDawn != nil, tc.start)
	}
}
