package job

import (
	"math"
	"testing"
	"testing/fstest"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/sky"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

func cardPlan(t *testing.T, position, signals string) (fstest.MapFS, *plan.Plan) {
	t.Helper()
	fsys := fstest.MapFS{"plan.yaml": {Data: []byte("version: 1\nas_of: 2026-12-21T12:00:00Z\nzone: Europe/Andorra\nstarts:\n  - {name: here, kind: planning, position: " + position +
		", error: 10 m, time: \"2026-12-21T12:00:00Z\"}\n" + signals)}}
	p, err := plan.Read(fsys, "plan.yaml")
	require.NoError(t, err)
	return fsys, p
}

const cardLamp = "traveller:\n  signals:\n    - {name: lamp, light: 100 cd, rated_time: 1 h, lit_from: \"2026-12-20T12:00:00Z\"}\n    - {name: flag, flag: 1x1 m}\n    - {name: mirror, mirror: 76x127 mm}\n    - {name: whistle, whistle: 115 dB}\n"

func TestCard(t *testing.T) {
	fsys, p := cardPlan(t, "42.55 1.60", cardLamp)
	c, _, err := MakeCard(t.Context(), fsys, p, time.Time{}, Options{})
	require.NoError(t, err)
	require.Equal(t, "2026-12-21", c.Date)
	find := func(signal, light, air string) CardSight {
		for _, s := range c.Signals {
			for _, d := range s.Sights {
				if s.Signal == signal && d.Light == light && d.Air == air {
					return d
				}
			}
		}
		t.Fatalf("no %s by %s in %s", signal, light, air)
		return CardSight{}
	}
	// The same as sight gives for that light and air, the battery fresh.
	where := orb.Point{1.60, 42.55}
	nan := math.NaN()
	alone, err := Sight(SightRequest{
		Signal: p.Traveller.Signals[1], At: *c.Lights[0].At, Place: &where, Behind: "ground", Cloud: "clear", WindMS: plan.DefaultWindMS, BackgroundCDM2: nan,
		VisibilityM: 3000, Refraction: plan.DefaultRefraction, EarthRadiusM: 6371008.8, EyeM: plan.DefaultEyeHeightM, ThresholdLx: nan, ThresholdContrast: nan, ToM: nan,
	})
	require.NoError(t, err)
	require.InDelta(t, float64(alone.NoticedM), float64(find("flag", "day", "haze").NoticedM), 1)

	for _, s := range []string{"lamp", "flag", "mirror"} {
		for _, light := range []string{"day", "dusk", "night"} {
			clear, haze, fog := find(s, light, "clear"), find(s, light, "haze"), find(s, light, "fog")
			if math.IsNaN(float64(clear.NoticedM)) {
				require.True(t, s == "mirror" && light != "day" || s == "flag" && light == "night", "%s by %s serves", s, light)
				continue
			}
			require.True(t, clear.NoticedM >= haze.NoticedM && haze.NoticedM > fog.NoticedM && fog.NoticedM > 0, "%s by %s: haze takes", s, light)
			require.LessOrEqual(t, clear.NoticedM, clear.PerceptibleM)
		}
	}
	require.Greater(t, find("lamp", "night", "clear").NoticedM, find("lamp", "day", "clear").NoticedM)
	require.Equal(t, 115, int(p.Traveller.Signals[3].SoundDB))
	require.Len(t, c.Signals[3].Sights, 1)
	require.Len(t, c.Symbols, 5)
	require.EqualValues(t, 2.5, c.Symbols[0].LeastM)
}

// The mirror's hours end where the sun stands at their elevation, and lie about noon.
func TestMirrorTimes(t *testing.T) {
	where := orb.Point{1.60, 42.55}
	noon := time.Date(2026, 12, 21, 12, 0, 0, 0, zone(t, "Europe/Andorra"))
	m := mirrorTimes(where, noon, noon.Location())
	require.Len(t, m.Spans, 1)
	require.Len(t, m.AllRound, 1)
	for _, c := range []struct {
		at  time.Time
		deg float64
	}{{*m.Spans[0].From, 5}, {*m.Spans[0].Until, 5}, {*m.AllRound[0].From, 20}, {*m.AllRound[0].Until, 20}} {
		require.InDelta(t, c.deg, sky.Sun(where, c.at).ApparentDeg, 0.2, "the sun climbs no more than a fifth of a degree in a minute")
	}
	middle := m.Spans[0].From.Add(m.Spans[0].Until.Sub(*m.Spans[0].From) / 2)
	require.InDelta(t, 0, dayOf(where, noon, noon.Location()).Noon.Sub(middle).Seconds(), 90)

	// At 78 N the sun stays down in December and up in June.
	north := orb.Point{15.6, 78.2}
	require.Empty(t, mirrorTimes(north, noon, time.UTC).Spans)
	june := time.Date(2026, 6, 21, 12, 0, 0, 0, time.UTC)
	all := mirrorTimes(north, june, time.UTC)
	require.Len(t, all.Spans, 1)
	require.Equal(t, []string{"00:00", "23:59"}, []string{all.Spans[0].From.Format("15:04"), all.Spans[0].Until.Format("15:04")})
}

func TestCardLightsNearThePole(t *testing.T) {
	north := orb.Point{15.6, 78.2}
	occurs := func(month time.Month) (list []bool) {
		for _, l := range cardLights(north, time.Date(2026, month, 21, 12, 0, 0, 0, time.UTC), time.UTC) {
			list = append(list, l.Occurs)
		}
		return list
	}
	require.Equal(t, []bool{true, false, false}, occurs(time.June), "neither dusk nor night")
	require.Equal(t, []bool{false, false, true}, occurs(time.December), "night all day")
}

func TestCardNeedsSignalsAndAPlace(t *testing.T) {
	fsys, p := cardPlan(t, "42.55 1.60", "")
	_, _, err := MakeCard(t.Context(), fsys, p, time.Time{}, Options{})
	require.ErrorIs(t, err, errCard)
	var h interface{ Hint() string }
	require.ErrorAs(t, err, &h)
	require.Contains(t, h.Hint(), "signals")
	p.Starts = nil
	p.Traveller.Signals = []plan.Signal{{Name: "lamp", Kind: plan.Light}}
	_, _, err = MakeCard(t.Context(), fsys, p, time.Time{}, Options{Words: cli.Words{}})
	require.ErrorIs(t, err, errCard)
}
