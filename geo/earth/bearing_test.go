package earth

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWrap(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct{ deg, want360, want180 float64 }{
		{0, 0, 0}, {360, 0, 0}, {-360, 0, 0}, {720, 0, 0}, {math.Copysign(0, -1), 0, 0},
		{90, 90, 90}, {-90, 270, -90}, {180, 180, -180}, {-180, 180, -180}, {540, 180, -180},
		{359.5, 359.5, -0.5}, {-0.5, 359.5, -0.5}, {1e9, 280, -80},
		// The next number below zero plus 360 rounds to 360.
		{-1e-300, 0, -1e-300},
		{nan, nan, nan}, {math.Inf(1), nan, nan},
	} {
		for i, got := range []float64{Wrap360(c.deg), Wrap180(c.deg)} {
			want := []float64{c.want360, c.want180}[i]
			if math.IsNaN(want) {
				assert.True(t, math.IsNaN(got))
				continue
			}
			assert.Equal(t, want, got, "wrap %v", c.deg)
			assert.False(t, got == 0 && math.Signbit(got), "wrap %v gives -0", c.deg)
		}
	}
}

// Every quadrant, both signs of declination and convergence: there and back.
func TestBearingRoundTrips(t *testing.T) {
	for deg := 0.0; deg < 360; deg += 7.5 {
		for off := -170.0; off <= 170; off += 17 {
			b := NewTrue(deg)
			require.InDelta(t, 0, Wrap180(float64(b.Magnetic(off).True(off)-b)), 1e-12)
			require.InDelta(t, 0, Wrap180(float64(b.Grid(off).True(off)-b)), 1e-12)
			require.Equal(t, b, b.Back().Back())
			m := float64(b.Magnetic(off))
			require.True(t, m >= 0 && m < 360)
		}
	}
}

// US Army TC 3-25.26, Map Reading and Land Navigation, chapter 6 (from memory):
// with an easterly angle a magnetic azimuth is the smaller one.
func TestBearingSigns(t *testing.T) {
	assert.Equal(t, Magnetic(50), True(60).Magnetic(10), "needle east of true north")
	assert.Equal(t, Magnetic(5), True(355).Magnetic(-10), "needle west of true north")
	assert.Equal(t, True(60), Magnetic(50).True(10))
	assert.Equal(t, Grid(58), True(60).Grid(2), "grid north east of true north")
	assert.Equal(t, True(60), Grid(58).True(2))
	// Declination 12.338 E with convergence -1.562 make a grid-magnetic angle
	// of 13.900: grid = magnetic + 13.9.
	assert.InDelta(t, 103.9, float64(Magnetic(90).True(12.338).Grid(-1.562)), 1e-9)
}

func TestMeanBearing(t *testing.T) {
	for _, c := range []struct {
		in        []float64
		want, tol float64
	}{
		{[]float64{350, 10}, 0, 1e-9},
		{[]float64{10, 350}, 0, 1e-9},
		{[]float64{90}, 90, 1e-9},
		{[]float64{-10}, 350, 1e-9},
		{[]float64{80, 90, 100}, 90, 1e-9},
		{[]float64{359, 1, 3}, 1, 1e-9},
		// Mardia and Jupp (2000), example 1.1 and section 2.2: nine spins of a
		// roulette wheel, mean direction 51 degrees (from memory).
		{[]float64{43, 45, 52, 61, 75, 88, 88, 279, 357}, 51, 0.5},
	} {
		got, err := MeanBearing(c.in)
		require.NoError(t, err)
		assert.InDelta(t, 0, Wrap180(got-c.want), c.tol, "%v", c.in)
		assert.True(t, got >= 0 && got < 360, "%v", c.in)
	}
	for _, in := range [][]float64{{10, 190}, {0, 120, 240}, {0, 90, 180, 270}, {0, 171}} {
		got, err := MeanBearing(in)
		assert.ErrorIs(t, err, ErrOpposed, "%v", in)
		assert.True(t, math.IsNaN(got))
	}
	for _, in := range [][]float64{nil, {math.NaN(), 10}, {math.Inf(1)}} {
		_, err := MeanBearing(in)
		assert.ErrorIs(t, err, ErrNoBearing, "%v", in)
	}
}

// Legs of different lengths weigh by them: their sum, worked out by hand, points
// where a mean of the bearings alone does not.
func TestWeightsAreVectors(t *testing.T) {
	start := orb.Point{0, 0}
	mid, _ := Direct(start, NewTrue(350), 300)
	end, _ := Direct(mid, NewTrue(10), 100)
	_, b, _ := Inverse(start, end)
	assert.InDelta(t, 354.96, float64(b), 0.01)
	mean, err := MeanBearing([]float64{345, 15, 20})
	require.NoError(t, err)
	assert.InDelta(t, 6.79, mean, 0.005)
	assert.InDelta(t, 20, Wrap180(10-350), 1e-12, "a difference goes the short way")
	assert.Equal(t, NewTrue(190), NewTrue(10).Back())
}
