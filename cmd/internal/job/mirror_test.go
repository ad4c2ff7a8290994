package job

import (
	"math"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
)

// glass asks for a mirror at an hour in Andorra.
func glass(at time.Time) SightRequest {
	nan := math.NaN()
	return SightRequest{
		Signal: plan.Signal{Kind: plan.Mirror, HeightM: 1.5}, At: at, Place: &orb.Point{1.5, 42.5}, Behind: "ground", Cloud: "clear",
		Mirror: &MirrorRequest{WidthM: 0.076, HeightM: 0.127, SunAzimuthDeg: nan, SunElevationDeg: nan, TargetAzimuthDeg: nan, TargetElevationDeg: nan},

		VisibilityM: 20_000, Refraction: 0.13, EarthRadiusM: earth.MeanRadiusM, BackgroundCDM2: nan,
		EyeM: 1.7, ThresholdLx: nan, ThresholdContrast: nan, ToM: nan, Flat: true,
	}
}

func TestWhereAMirrorReaches(t *testing.T) {
	zone := time.FixedZone("", 3600)
	morning := glass(time.Date(2026, 12, 21, 9, 0, 0, 0, zone))
	s, err := Sight(morning)
	require.NoError(t, err)
	m := s.Mirror
	require.False(t, m.AllRound, "a low sun leaves its far side dark")
	require.InDelta(t, 90, float64(m.TurnDeg), 1e-6, "level and square to the sun where nothing is aimed at")
	require.Equal(t, m.FromDeg, m.Reach[0].AzimuthDeg)
	require.InDelta(t, float64(m.ToDeg), float64(m.Reach[len(m.Reach)-1].AzimuthDeg), 1e-9)
	// The most light goes to the sun's side, the least to the ends.
	best := 0
	for i, on := range m.Reach {
		require.Positive(t, float64(on.NoticedM))
		if on.NoticedM > m.Reach[best].NoticedM {
			best = i
		}
		if i > 0 {
			rising := on.IntensityCD > m.Reach[i-1].IntensityCD
			require.Equal(t, float64(on.NoticedM) > float64(m.Reach[i-1].NoticedM), rising)
		}
	}
	require.InDelta(t, float64(m.SunAzDeg), float64(m.Reach[best].AzimuthDeg), reachStepDeg)
	require.Len(t, m.Hours, 9, "from 09:00 to 17:00: the sun rises at 08:21 and sets at 17:23")
	for _, h := range m.Hours {
		require.GreaterOrEqual(t, float64(h.SunCD), float64(h.SquareCD)*0.99)
		require.Equal(t, float64(h.SunElDeg) > 20, h.AllRound, "all round where cos h < cos 20 deg")
	}

	two := glass(morning.At)
	two.Mirror.Second = true
	s, err = Sight(two)
	require.NoError(t, err)
	require.Len(t, s.Mirror.Reach, 36, "two mirrors reach all round")

	for name, r := range map[string]SightRequest{"night": glass(time.Date(2026, 12, 21, 23, 0, 0, 0, zone)), "overcast": glass(morning.At)} {
		if name == "overcast" {
			r.Cloud = name
		}
		s, err := Sight(r)
		require.NoError(t, err)
		require.Equal(t, []string{"sun", "sun"}, []string{s.Limit, s.LimitNoticed}, name)
		require.Zero(t, float64(s.PerceptibleM))
		require.Empty(t, s.Mirror.Reach)
		require.Equal(t, "none", s.Mirror.Words())
		require.Contains(t, s.Why, "the sun does not allow it")
	}
}

// A sector is written as bearings are said.
func TestSectorWords(t *testing.T) {
	require.Equal(t, "230 clockwise to 050", MirrorSector{FromDeg: 229.6, ToDeg: 50.4}.Words())
	require.Equal(t, "000 clockwise to 180", MirrorSector{FromDeg: 359.7, ToDeg: 180}.Words())
	require.Equal(t, "all round but for 000", MirrorSector{FromDeg: 0.2, ToDeg: 359.8}.Words())
	require.Equal(t, "090 alone", MirrorSector{FromDeg: 89.8, ToDeg: 90.2}.Words())
}

// Neither what is heard nor a mirror is given a site: the next signal is.
func TestPlacesOnlyWhatIsSeenAllRound(t *testing.T) {
	p := &plan.Plan{}
	p.Traveller.Signals = []plan.Signal{{Name: "pipe", Kind: plan.Whistle}, {Name: "glass", Kind: plan.Mirror}, {Name: "cloth", Kind: plan.Flag}}
	r := &placing{run: &run{plan: p}, ask: plan.Placement{Question: plan.PlacePassive}}
	s, ok := r.signalAt(time.Unix(0, 0))
	require.True(t, ok)
	require.Equal(t, "cloth", s.Name)
	r.ask.Signal = "pipe"
	_, ok = r.signalAt(time.Unix(0, 0))
	require.False(t, ok)

	// A sound may draw people, and a person may be looked for.
	r.ask.Question = plan.PlaceAttract
	s, ok = r.signalAt(time.Unix(0, 0))
	require.True(t, ok)
	require.Equal(t, "pipe", s.Name)
	p.Traveller.Signals = []plan.Signal{{Name: "walker", Kind: plan.Figure}, {Name: "fire", Kind: plan.Fire}}
	r.ask = plan.Placement{Question: plan.PlaceLookouts}
	s, _ = r.signalAt(time.Unix(0, 0))
	require.Equal(t, "walker", s.Name)
	r.ask = plan.Placement{Question: plan.PlacePassive}
	_, ok = r.signalAt(time.Unix(0, 0))
	require.False(t, ok, "no fire is allowed")
	r.ask.FireAllowed = true
	s, _ = r.signalAt(time.Unix(0, 0))
	require.Equal(t, "fire", s.Name)
}
