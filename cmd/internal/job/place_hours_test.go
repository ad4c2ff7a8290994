package job

import (
	"context"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"farhail/cmd/internal/plan"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// postAt writes a lookout 332 m from the site of these tests.
func postAt(name, from, until string) string {
	return "    - {name: " + name + ", position: 0.0145 -29.998, from: 2026-03-01 " + from + ", until: 2026-03-01 " + until + "}\n"
}

// placeAlone does the placement of a plan and no more.
func placeAlone(t *testing.T, text string, files ...string) *Result {
	t.Helper()
	fsys := fstest.MapFS{"plain.asc": plain(t), "plan.yaml": {Data: []byte(text)}}
	for i := 0; i < len(files); i += 2 {
		fsys[files[i]] = &fstest.MapFile{Data: []byte(files[i+1])}
	}
	p, err := plan.Read(fsys, "plan.yaml")
	require.NoError(t, err)
	r, err := Run(context.Background(), fsys, p, Options{Parts: Placing})
	require.NoError(t, err)
	return r
}

const flagHere = "placement: {signal: flag, count: 1, candidates: [{name: here, position: 0.0175 -29.998}]}\n"

func flagSeen(t *testing.T, hours, posts string) *Result {
	t.Helper()
	head := strings.Replace(placeHead, "hours: [2026-03-01 22:00]", "hours: ["+hours+"]", 1)
	return placeAlone(t, head+"looking:\n  lookouts:\n"+posts+flagHere)
}

// A flag is noticed by those who look by day, whatever hour the plan names, and hardly by
// those who look at night.
func TestEachLooksInItsOwnLight(t *testing.T) {
	day, night := postAt("day", "12:00", "14:00"), postAt("night", "22:00", "23:30")
	r := flagSeen(t, "2026-03-01 22:00", day+night)
	require.Len(t, r.Place, 1)
	p := r.Place[0]
	assert.Equal(t, LightOfLooks, p.Light)
	assert.InDelta(t, 7200+5400, float64(p.Total), 1e-6)
	require.Len(t, p.Hours, 4)
	looked, noticed := 0.0, 0.0
	for i, h := range p.Hours {
		looked, noticed = looked+float64(h.LookS), noticed+float64(h.NoticeS)
		share := float64(h.NoticeS / h.LookS)
		if i < 2 {
			assert.Greater(t, share, 0.9, "by day")
			assert.Greater(t, float64(h.HalfM), 500.0)
		} else {
			assert.Less(t, share, 0.7, "at night")
			assert.Less(t, float64(h.HalfM), 450.0)
		}
	}
	assert.InDelta(t, float64(p.Total), looked, 1e-6)
	assert.InDelta(t, float64(p.Covered), noticed, 1e-6)

	// The plan's hour chooses no more than the signal, and two that choose the same one
	// have one answer.
	again := flagSeen(t, "2026-03-01 12:00, 2026-03-01 22:00", day+night)
	require.Len(t, again.Place, 1)
	assert.Equal(t, p.Covered, again.Place[0].Covered)
	assert.Equal(t, p.Hours, again.Place[0].Hours)

	// Each part alone is worth what it was worth together.
	byDay, atNight := flagSeen(t, "2026-03-01 22:00", day), flagSeen(t, "2026-03-01 22:00", night)
	assert.InDelta(t, float64(p.Covered), float64(byDay.Place[0].Covered+atNight.Place[0].Covered), 1e-6)
}

// Who has no clock is taken to look at the plan's hour, and that is told.
func TestWithoutAClockTheHourIsTheLight(t *testing.T) {
	way := `<?xml version="1.0"?><gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><rte><rtept lat="0.0145" lon="-29.9985"/><rtept lat="0.0145" lon="-29.9975"/></rte></gpx>`
	ask := func(more string) *Result {
		head := strings.Replace(placeHead, "hours: [2026-03-01 22:00]", "hours: [2026-03-01 12:00, 2026-03-01 22:00]", 1)
		return placeAlone(t, head+"looking:\n  parties: [{name: any, route: way.gpx}]\n"+more+flagHere, "way.gpx", way)
	}
	r := ask("")
	require.Len(t, r.Place, 2, "an answer for each light")
	assert.Equal(t, LightOfHour, r.Place[0].Light)
	assert.Empty(t, r.Place[0].Hours)
	assert.Greater(t, float64(r.Place[0].Covered), 1.5*float64(r.Place[1].Covered))
	assert.Equal(t, LightOfBoth, ask("  lookouts:\n" + postAt("day", "12:00", "14:00")).Place[0].Light)
}

// A lamp that dies while they look counts only as long as it burns, and for what its
// battery leaves of it.
func TestALampDiesWhileTheyLook(t *testing.T) {
	ask := "placement: {signal: dying, count: 1, candidates: [{name: here, position: 0.016 -29.987}]}\n"
	head := strings.Replace(placeHead, "    - {name: flag,", "    - {name: dying, light: 0.02 cd, rated_time: 1 h, battery_curve: falling, lit_from: 2026-03-01 21:40}\n    - {name: flag,", 1)
	r := placeAlone(t, head+"looking:\n  lookouts:\n"+postAt("west", "21:30", "23:30")+ask)
	require.Len(t, r.Place, 1)
	lasts := lamp(plan.Signal{Kind: plan.Light, RatedS: 3600, Lamp: plan.Lamp{Fade: "falling"}}).LastsS()
	assert.InDelta(t, min(lasts, 6600), float64(r.Place[0].Total), 1, "from 21:40 until it is out or they go")
	h := r.Place[0].Hours
	require.GreaterOrEqual(t, len(h), 2)
	assert.InDelta(t, 20*60, float64(h[0].LookS), 1e-6)
	assert.Less(t, float64(h[len(h)-1].HalfM), float64(h[0].HalfM))
}

// Light that hardly changes is one light.
func TestLightsThatAreAlike(t *testing.T) {
	r := &run{plan: &plan.Plan{Weather: plan.Weather{Cloud: "clear"}}, watch: &watch{}}
	r.plan.Starts = []plan.Start{{}}
	r.result = &Result{}
	start := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC) // noon where they are
	r.watch.watchers = []watcher{{weight: 7200, from: start, stay: 2 * time.Hour}, {weight: 3600, from: start.Add(5 * time.Hour), stay: 2 * time.Hour}}
	p := &placing{run: r}
	list := p.glances(plan.Signal{Kind: plan.Flag}, start)
	require.Len(t, list, 16)
	noon, dusk := map[time.Time]bool{}, map[time.Time]bool{}
	for i, g := range list {
		assert.InDelta(t, []float64{900, 450}[i/8], g.weight, 1e-9)
		if i < 8 {
			noon[g.light] = true
		} else {
			dusk[g.light] = true
		}
	}
	assert.LessOrEqual(t, len(noon), 2)
	assert.GreaterOrEqual(t, len(dusk), 5, "through sunset the light falls from quarter to quarter")
}
