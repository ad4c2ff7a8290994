package job

import (
	"math"
	"testing"
	"time"

	"farhail/cmd/internal/plan"
	"farhail/signal/air"
	"farhail/signal/sighting"
	"farhail/signal/source"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestWordsOfSignals: plans are read without the signal packages, so that their
// words are kept twice; here they are compared.
func TestWordsOfSignals(t *testing.T) {
	var standards, cloths, clothes, letters []string
	for _, s := range source.Standards {
		if s.NotSighted == "" {
			standards = append(standards, s.Name)
		}
	}
	for _, c := range source.Cloths {
		cloths = append(cloths, c.Name)
	}
	for _, c := range source.Clothes {
		clothes = append(clothes, c.Name)
	}
	for _, l := range source.Letters {
		letters = append(letters, l.Name)
	}
	assert.Equal(t, standards, plan.Standards)
	assert.Equal(t, cloths, plan.Cloths)
	assert.Equal(t, clothes, plan.Clothings)
	assert.Equal(t, letters, plan.Letters)
	assert.Equal(t, texts(source.Shapes), plan.BeamShapes)
	assert.Equal(t, texts(source.PulseShapes), plan.PulseShapes)
	assert.Equal(t, texts(source.FlashLaws), plan.FlashLaws)
	assert.Equal(t, texts(source.Colours()), plan.LightColours)
	assert.Equal(t, texts(source.Fades), plan.BatteryCurves)
	assert.Equal(t, texts(source.Postures), plan.Postures)
	assert.Equal(t, texts(source.Lightings), plan.Lightings)
	assert.Equal(t, texts(air.Backgrounds), plan.Grounds)
	assert.Equal(t, texts(sighting.AllLightsAbout), plan.LightsAbout)
	for _, s := range source.Standards {
		if s.FromM > 0 {
			assert.Equal(t, s.FromM, plan.UsualHeightM(plan.Light, s.Name), s.Name)
		}
	}
}

func texts[T ~string](list []T) []string {
	var out []string
	for _, w := range list {
		out = append(out, string(w))
	}
	return out
}

// emptyLamp is a light of which nothing is known.
func emptyLamp() plan.Signal {
	nan := math.NaN()
	return plan.Signal{Kind: plan.Light, IntensityCD: nan, FluxLM: nan, BeamDistanceM: nan, FlashS: nan, BeamDeg: nan, AzimuthDeg: nan, TiltDeg: nan, RatedS: nan}
}

// TestLampTakesWhatIsStated: what is stated beside a standard replaces what the
// standard states, and nothing else.
func TestLampTakesWhatIsStated(t *testing.T) {
	s := emptyLamp()
	s.Standard = "lsa-lifejacket-light"
	require.Equal(t, source.Light{IntensityCD: 0.75, Colour: source.WhiteLight, RatedS: 8 * 3600, Battery: source.Battery{Fade: source.Constant}}, lamp(s))
	s.Colour, s.RatedS, s.Cold, s.BeamDeg, s.TiltDeg = "red", 3600, 0.5, 30, -5
	require.Equal(t, source.Light{
		IntensityCD: 0.75, Colour: source.RedLight, RatedS: 3600, Battery: source.Battery{Fade: source.Constant, Cold: 0.5},
		Beam: source.Beam{WidthDeg: 30, TiltDeg: -5},
	}, lamp(s))
	s.RatedS, s.Output = math.NaN(), [][2]float64{{0, 1}, {7200, 0.5}}
	l := lamp(s)
	require.NoError(t, l.Check())
	require.EqualValues(t, 3600, l.LastsS(), "the cold halves the table's time too")
	require.Equal(t, source.Light{IntensityCD: 40, Beam: source.Beam{Table: []source.BeamPoint{{OffDeg: 0, Share: 0.5}, {OffDeg: 10, Share: 1}}}},
		lamp(plan.Signal{Kind: plan.Light, Lamp: plan.Lamp{BeamTable: [][2]float64{{0, 20}, {10, 40}}}, AzimuthDeg: math.NaN(), TiltDeg: math.NaN()}))
	for _, name := range plan.Standards {
		s := emptyLamp()
		s.Standard = name
		require.NoError(t, lamp(s).Check(), name)
		require.Positive(t, lamp(s).IntensityCD, name)
	}
}

// TestBurning: a plan counts a lamp as out from when its own time ends, and never
// before it is lit; without a time of lighting it burns.
func TestBurning(t *testing.T) {
	lit := time.Date(2026, 11, 24, 18, 0, 0, 0, time.UTC)
	s := emptyLamp()
	s.IntensityCD, s.RatedS, s.Cold = 40, 12*3600, 0.75
	from, until := burning(s)
	require.Equal(t, always, [2]time.Time{from, until})
	s.LitFrom = lit
	from, until = burning(s)
	require.Equal(t, [2]time.Time{lit, lit.Add(9 * time.Hour)}, [2]time.Time{from, until})
	s.RatedS, s.Cold = math.NaN(), 0
	_, until = burning(s)
	require.Equal(t, always[1], until)
	s.Standard = "lsa-hand-flare"
	_, until = burning(s)
	require.Equal(t, lit.Add(time.Minute), until)
}

// TestLightsAboutOfPlans: in a plan they count for lights by night and for nothing
// else; asked for one thing that they do not go with, they are refused.
func TestLightsAboutOfPlans(t *testing.T) {
	nan := math.NaN()
	r := SightRequest{
		Signal: emptyLamp(), BackgroundCDM2: 0.001, VisibilityM: 1e4, Refraction: 0.13, EarthRadiusM: 6371008.8,
		EyeM: 1.7, ThresholdLx: nan, ThresholdContrast: nan, ToM: nan, LightsAbout: "many",
	}
	r.Signal.IntensityCD = 1000
	many, err := Sight(r)
	require.NoError(t, err)
	r.LightsAbout = "none"
	none, err := Sight(r)
	require.NoError(t, err)
	require.Less(t, many.LuminousM, none.LuminousM/2)
	require.InEpsilon(t, 100, float64(many.ThresholdLx/none.ThresholdLx), 1e-9)
	r.LightsAbout, r.BackgroundCDM2 = "many", 3000
	_, err = Sight(r)
	require.ErrorContains(t, err, "are for the night")
	r.ofPlan = true
	day, err := Sight(r)
	require.NoError(t, err)
	r.LightsAbout = ""
	plain, err := Sight(r)
	require.NoError(t, err)
	require.Equal(t, plain.LuminousM, day.LuminousM)
}
