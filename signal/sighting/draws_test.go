package sighting

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/signal/air"
	"farhail/signal/observer"
	"farhail/signal/source"
)

func drawnQueries() map[string]Query {
	light := base()
	day := base()
	day.Source, day.Air.BackgroundCDM2 = flag(), air.DayBackgroundCDM2
	fire := base()
	fire.Source = source.Fire{HeatW: 1e5, BedM: 0.5}
	fire.EyeM = 300
	return map[string]Query{"light": light, "flag": day, "fire": fire}
}

// 64 points of low discrepancy give the 10 % and 90 % points of very many
// random draws. The points of 64 such draws are themselves uncertain by 0.14 of a
// standard deviation (0.21 if they were random), 6 % of these distances; twice
// that is let pass.
func TestBandsAgainstManyDraws(t *testing.T) {
	for name, q := range drawnQueries() {
		s := UsualSpread(q.Source.Kind())
		r := rand.New(rand.NewPCG(1, 2))
		n := 4000
		noticed, perceptible := make([]float64, n), make([]float64, n)
		for i := range n {
			d := q
			d.Air.VisibilityM *= math.Pow(10, s.VisibilityLog10*r.NormFloat64())
			d.OffsetLog10 = s.MedianLog10*r.NormFloat64() + s.PersonLog10*r.NormFloat64()
			d.Source = scaled{q.Source, math.Pow(10, s.StrengthLog10*r.NormFloat64())}
			d.Air.Refraction += s.Refraction * r.NormFloat64()
			d.EyeM += s.EyeM * r.NormFloat64()
			x := solve(t, d)
			noticed[i], perceptible[i] = x.Noticed.DistanceM, x.Perceptible.DistanceM
		}
		got, err := q.Bands(s, 7)
		require.NoError(t, err)
		for what, pair := range map[string][2]Band{"noticed": {got.Noticed, band(noticed)}, "perceptible": {got.Perceptible, band(perceptible)}} {
			assert.InEpsilon(t, pair[1].Low, pair[0].Low, 0.12, "%s %s", name, what)
			assert.InEpsilon(t, pair[1].High, pair[0].High, 0.12, "%s %s", name, what)
		}
	}
}

func TestBands(t *testing.T) {
	for name, q := range drawnQueries() {
		s := UsualSpread(q.Source.Kind())
		mid := solve(t, q)
		one, err := q.Bands(s, 7)
		require.NoError(t, err)
		again, err := q.Bands(s, 7)
		require.NoError(t, err)
		assert.Equal(t, one, again, name)
		other, err := q.Bands(s, 8)
		require.NoError(t, err)
		assert.NotEqual(t, one, other, name)
		assert.True(t, one.Noticed.Low < mid.Noticed.DistanceM && mid.Noticed.DistanceM < one.Noticed.High, "%s: %+v about %g", name, one.Noticed, mid.Noticed.DistanceM)
		assert.LessOrEqual(t, one.Noticed.High, one.Perceptible.High)
		sure, err := q.Bands(Spread{}, 7)
		require.NoError(t, err)
		assert.InEpsilon(t, mid.Noticed.DistanceM, sure.Noticed.Low, 1e-9, "nothing uncertain, no band")
		assert.Equal(t, sure.Noticed.Low, sure.Noticed.High)
	}

	// A threshold that is given is sure; a hidden line is never seen; no data is no band.
	q := base()
	q.Observer = observer.Observer{FixedLx: 1e-6}
	b, err := q.Bands(Spread{MedianLog10: 1, PersonLog10: 1}, 1)
	require.NoError(t, err)
	assert.Equal(t, b.Perceptible.Low, b.Perceptible.High)
	q.Ground = LineBlocked
	b, err = q.Bands(UsualSpread(source.KindLight), 1)
	require.NoError(t, err)
	assert.Equal(t, Band{}, b.Noticed)
	q.Ground = LineUnknown
	b, err = q.Bands(UsualSpread(source.KindLight), 1)
	require.NoError(t, err)
	assert.True(t, math.IsNaN(b.Noticed.High))
	q.EyeM = -1
	_, err = q.Bands(Spread{}, 1)
	assert.Error(t, err)
}

// All queries see the same draws: where nothing but the square of the distance
// counts, four times the light makes every point of the band twice as far. The
// three points are in order, and the middle one is near the result.
func TestDrawsAreShared(t *testing.T) {
	q := base()
	q.Ground, q.Air.VisibilityM = NoCurvature, 1e9
	bands := func(cd float64, seed uint64) Bands {
		q.Source = source.Light{IntensityCD: cd}
		b, err := q.Bands(UsualSpread(source.KindLight), seed)
		require.NoError(t, err)
		return b
	}
	for _, seed := range []uint64{0, 1, 77} {
		one, four := bands(100, seed), bands(400, seed)
		for _, p := range [][2]Band{{one.Noticed, four.Noticed}, {one.Perceptible, four.Perceptible}} {
			assert.InEpsilon(t, 2*p[0].Low, p[1].Low, 1e-3)
			assert.InEpsilon(t, 2*p[0].Mid, p[1].Mid, 1e-3)
			assert.InEpsilon(t, 2*p[0].High, p[1].High, 1e-3)
			assert.True(t, p[0].Low < p[0].Mid && p[0].Mid < p[0].High)
		}
		assert.InEpsilon(t, solve(t, q).Perceptible.DistanceM, four.Perceptible.Mid, 0.1)
	}
	assert.NotEqual(t, bands(100, 1), bands(100, 2))
}

// Every coordinate of the points is normal.
func TestNormalPoints(t *testing.T) {
	points := normalPoints(Draws, 3)
	for j := range drawn {
		sum, squares := 0.0, 0.0
		for _, p := range points {
			sum += p[j]
			squares += p[j] * p[j]
		}
		assert.InDelta(t, 0, sum/Draws, 0.05)
		assert.InDelta(t, 1, squares/Draws, 0.1)
	}
}
