package sighting_test

import (
	"math"
	"testing"

	"farhail/signal/air"
	"farhail/signal/sighting"
	"farhail/signal/source"

	"github.com/stretchr/testify/require"
)

func among(p air.Plants) map[string]sighting.Query {
	return map[string]sighting.Query{
		"lamp": {Source: source.Light{IntensityCD: 10}, Air: air.Default(air.NightBackgroundCDM2), EyeM: 1.7, SignalM: 1.5, Plants: p},
		"cloth": {Source: source.Flag{WidthM: 0.5, HeightM: 0.5, Reflectance: 0.4, Behind: 0.05}, Air: air.Default(air.DayBackgroundCDM2),
			EyeM: 1.7, SignalM: 1.5, Plants: p},
	}
}

// The chance of a clear line is applied once. Told where to look: half of all
// lines are clear. Not told: the chance of finding in the clear times that of a
// clear line is one half.
func TestPlantsAreAppliedOnce(t *testing.T) {
	wood := air.Plants{StemsPerM2: 0.05, StemWidthM: 0.3} // 66.67 m
	for name, q := range among(wood) {
		r, err := sighting.Solve(q)
		require.NoError(t, err, name)
		require.InDelta(t, 66.667*math.Ln2, r.Perceptible.DistanceM, 0.01, name)
		require.Equal(t, sighting.Vegetation, r.Perceptible.Limit, name)
		require.Equal(t, sighting.Vegetation, r.Noticed.Limit, name)
		w, err := q.Watch()
		require.NoError(t, err)
		d := r.Noticed.DistanceM
		glimpses := 60 / 0.33 * 0.5
		found := 1 - math.Pow(1-w.GlimpseChance(d), glimpses)
		require.InDelta(t, 0.5, found*wood.Clear(d), 1e-6, name)
		require.LessOrEqual(t, d, r.Perceptible.DistanceM)
		require.Greater(t, r.Perceptible.LuminousM, 500.0, "by light, air and eye alone")
		q.Told = true
		told, err := sighting.Solve(q)
		require.NoError(t, err)
		require.InDelta(t, r.Perceptible.DistanceM, told.Noticed.DistanceM, 1e-9)
	}
}

// Thinner plants never shorten a distance; where they are thin enough the eye
// or the air ends it again, as in the open.
func TestThinnerPlants(t *testing.T) {
	for name, open := range among(air.Plants{}) {
		want, err := sighting.Solve(open)
		require.NoError(t, err)
		last := sighting.Result{}
		for stems := 0.3; stems > 1e-9; stems /= 3 {
			q := among(air.Plants{StemsPerM2: stems, StemWidthM: 0.25})[name]
			r, err := sighting.Solve(q)
			require.NoError(t, err)
			require.GreaterOrEqual(t, r.Noticed.DistanceM, last.Noticed.DistanceM, name)
			require.GreaterOrEqual(t, r.Perceptible.DistanceM, last.Perceptible.DistanceM, name)
			require.LessOrEqual(t, r.Noticed.DistanceM, want.Noticed.DistanceM*(1+1e-9), name)
			last = r
		}
		require.InEpsilon(t, want.Noticed.DistanceM, last.Noticed.DistanceM, 1e-3, name)
		require.NotEqual(t, sighting.Vegetation, last.Perceptible.Limit, name)
		require.NotEqual(t, sighting.Vegetation, last.Noticed.Limit, name)
	}
	bad := among(air.Plants{LeafAreaIndex: 3})["lamp"]
	_, err := sighting.Solve(bad)
	require.ErrorContains(t, err, "canopy")
}
