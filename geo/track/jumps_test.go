package track

import (
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func through(points ...orb.Point) (s Segment) {
	for _, p := range points {
		s = append(s, At(p))
	}
	return s
}

func TestJumps(t *testing.T) {
	zero, a, b, c := orb.Point{}, orb.Point{7.5, 46.5}, orb.Point{7.5, 46.5001}, orb.Point{7.5, 46.5002}
	cases := []struct {
		name string
		in   Segment
		want []int
	}{
		{"none", through(a, b, c), nil},
		{"one at 0, 0", through(a, zero, b), []int{1}},
		{"several at 0, 0", through(a, zero, zero, b, zero), []int{1, 2, 4}},
		{"the first fixes at 0, 0", through(zero, zero, a, b), []int{0, 1}},
		{"nothing but 0, 0", through(zero, zero), nil},
		{"a walk at 0, 0", through(orb.Point{0.001, 0}, zero, orb.Point{-0.001, 0}), nil},
		{"a drawn box with a corner at 0, 0", through(zero, orb.Point{1, 0}, orb.Point{1, 1}, orb.Point{0, 1}, zero), nil},
		{"at 0, 0 and in Accra, 635 km away", through(orb.Point{-0.2, 5.6}, orb.Point{-0.2, 5.601}, zero, orb.Point{-0.2, 5.602}), []int{2}},
		{"equator and Greenwich are real", through(orb.Point{10.25, 0}, orb.Point{0, 51.5}), nil},
		{"out and back", through(a, orb.Point{-7.5, -46.5}, b), []int{1}},
		{"only the latitude lost", through(a, orb.Point{7.5, 0}, b), []int{1}},
		{"only the longitude lost: 576 km, a flight could", through(a, orb.Point{0, 46.5}, b), nil},
		{"a long way there only", through(a, orb.Point{-70, 40}, orb.Point{-70, 40.001}), nil},
		{"a triangle over oceans", through(a, orb.Point{-70, 40}, orb.Point{-70, -40}), nil},
		{"over the 180 degree line", through(orb.Point{179.999, 5}, orb.Point{-179.999, 5}, orb.Point{179.998, 5}), nil},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			tr := Track{Name: "n", Segments: []Segment{nil, c.in}}
			var got []int
			for _, j := range tr.Jumps() {
				assert.Equal(t, 1, j.Segment)
				assert.Greater(t, j.LengthM, 100e3)
				got = append(got, j.Index)
			}
			assert.Equal(t, c.want, got)
			rest := tr.WithoutJumps()
			require.Len(t, rest.Segments, 2)
			assert.Equal(t, len(c.in)-len(c.want), rest.Points())
			assert.Equal(t, "n", rest.Name)
			assert.Empty(t, rest.Jumps())
		})
	}
}

// TestJumpsLeftOut: neither the length nor the places of a track know of them.
func TestJumpsLeftOut(t *testing.T) {
	tr := Track{Segments: []Segment{through(orb.Point{7.5, 46.5}, orb.Point{}, orb.Point{7.5, 46.5001})}}
	s := tr.Summary()
	assert.Equal(t, 3, s.Points)
	assert.Equal(t, 1, s.Jumps)
	assert.InDelta(t, 11.12, s.LengthM, 0.01, "111.2 m a hundredth of a degree of latitude")
	for _, p := range tr.Every(Spacing{}) {
		assert.InDelta(t, 46.5, p.Point.Lat(), 0.001)
	}
}

// TestManyJumps: however many fixes at 0, 0 there are, each is looked at once.
func TestManyJumps(t *testing.T) {
	s := make(Segment, 100_000)
	assert.Empty(t, Track{Segments: []Segment{s}}.Jumps())
	s[len(s)-1] = At(orb.Point{7.5, 46.5})
	assert.Len(t, Track{Segments: []Segment{s}}.Jumps(), len(s)-1)
}
