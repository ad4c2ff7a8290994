package earth

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/geotest"
)

// Corners of circles by another program; a quarter of the sides is a quarter of
// the turn.
func TestCircleCheck(t *testing.T) {
	geotest.Check(t, "earth-circle", func(in []string) ([]any, error) {
		v, err := geotest.Floats(in)
		if err != nil {
			return nil, err
		}
		centre := orb.Point{v[1], v[0]}
		want, _ := Direct(centre, NewTrue(v[3]), v[2])
		best := orb.Point{math.NaN(), math.NaN()}
		for _, p := range Circle(centre, v[2], 360) {
			if d, _, _ := Inverse(p, want); d < 1e-5 {
				best = p
			}
		}
		return []any{best.Lat(), best.Lon()}, nil
	})
	assert.InDelta(t, math.Pi*1e6, CircleAreaM2(orb.Point{25, 70}, 1000), 3.2)
	ring := Circle(orb.Point{25, 70}, 1000, 360)
	require.Len(t, ring, 361)
	assert.Equal(t, ring[0], ring[360])
}

// Every corner of every circle lies on it, the ring runs against the clock
// without a jump, and it turns around a pole exactly when it holds one.
func TestCircles(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	for range 100 {
		centre := orb.Point{rng.Float64()*360 - 180, math.Asin(2*rng.Float64()-1) / degree}
		radius := math.Pow(10, 1+rng.Float64()*5.6)
		if rng.IntN(4) == 0 { // near a pole
			centre[1] = math.Copysign(90-rng.Float64()*rng.Float64()*5, centre[1])
		}
		ring := Circle(centre, radius, 60)
		require.GreaterOrEqual(t, len(ring), 61)
		for i, p := range ring {
			d, _, _ := Inverse(centre, p)
			require.InDelta(t, radius, d, 1e-6)
			if i > 0 {
				require.LessOrEqual(t, math.Abs(p.Lon()-ring[i-1].Lon()), 180.)
			}
		}
		toNorth, _, _ := Inverse(centre, orb.Point{0, 90})
		toSouth, _, _ := Inverse(centre, orb.Point{0, -90})
		turn := 0.
		switch {
		case toNorth < radius:
			turn = 360
		case toSouth < radius:
			turn = -360
		}
		require.InDelta(t, turn, ring[len(ring)-1].Lon()-ring[0].Lon(), 1e-9, "%v %g", centre, radius)
		// The cap of a sphere: 2 % for the flattening.
		want := 2 * math.Pi * MeanRadiusM * MeanRadiusM * (1 - math.Cos(radius/MeanRadiusM))
		if radius > 100 { // below it the cosine loses its figures
			require.InEpsilon(t, want, CircleAreaM2(centre, radius), 0.02, "%v %g", centre, radius)
		}
	}
}

func TestCircleThroughThePole(t *testing.T) {
	d, _, _ := Inverse(orb.Point{10, 89}, orb.Point{0, 90})
	for _, radius := range []float64{d, d - 1e-3, d + 1e-3, d - 100, d + 100} {
		ring := Circle(orb.Point{10, 89}, radius, 360)
		require.NotNil(t, ring)
		assert.Less(t, len(ring), 3000)
		assert.InEpsilon(t, math.Pi*radius*radius, CircleAreaM2(orb.Point{10, 89}, radius), 1e-3)
	}
	pole := Circle(orb.Point{0, 90}, 1000, 360)
	assert.InDelta(t, 360, pole[len(pole)-1].Lon()-pole[0].Lon(), 1e-9)
}

func TestNoCircle(t *testing.T) {
	at := orb.Point{0, 0}
	for _, r := range []float64{0, -1, math.NaN(), math.Inf(1), MaxCircleM + 1} {
		assert.Nil(t, Circle(at, r, 360))
	}
	assert.Nil(t, Circle(at, 1, 2))
	assert.Nil(t, Circle(orb.Point{0, 91}, 1, 360))
	assert.True(t, math.IsNaN(CircleAreaM2(at, -1)))
}

// Half way between two places at the 180 degree line lies on it, not on the
// meridian of Greenwich.
func TestHalfWayAcross(t *testing.T) {
	from, to := orb.Point{179.9, 0}, orb.Point{-179.9, 0}
	d, b, _ := Inverse(from, to)
	mid, _ := Direct(from, b, d/2)
	assert.InDelta(t, 180, math.Abs(mid.Lon()), 1e-9)
}

// TestCircleArea compares with the ring's area worked out another way, with
// sides straight in longitude and latitude and, around a pole, the way there.
func TestCircleArea(t *testing.T) {
	for _, c := range []struct {
		centre orb.Point
		radius float64
	}{{orb.Point{25, 70}, 20e3}, {orb.Point{179.9, 51}, 20e3}, {orb.Point{0, 0}, 500e3}, {orb.Point{50, 89.5}, 200e3}, {orb.Point{-70, -88}, 300e3}} {
		ring := Circle(c.centre, c.radius, 3600)
		if turn := ring[len(ring)-1].Lon() - ring[0].Lon(); turn != 0 {
			pole := math.Copysign(90, turn)
			ring = append(ring, orb.Point{ring[0].Lon() + turn, pole}, orb.Point{ring[0].Lon(), pole})
		}
		assert.InEpsilon(t, AreaM2(ring), CircleAreaM2(c.centre, c.radius), 3e-6, "%v", c)
	}
}
