package earth

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestDistanceIsInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := orb.Point{rapid.Float64Range(-180, 180).Draw(t, "lon"), rapid.Float64Range(-89.99, 89.99).Draw(t, "lat")}
		size := rapid.SampledFrom([]float64{1e-7, 1e-5, 1e-3, 0.005, 0.0051, 1, 30}).Draw(t, "size")
		to := orb.Point{from[0] + size*rapid.Float64Range(-1, 1).Draw(t, "dx"), from[1] + size*rapid.Float64Range(-1, 1).Draw(t, "dy")}
		want, _, _ := Inverse(from, to)
		got := Distance(from, to)
		if math.IsNaN(want) != math.IsNaN(got) || math.Abs(got-want) > 1e-6 {
			t.Fatalf("%v to %v: %v, want %v", from, to, got, want)
		}
	})
}

func TestDistanceEdges(t *testing.T) {
	assert.Zero(t, Distance(orb.Point{1, 2}, orb.Point{1, 2}))
	assert.InDelta(t, 11131.95, Distance(orb.Point{179.95, 0}, orb.Point{-179.95, 0}), 0.01)
	assert.Zero(t, Distance(orb.Point{180, 5}, orb.Point{-180, 5}))
	for _, p := range []orb.Point{{1, 90.001}, {math.NaN(), 2}, {math.Inf(1), 2}} {
		assert.True(t, math.IsNaN(Distance(p, orb.Point{1, 89.998})), "%v", p)
		assert.True(t, math.IsNaN(Distance(orb.Point{1, 89.998}, p)), "%v", p)
	}
}

func BenchmarkDistance(b *testing.B) {
	from, to := orb.Point{7.5, 46.5}, orb.Point{7.5001, 46.5002}
	for b.Loop() {
		Distance(from, to)
	}
}

func BenchmarkInverse(b *testing.B) {
	from, to := orb.Point{7.5, 46.5}, orb.Point{7.5001, 46.5002}
	for b.Loop() {
		Inverse(from, to)
	}
}
