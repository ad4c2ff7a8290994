package sweep

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"farhail/signal/air"
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
	whole := newRates(w, ratesNearestM, 5000)
	for _, nearestM := range []float64{0.6, 17, 300, 4999} {
		short := newRates(w, nearestM, 5000)
		require.Len(t, short, len(whole))
		first, _ := place(math.Log(nearestM))
		require.Equal(t, whole[first:], short[first:], "from %g m", nearestM)
		require.Equal(t, whole[first], short[0], "held constant nearer than %g m", nearestM)
	}
	require.Empty(t, newRates(w, 1e6, 2e6), "a watcher who is never near enough")
}
