package sweep

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"farhail/signal/observer"
)

// The figures of the predictions that would break the model, as stated when it
// was chosen, to a tenth: widths [m] by walking speed, size, and attention of a
// bright and of a dull object, with independent misses. They came from coarser
// sums of another program.
func TestPredictedWidths(t *testing.T) {
	width := func(contrast float64, change func(*Pass)) float64 {
		p := forest(contrast, 12)
		p.NoOffset = true
		p.Query = p.query()
		change(&p)
		return solve(t, p).WidthM
	}
	const bright, dull = 4, 0.4
	for _, tt := range []struct {
		name         string
		change       func(*Pass, float64)
		at           []float64
		bright, dull []float64
	}{
		{"speed", func(p *Pass, v float64) { p.SpeedMS = v }, []float64{0.2, 0.4, 0.8}, []float64{68, 60, 52}, []float64{39, 31, 23}},
		{"size", func(p *Pass, v float64) { p.Query.Source = object{v, p.Query.Source.(object).contrast} }, []float64{0.1, 0.35, 1}, []float64{46, 60, 71}, []float64{19, 31, 43}},
		{"attention", func(p *Pass, v float64) { p.Query.Search.Attention = v }, []float64{0.25, 0.5}, []float64{52, 60}, []float64{23, 31}},
	} {
		for i, v := range tt.at {
			change := func(p *Pass) { tt.change(p, v) }
			assert.InEpsilon(t, tt.bright[i], width(bright, change), 0.1, "%s %g, bright", tt.name, v)
			assert.InEpsilon(t, tt.dull[i], width(dull, change), 0.1, "%s %g, dull", tt.name, v)
		}
	}
}

// The forest's curve has a shoulder: inside of a quarter of the width a bright
// object is seen by nine passes in ten, a dull one by eight.
func TestShoulder(t *testing.T) {
	for _, tt := range []struct{ contrast, least float64 }{{4, 0.9}, {0.4, 0.8}} {
		p := forest(tt.contrast, 12)
		p.NoOffset = true
		c := solve(t, p)
		for x := 0.0; x <= 1; x += 0.1 {
			assert.GreaterOrEqual(t, c.Chance(x*c.WidthM/4), tt.least, "contrast %g at %g of a quarter", tt.contrast, x)
		}
	}
}

// A person from the air: W by the contrast as by the area, the root or a little
// more, when the object is small.
func TestContrastCountsAsArea(t *testing.T) {
	width := func(o object) float64 {
		p := flight(o, 150, 20e3, 45, observer.ClutterOpenGround, ScanLimitM(20e3))
		p.NoOffset = true
		return solve(t, p).WidthM
	}
	byArea := math.Log(width(object{1, 1})/width(object{0.5, 1})) / math.Ln2
	byContrast := math.Log(width(object{0.5, 2})/width(object{0.5, 1})) / math.Ln2
	assert.InDelta(t, 0.55, byArea, 0.1)
	assert.InDelta(t, byArea, byContrast, 0.15)
}

// Without clutter, haze or size the rate of finding falls as the square of the
// distance, within a tenth, from five times the threshold to a hundred; and a
// glimpse at a known place shows no less than one at a place in the sector.
func TestRateOfSmallThings(t *testing.T) {
	q := scene(object{1e-4, 7}, 3000, 1e9, 0)
	q.Search = observer.WalkingSearch()
	w := watch(t, q)
	at := func(m float64) float64 { return w.Rate(m) * m * m }
	middle := 1.0
	for w.V(middle) > 20 {
		middle *= 1.01
	}
	tried := 0
	for m := 1.0; w.V(m) > 5; m *= 1.1 {
		if w.V(m) < 100 {
			tried++
			assert.InEpsilon(t, at(middle), at(m), 0.1, "%g m, V %g", m, w.V(m))
		}
	}
	assert.Greater(t, tried, 10)
	for _, contrast := range []float64{0.4, 1.5, 4} {
		w := watch(t, forest(contrast, 12).Query)
		for m := 1.0; m < 200; m *= 1.5 {
			// The chance of one glimpse straight at it against that of one anywhere in
			// the sector.
			assert.GreaterOrEqual(t, observer.Seen(w.V(m))+1e-12, w.GlimpseChance(m), "contrast %g at %g m", contrast, m)
		}
	}
}
