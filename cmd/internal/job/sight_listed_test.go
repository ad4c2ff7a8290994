package job

import (
	"context"
	"encoding/json"
	"math"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// namesFor lists the names of the factors of one distance.
func namesFor(s *SightResult, of string) (names []string) {
	for _, f := range s.Inputs.Factors {
		if f.For == of {
			names = append(names, f.Name)
		}
	}
	return names
}

// valueFor returns a factor of one distance, which is listed once.
func valueFor(t *testing.T, s *SightResult, of, name string) float64 {
	t.Helper()
	var found []float64
	for _, f := range s.Inputs.Factors {
		if f.For == of && f.Name == name {
			found = append(found, float64(f.Value))
		}
	}
	require.Len(t, found, 1, "%s of %s", name, of)
	return found[0]
}

// The threshold told is the product of the factors listed.
func TestFactorsMultiplyToTheThreshold(t *testing.T) {
	old := func(r SightRequest) SightRequest { r.AgeYears = 60; return r }
	for _, r := range []SightRequest{aLight(), old(aLight()), aFlag(), old(aFlag())} {
		r.Flat = true
		s := sightOf(t, r)
		lab, want := "laboratory threshold", float64(s.ThresholdLx)
		if HasContrast(r.Signal.Kind) {
			lab, want = "laboratory contrast of that size", float64(s.ThresholdContrast)
		}
		product := valueFor(t, s, "perceptible", lab) * valueFor(t, s, "perceptible", "field factor F") * valueFor(t, s, "perceptible", "visibility ratio V")
		if r.AgeYears > 0 {
			product *= valueFor(t, s, "perceptible", "age 60")
		}
		assert.InEpsilon(t, want, product, 1e-6, s.Signal)
	}
}

// A pass lists what its rate rests on, and not the look of somebody who stands.
func TestFactorsOfAPass(t *testing.T) {
	for _, r := range []SightRequest{aLight(), aFlag()} {
		r.Task = TaskPass
		s := sightOf(t, r)
		names := namesFor(s, "noticed")
		assert.NotContains(t, names, "glimpses in the look")
		assert.NotContains(t, names, "lobe needed")
		assert.NotContains(t, names, "visibility ratio V")
		assert.InDelta(t, 0.5/0.33, valueFor(t, s, "noticed", "glimpses a second on the search"), 1e-12)
		assert.InDelta(t, 2*math.Pi*math.Sin(math.Pi/12), valueFor(t, s, "noticed", "search sector"), 1e-9, "180 by 30 degrees")
		assert.Equal(t, 2.0, valueFor(t, s, "noticed", "field factor F"))
		assert.True(t, math.IsNaN(float64(s.Inputs.Looking.LookS)), "no look counts")
		for _, f := range s.Inputs.Factors {
			assert.NotEmpty(t, f.Source, f.Name)
		}
	}
	know := aLight()
	know.Task = TaskKnow
	k := sightOf(t, know).Inputs.Looking
	for _, v := range []cli.Num{k.SectorWidthDeg, k.SectorHeightDeg, k.LookS, k.Attention} {
		assert.True(t, math.IsNaN(float64(v)), "nothing is searched")
	}
}

// A light that outshines the horizon is ended by it, to those who pass too.
func TestHorizonEndsAPass(t *testing.T) {
	r := aLight()
	r.Signal.IntensityCD, r.Task = 1e4, TaskPass
	s := sightOf(t, r)
	assert.Equal(t, "horizon", s.LimitNoticed)
	assert.Equal(t, s.PerceptibleM, s.NoticedM)
	assert.Equal(t, s.GeographicM, s.NoticedM)
}

// Among plants perceptible is along a clear line, and says so; what light, air and
// eye alone would give those who pass is not known.
func TestPassAmongPlants(t *testing.T) {
	r := aLight()
	r.Task, r.StemsPerM2, r.StemWidthM = TaskPass, 0.08, 0.25
	s := sightOf(t, r)
	assert.True(t, math.IsNaN(float64(s.LuminousNoticedM)))
	assert.Contains(t, strings.Join(s.Cautions, "\n"), "half of all lines are clear for 34.7 m", "ln 2 of 1 / (0.08 x 0.25) m")
}

// What an ear has not is null and not 0.
func TestSoundHasNoEyes(t *testing.T) {
	s, err := Hear(SoundRequest{LevelDB: 115, ToneHz: 3150, TemperatureC: 10, Humidity: 0.7, NoiseDB: 35, ToM: math.NaN()})
	require.NoError(t, err)
	body, err := json.Marshal(s.Inputs.Who)
	require.NoError(t, err)
	assert.JSONEq(t, `{"observer":"ear","optics":"","altitude_m":null,"haze_height_m":null,"cloud_base_m":null,"adapted":false,"age_years":null,"veil_cd_m2":null,"fatigued":false}`, string(body))
}

// Somebody in an aircraft may look through field glasses, the usual ones where none
// are stated: farther where they point, nearer for who is not told.
func TestGlassesAloft(t *testing.T) {
	naked := aFlag()
	naked.Observer, naked.AltitudeM = ObserverAircraft, 300
	with := naked
	with.Glasses = true
	n, g := sightOf(t, naked), sightOf(t, with)
	assert.Equal(t, "7x50", g.Inputs.Who.Optics)
	assert.Greater(t, float64(g.PerceptibleM), 1.5*float64(n.PerceptibleM))
	assert.Contains(t, strings.Join(g.Cautions, "\n"), "its shaking blurs")
	with.Magnification, with.ObjectiveMM = 10, 42
	assert.Equal(t, "10x42", sightOf(t, with).Inputs.Who.Optics)
}

// From an aircraft --to is over the ground, as the distances are; below it too.
func TestToIsOverTheGround(t *testing.T) {
	r := aLight()
	r.Observer, r.AltitudeM, r.ToM = ObserverAircraft, 1001.5, 100
	s := sightOf(t, r)
	d := math.Hypot(1000, 100)
	σ := (1 - math.Exp(-1001.5/1200) - (1 - math.Exp(-1.5/1200))) * 1200 / 1000 * math.Log(20) / 10_000
	assert.InEpsilon(t, 100*math.Exp(-σ*d)/(d*d), float64(s.IlluminanceLx), 1e-6, "Allard along the slant, haze thinning over 1.2 km")
	r.ToM = float64(s.PerceptibleM)
	assert.InDelta(t, 0, float64(sightOf(t, r).MarginLog10), 1e-9)
}

// A symbol is judged from the aircraft's height once.
func TestSymbolHeights(t *testing.T) {
	r := aFlag()
	r.Signal.Kind, r.Signal.Letter, r.Signal.LengthM = plan.Symbol, "V", 3
	r.Observer = ObserverAircraft
	for altitude, want := range map[float64][]cli.Len{300: {150, 300}, 200: {200, 150, 300}} {
		r.AltitudeM = altitude
		var heights []cli.Len
		for _, h := range sightOf(t, r).Symbol.Aside {
			heights = append(heights, h.HeightM)
		}
		assert.Equal(t, want, heights)
	}
}

// What is said of eyes that a threshold or a trade's law stands for is told not to
// count, and does not.
func TestSaidButNotCounted(t *testing.T) {
	fixed := aLight()
	fixed.ThresholdLx = 2e-7
	trade := aLight()
	trade.Law = "icao-2005"
	for _, plain := range []SightRequest{fixed, trade} {
		said := plain
		said.AgeYears, said.Unadapted = 60, true
		p, s := sightOf(t, plain), sightOf(t, said)
		assert.Equal(t, p.PerceptibleM, s.PerceptibleM)
		assert.NotContains(t, strings.Join(p.Cautions, "\n"), "not count")
		assert.Contains(t, strings.Join(s.Cautions, "\n"), "not count")
	}
}

// By night the search for a cloth is as little supported as that for a lamp.
func TestNightOfAnArea(t *testing.T) {
	const caution = "night search by eye"
	r := aFlag()
	assert.NotContains(t, strings.Join(sightOf(t, r).Cautions, "\n"), caution)
	r.BackgroundCDM2 = 0.001
	assert.Contains(t, strings.Join(sightOf(t, r).Cautions, "\n"), caution)
}

// Before snow the colour of the smoke is what helps.
func TestOtherSmokeHelps(t *testing.T) {
	r := aLight()
	r.Signal = plan.Signal{Kind: plan.Smoke, FuelKGS: 0.01, SmokeYield: nan(), Stability: "D", Column: "white", BackgroundReflectance: 0.8}
	r.WindMS, r.Behind, r.BehindStated = 2, "snow", true
	s := sightOf(t, r)
	assert.Zero(t, float64(s.NoticedM))
	steps := map[string]SightStep{}
	for _, step := range s.Help.Tried {
		steps[step.Input] = step
	}
	assert.Greater(t, float64(steps["column"].NoticedM), 1000.0)
}

// A thing of a plan and the same thing by itself have the same numbers, whether or not
// the plan says what is behind it.
func TestGroundBehindIsOne(t *testing.T) {
	place := orb.Point{1.6, 42.55}
	for _, kind := range []string{plan.Flag, plan.Figure, plan.Symbol} {
		r := aFlag()
		r.Signal.Kind, r.Signal.Posture, r.Signal.Letter, r.Signal.LengthM = kind, "standing", "V", 3
		r.Place, r.Behind, r.Cloud, r.At = &place, "ground", "clear", time.Date(2026, 6, 24, 22, 0, 0, 0, time.UTC)
		stated := sightOf(t, r)
		r.Signal.BackgroundReflectance = nan()
		unsaid := sightOf(t, r)
		assert.Equal(t, stated.NoticedM, unsaid.NoticedM, kind)
		assert.Equal(t, stated.PerceptibleM, unsaid.PerceptibleM, kind)
		r.Signal.BackgroundReflectance = 0.8
		bright := sightOf(t, r)
		assert.InEpsilon(t, 16*float64(stated.Inputs.BackgroundCDM2), float64(bright.Inputs.BackgroundCDM2), 1e-9, "the light that the ground behind it sends back")
	}
}

// At the end of its rated time a lamp still gives its last light, in a plan as by
// itself; after it, what does not show has no width, and none is made up.
func TestEndOfALamp(t *testing.T) {
	files := fstest.MapFS{"plan.yaml": {Data: []byte(`version: 1
zone: UTC
as_of: 2026-03-01 20:00
hours: [2026-03-02 00:00, 2026-03-02 00:01]
starts: [{name: hut, kind: last-known, position: "42.5, 1.5", error: 50 m, time: 2026-03-01 10:00}]
traveller: {signals: [{name: lamp, light: 5 cd, rated_time: 6 h, lit_from: 2026-03-01 18:00}]}
`)}}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	r, err := Run(context.Background(), files, p, Options{})
	require.NoError(t, err)
	require.Len(t, r.Sight, 2)
	last, out := r.Sight[0], r.Sight[1]
	assert.Greater(t, float64(last.NoticedM), 1000.0)
	assert.Equal(t, "battery", out.Limit)
	assert.Zero(t, float64(out.High.NoticedM))
	for _, b := range []SightBand{out.Low, out.Mid, out.High} {
		assert.True(t, math.IsNaN(float64(b.SweepWidthM)))
	}
}
