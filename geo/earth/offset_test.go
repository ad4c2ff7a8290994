package earth

import (
	"math"
	"testing"

	"farhail/geo/geotest"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// slowOffset is the least distance from a place to a geodesic, by looking along
// it in ever smaller steps.
func slowOffset(from, to, p orb.Point) float64 {
	length, bearing, _ := Inverse(from, to)
	if length == 0 {
		d, _, _ := Inverse(from, p)
		return d
	}
	best, at, step := math.Inf(1), 0.0, length/50
	for ; step > 1e-4; step /= 10 {
		centre := at
		for i := -50.0; i <= 50; i++ {
			s := math.Min(length, math.Max(0, centre+i*step))
			q, _ := Direct(from, bearing, s)
			if d, _, _ := Inverse(q, p); d < best {
				best, at = d, s
			}
		}
	}
	return best
}

func TestOffset(t *testing.T) {
	a, b := orb.Point{7.5, 46.5}, orb.Point{7.6, 46.5}
	l := NewLeg(a, b)
	beyond, _ := Direct(b, NewTrue(90), 1000)
	cases := []struct {
		name string
		leg  Leg
		p    orb.Point
		want float64
	}{
		{"at its start", l, a, 0},
		{"at its end", l, b, 0},
		{"beyond its end", l, beyond, 1000},
		{"a leg of no length", NewLeg(a, a), beyond, slowOffset(a, a, beyond)},
		{"over the 180 degree line", NewLeg(orb.Point{179.99, 0}, orb.Point{-179.99, 0}), orb.Point{180, 0.001}, 110.574},
		{"the same line from the other side", NewLeg(orb.Point{179.99, 0}, orb.Point{180.01, 0}), orb.Point{-180, 0.001}, 110.574},
		{"over the pole", NewLeg(orb.Point{0, 89.9}, orb.Point{180, 89.9}), orb.Point{90, 89.99}, 1116.94},
		{"10 m beside", l, func() orb.Point { p, _ := Direct(orb.Point{7.5, 46.5}, NewTrue(0), 10); return p }(), 10},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) { assert.InDelta(t, c.want, c.leg.OffsetM(c.p), 0.005) })
	}
	assert.True(t, math.IsNaN(l.OffsetM(orb.Point{7.5, 95})))
	assert.True(t, math.IsNaN(NewLeg(a, orb.Point{math.NaN(), 5}).OffsetM(a)))
}

func TestOffsetCheck(t *testing.T) {
	geotest.Check(t, "earth-leg-offset", func(in []string) ([]any, error) {
		v, err := geotest.Floats(in)
		if err != nil {
			return nil, err
		}
		return []any{NewLeg(orb.Point{v[1], v[0]}, orb.Point{v[3], v[2]}).OffsetM(orb.Point{v[5], v[4]})}, nil
	})
}

// TestOffsetIsGeodesic compares with the way along the geodesic.
func TestOffsetIsGeodesic(t *testing.T) {
	for _, size := range []struct{ lengthM, asideM, tolerance float64 }{
		{10_000, 3_000, 2e-3}, {100_000, 10_000, 0.1},
	} {
		worst := 0.0
		rapid.Check(t, func(t *rapid.T) {
			from := orb.Point{rapid.Float64Range(-180, 180).Draw(t, "lon"), rapid.Float64Range(-89, 89).Draw(t, "lat")}
			bearing := NewTrue(rapid.Float64Range(0, 360).Draw(t, "bearing"))
			to, _ := Direct(from, bearing, size.lengthM*rapid.Float64Range(0.01, 1).Draw(t, "length"))
			q, _ := Direct(from, bearing, size.lengthM*rapid.Float64Range(-0.1, 1.1).Draw(t, "along"))
			p, _ := Direct(q, NewTrue(float64(bearing)+90), size.asideM*rapid.Float64Range(-1, 1).Draw(t, "aside"))
			want := slowOffset(from, to, p)
			got := NewLeg(from, to).OffsetM(p)
			worst = math.Max(worst, math.Abs(got-want))
			if math.Abs(got-want) > size.tolerance {
				t.Fatalf("offset %v, want %v", got, want)
			}
		})
		t.Logf("legs of %v m: at worst %v m apart", size.lengthM, worst)
	}
}
