package job

import (
	"context"
	"math"
	"testing"
	"testing/fstest"

	"farhail/cmd/internal/plan"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// runWith does the plan of the wall with other people who look.
func runWith(t *testing.T, looking string) *Result {
	t.Helper()
	fsys := fstest.MapFS{
		"wall.asc": plain(t),
		"plan.yaml": {Data: []byte(`version: 1
zone: Etc/GMT+2
as_of: 2026-03-01 20:00
terrain: wall.asc
hours: [2026-03-01 12:00, 2026-03-01 22:00]
starts:
  - {name: hut, kind: last-known, position: 0.016 -29.995, error: 50 m, time: 2026-03-01 10:00}
traveller:
  signals:
    - {name: lamp, light: 5 cd}
    - {name: spot, light: 5 cd, beam: 20 deg, azimuth: 90 deg}
    - {name: flag, flag: 1x1 m}
    - {name: voice, shout: 88 dB}
` + looking)},
	}
	p, err := plan.Read(fsys, "plan.yaml")
	require.NoError(t, err)
	result, err := Run(context.Background(), fsys, p, Options{})
	require.NoError(t, err)
	return result
}

// lookout writes one who watches west of the wall, with the given eyes.
func lookout(name, lon, eyes string) string {
	return "    - {name: " + name + ", position: 0.016 " + lon + ", from: 2026-03-01 20:00, until: 2026-03-01 22:00, eyes: {" + eyes + "}}\n"
}

// The words of those who look are the packages' own.
func TestWordsOfThoseWhoLook(t *testing.T) {
	assert.Equal(t, SightLaws(), plan.Laws)
	assert.Equal(t, SightClutters(), plan.Clutters)
	assert.ElementsMatch(t, SightObservers(), []string{plan.Eye, plan.Glasses, plan.Intensifier, plan.Aircraft})
	assert.Equal(t, []string{TaskScan, TaskPass}, []string{plan.Scan, plan.Past})
}

// Each kind of those who look has its own sightings; kinds with the same eyes are
// one, and a sound is heard once.
func TestSightingsByObserver(t *testing.T) {
	r := runWith(t, "looking:\n  lookouts:\n"+lookout("first", "-29.998", "")+lookout("second", "-29.997", "")+lookout("third", "-29.997", "observer: glasses")+
		"  aircraft:\n    - {name: heli, altitude: 300 m}\n")
	type kind struct{ signal, observer string }
	count := map[kind]int{}
	for _, s := range r.Sight {
		count[kind{s.Signal, s.Observer}]++
	}
	for _, signal := range []string{"lamp", "spot", "flag"} {
		for _, observer := range []string{"eye", "glasses", "aircraft"} {
			assert.Equal(t, 2, count[kind{signal, observer}], "%s by %s, at two hours", signal, observer)
		}
	}
	assert.Equal(t, 2, count[kind{"voice", "ear"}])
	assert.Len(t, r.Sight, 20)
	for _, s := range r.Sight {
		switch s.Observer {
		case "eye":
			assert.Equal(t, []string{"first", "second"}, s.Watchers)
			assert.True(t, math.IsNaN(float64(s.SweepWidthM)), "lookouts do not pass")
		case "aircraft":
			assert.Equal(t, s.Signal != "spot", s.SweepWidthM > 0, "%s: a narrow beam is judged as a look", s.Signal)
			assert.Equal(t, 300.0, float64(s.Inputs.EyeHeightM))
		}
	}
	// Glasses may be worse at finding, and are better at the place that is told.
	assert.Less(t, byObserver(r, "flag", "glasses", 0).LuminousNoticedM, byObserver(r, "flag", "eye", 0).LuminousNoticedM)
	assert.Greater(t, byObserver(r, "flag", "glasses", 0).LuminousM, byObserver(r, "flag", "eye", 0).LuminousM)
	// The wall hides the flag from those on the ground behind it, not from 300 m: of
	// the round ground within the distance more is in view.
	share := func(s Sighting) float64 { return float64(s.SeenAreaM2) / math.Pow(float64(s.NoticedM), 2) }
	assert.Greater(t, share(byObserver(r, "flag", "aircraft", 0)), 1.2*share(byObserver(r, "flag", "eye", 0)))
}

// byObserver returns the n-th sighting of a signal by an observer.
func byObserver(r *Result, signal, observer string, n int) Sighting {
	for _, s := range r.Sight {
		if s.Signal == signal && s.Observer == observer {
			if n == 0 {
				return s
			}
			n--
		}
	}
	panic("no such sighting")
}

// Without anybody who looks it is one pair of eyes; a device without a threshold
// for a kind of signal leaves it out, and so does a law that is not stated for
// the dark.
func TestWhatCannotBeJudgedIsLeftOut(t *testing.T) {
	assert.Len(t, runWith(t, "").Sight, 8)
	r := runWith(t, "looking: {eyes: {observer: intensifier, threshold: 1e-8 lx}}\n")
	for _, s := range r.Sight {
		assert.NotEqual(t, "flag", s.Signal)
	}
	assert.Contains(t, r.LeftOut, "signal flag: an image intensifier needs a threshold of your own: no published one was found, by intensifier at 01 Mar 2026 12:00")
	assert.InDelta(t, 1e-8, float64(byObserver(r, "lamp", "intensifier", 0).ThresholdLx), 1e-15)

	r = runWith(t, "looking: {eyes: {law: blackwell-1946}}\n")
	assert.Len(t, r.Sight, 3+2, "by day the three, and the voice twice")
}

// Plants stand in the way on the ground, and are not counted from the air.
func TestPlantsOfThePlan(t *testing.T) {
	looking := "looking:\n  lookouts:\n" + lookout("first", "-29.998", "") + "  aircraft: [{name: heli, altitude: 300 m}]\n"
	bare, wood := runWith(t, looking), runWith(t, "plants: {stems: 500 /ha, stem_width: 0.3 m}\n"+looking)
	lamp := byObserver(wood, "lamp", "eye", 1)
	assert.Equal(t, "vegetation", lamp.Limit)
	// 1/(N D) = 66.67 m; half of all lines are clear at ln 2 of it.
	assert.InDelta(t, 66.667*math.Ln2, float64(lamp.PerceptibleM), 0.01)
	assert.Equal(t, byObserver(bare, "lamp", "aircraft", 1).NoticedM, byObserver(wood, "lamp", "aircraft", 1).NoticedM)
}

// A site is judged by the distance of those who look there: with the same glasses
// for all, nothing is noticed that eyes alone would.
func TestPlacementByObserver(t *testing.T) {
	place := "placement: {count: 1, signal: lamp, candidates: [{name: here, position: 0.016 -29.9975}]}\n"
	by := func(eyes string) Place {
		return runWith(t, "looking:\n  lookouts:\n"+lookout("first", "-29.998", eyes)+lookout("second", "-29.9976", "")+place).Place[0]
	}
	alike, blind := by(""), by("threshold: 1 lx")
	require.Len(t, alike.NoticedBy, 1)
	require.Len(t, blind.NoticedBy, 2)
	assert.InDelta(t, 1, float64(alike.Covered/alike.Total), 1e-9)
	assert.InDelta(t, 0.5, float64(blind.Covered/blind.Total), 1e-9, "the one who needs 1 lx is 55 m away, and 5 cd give that at 2 m")
	assert.Equal(t, []string{"second"}, blind.NoticedBy[1].Watchers)
}
