package track

import (
	"math"
	"testing"
	"time"

	"farhail/geo/earth"
	"farhail/geo/geotest"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var t0 = time.Date(2026, 3, 1, 6, 0, 0, 0, time.UTC)

// east makes a segment along the parallel of 42.5 N from 1.5 E: a fix at each
// number of metres, with the seconds after t0 beside it; a negative number of
// seconds is no time.
func east(pairs ...float64) Segment {
	var s Segment
	for i := 0; i < len(pairs); i += 2 {
		p, _ := earth.Direct(orb.Point{1.5, 42.5}, 90, pairs[i])
		f := At(p)
		if pairs[i+1] >= 0 {
			f.Time = t0.Add(time.Duration(pairs[i+1] * float64(time.Second)))
		}
		s = append(s, f)
	}
	return s
}

const none = -1 // no time

func TestZeroValues(t *testing.T) {
	var tr Track
	assert.True(t, tr.Bound().IsEmpty())
	assert.Zero(t, tr.Points())
	assert.Empty(t, tr.Every(Spacing{}))
	assert.Empty(t, tr.Gaps(0))
	assert.Empty(t, tr.ClockFaults())
	s := tr.Summary()
	assert.Zero(t, s.LengthM)
	for _, v := range []float64{s.ElapsedS, s.RecordedS, s.MeanSpeedMS, s.MinHeightM, s.MaxHeightM, s.AscentM, s.DescentM} {
		assert.True(t, math.IsNaN(v), "unknown is not 0")
	}
	assert.True(t, math.IsNaN(At(orb.Point{}).HeightM))
}

// TestLengthCheck: a segment's length against GeodSolve.
func TestLengthCheck(t *testing.T) {
	geotest.Check(t, "track-length", func(in []string) ([]any, error) {
		v, err := geotest.Floats(in)
		if err != nil {
			return nil, err
		}
		var s Segment
		for i := 0; i < len(v); i += 2 {
			s = append(s, At(orb.Point{v[i+1], v[i]}))
		}
		return []any{s.LengthM()}, nil
	})
}

func TestBound(t *testing.T) {
	seg := func(lons ...float64) (s Segment) {
		for _, lon := range lons {
			s = append(s, At(orb.Point{lon, 10}))
		}
		return s
	}
	cases := []struct {
		name       string
		in         []Segment
		west, east float64
	}{
		{"one", []Segment{seg(7)}, 7, 7},
		{"two segments", []Segment{seg(1, 2), nil, seg(-3)}, -3, 2},
		{"over the line eastward", []Segment{seg(179, -179, -178)}, 179, 182},
		{"over the line westward", []Segment{seg(-179, 179)}, 179, 181},
		{"over and back", []Segment{seg(179, -179), seg(178)}, 178, 181},
		{"along it", []Segment{seg(-180, 180)}, -180, -180},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			b := Track{Segments: c.in}.Bound()
			assert.Equal(t, c.west, b.Min.Lon())
			assert.Equal(t, c.east, b.Max.Lon())
		})
	}
}

func TestSummary(t *testing.T) {
	a := east(0, 0, 100, 60, 250, none, 300, 90)
	a[0].HeightM, a[2].HeightM, a[3].HeightM = 1000, 1010.5, 1008
	b := east(400, 200, 450, 250)
	s := Track{Segments: []Segment{a, nil, b, east(460, none)}}.Summary()
	assert.Equal(t, 7, s.Points)
	assert.Equal(t, 4, s.Segments)
	assert.Equal(t, 1, s.EmptySegments)
	assert.Equal(t, 5, s.Times)
	assert.Equal(t, 3, s.Heights)
	assert.InDelta(t, 350, s.LengthM, 1e-3)
	assert.InDelta(t, 110, s.GapM, 1e-3, "the empty segment is stepped over")
	assert.Equal(t, t0, s.First)
	assert.Equal(t, 250.0, s.ElapsedS)
	assert.Equal(t, 140.0, s.RecordedS)
	assert.InDelta(t, 350.0/140, s.MeanSpeedMS, 1e-4)
	assert.Equal(t, 1000.0, s.MinHeightM)
	assert.Equal(t, 1010.5, s.MaxHeightM)
	assert.Equal(t, 10.5, s.AscentM, "unknown heights are stepped over")
	assert.Equal(t, 2.5, s.DescentM)
}

// TestSummaryClock: first and last are the earliest and latest, wherever they
// stand.
func TestSummaryClock(t *testing.T) {
	s := Track{Segments: []Segment{east(0, 100, 10, 40, 20, 160)}}.Summary()
	assert.Equal(t, t0.Add(40*time.Second), s.First)
	assert.Equal(t, 120.0, s.ElapsedS)
	assert.Equal(t, 120.0, s.RecordedS)
	still := Track{Segments: []Segment{east(0, 5, 10, 5)}}.Summary()
	assert.Zero(t, still.RecordedS)
	assert.True(t, math.IsNaN(still.MeanSpeedMS))
}

func TestGapsAndClockFaults(t *testing.T) {
	tr := Track{Segments: []Segment{east(0, 0, 10, 10, 20, 400), nil, east(500, 1000, 510, 990, 520, none, 530, 990)}}
	gaps := tr.Gaps(5 * time.Minute)
	require.Len(t, gaps, 2)
	assert.Equal(t, Gap{Segment: 0, Index: 2, LengthM: gaps[0].LengthM, Seconds: 390}, gaps[0])
	assert.True(t, gaps[1].Break)
	assert.Equal(t, 2, gaps[1].Segment)
	assert.InDelta(t, 480, gaps[1].LengthM, 1e-3)
	assert.Equal(t, 600.0, gaps[1].Seconds)
	untimed := Track{Segments: []Segment{east(0, none), east(1, none)}}.Gaps(0)
	require.Len(t, untimed, 1)
	assert.True(t, math.IsNaN(untimed[0].Seconds))

	assert.Equal(t, []ClockFault{{Segment: 2, Index: 1, Seconds: -10}, {Segment: 2, Index: 3, Seconds: 0}}, tr.ClockFaults())
}

func metres(list []Place) (m, s float64) {
	for _, p := range list {
		m += p.LengthM
		s += p.Seconds
	}
	return m, s
}

// slow walks at 1 m/s.
func slow(from, to orb.Point) float64 {
	d, _, _ := earth.Inverse(from, to)
	return d
}

func TestEveryByClock(t *testing.T) {
	// 100 m in 100 s, then 60 m in 30 s.
	tr := Track{Segments: []Segment{east(0, 0, 100, 100, 160, 130)}}
	places := tr.Every(Spacing{})
	require.Len(t, places, 7, "160 m in stretches of at most 25 m")
	m, s := metres(places)
	assert.InDelta(t, 160, m, 1e-3)
	assert.InDelta(t, 130, s, 1e-6)
	step := 160.0 / 7
	for i, p := range places {
		assert.InDelta(t, step, p.LengthM, 1e-4)
		assert.InDelta(t, (float64(i)+.5)*step, p.AlongM, 1e-3)
		want, _ := earth.Direct(orb.Point{1.5, 42.5}, 90, p.AlongM)
		d, _, _ := earth.Inverse(want, p.Point)
		assert.Less(t, d, 0.01)
	}
	assert.InDelta(t, step, places[0].Seconds, 1e-3, "1 m/s")
	assert.InDelta(t, step/2, places[6].Seconds, 1e-3, "2 m/s")
	assert.WithinDuration(t, t0.Add(time.Duration(step/2*1e9)), places[0].Time, time.Millisecond)
	assert.WithinDuration(t, t0.Add(time.Duration((100+(6.5*step-100)/2)*1e9)), places[6].Time, time.Millisecond)
}

// TestEveryStay: time spent standing falls on the place where it was spent.
func TestEveryStay(t *testing.T) {
	tr := Track{Segments: []Segment{east(0, 0, 30, 30, 30, 630, 100, 700)}}
	places := tr.Every(Spacing{StepM: 25})
	require.Len(t, places, 4)
	assert.InDelta(t, 625, places[1].Seconds, 0.1)
	_, s := metres(places)
	assert.InDelta(t, 700, s, 1e-6)
	// A whole track on one spot.
	still := Track{Segments: []Segment{east(5, 0, 5, 60, 5, 90)}}.Every(Spacing{})
	require.Len(t, still, 1)
	assert.Equal(t, 90.0, still[0].Seconds)
	assert.Equal(t, still[0].Point, east(5, 0)[0].Point)
	assert.Equal(t, t0.Add(45*time.Second), still[0].Time)
	// A single fix stands for no time at all.
	one := Track{Segments: []Segment{east(5, 0)}}.Every(Spacing{})
	require.Len(t, one, 1)
	assert.Zero(t, one[0].Seconds)
}

// TestEverySpreads: fixes without a time share that between the timed ones.
func TestEverySpreads(t *testing.T) {
	tr := Track{Segments: []Segment{east(0, 0, 25, none, 75, none, 100, 200)}}
	for _, p := range tr.Every(Spacing{}) {
		assert.InDelta(t, 50, p.Seconds, 1e-3)
		assert.WithinDuration(t, t0.Add(time.Duration(p.AlongM*2*1e9)), p.Time, 10*time.Millisecond)
	}
}

// TestEveryByPace: without times the pace decides, asked piece by piece, and
// Start gives the hours.
func TestEveryByPace(t *testing.T) {
	longest := 0.0
	pace := func(from, to orb.Point) float64 {
		d := slow(from, to)
		longest = max(longest, d)
		return 2 * d
	}
	tr := Track{Segments: []Segment{east(0, none, 1000, none), east(1030, none, 1100, none), east(5000, none, 5100, none)}}
	places := tr.Every(Spacing{Pace: pace, Start: t0})
	m, s := metres(places)
	assert.InDelta(t, 1200, m, 0.01)
	assert.InDelta(t, 2400, s, 0.02)
	assert.LessOrEqual(t, longest, 25+1e-6)
	assert.InDelta(t, 1100, 44*places[0].LengthM, 0.01, "30 m are joined")
	last := places[len(places)-1]
	assert.Equal(t, 1, last.Run)
	assert.Equal(t, 2, last.Segment)
	assert.InDelta(t, 87.5, last.AlongM, 0.01)
	assert.WithinDuration(t, t0.Add(2375*time.Second), last.Time, 100*time.Millisecond)

	for _, p := range tr.Every(Spacing{}) {
		assert.True(t, math.IsNaN(p.Seconds), "no clock, no pace: unknown")
		assert.True(t, p.Time.IsZero())
	}
}

// TestEveryNeverJoins: nothing lies between segments further apart than the
// join distance, and with a clock a joined break counts no time.
func TestEveryNeverJoins(t *testing.T) {
	tr := Track{Segments: []Segment{east(0, 0, 100, 100), nil, east(149, 300, 200, 351), east(260, 500, 300, 540)}}
	places := tr.Every(Spacing{})
	m, s := metres(places)
	assert.InDelta(t, 240, m, 0.01)
	assert.InDelta(t, 100+51+40, s, 1e-3)
	for _, p := range places {
		x, _, _ := earth.Inverse(orb.Point{1.5, 42.5}, p.Point)
		assert.False(t, x > 200.1 && x < 259.9, "a place at %v m", x)
	}
	apart := tr.Every(Spacing{JoinM: -1})
	m, _ = metres(apart)
	assert.InDelta(t, 191, m, 0.01)
	assert.Equal(t, 2, apart[len(apart)-1].Run)
	all := tr.Every(Spacing{JoinM: 100})
	m, _ = metres(all)
	assert.InDelta(t, 300, m, 0.01)
}

// TestEveryClockBack: where the clock runs back the pace decides.
func TestEveryClockBack(t *testing.T) {
	tr := Track{Segments: []Segment{east(0, 0, 50, 50, 100, 20, 150, 70)}}
	_, s := metres(tr.Every(Spacing{Pace: slow}))
	assert.InDelta(t, 150, s, 1e-3)
	_, s = metres(tr.Every(Spacing{}))
	assert.True(t, math.IsNaN(s))
}

func TestEveryHeights(t *testing.T) {
	s := east(0, none, 100, none, 200, none)
	s[0].HeightM, s[1].HeightM = 100, 200
	places := Track{Segments: []Segment{s}}.Every(Spacing{})
	assert.InDelta(t, 112.5, places[0].HeightM, 0.01)
	assert.True(t, math.IsNaN(places[7].HeightM))
}

// TestEveryKeepsTimeAndLength: over any track the places add up to its length
// and its recorded time, none is longer than the step, and all lie in order.
func TestEveryKeepsTimeAndLength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var tr Track
		x, clock := 0.0, 0.0
		for range rapid.IntRange(1, 4).Draw(t, "segments") {
			var pairs []float64
			for range rapid.IntRange(0, 6).Draw(t, "fixes") {
				pairs = append(pairs, x, clock)
				x += rapid.SampledFrom([]float64{0, 0.001, 10, 25, 333.3}).Draw(t, "dx")
				clock += rapid.SampledFrom([]float64{0, 1, 60}).Draw(t, "dt")
			}
			tr.Segments = append(tr.Segments, east(pairs...))
			x += rapid.SampledFrom([]float64{0, 49, 51, 1000}).Draw(t, "gap")
		}
		step := rapid.SampledFrom([]float64{1, 25, 1000}).Draw(t, "step")
		places := tr.Every(Spacing{StepM: step, JoinM: -1})
		m, s := metres(places)
		sum := tr.Summary()
		if math.Abs(m-sum.LengthM) > 1e-6*(1+m) {
			t.Fatalf("length %v, want %v", m, sum.LengthM)
		}
		if len(places) > 0 && math.Abs(s-sum.RecordedS) > 1e-6*(1+s) {
			t.Fatalf("time %v, want %v", s, sum.RecordedS)
		}
		for i, p := range places {
			if p.LengthM > step*(1+1e-8) || p.Seconds < 0 || p.Point == (orb.Point{}) || p.Time.IsZero() {
				t.Fatalf("place %d: %+v", i, p)
			}
			if i > 0 && p.Run == places[i-1].Run && p.AlongM <= places[i-1].AlongM {
				t.Fatalf("place %d out of order", i)
			}
		}
	})
}

func TestEnds(t *testing.T) {
	_, _, ok := Track{Segments: []Segment{nil, {}}}.Ends()
	require.False(t, ok)
	a, b := At(orb.Point{1, 2}), At(orb.Point{3, 4})
	first, last, ok := Track{Segments: []Segment{nil, {a}, {b, a, b}, {}}}.Ends()
	require.True(t, ok)
	require.Equal(t, []orb.Point{{1, 2}, {3, 4}}, []orb.Point{first, last})
}
