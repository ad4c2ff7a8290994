package reckon

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"farhail/geo/earth"
	"farhail/geo/track"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

// student returns a track, and the log of somebody who kept it with errors and
// with one slip; leg is -1 for none.
func student(r *rand.Rand, legs int, leg int, kind SlipKind) (track.Track, string) {
	var walk [][2]float64
	var b strings.Builder
	b.WriteString("north: true\npace: 0.8 m per step\n")
	bearing := 360 * r.Float64()
	for i := range legs {
		bearing = earth.Wrap360(bearing + 25 + 130*r.Float64()*float64(1-2*r.IntN(2)))
		d := 80 + 400*r.Float64()
		walk = append(walk, [2]float64{bearing, d})
		deg := int(math.Round(earth.Wrap360(bearing+3*r.NormFloat64()))) % 360
		count := int(math.Round(d / 0.8 * (1 + 0.05*r.NormFloat64())))
		if i == leg {
			switch kind {
			case BackBearing:
				deg = (deg + 180) % 360
			case Doubled:
				count *= 2
			case Halved:
				count /= 2
			}
		}
		fmt.Fprintf(&b, "%03d %d single paces\n", deg, count)
	}
	fixes, _ := walked(r, orb.Point{1.5, 42.5}, time.Time{}, 3, walk...)
	return track.Track{Segments: []track.Segment{fixes}}, b.String()
}

// The planted leg is the worst, its slip is named, and the others' errors are those
// that were made.
func TestScoreFindsSlips(t *testing.T) {
	o := Options{SigmaDistance: 0.05, SigmaBearingDeg: 3}
	kinds := []SlipKind{BackBearing, Doubled, Halved}
	worst, named, accused, legs := 0, 0, 0, 0
	const seeds = 30
	for seed := range uint64(seeds) {
		r := rand.New(rand.NewPCG(seed, 41))
		n := 6 + r.IntN(7)
		leg, kind := r.IntN(n), kinds[seed%3]
		tr, text := student(r, n, leg, kind)
		s, err := ScoreLog(parse(t, text), tr, o)
		require.NoError(t, err)
		require.Len(t, s.Legs, n)
		if s.Worst == leg {
			worst++
		}
		if s.Legs[leg].Kind == kind {
			named++
		}
		for i, l := range s.Legs {
			if i != leg {
				legs++
				if l.Kind != "" {
					accused++
				}
			}
		}
	}
	t.Logf("of %d planted slips the leg is the worst in %d, its kind named in %d; of %d good legs %d are accused", seeds, worst, named, legs, accused)
	require.GreaterOrEqual(t, worst, seeds*9/10)
	require.GreaterOrEqual(t, named, seeds*9/10)
	require.LessOrEqual(t, accused, legs/50)
}

// A log without a slip: errors of legs are those of the walker and the receiver,
// and the end's is that of the log.
func TestScoreOfAGoodLog(t *testing.T) {
	o := Options{SigmaDistance: 0.05, SigmaBearingDeg: 3}
	for seed := range uint64(6) {
		r := rand.New(rand.NewPCG(seed, 42))
		tr, text := student(r, 8, -1, "")
		s, err := ScoreLog(parse(t, text), tr, o)
		require.NoError(t, err)
		first, last, _ := tr.Ends()
		require.Equal(t, first, s.Legs[0].From)
		require.Equal(t, last, s.Legs[7].To)
		require.Equal(t, last, s.Actual)
		l := parse(t, text)
		l.Start = first
		run, err := Run(l, o)
		require.NoError(t, err)
		require.InDelta(t, earth.Distance(run.End, last), s.EndErrorM, 1e-6)
		require.InDelta(t, s.EndErrorM/s.TrackM, s.EndErrorShare, 1e-12)
		for i, leg := range s.Legs {
			if i > 0 {
				require.Equal(t, s.Legs[i-1].To, leg.From)
			}
			require.Empty(t, leg.Kind)
			require.Less(t, math.Abs(leg.BearingErrorDeg), 15.0)
			require.Less(t, math.Abs(leg.DistanceErrorM), 20+0.2*leg.TrackM)
			led, _ := earth.Direct(leg.From, run.Legs[i].Bearing, run.Legs[i].MapM)
			require.InDelta(t, earth.Distance(led, leg.To), leg.MissM, 1e-6)
			require.LessOrEqual(t, leg.MissM, s.Legs[s.Worst].MissM)
		}
	}
}

// A log that breaks off goes on where the track has gone meanwhile.
func TestScoreOverABreak(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 43))
	fixes, _ := walked(r, orb.Point{1.5, 42.5}, time.Time{}, 1, [2]float64{0, 300}, [2]float64{90, 300}, [2]float64{180, 200}, [2]float64{90, 400})
	at, _ := earth.Direct(orb.Point{1.5, 42.5}, 0, 300)
	at, _ = earth.Direct(at, 90, 300)
	text := fmt.Sprintf("north: true\nstart: 42.5, 1.5\n000 300 m\nbreak\nat %.6f, %.6f ±10 m\n180 210 m\n093 400 m\n", at.Lat(), at.Lon())
	s, err := ScoreLog(parse(t, text), track.Track{Segments: []track.Segment{fixes}}, practised())
	require.NoError(t, err)
	require.InDelta(t, 300, s.Legs[0].TrackM, 12)
	require.InDelta(t, 200, s.Legs[1].TrackM, 12)
	require.InDelta(t, 3, s.Legs[2].BearingErrorDeg, 2)
	require.Greater(t, earth.Distance(s.Legs[0].To, s.Legs[1].From), 280.0)
}

func TestScoreRefuses(t *testing.T) {
	short := track.Track{Segments: []track.Segment{{track.At(orb.Point{1.5, 42.5}), track.At(orb.Point{1.5, 42.6})}}}
	for text, cause := range map[string]error{
		"north: true\n000 5 m\n090 5 m\n":     ErrShortTrack,
		"north: true\ncompass: none\n0 5 m\n": ErrUnscored,
	} {
		_, err := ScoreLog(parse(t, text), short, practised())
		require.ErrorIs(t, err, cause)
	}
	_, err := ScoreLog(parse(t, "north: true\n000 5 m\n"), track.Track{}, practised())
	require.ErrorIs(t, err, ErrShortTrack)
}
