package job

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
)

// lampRequest is a lamp of 100 cd in air of a visibility, flagRequest an orange
// flag of half a metre by day.
func lampRequest(visibilityM float64) SightRequest {
	nan := math.NaN()
	return SightRequest{
		Signal:      plan.Signal{Kind: plan.Light, IntensityCD: 100, FluxLM: nan, BeamDistanceM: nan, HeightM: 1.5, BeamDeg: nan, AzimuthDeg: nan, TiltDeg: nan, Reflectance: nan, BackgroundReflectance: nan},
		VisibilityM: visibilityM, Refraction: 0.13, EarthRadiusM: earth.MeanRadiusM, BackgroundCDM2: nan, EyeM: 1.7,
		ThresholdLx: nan, ThresholdContrast: nan, ToM: nan, Behind: "ground", Cloud: "clear", Seed: 1,
	}
}

func flagRequest(on float64) SightRequest {
	r := lampRequest(50_000)
	r.Signal.Kind, r.Signal.IntensityCD = plan.Flag, math.NaN()
	r.Signal.FlagWidthM, r.Signal.FlagHeightM, r.Signal.Reflectance, r.Signal.BackgroundReflectance = 0.5, 0.5, 0.4, on
	return r
}

func sight(t *testing.T, r SightRequest) *SightResult {
	t.Helper()
	s, err := Sight(r)
	require.NoError(t, err)
	return s
}

// The same signal in another air, or before another ground, is helped most by
// another change.
func TestHelpFlips(t *testing.T) {
	fog, clear := lampRequest(500), lampRequest(80_000)
	assert.Equal(t, "visibility", sight(t, fog).Help.Input)
	assert.Equal(t, "eye_height", sight(t, clear).Help.Input, "the horizon ends it")
	clear.Flat = true
	assert.Equal(t, "intensity", sight(t, clear).Help.Input)
	standard := clear
	standard.Signal.IntensityCD, standard.Signal.Standard = math.NaN(), "lsa-lifejacket-light"
	assert.Equal(t, "intensity", sight(t, standard).Help.Input)
	clear.LightsAbout = "many"
	assert.Equal(t, "lights_about", sight(t, clear).Help.Input)

	// Orange before dark plants wants more cloth or light on it, before a ground of
	// its own brightness another ground.
	assert.Equal(t, "reflectance", sight(t, flagRequest(0.05)).Help.Input)
	lost := sight(t, flagRequest(0.38))
	assert.Equal(t, "on", lost.Help.Input)
	assert.Equal(t, "dark plants behind it", lost.Help.Step)
}

// What is told of a step is what a request with that step gives, nothing that
// was tried gains more, and a request is not changed by it.
func TestHelpIsTrue(t *testing.T) {
	r := lampRequest(2000)
	s := sight(t, r)
	require.Equal(t, "visibility", s.Help.Input)
	assert.Equal(t, "twice the visibility", s.Help.Step)
	changed := r
	changed.VisibilityM *= 2
	now := sight(t, changed)
	assert.Equal(t, now.NoticedM, s.Help.NoticedM)
	assert.Equal(t, now.NoticedM-s.NoticedM, s.Help.GainM)
	assert.InDelta(t, float64(now.NoticedM/s.NoticedM), float64(s.Help.Gain), 1e-12)
	for _, h := range []*SightHelp{s.Help, sight(t, flagRequest(0.05)).Help} {
		assert.Greater(t, len(h.Tried), 4)
		for _, tried := range h.Tried {
			assert.LessOrEqual(t, tried.GainM, h.GainM, tried.Step)
		}
	}
	mirror := lampRequest(10_000)
	mirror.Signal.Kind = plan.Mirror
	mirror.Mirror = &MirrorRequest{WidthM: 0.076, HeightM: 0.127, SunAzimuthDeg: 180, SunElevationDeg: 45, TargetAzimuthDeg: math.NaN(), TargetElevationDeg: math.NaN()}
	before := *mirror.Mirror
	sight(t, mirror)
	after := *mirror.Mirror
	for _, m := range []*MirrorRequest{&before, &after} {
		m.TargetAzimuthDeg, m.TargetElevationDeg = 0, 0 // NaN is not equal to itself
	}
	assert.Equal(t, before, after)
}

// Where no step gains in noticed, the largest gain in perceptible is told; where
// nothing helps, that.
func TestHelpOfNothing(t *testing.T) {
	was := &SightResult{NoticedM: 100, PerceptibleM: 200}
	step := func(name string, noticed, perceptible float64) SightStep {
		now := SightResult{NoticedM: cli.Len(noticed), PerceptibleM: cli.Len(perceptible)}
		return stepOf(name, name, was, &now)
	}
	h := best([]SightStep{step("a", 100.1, 150), step("b", 90, 300), step("c", 100, 400)}, was)
	assert.Equal(t, "c", h.Input)
	assert.Contains(t, h.Text, "to be seen at best: c, to 400 m")
	h = best([]SightStep{step("a", 120, 200), step("b", 120, 300)}, was)
	assert.Equal(t, "a", h.Input, "the first of equals")
	assert.Equal(t, "most would help: a, noticed to 120 m, 1.20 times as far", h.Text)
	h = best([]SightStep{step("a", 100, 200)}, was)
	assert.Equal(t, "", h.Input)
	assert.True(t, math.IsNaN(float64(h.GainM)))
	assert.Equal(t, "no single change that was tried would help", h.Text)
	was = &SightResult{}
	h = best([]SightStep{step("a", 50, 60)}, was)
	assert.Equal(t, "most would help: a, noticed to 50.0 m", h.Text)
	assert.True(t, math.IsNaN(float64(h.Gain)))
}

func TestHelpOfSounds(t *testing.T) {
	ask := SoundRequest{LevelDB: 115, ToneHz: 3150, TemperatureC: 10, Humidity: 0.7, NoiseDB: 35, ToM: math.NaN()}
	quiet, err := Hear(ask)
	require.NoError(t, err)
	assert.Equal(t, "tone", quiet.Help.Input, "the air takes the high tone")
	ask.NoiseDB, ask.ToneHz = 80, 500
	loud, err := Hear(ask)
	require.NoError(t, err)
	assert.NotEqual(t, "tone", loud.Help.Input)
}

func TestMeasuredWidthWins(t *testing.T) {
	r := flagRequest(0.05)
	r.Task = TaskPass
	model := sight(t, r)
	assert.Equal(t, ModelWidth, model.SweepWidthFrom)
	require.NotNil(t, model.Sweep)
	assert.Equal(t, "open", model.Sweep.Clutter)
	assert.InDelta(t, 1852, float64(model.Sweep.ScanLimitM), 1e-9)
	assert.True(t, model.Sweep.BeyondTrials)
	assert.InDelta(t, float64(model.SweepWidthM)*1.6, float64(model.High.SweepWidthM), 1e-6)
	assert.Contains(t, model.Why, "nobody is taken to look farther")

	r.Measured.WidthM = 40
	own := sight(t, r)
	assert.InDelta(t, 40, float64(own.SweepWidthM), 1e-9)
	assert.Equal(t, "your measured width", own.SweepWidthFrom)
	assert.InDelta(t, 40*float64(model.NoticedM/model.SweepWidthM), float64(own.NoticedM), 1e-6)
	assert.Nil(t, own.Sweep)
	assert.Nil(t, own.Help)
	assert.True(t, math.IsNaN(float64(own.Low.SweepWidthM)), "how far off it may be is not known")
	assert.Contains(t, own.Why, "the width that you measured")

	for class, factor := range map[string]float64{"high": 1.8, "medium": 1.6, "low": 1.1} {
		r.Measured = SightMeasured{RangeM: 30, Conspicuity: class}
		s := sight(t, r)
		assert.InDelta(t, 30*factor, float64(s.SweepWidthM), 1e-9, class)
		assert.Contains(t, s.SweepWidthFrom, "your measured detection range of 30.0 m")
	}
	r.Measured.Conspicuity = "glaring"
	_, err := Sight(r)
	assert.ErrorContains(t, err, "glaring")
}

// The seed fixes the draws: the same gives the same, another differs by less
// than twice what 64 draws are exact to.
func TestSeed(t *testing.T) {
	r := lampRequest(10_000)
	r.Flat = true
	one, again := sight(t, r), sight(t, r)
	assert.Equal(t, one.Low.NoticedM, again.Low.NoticedM)
	assert.Equal(t, one.High.PerceptibleM, again.High.PerceptibleM)
	assert.Equal(t, &SightDraws{Count: 64, Seed: 1, LowPercent: 10, MidPercent: 50, HighPercent: 90}, one.Inputs.Draws)
	r.Seed = 2
	other := sight(t, r)
	assert.Equal(t, one.NoticedM, other.NoticedM, "the result itself is not drawn")
	assert.NotEqual(t, one.Low.NoticedM, other.Low.NoticedM)
	assert.InEpsilon(t, float64(one.Low.NoticedM), float64(other.Low.NoticedM), 0.12)
	assert.InEpsilon(t, float64(one.Mid.NoticedM), float64(other.Mid.NoticedM), 0.12)
	assert.InEpsilon(t, float64(one.High.NoticedM), float64(other.High.NoticedM), 0.12)
	assert.InEpsilon(t, float64(one.NoticedM), float64(one.Mid.NoticedM), 0.05, "the middle of the draws is near the result")
}

func TestSightCurves(t *testing.T) {
	curves, err := SightCurves(lampRequest(10_000))
	require.NoError(t, err)
	require.Len(t, curves, 2)
	for i, name := range []string{"day", "night"} {
		c := curves[i]
		assert.Equal(t, name, c.Name)
		assert.InDelta(t, 9676.9, c.GeographicM, 0.1)
		for j := 1; j < len(c.DistanceM); j++ {
			require.Greater(t, c.DistanceM[j], c.DistanceM[j-1])
			require.Less(t, c.MarginLog10[j], c.MarginLog10[j-1], name)
			require.LessOrEqual(t, c.Chance[j], c.Chance[j-1]+1e-12, name)
		}
	}
	night := sight(t, lampRequest(10_000))
	assert.InDelta(t, float64(night.NoticedM), curves[1].Noticed.DistanceM, 1e-9)
	assert.InDelta(t, 0, curves[0].Perceptible.MarginLog10, 1e-9, "perceptible is where the margin is 0")
	assert.InDelta(t, 0.5, curves[0].Noticed.Chance, 1e-3, "noticed is where half do")
	assert.Greater(t, curves[1].Perceptible.MarginLog10, 0.1, "the horizon ends it")

	stated := lampRequest(10_000)
	stated.BackgroundCDM2 = 0.5
	curves, err = SightCurves(stated)
	require.NoError(t, err)
	require.Len(t, curves, 1)
	assert.Equal(t, "before 0.500 cd/m2", curves[0].Name)

	// No chance is drawn of a pass from the air, nor of a measured width.
	pass := flagRequest(0.05)
	pass.Task, pass.Observer, pass.AltitudeM = TaskPass, ObserverAircraft, 300
	curves, err = SightCurves(pass)
	require.NoError(t, err)
	assert.Nil(t, curves[0].Chance)
	pass.Observer, pass.AltitudeM, pass.Measured.WidthM = "", 0, 40
	curves, err = SightCurves(pass)
	require.NoError(t, err)
	assert.Nil(t, curves[0].Chance)
	pass.Measured.WidthM = 0
	curves, err = SightCurves(pass)
	require.NoError(t, err)
	assert.NotNil(t, curves[0].Chance)

	nothing := flagRequest(0.4)
	_, err = SightCurves(nothing)
	assert.ErrorContains(t, err, "nothing to draw")
	assert.Equal(t, []float64{1, 1.5, 2, 7, 10, 30}, []float64{roundUp(1), roundUp(1.2), roundUp(1.6), roundUp(5.1), roundUp(7.1), roundUp(21)})
}
