package sighting_test

import (
	"testing"

	"farhail/signal/air"
	"farhail/signal/sighting"
	"farhail/signal/source"

	"github.com/stretchr/testify/require"
)

func whistle(level, noise float64) sighting.Hearing {
	// The exact midband of the third octave called 3.15 kHz.
	return sighting.Hearing{Source: source.Whistle{LevelDB: level, ToneHz: 3162.27766}, Air: air.DefaultSound(), NoiseDB: noise}
}

// Ranges of a whistle to a noise, Lp = L1 - 20 lg d - a d with a by ISO 9613-1,
// worked out beforehand.
func TestHowFarAWhistleIsHeard(t *testing.T) {
	for _, c := range []struct{ level, noise, want float64 }{
		{110, 15, 1472}, {110, 25, 1118}, {110, 35, 792}, {110, 45, 507},
		{115, 15, 1657}, {115, 25, 1292}, {115, 35, 951}, {115, 45, 643},
		{120, 15, 1846}, {120, 25, 1472}, {120, 35, 1118}, {120, 45, 792},
	} {
		h, err := sighting.Hear(whistle(c.level, c.noise))
		require.NoError(t, err)
		require.InDelta(t, c.want, h.PerceptibleM, 1.5, "%g dB to %g dB", c.level, c.noise)
		require.Less(t, h.NoticedM, h.PerceptibleM)
		louder, err := sighting.Hear(whistle(c.level, c.noise+sighting.ClearlyOverDB))
		require.NoError(t, err)
		require.InDelta(t, louder.PerceptibleM, h.NoticedM, 1e-6)
	}
}

func TestSoundSenses(t *testing.T) {
	h := whistle(115, 35)
	require.InDelta(t, 33.5, h.LevelDB(1000), 0.1)
	open, err := sighting.Hear(h)
	require.NoError(t, err)
	h.FoliageM = 150
	wood, err := sighting.Hear(h)
	require.NoError(t, err)
	require.Less(t, wood.PerceptibleM, open.PerceptibleM)
	loud := whistle(60, 40)
	near, err := sighting.Hear(loud)
	require.NoError(t, err)
	require.Equal(t, sighting.Noise, near.PerceptibleLimit)
	for _, bad := range []sighting.Hearing{whistle(-1, 35), whistle(115, 5), {}} {
		_, err := sighting.Hear(bad)
		require.Error(t, err)
	}
}
