package job

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/grid"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func nan() float64 { return math.NaN() }

// aLight is a request for a light of 100 cd and nothing else.
func aLight() SightRequest {
	return SightRequest{
		Signal: plan.Signal{
			Kind: plan.Light, HeightM: 1.5, IntensityCD: 100, FluxLM: nan(), BeamDistanceM: nan(),
			BeamDeg: nan(), AzimuthDeg: nan(), TiltDeg: nan(),
		},
		VisibilityM: 10000, Refraction: earth.DefaultRefraction, EarthRadiusM: earth.MeanRadiusM,
		BackgroundCDM2: nan(), EyeM: 1.7, ThresholdLx: nan(), ThresholdContrast: nan(), ToM: nan(),
	}
}

func sightOf(t *testing.T, r SightRequest) *SightResult {
	t.Helper()
	out, err := Sight(r)
	require.NoError(t, err)
	return out
}

// The keys of the command contract are there whatever was asked.
func TestSightKeys(t *testing.T) {
	r := aLight()
	r.ToM = 1000
	body, err := json.Marshal(sightOf(t, r))
	require.NoError(t, err)
	var keys map[string]any
	require.NoError(t, json.Unmarshal(body, &keys))
	for _, k := range []string{
		"signal", "noticed_m", "perceptible_m", "limit", "luminous_m", "geographic_m", "effective_cd", "threshold_lx",
		"threshold_contrast", "margin_log10", "sweep_width_m", "inputs", "illuminance_lx", "apparent_contrast", "chance_per_glimpse",
	} {
		assert.Contains(t, keys, k)
	}
	assert.NotContains(t, keys, "clearance_m", "no terrain was given")
	assert.Contains(t, keys["inputs"], "factors")
}

// The lamp stands on a cone of 300 m, the eye 1 km south of it on the plain: the
// eye lies 16.7 degrees below the lamp's level.
func TestSightBeamFromSummit(t *testing.T) {
	frame := grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 400000 - 1500, Y0: 4700000 + 1500, DX: 30, DY: 30, Cols: 101, Rows: 101}
	h := &grid.Heights{Frame: frame, Z: geotest.Cone(300, 0.4).Cells(101, 101, 30)}
	lamp, eye := frame.Point(50, 50), frame.Point(50, 50+1000.0/30)
	r := aLight()
	r.Heights, r.From, r.Toward = h, &eye, &lamp
	out := sightOf(t, r)
	require.NotNil(t, out.SightLine)
	assert.Positive(t, float64(out.ClearanceM), "a cone hides none of its flanks")
	assert.InDelta(t, 1000, float64(out.LineM), 1)
	assert.Equal(t, "air", out.Limit, "the flat horizon does not cut the distance")
	assert.InDelta(t, 9676.9, float64(out.GeographicM), 0.1)

	level := r
	level.Signal.BeamDeg, level.Signal.AzimuthDeg, level.Signal.TiltDeg = 20, 180, 0
	assert.Equal(t, "beam", sightOf(t, level).Limit, "a level beam of 20 degrees passes over the eye")
	down := level
	down.Signal.TiltDeg = -15
	assert.Equal(t, "air", sightOf(t, down).Limit)
	away := down
	away.Signal.AzimuthDeg = 0
	assert.Equal(t, "beam", sightOf(t, away).Limit)
}

// A light that shows far by night is lost in the light of noon, and the
// background of a flag is brighter with snow behind.
func TestSightBackground(t *testing.T) {
	place := orb.Point{1.5, 42.5}
	night, noon := aLight(), aLight()
	night.Place, noon.Place = &place, &place
	night.Behind, noon.Behind = "ground", "ground"
	night.Cloud, noon.Cloud = "clear", "clear"
	night.At = time.Date(2026, 6, 15, 23, 55, 0, 0, time.UTC) // new moon on the 15th, 02:54
	noon.At = time.Date(2026, 6, 21, 11, 55, 0, 0, time.UTC)
	dark, bright := sightOf(t, night), sightOf(t, noon)
	// 2e-3 lx of a moonless night over pi, luminance factor 0.1.
	assert.InDelta(t, 6.37e-5, float64(dark.Inputs.BackgroundCDM2), 1e-6)
	// At the solstice the sun passes 71 degrees, 1.2e5 lx: 3.7e3 cd/m2.
	assert.InEpsilon(t, 3700, float64(bright.Inputs.BackgroundCDM2), 0.05)
	assert.Less(t, float64(bright.PerceptibleM), float64(dark.PerceptibleM)/5)
	assert.Equal(t, "ground under a clear sky without moon", dark.Inputs.BackgroundFrom)
	assert.Equal(t, "ground under a clear sky", bright.Inputs.BackgroundFrom)

	// A full moon at 52 degrees, 14 December 2024: some 0.2 lx.
	moonlit := night
	moonlit.At = time.Date(2024, 12, 14, 21, 0, 0, 0, time.UTC)
	lit := sightOf(t, moonlit)
	assert.Equal(t, "ground under a clear sky with the moon", lit.Inputs.BackgroundFrom)
	assert.InDelta(t, 0.2, float64(lit.Inputs.GroundLx), 0.05)
	assert.InDelta(t, 0.99, float64(lit.Inputs.MoonLitFraction), 0.01)
	assert.Less(t, float64(lit.LuminousM), float64(dark.LuminousM))
	assert.Equal(t, dark.LuminousNoticedM, lit.LuminousNoticedM, "by night practice's 2e-7 lx rules what is noticed, with the moon or without")

	// Under cloud the same hour is darker, and a lamp shows farther.
	moonlit.Cloud = "overcast"
	dull := sightOf(t, moonlit)
	assert.Equal(t, "ground under an overcast sky with the moon", dull.Inputs.BackgroundFrom)
	assert.Greater(t, float64(dull.LuminousM), float64(lit.LuminousM))
	moonlit.Cloud = "rain"
	_, err := Sight(moonlit)
	assert.ErrorContains(t, err, "rain")

	stated := noon
	stated.BackgroundCDM2 = 0.001
	assert.Equal(t, sightOf(t, aLight()).PerceptibleM, sightOf(t, stated).PerceptibleM)

	noon.Place = nil
	_, err = Sight(noon)
	assert.ErrorContains(t, err, "without a place")
}

func TestSightErrors(t *testing.T) {
	r := aLight()
	r.VisibilityM = 0
	_, err := Sight(r)
	assert.ErrorContains(t, err, "visibility")
	r = aLight()
	r.ToM = -1
	_, err = Sight(r)
	assert.ErrorContains(t, err, "distance")
}

// Margins: 0 where the light itself ends the distance, above 0 where the curve
// of the earth does, none where nothing is seen.
func TestSightMargin(t *testing.T) {
	r := aLight()
	assert.Positive(t, float64(sightOf(t, r).MarginLog10), "9.7 km of 11.4 km")
	r.VisibilityM = 2000
	assert.Zero(t, float64(sightOf(t, r).MarginLog10))
	r.Signal.RatedS, r.LitForS = 60, 61
	out := sightOf(t, r)
	assert.True(t, math.IsNaN(float64(out.MarginLog10)))
	assert.Equal(t, "battery", out.Limit)
}

// A party that passes: noticed is to the side, never beyond perceptible, and
// the width comes with its band; draws give a band to all the rest.
func TestSightTasks(t *testing.T) {
	scan := sightOf(t, aLight())
	assert.Equal(t, "scan", scan.Inputs.Looking.Task)
	assert.True(t, math.IsNaN(float64(scan.SweepWidthM)))
	assert.Less(t, float64(scan.Low.NoticedM), float64(scan.NoticedM))
	assert.Greater(t, float64(scan.High.NoticedM), float64(scan.NoticedM))

	known := aLight()
	known.Task = TaskKnow
	k := sightOf(t, known)
	assert.Equal(t, k.PerceptibleM, k.NoticedM)

	walk := aLight()
	walk.Task = TaskPass
	w := sightOf(t, walk)
	// Practice's 2e-7 lx ends it to both sides.
	assert.InEpsilon(t, 2*float64(scan.LuminousNoticedM), float64(w.SweepWidthM), 0.02)
	assert.InEpsilon(t, float64(w.SweepWidthM)*1.6, float64(w.High.SweepWidthM), 1e-9)
	assert.LessOrEqual(t, float64(w.NoticedM), float64(w.PerceptibleM))

	walk.StemsPerM2, walk.StemWidthM = 0.08, 0.25
	among := sightOf(t, walk)
	assert.Equal(t, "vegetation", among.LimitNoticed)
	assert.Less(t, float64(among.SweepWidthM), float64(w.SweepWidthM)/4)
	assert.InEpsilon(t, float64(among.SweepWidthM)*1.35, float64(among.High.SweepWidthM), 1e-9)

	walk.Clutter = "fog"
	_, err := Sight(walk)
	assert.ErrorContains(t, err, "fog")
}
