package overlay

import (
	"bytes"
	"math"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
)

// sightingBy is a lamp noticed by somebody.
func sightingBy(observer string, noticedM float64, watchers ...string) job.Sighting {
	at := time.Date(2026, 12, 21, 21, 0, 0, 0, time.UTC)
	s := job.Sighting{Signal: "lamp", At: &at, Observer: observer, Watchers: watchers, Point: orb.Point{1.5, 42.5}, SeenAreaM2: cli.Area(math.NaN())}
	s.NoticedM, s.PerceptibleM, s.LimitNoticed, s.SweepWidthM = cli.Len(noticedM), cli.Len(2*noticedM), "eye", cli.Len(math.NaN())
	s.Inputs.Who = job.SightWho{Observer: observer, Adapted: true, AltitudeM: cli.Len(math.NaN())}
	s.Inputs.SunElevationDeg = -30
	return s
}

// The brief has a table for each kind of those who look, the map a ring, and the
// answer the farthest with what it is seen through.
func TestBriefByObserver(t *testing.T) {
	glasses, eye, heli := sightingBy("glasses", 800, "ridge"), sightingBy("eye", 1000, "east", "west"), sightingBy("aircraft", 3000, "helicopter")
	glasses.Inputs.Who.Optics = "7x50"
	heli.Inputs.Who.AltitudeM, heli.SweepWidthM, heli.Low.SweepWidthM, heli.High.SweepWidthM = 300, 9000, 6000, 14000
	heli.Inputs.Looking.SpeedMS = 45
	r := &job.Result{Sight: []job.Sighting{glasses, eye, heli}}
	r.Looking.Aircraft = []job.Flight{{Name: "helicopter", AltitudeM: 300, SpeedMS: 45, People: 2, LengthM: 9000, Seconds: 200, Paths: orb.MultiLineString{{{1, 42}, {1, 43}}}}}

	var text bytes.Buffer
	require.NoError(t, Brief(&text, r))
	for _, want := range []string{"For ridge: glasses, 7x50.", "For east, west: by eye.", "For helicopter: aircraft, at 300 m above the ground",
		"pass at 162 km/h", "9.00 km (6.00 km to 14.0 km)", "helicopter: aircraft at 300 m above the ground, 162 km/h, 2 aboard"} {
		require.Contains(t, text.String(), want)
	}
	require.Contains(t, answerSight(r, false), "lamp, aircraft is noticed to 3.00 km")

	var names []string
	for _, f := range sights(r).Features {
		names = append(names, f.Name)
	}
	require.Equal(t, []string{"lamp, glasses", "lamp", "lamp, aircraft"}, names)
	require.Len(t, aircraft(r).Features, 1)

	// One kind by the naked eye needs no head.
	text.Reset()
	require.NoError(t, Brief(&text, &job.Result{Sight: []job.Sighting{eye}}))
	require.NotContains(t, text.String(), "For east")
	// A placed signal tells how far the others notice it.
	require.Equal(t, "", (&brief{}).others(nil))
	require.Equal(t, "", (&brief{}).others([]job.PlaceSeer{{Observer: "eye", NoticedM: 5}}))
	require.Equal(t, " (5.00 km by aircraft helicopter)", (&brief{}).others([]job.PlaceSeer{{Observer: "eye"}, {Observer: "aircraft", Watchers: []string{"helicopter"}, NoticedM: 5000}}))
}
