package track

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// wander is a made-up walk of n fixes about 10 m apart, named by their number.
func wander(n int, seed uint64) Segment {
	r := rand.New(rand.NewPCG(seed, 0))
	p, bearing := orb.Point{1.5, 42.5}, 0.0
	s := make(Segment, n)
	for i := range s {
		s[i] = At(p)
		s[i].Name = fmt.Sprint(i)
		bearing += 25 * r.NormFloat64()
		p, _ = earth.Direct(p, earth.NewTrue(bearing), 10)
	}
	return s
}

// worstOffset is the farthest that a fix of a lies from the line of b, whose
// fixes are some of a's, by name.
func worstOffset(t require.TestingT, a, b Segment) float64 {
	worst, j := 0.0, 0
	var leg earth.Leg
	for i, f := range a {
		if j < len(b) && b[j].Name == f.Name {
			j++
			if j < len(b) {
				leg = earth.NewLeg(b[j-1].Point, b[j].Point)
			}
			continue
		}
		if j == 0 || j == len(b) {
			require.Fail(t, "the ends are not kept", "fix %d", i)
		}
		worst = math.Max(worst, leg.OffsetM(f.Point))
	}
	require.Equal(t, len(b), j, "kept fixes in their order")
	return worst
}

func TestThin(t *testing.T) {
	s := wander(12345, 1)
	last := math.Inf(1)
	for _, most := range []int{2, 10, 250, 500, 2000, 10000} {
		got, worst := Track{Name: "n", Segments: []Segment{s}}.Thin(most)
		assert.Equal(t, "n", got.Name)
		require.Len(t, got.Segments, 1)
		assert.Len(t, got.Segments[0], most)
		assert.Equal(t, "0", got.Segments[0][0].Name)
		assert.Equal(t, "12344", got.Segments[0][most-1].Name)
		assert.InDelta(t, worstOffset(t, s, got.Segments[0]), worst, 1e-9)
		assert.Positive(t, worst)
		assert.LessOrEqual(t, worst, last, "more fixes, smaller offset")
		last = worst
	}
	same, worst := Track{Segments: []Segment{s}}.Thin(len(s))
	assert.Len(t, same.Segments[0], len(s))
	assert.Zero(t, worst)
}

func TestThinShapes(t *testing.T) {
	straight := east(0, none, 10, none, 20, none, 30, none, 1000, none)
	got, worst := Track{Segments: []Segment{straight}}.Thin(3)
	assert.Len(t, got.Segments[0], 3)
	assert.Less(t, worst, 0.001, "a parallel leaves its chord by 0.018 m over 1 km at 42.5 N")

	still := east(5, none, 5, none, 5, none)
	got, worst = Track{Segments: []Segment{still}}.Thin(2)
	assert.Len(t, got.Segments[0], 2)
	assert.Zero(t, worst)

	// Out and back on one line: the turning point is what counts.
	got, worst = Track{Segments: []Segment{east(0, none, 100, none, 200, none, 100, none, 0, none)}}.Thin(3)
	assert.InDelta(t, 0.001, worst, 0.001)
	assert.Equal(t, east(200, none)[0].Point, got.Segments[0][1].Point)

	// Segments keep their ends and their number.
	got, worst = Track{Segments: []Segment{nil, straight, east(0, none), straight}}.Thin(1)
	require.Len(t, got.Segments, 4)
	assert.Equal(t, []int{0, 2, 1, 2}, []int{len(got.Segments[0]), len(got.Segments[1]), len(got.Segments[2]), len(got.Segments[3])})
	assert.Positive(t, worst)

	empty, worst := Track{}.Thin(0)
	assert.Empty(t, empty.Segments)
	assert.Zero(t, worst)
}

// TestThinProperty: whatever the track, the count holds and the offset that is
// stated is that of the farthest fix.
func TestThinProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var tr Track
		points := 0
		for i := range rapid.IntRange(1, 3).Draw(t, "segments") {
			n := rapid.IntRange(0, 60).Draw(t, "fixes")
			tr.Segments = append(tr.Segments, wander(n, uint64(i)+rapid.Uint64Range(0, 100).Draw(t, "seed")))
			points += n
		}
		most := rapid.IntRange(6, 70).Draw(t, "most")
		got, worst := tr.Thin(most)
		require.Equal(t, min(points, most), got.Points())
		want := 0.0
		for i, s := range tr.Segments {
			want = math.Max(want, worstOffset(t, s, got.Segments[i]))
		}
		require.InDelta(t, want, worst, 1e-9)
		again, worstAgain := tr.Thin(most)
		require.Equal(t, fmt.Sprint(got), fmt.Sprint(again))
		require.Equal(t, worst, worstAgain)
	})
}

func BenchmarkThinMillion(b *testing.B) {
	tr := Track{Segments: []Segment{wander(1_000_000, 1)}}
	for b.Loop() {
		tr.Thin(500)
	}
}
