package source

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/geotest"
	"farhail/signal/air"
)

// boughs is a fire of green boughs in a light wind.
func boughs() Smoke {
	return Smoke{FuelKGS: 0.01, Yield: 0.15, WindMS: 2, Stability: "D", Column: White, Behind: 0.1}
}

// The optical depth of a plume that spreads by the air alone.
func TestSmokeDepth(t *testing.T) {
	geotest.Check(t, "source-smoke", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in[2:])
		s := Smoke{Column: Column(in[0]), Stability: air.Stability(in[1]), FuelKGS: x[0] / 1000, Yield: x[1], WindMS: x[3]}
		_, up := s.Stability.Spread(x[2])
		return []any{s.depth(up)}, nil
	})
	// The smoke's own heat spreads it: 14.9 m of rise in 1 m/s is 4.3 m on top of
	// the air's 5.6 m.
	s := boughs()
	s.FuelKGS, s.WindMS = 0.07/(13*0.7), 1
	assert.InDelta(t, 14.897, s.RiseM(), 0.03)
	assert.InDelta(t, math.Hypot(5.596, 14.897/3.5), s.upM(100), 0.01)
}

// 1 - e^-0.2 of 2 is 0.3625; dense smoke hides all that is behind it.
func TestSmokeContrast(t *testing.T) {
	assert.InDelta(t, 0.3625, through(2, 0.2), 1e-4)
	assert.Equal(t, -1.0, through(-1, 1000))
	for _, tt := range []struct {
		column  Column
		behind  float64
		low, up float64
		source  string
	}{
		{White, 0.05, 5, 15, "white smoke on dark forest: 5 to 15"},
		{White, 1, -0.35, 0.05, "white smoke on bright sky: about 0, or slightly negative"},
		{White, 0.8, -0.35, 0.05, "white smoke on snow: the same"},
		{Dark, 1, -1, -0.9, "black smoke on the sky: -1"},
	} {
		s := boughs()
		s.Column, s.Behind = tt.column, tt.behind
		c := s.FullContrast()
		assert.True(t, c >= tt.low && c <= tt.up, "%s: got %g", tt.source, c)
	}
}

func TestSmokeAppearance(t *testing.T) {
	look := boughs().Toward(View{})
	assert.False(t, look.Point())
	assert.Positive(t, look.Contrast)
	assert.Less(t, look.Contrast, boughs().FullContrast())
	// The area is that of a wedge as high as the smoke: within 10 % of a straight
	// one from nothing to sqrt(2 pi) s at 100 m where the air alone spreads it.
	thin := boughs()
	thin.WindMS = 50
	_, up := thin.Stability.Spread(100)
	assert.InEpsilon(t, math.Sqrt(2*math.Pi)*up*100/2, thin.Toward(View{}).AreaM2, 0.1)
	assert.Equal(t, "white smoke of 10 g/s fuel, wind 2 m/s, stability D", boughs().String())

	none := boughs()
	none.FuelKGS = 0
	assert.Zero(t, none.Toward(View{}).Contrast)
	assert.Zero(t, none.RiseM())
	names := map[string]float64{}
	for _, f := range boughs().Factors() {
		names[f.Name] = f.Value
		assert.NotEmpty(t, f.Source)
	}
	assert.Equal(t, 0.15, names["smoke from fuel"])
	assert.Equal(t, 4.5, names["mass extinction"])
}

// More fuel or more smoke shows more, more wind less; in calm air the column is
// larger and denser than the plume of 1 m/s.
func TestSmokeSenses(t *testing.T) {
	for _, c := range air.Stabilities {
		for _, fuel := range []float64{1e-4, 0.01, 0.3, 0.69, 10} {
			for _, wind := range []float64{1.1, 2, 7, 20} {
				s := boughs()
				s.Stability, s.FuelKGS, s.WindMS = c, fuel, wind
				was := s.Toward(View{})
				more, stronger, calmer := s, s, s
				more.FuelKGS *= 1.02
				stronger.Yield *= 1.02
				calmer.WindMS /= 1.02
				for what, now := range map[string]Appearance{"fuel": more.Toward(View{}), "yield": stronger.Toward(View{}), "calm": calmer.Toward(View{})} {
					assert.GreaterOrEqual(t, now.Contrast, was.Contrast*(1-1e-12), "%s: %v", what, s)
					assert.GreaterOrEqual(t, now.AreaM2, was.AreaM2*(1-1e-12), "%s: %v", what, s)
				}
			}
		}
	}
	calm, light := boughs(), boughs()
	calm.WindMS, light.WindMS = 0, 1
	assert.Greater(t, calm.Toward(View{}).AreaM2, light.Toward(View{}).AreaM2)
	assert.Greater(t, calm.Toward(View{}).Contrast, light.Toward(View{}).Contrast)
	assert.Greater(t, calm.RiseM(), light.RiseM())
}

func TestSmokeCheck(t *testing.T) {
	require.NoError(t, boughs().Check())
	for word, change := range map[string]func(*Smoke){
		"fuel rate":   func(s *Smoke) { s.FuelKGS = -1 },
		"yield":       func(s *Smoke) { s.Yield = 1.5 },
		"wind":        func(s *Smoke) { s.WindMS = math.NaN() },
		"stability":   func(s *Smoke) { s.Stability = "G" },
		"column":      func(s *Smoke) { s.Column = "orange" },
		"reflectance": func(s *Smoke) { s.Behind = 0 },
	} {
		s := boughs()
		change(&s)
		assert.ErrorContains(t, s.Check(), word)
	}
	for _, c := range Columns {
		assert.Positive(t, UsualYield(c))
	}
	assert.True(t, math.IsNaN(UsualYield("orange")))
}
