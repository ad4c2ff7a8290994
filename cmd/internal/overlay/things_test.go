package overlay

import (
	"bytes"
	"testing"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/geo/earth"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

// TestThings: each signal says once what else it does.
func TestThings(t *testing.T) {
	lit := time.Date(2026, 11, 24, 18, 0, 0, 0, time.UTC)
	out, later := lit.Add(9*time.Hour), lit.Add(time.Hour)
	signal := func(name string) job.Sighting {
		return job.Sighting{Signal: name, At: &later, Point: orb.Point{1.5, 42.5}}
	}
	lamp, rated, plain, symbol, fires, smoke := signal("lamp"), signal("rated"), signal("plain"), signal("letter"), signal("three"), signal("column")
	lamp.Lamp = &job.SightLamp{Standard: "lsa-lifejacket-light", LastsS: 9 * 3600, LitFrom: &lit, OutAt: &out}
	rated.Lamp = &job.SightLamp{LastsS: 9 * 3600}
	plain.Lamp = &job.SightLamp{}
	symbol.Symbol = &job.SightSymbol{Letter: "X", Meaning: "require medical assistance", LegibleM: 1074, Aside: []job.SightHeight{{HeightM: 150, GroundM: 372}, {HeightM: 2000}}}
	fires.Fires = &job.SightFires{Count: 3, ApartM: 25, TwoApartM: 9000, TwoApartNoticedM: 6160, ThreeApartM: 5000, ThreeApartNoticedM: 1740}
	smoke.Smoke = &job.SightSmoke{TopM: 43.5}
	var text bytes.Buffer
	require.NoError(t, Brief(&text, &job.Result{Sight: []job.Sighting{lamp, lamp, rated, plain, symbol, fires, smoke}}))
	brief := string(bytes.Join(bytes.Fields(text.Bytes()), []byte(" ")))
	require.Contains(t, brief, "lamp: as lsa-lifejacket-light asks for; lit from 24 NOV 18:00, out at 25 NOV 03:00.")
	require.Equal(t, 1, bytes.Count([]byte(brief), []byte("out at 25 NOV")))
	require.Contains(t, brief, "rated: burns for 9 h once lit; the plan does not say when.")
	require.NotContains(t, brief, "plain:")
	require.Contains(t, brief, "letter: X (require medical assistance), read from up to 1.07 km straight above it; from 150 m above the ground up to 372 m aside.")
	require.Contains(t, brief, "three: 3, 25.0 m apart, told apart as two from 6.16 km, at best 9.00 km, as three from 1.74 km, at best 5.00 km.")
	require.Contains(t, brief, "column: the smoke stands up to 43.5 m above its fire")
	text.Reset()
	require.NoError(t, Brief(&text, &job.Result{Sight: []job.Sighting{plain}}))
	require.NotContains(t, text.String(), "WHAT ELSE")
}

// TestAimedLampOnTheMap: an aimed lamp is drawn as far as it is noticed on each
// bearing, and no farther than the ground lets it be.
func TestAimedLampOnTheMap(t *testing.T) {
	s := job.Sighting{Signal: "lamp", Point: orb.Point{1.5, 42.5}}
	s.Kind, s.NoticedM = "light", 4000
	s.Lamp = &job.SightLamp{}
	for deg := 0.0; deg < 360; deg += 5 {
		reach := job.SightReach{NoticedM: 500}
		reach.AzimuthDeg += cli.Deg(deg)
		if deg >= 60 && deg <= 120 {
			reach.NoticedM = 5000
		}
		s.Lamp.Reach = append(s.Lamp.Reach, reach)
	}
	ring := lampReach(s).(orb.Polygon)[0]
	require.Len(t, ring, 73)
	require.Equal(t, orb.CCW, ring.Orientation())
	for _, p := range ring {
		d, bearing, _ := earth.Inverse(s.Point, p)
		want := 500.0
		if bearing > 59 && bearing < 121 {
			want = 4000
		}
		require.InDelta(t, want, d, 0.01, "at %g", float64(bearing))
	}
	round := s
	round.Lamp = &job.SightLamp{}
	for _, l := range Layers(&job.Result{Sight: []job.Sighting{s, round}}) {
		if l.ID != Sights {
			continue
		}
		require.Equal(t, orb.Polygon{ring}, l.Features[0].Geometry)
		require.Greater(t, len(l.Features[1].Geometry.(orb.Polygon)[0]), 3)
	}
}
