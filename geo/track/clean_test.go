package track

import (
	"math"
	"testing"
	"time"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

// A going is a stretch of a made-up track: so many steps of metres and seconds.
type going struct {
	steps    int
	m, every float64
}

var cleanStart = time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)

// goEast makes a segment that goes east by stretches, from a moment.
func goEast(list ...going) Segment {
	at, now := orb.Point{1.6, 42.5}, cleanStart
	s := Segment{{Point: at, HeightM: math.NaN(), Time: now}}
	for _, g := range list {
		for range g.steps {
			at, _ = earth.Direct(at, 90, g.m)
			now = now.Add(time.Duration(g.every * float64(time.Second)))
			s = append(s, Fix{Point: at, HeightM: math.NaN(), Time: now})
		}
	}
	return s
}

func TestClean(t *testing.T) {
	walk := going{20, 10, 15} // 200 m in 5 min
	for _, tc := range []struct {
		name     string
		list     []going
		want     []Cut // without figures that others test
		segments int
		keptM    float64
	}{
		{"a walk", []going{walk}, nil, 1, 200},
		{"a break of the receiver", []going{walk, {1, 900, 700}, walk}, []Cut{{First: 20, Last: 21, Why: Silent}}, 2, 400},
		{"a pause in which nothing is recorded, on the spot", []going{walk, {1, 30, 1200}, walk}, nil, 1, 430},
		{"lunch, with a receiver that wanders", []going{walk, {20, 0.5, 30}, walk}, []Cut{{First: 20, Last: 39, Why: Stopped}}, 1, 400},
		{"a lift by car", []going{walk, {30, 100, 7}, walk}, []Cut{{First: 20, Last: 50, Why: Driven}}, 2, 380},
		{"a car that waits at a crossing", []going{walk, {10, 100, 7}, {2, 5, 10}, {10, 100, 7}, walk}, []Cut{{First: 20, Last: 42, Why: Driven}}, 2, 380},
		{"a short run", []going{walk, {10, 10, 2}, walk}, nil, 1, 500},
	} {
		t.Run(tc.name, func(t *testing.T) {
			dirty := Track{Segments: []Segment{goEast(tc.list...)}}
			clean, cuts := dirty.Clean()
			require.Len(t, clean.Segments, tc.segments)
			kept := 0.0
			for _, s := range clean.Segments {
				kept += s.LengthM()
			}
			require.InDelta(t, tc.keptM, kept, 10.1, "metres kept")
			cutM := 0.0
			for i := range cuts {
				cutM += cuts[i].LengthM
				require.Positive(t, cuts[i].Seconds)
				cuts[i].LengthM, cuts[i].Seconds = 0, 0
			}
			require.Equal(t, tc.want, cuts)
			require.InDelta(t, dirty.Summary().LengthM, kept+cutM, 0.01, "what is not kept is cut")
		})
	}
}

func TestCleanWithoutTimes(t *testing.T) {
	s := goEast(going{5, 900, 1})
	for i := range s {
		s[i].Time = time.Time{}
	}
	s[2].Point = orb.Point{}
	clean, cuts := Track{Name: "route", Segments: []Segment{s}}.Clean()
	require.Equal(t, "route", clean.Name)
	require.Len(t, clean.Segments[0], 5)
	require.Len(t, cuts, 1)
	require.Equal(t, Jumped, cuts[0].Why)
	require.Equal(t, 2, cuts[0].First)
	clean, cuts = Track{}.Clean()
	require.Empty(t, clean.Segments)
	require.Empty(t, cuts)
}

// TestCleanIsIdempotentOnWhatItKeeps: what is left holds no vehicle.
func TestCleanIsIdempotentOnWhatItKeeps(t *testing.T) {
	dirty := Track{Segments: []Segment{goEast(going{20, 10, 15}, going{30, 100, 7}, going{20, 0.5, 30}, going{20, 10, 15})}}
	once, _ := dirty.Clean()
	twice, cuts := once.Clean()
	for _, c := range cuts {
		require.NotEqual(t, Driven, c.Why)
	}
	require.Equal(t, len(once.Segments), len(twice.Segments))
}

// A flight is fast and may hover: only what was not recorded is taken out of it.
func TestCleanFlown(t *testing.T) {
	flight := Track{Segments: []Segment{goEast(going{40, 225, 5}, going{20, 0.5, 30}, going{1, 9000, 300}, going{40, 225, 5})}}
	clean, cuts := flight.CleanFlown()
	require.Len(t, clean.Segments, 2)
	require.Len(t, cuts, 1)
	require.Equal(t, Silent, cuts[0].Why)
	require.InDelta(t, 9000, cuts[0].LengthM, 1)
	kept := clean.Segments[0].LengthM() + clean.Segments[1].LengthM()
	require.InDelta(t, flight.Summary().LengthM-9000, kept, 1)
	_, onFoot := flight.Clean()
	require.Greater(t, len(onFoot), 1)
}
