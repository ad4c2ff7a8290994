package sweep

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"farhail/signal/observer"
)

// What correlated misses do to the lines of the score, as stated when the model
// was chosen: forest widths move by less than 5 % (TestCorrelatedMisses), two
// people on a track see an orange glove with .99 and a grey one with .61, a
// person from the air has 0.81 / 0.76 of the width.
func TestWhatTheOffsetDoes(t *testing.T) {
	glove := func(contrast float64, chance func(p [offsets]float64) float64) float64 {
		q := scene(object{0.02, contrast}, 300, 20e3, observer.ClutterForestFloor)
		q.EyeM = 1.5
		c := solve(t, Pass{Query: q, SpeedMS: 1, Plants: Plants{MeanClearM: 20}})
		sum := 0.0
		const n = 20
		for i := range n {
			sum += chance(c.chances(0.4+0.8*(float64(i)+0.5)/n)) / n
		}
		return sum
	}
	// The .61 is for one offset that both share; the split into the day's and the
	// watcher's, which the package uses, lets the second pair of eyes add more.
	common := func(p [offsets]float64) float64 {
		for i, v := range p {
			p[i] = 1 - math.Pow(1-v, 2)
		}
		return mean(p)
	}
	split := func(p [offsets]float64) float64 { return several(p, 2) }
	assert.InDelta(t, 0.61, glove(0.4, common), 0.005)
	assert.InDelta(t, 0.64, glove(0.4, split), 0.005)
	assert.InDelta(t, 0.99, glove(4, common), 0.005)
	assert.InDelta(t, 0.99, glove(4, split), 0.005)

	// The prototype also ended the path where it ended the scan to the side, so
	// that its widths are 5 % lower; the ratio is the same.
	person := flight(object{0.5, 1}, 150, 20e3, 45, observer.ClutterOpenGround, ScanLimitM(20e3))
	with := solve(t, person).WidthM
	person.NoOffset = true
	assert.InDelta(t, 0.81/0.76, with/solve(t, person).WidthM, 0.01)
	assert.InEpsilon(t, 810, with, 0.07)
}

// Who passes quickly sweeps less with glasses than by eye, since they cover a
// 49th of the scene at a time; who has time, more.
func TestGlassesInAPass(t *testing.T) {
	width := func(speedMS float64, g observer.Optics) float64 {
		p := Pass{Query: scene(object{0.25, 7}, 3000, 10e3, observer.ClutterOpenGround), SpeedMS: speedMS}
		p.Query.Observer.Optics = g
		return solve(t, p).WidthM
	}
	glasses := observer.Optics{Magnification: 7, ObjectiveMM: 50}
	assert.Less(t, width(30, glasses), width(30, observer.Optics{}))
	assert.Greater(t, width(0.5, glasses), width(0.5, observer.Optics{}))
}

// Glare and eyes not used to the dark never widen a pass.
func TestDazzledPass(t *testing.T) {
	night := passes()["lamp by night"]
	usual := solve(t, night).WidthM
	night.Query.Observer.VeilCDM2 = 0.1
	assert.LessOrEqual(t, solve(t, night).WidthM, usual*(1+1e-3))
	night.Query.Observer.VeilCDM2 = 0
	night.Query.Observer.Unadapted = true
	assert.LessOrEqual(t, solve(t, night).WidthM, usual*(1+1e-3))
}
