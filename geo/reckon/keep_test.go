package reckon

import (
	"bytes"
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

// walked returns the fixes of somebody who walks straight legs at 1.2 m/s, a fix
// every 5 s with an error of a receiver.
func walked(r *rand.Rand, from orb.Point, begin time.Time, noiseM float64, legs ...[2]float64) (s track.Segment, end orb.Point) {
	at, when := from, begin
	add := func() {
		p, _ := earth.Direct(at, earth.NewTrue(360*r.Float64()), noiseM*math.Abs(r.NormFloat64()))
		s = append(s, track.Fix{Point: p, Time: when})
	}
	add()
	for _, l := range legs {
		for done := 0.0; done < l[1]; done += 6 {
			at, _ = earth.Direct(at, earth.NewTrue(l[0]), math.Min(6, l[1]-done))
			when = when.Add(5 * time.Second)
			add()
		}
	}
	return s, at
}

func keep(t *testing.T, tr track.Track, k Keeping) (*Log, string) {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Keep(&b, tr, k))
	l, err := ParseLog(strings.NewReader(b.String()), "kept")
	require.NoError(t, err, b.String())
	require.Empty(t, l.Warnings, b.String())
	return l, b.String()
}

// The log kept of a track leads to where the track ends, but for rounding: half a
// degree across and half a pace along of every leg at most.
func TestKeepRoundTrip(t *testing.T) {
	begin := time.Date(2026, 11, 24, 8, 30, 0, 0, time.UTC)
	worst, sum, count := 0.0, 0.0, 0
	for seed := range uint64(60) {
		r := rand.New(rand.NewPCG(seed, 31))
		var legs [][2]float64
		for range 2 + r.IntN(20) {
			legs = append(legs, [2]float64{360 * r.Float64(), 60 + 600*r.Float64()})
		}
		fixes, _ := walked(r, orb.Point{1.5, 42.5}, begin, 3, legs...)
		k := Keeping{North: []North{True, Magnetic, Grid, ""}[seed%4], DeclinationDeg: -12.34, ConvergenceDeg: 1.87}
		if seed%3 > 0 {
			k.Pace = &Pace{StepM: 100.0 / 116, Double: seed%3 == 2}
		}
		l, text := keep(t, track.Track{Segments: []track.Segment{fixes}}, k)
		got, err := Run(l, Options{})
		require.NoError(t, err)
		bound := 0.5
		for _, s := range got.Legs {
			half := 0.5
			if k.Pace != nil {
				half = k.Pace.Metres() / 2
			}
			bound += math.Hypot(s.MapM*0.505*math.Pi/180, half)
		}
		miss := earth.Distance(got.End, fixes[len(fixes)-1].Point)
		require.Less(t, miss, bound, text)
		worst, sum, count = math.Max(worst, miss/got.LengthM), sum+miss/got.LengthM, count+1
		// Turns of 20 m and more show: no fix is farther off the log's legs than that
		// and the rounding.
		require.LessOrEqual(t, len(l.Legs), len(legs)+3, text)
	}
	t.Logf("kept logs end off the track by %.2f %% of its length on the mean, %.2f %% at worst", 100*sum/float64(count), 100*worst)
	require.Less(t, sum/float64(count), 0.005)
}

// One leg for a straight stretch, whatever the receiver's wander; an out and back is
// two.
func TestKeepTurns(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 32))
	fixes, _ := walked(r, orb.Point{1.5, 42.5}, time.Time{}, 4, [2]float64{40, 1500})
	l, _ := keep(t, track.Track{Segments: []track.Segment{fixes}}, Keeping{})
	require.Len(t, l.Legs, 1)
	require.InDelta(t, 40, l.Legs[0].BearingDeg, 0.51)
	require.InDelta(t, 1500, l.Legs[0].WalkedM, 10)

	fixes, _ = walked(r, orb.Point{1.5, 42.5}, time.Time{}, 4, [2]float64{40, 500}, [2]float64{220, 500})
	l, _ = keep(t, track.Track{Segments: []track.Segment{fixes}}, Keeping{})
	require.Len(t, l.Legs, 2)
	require.InDelta(t, 220, l.Legs[1].BearingDeg, 1)

	// A finer offset sees the bend of 15 m, the coarse one does not.
	bend, _ := walked(r, orb.Point{1.5, 42.5}, time.Time{}, 0, [2]float64{10, 100}, [2]float64{350, 100})
	for offset, legs := range map[float64]int{5: 2, 20: 1} {
		l, _ = keep(t, track.Track{Segments: []track.Segment{bend}}, Keeping{OffsetM: offset})
		require.Len(t, l.Legs, legs)
	}
}

// Gaps are breaks, near segments one walk, stops notes; times run past midnight.
func TestKeepGapsAndStops(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 33))
	begin := time.Date(2026, 11, 24, 23, 50, 0, 0, time.UTC)
	a, end := walked(r, orb.Point{1.5, 42.5}, begin, 2, [2]float64{0, 400})
	stay := a[len(a)-1].Time
	for i := range 12 { // a rest of 11 minutes
		p, _ := earth.Direct(end, earth.NewTrue(30*float64(i)), 4)
		a = append(a, track.Fix{Point: p, Time: stay.Add(time.Duration(i) * time.Minute)})
	}
	b, end := walked(r, end, stay.Add(12*time.Minute), 2, [2]float64{90, 400})
	far, _ := earth.Direct(end, 0, 700)
	c, end := walked(r, far, stay.Add(60*time.Minute), 2, [2]float64{180, 300})

	l, text := keep(t, track.Track{Name: "Andorra  loop", Segments: []track.Segment{a, b, nil, c, {c[0]}}}, Keeping{Zone: time.FixedZone("", 3600)})
	require.Len(t, l.Legs, 3, text)
	require.Len(t, l.Known, 1, text)
	require.True(t, l.Known[0].Break)
	require.Contains(t, text, "# Andorra loop\n")
	require.Contains(t, text, "# stopped 12 min", "the rest, and the steps within 20 m of it")
	require.Contains(t, text, " m not recorded")
	require.Contains(t, text, "date: 2026-11-25 +01:00\n", "the first leg ends after midnight in the zone")
	require.Equal(t, b[len(b)-1].Time, l.Legs[1].Time.UTC())
	require.Equal(t, c[len(c)-1].Time, l.Legs[2].Time.UTC())
	got, err := Run(l, Options{})
	require.NoError(t, err)
	require.Less(t, earth.Distance(got.End, end), 12.0)

	// Without clocks that can be trusted there are no times.
	a[3].Time, b[len(b)-1].Time = time.Time{}, begin.Add(-time.Hour)
	_, text = keep(t, track.Track{Segments: []track.Segment{a, b}}, Keeping{})
	require.NotContains(t, text, "@")
	require.NotContains(t, text, "date")

	still := track.Track{Segments: []track.Segment{{c[0], c[0]}, {}}}
	require.ErrorIs(t, Keep(&bytes.Buffer{}, still, Keeping{}), ErrStill)
	require.ErrorIs(t, Keep(&bytes.Buffer{}, track.Track{}, Keeping{}), ErrStill)
	across := track.Segment{track.At(orb.Point{0, 0}), track.At(orb.Point{20, 0})}
	require.ErrorContains(t, Keep(&bytes.Buffer{}, track.Track{Segments: []track.Segment{across}}, Keeping{}), "300 km")
}

// Whatever a track holds, a log kept of it reads back, and every one of its fixes
// lies within the offset of a leg.
func TestKeepWithinOffset(t *testing.T) {
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 34))
		at := orb.Point{10, 60}
		var fixes track.Segment
		heading := 0.0
		for range 200 {
			heading += 40 * r.NormFloat64()
			at, _ = earth.Direct(at, earth.NewTrue(heading), 30*r.Float64())
			fixes = append(fixes, track.At(at))
		}
		run, err := newKeptRun(fixes, 25)
		require.NoError(t, err)
		plane, err := flat(fixes)
		require.NoError(t, err)
		k := 0
		for _, leg := range run.legs {
			from := k
			for fixes[k].Point != leg.to.Point {
				k++
			}
			_, off := farthest(plane, from, k)
			require.LessOrEqual(t, off, 25.0+leastLegM)
		}
		require.Equal(t, fixes[len(fixes)-1].Point, run.end().Point)
	}
}
