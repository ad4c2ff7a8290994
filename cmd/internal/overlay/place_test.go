package overlay

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func attracts(checked bool, sites ...job.Site) *job.Result {
	at := time.Date(2026, 11, 24, 21, 0, 0, 0, time.UTC)
	until := at.Add(7 * time.Minute)
	limit := 40.0
	if !checked {
		limit = 30
	}
	return &job.Result{Place: []job.Place{{
		Question: "attract", Signal: "beacon", At: &at, NoticedM: 5000, Unit: job.UnitShare, Total: 0.8, Covered: 0.6, Bound: 0.7, Sites: sites,
		Crossing:  &job.PlaceCrossing{LimitDeg: cli.Num(limit), CellM: 31, Checked: checked, GroundSeenBy: "KB", WaterFrom: "not known", MostShare: 0.1, NotProposed: 4},
		Timetable: []job.PlaceTurn{{From: &at, Until: &until, Do: "show", What: "light on"}},
	}}}
}

func places(r *job.Result) string {
	var text bytes.Buffer
	Places(&text, r)
	return strings.Join(strings.Fields(text.String()), " ")
}

// What attracts never goes out with an all-clear where cells cannot show cliffs, and
// always with the share that would have to cross something and the caution.
func TestAttractTellsWhatItDoesNotKnow(t *testing.T) {
	site := job.Site{Name: "site 1", Gain: 0.6, SeenShare: 0.75, CrossingShare: 0.04, SeenAreaM2: cli.Area(math.NaN()), WalkS: cli.Num(math.NaN()), Point: orb.Point{1.5, 42.5}}
	fine, coarse := places(attracts(true, site)), places(attracts(false, site))
	assert.Contains(t, fine, "Of those who notice it 4.0 % would have to cross")
	assert.Contains(t, fine, "ground over 40 deg on cells of 31 m")
	assert.Contains(t, coarse, "Of those who notice it at least 4.0 % would have to cross")
	assert.Contains(t, coarse, "that is no all-clear. Ground seen by KB.")
	assert.NotContains(t, coarse, "were checked for ground over 40")
	for _, text := range []string{fine, coarse} {
		assert.Contains(t, text, "must not stand beyond a cliff, river or lake from where they are. Keep people at it")
		assert.Contains(t, text, "21:00-21:07 show light on")
		assert.Contains(t, text, "would have to cross it: 4 sites")
	}
	assert.Contains(t, places(attracts(true)), "No site is proposed")
}

// Each question has its layer, and a stretch of one point is a point.
func TestLayersOfPlacement(t *testing.T) {
	a, b := orb.Point{1.5, 42.5}, orb.Point{1.6, 42.5}
	r := &job.Result{Place: []job.Place{
		{Question: "route", Unit: job.UnitPersonSeconds, Blind: &job.PlaceBlind{RouteM: 1000, BlindM: 150, Stretches: []job.BlindStretch{{LengthM: 100, Line: orb.LineString{a, b}}, {LengthM: 50, Line: orb.LineString{b}}}}},
		{Question: "relay", Unit: job.UnitShare, Sites: []job.Site{{Name: "x", Point: a}, {Name: "y", Point: b}}, Links: []job.PlaceLink{{From: "x", To: "y", DistanceM: 8000, Chance: 0.9}}},
	}}
	blind := blindStretches(r)
	require.Len(t, blind.Features, 2)
	assert.Equal(t, orb.LineString{a, b}, blind.Features[0].Geometry)
	assert.Equal(t, b, blind.Features[1].Geometry)
	line := links(r)
	require.Len(t, line.Features, 1)
	assert.Equal(t, orb.LineString{a, b}, line.Features[0].Geometry)
	_, share := sites(r).Features[0].Get("gain_share")
	assert.True(t, share)
	text := places(r)
	assert.Contains(t, text, "From 150 m of the route's 1.00 km nothing would be seen")
	assert.Contains(t, text, "x and y see each other over 8.00 km; one glimpse shows it with 90 %")
}
