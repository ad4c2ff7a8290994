package sweep

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"farhail/signal/air"
	"farhail/signal/observer"
	"farhail/signal/sighting"
	"farhail/signal/source"
)

// The rates of a watcher who is never near do not differ from there on from those
// of one who comes up close.
func TestRatesFromNearest(t *testing.T) {
	w, err := sighting.Query{
		Source: source.Flag{WidthM: 1, HeightM: 1, Reflectance: 0.4, Behind: 0.1},
		Air:    air.Default(air.DayBackgroundCDM2), Clutter: 0.025, Ground: sighting.NoCurvature,
	}.Watch()
	require.NoError(t, err)
	whole := newRates(w, ratesNearestM, 2000).ln
	for _, nearestM := range []float64{0.6, 17, 300, 1700} {
		short := newRates(w, nearestM, 2000).ln
		require.Len(t, short, len(whole))
		first, _ := place(math.Log(nearestM))
		require.Equal(t, whole[first:], short[first:], "from %g m", nearestM)
		require.Equal(t, whole[first], short[0], "held constant nearer than %g m", nearestM)
	}
	require.InEpsilon(t, w.FarthestM(), newRates(w, ratesNearestM, 1e6).endM, 1e-12, "ends where the watch does")
}

// Up to the end the table holds the rates of the watch, and nothing beyond.
func TestRatesEnd(t *testing.T) {
	for _, q := range []sighting.Query{
		{Source: source.Flag{WidthM: 1, HeightM: 1, Reflectance: 0.4, Behind: 0.1}, Air: air.Default(air.DayBackgroundCDM2), Ground: sighting.NoCurvature},
		{Source: source.Light{IntensityCD: 90}, Air: air.Default(100), Ground: sighting.NoCurvature},
	} {
		w, err := q.Watch()
		require.NoError(t, err)
		r, end := newRates(w, ratesNearestM, 1e7), w.FarthestM()
		for _, d := range []float64{1, 0.1 * end, 0.9 * end, 0.97 * end, 0.999 * end, end} {
			require.InEpsilon(t, w.Rate(d), r.at(place(math.Log(d))), 5e-3, "%s at %g m", q.Source, d)
		}
		require.Positive(t, w.Rate(end))
		require.Zero(t, w.Rate(end*(1+1e-6)))
		require.Greater(t, w.V(end*0.999), observer.VisibilityRatio(0.9))
	}
}
