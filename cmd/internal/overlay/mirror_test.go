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
	"farhail/geo/earth"
)

// flash is a mirror noticed to 10 km between two bearings, clockwise.
func flash(from, to float64, allRound bool) job.Sighting {
	at := time.Date(2026, 12, 21, 9, 0, 0, 0, time.UTC)
	s := job.Sighting{Signal: "glass", At: &at, Point: orb.Point{1.5, 42.5}, SeenAreaM2: cli.Area(math.NaN())}
	s.Kind, s.NoticedM = "mirror", 10_000
	s.Mirror = &job.SightMirror{MirrorSector: job.MirrorSector{FromDeg: cli.Angle(from), ToDeg: cli.Angle(to), AllRound: allRound}}
	width := earth.Wrap360(to - from)
	n := 36
	if allRound {
		width = 350
	}
	for i := range n {
		s.Mirror.Reach = append(s.Mirror.Reach, job.MirrorReach{AzimuthDeg: cli.Angle(earth.Wrap360(from + width*float64(i)/float64(n-1))), NoticedM: 10_000})
	}
	return s
}

func TestFlashReach(t *testing.T) {
	sector := flash(230, 50, false)
	shape, ok := flashReach(sector).(orb.Polygon)
	require.True(t, ok)
	require.Equal(t, orb.CCW, shape[0].Orientation())
	require.Contains(t, shape[0], sector.Point, "a sector has the mirror at its point")
	require.InEpsilon(t, math.Pi*1e8/2, earth.AreaM2(shape[0]), 0.01)

	round := flash(0, 0, true)
	shape = flashReach(round).(orb.Polygon)
	require.NotContains(t, shape[0], round.Point)
	require.InEpsilon(t, math.Pi*1e8, earth.AreaM2(shape[0]), 0.01)

	// Where the ground decides, no farther than the farthest place that sees it.
	sector.SeenAreaM2, sector.NoticedM = 1e6, 2000
	require.InEpsilon(t, math.Pi*4e6/2, earth.AreaM2(flashReach(sector).(orb.Polygon)[0]), 0.01)
	// The sun down: the place alone.
	night := flash(0, 0, true)
	night.Mirror.Reach = nil
	require.Equal(t, night.Point, flashReach(night))
}

// A sound is a point on the map, never a ring, in no answer of what is seen, and
// told once in the brief; the hours of a mirror are told once a day.
func TestSoundsHaveNoRing(t *testing.T) {
	at := time.Date(2026, 12, 21, 22, 0, 0, 0, time.UTC)
	later := at.Add(time.Hour)
	var sights []job.Sighting
	for _, hour := range []*time.Time{&at, &later} {
		s := job.Sighting{Signal: "whistle", At: hour, Point: orb.Point{1.5, 42.5}}
		s.Kind, s.NoticedM, s.PerceptibleM, s.LimitNoticed = "whistle", 600, 950, "air"
		s.SightSound = &job.SightSound{AbsorptionDBPerKM: 21, NoiseDB: 35}
		sights = append(sights, s)
	}
	r := &job.Result{Sight: sights}
	for _, l := range Layers(r) {
		for _, f := range l.Features {
			require.IsType(t, orb.Point{}, f.Geometry, f.Name)
		}
	}
	require.Contains(t, answerSight(r, false), "no hour of the plan")
	var text bytes.Buffer
	require.NoError(t, Brief(&text, r))
	require.Equal(t, 1, bytes.Count(text.Bytes(), []byte("600 m")), text.String())
	require.Contains(t, text.String(), "no ring on the map")

	glass := flash(230, 50, false)
	glass.Mirror.Hours = []job.MirrorHour{{At: &at, SunAzDeg: 140, SunElDeg: 10, MirrorSector: glass.Mirror.MirrorSector, SquareCD: 8e6}}
	again := glass
	again.At = &later
	dark := flash(0, 0, true)
	dark.Signal, dark.Mirror.Hours = "other glass", nil
	text.Reset()
	require.NoError(t, Brief(&text, &job.Result{Sight: []job.Sighting{glass, again, dark}}))
	require.Equal(t, 1, bytes.Count(text.Bytes(), []byte("230 clockwise to 050")), text.String())
	require.Contains(t, text.String(), "No hour of that day")
}
