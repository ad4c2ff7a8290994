package earth

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/geotest"
)

func TestEllipseCheck(t *testing.T) {
	geotest.Check(t, "earth-ellipse", func(in []string) ([]any, error) {
		v, err := geotest.Floats(in)
		if err != nil {
			return nil, err
		}
		e := Covariance{NN: v[0], NE: v[1], EE: v[2]}.SigmaEllipse()
		return []any{e.MajorM, e.MinorM, e.AzimuthDeg}, nil
	})
}

// Scale of the ellipse by its content, two degrees of freedom: any table of the
// chi-square distribution (0.50: 1.386, 0.90: 4.605, 0.95: 5.991, 0.99: 9.210).
func TestEllipseProbability(t *testing.T) {
	unit := Covariance{NN: 1, EE: 1}
	for p, χ2 := range map[float64]float64{0.5: 1.386, 0.9: 4.605, 0.95: 5.991, 0.99: 9.210} {
		e := unit.Ellipse(p)
		assert.InDelta(t, χ2, e.MajorM*e.MajorM, 0.0006)
		assert.Equal(t, e.MajorM, e.MinorM)
		assert.Zero(t, e.AzimuthDeg)
	}
	assert.Zero(t, unit.Ellipse(0).MajorM)
	for _, p := range []float64{1, -0.1, 2, math.NaN()} {
		assert.True(t, math.IsNaN(unit.Ellipse(p).MajorM))
	}
}

// A covariance built from known axes gives them back, in every direction.
func TestEllipseRoundTrip(t *testing.T) {
	for az := 0.0; az < 180; az += 5 {
		s, c := math.Sincos(az * degree)
		major, minor := 120.0, 45.0
		cov := Covariance{NN: major*major*c*c + minor*minor*s*s, EE: major*major*s*s + minor*minor*c*c, NE: (major*major - minor*minor) * s * c}
		e := cov.SigmaEllipse()
		require.InDelta(t, major, e.MajorM, 1e-9)
		require.InDelta(t, minor, e.MinorM, 1e-9)
		require.InDelta(t, 0, math.Remainder(e.AzimuthDeg-az, 180), 1e-9)
		require.True(t, e.AzimuthDeg >= 0 && e.AzimuthDeg < 180)
	}
}

func TestEllipseLimits(t *testing.T) {
	assert.Equal(t, Ellipse{}, Covariance{}.SigmaEllipse())
	line := Covariance{NN: 1, NE: 1, EE: 1}.SigmaEllipse()
	assert.InDelta(t, math.Sqrt2, line.MajorM, 1e-12)
	assert.InDelta(t, 0, line.MinorM, 1e-12)
	assert.InDelta(t, 45, line.AzimuthDeg, 1e-12)
	// An axis a hair west of north has azimuth 0 and not 180.
	assert.Zero(t, Covariance{NN: 2, NE: -1e-30, EE: 1}.SigmaEllipse().AzimuthDeg)
	for _, bad := range []Covariance{{NN: -1, EE: 1}, {NN: 1, NE: 2, EE: 1}, {NN: math.NaN()}, {NE: math.NaN()}} {
		assert.True(t, math.IsNaN(bad.SigmaEllipse().MajorM), "%v", bad)
	}
	sum := Covariance{NN: 1, NE: 2, EE: 3}.Plus(Covariance{NN: 10, NE: 20, EE: 30})
	assert.Equal(t, Covariance{NN: 11, NE: 22, EE: 33}, sum)
}

// The share of drawn errors inside is what was asked for.
func TestEllipseHoldsItsShare(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	const draws = 20000
	cov := Covariance{NN: 900, NE: 500, EE: 400}
	e := cov.Ellipse(0.95)
	s, c := math.Sincos(e.AzimuthDeg * degree)
	inside := 0
	for range draws {
		// Cholesky factor of cov
		u, v := rng.NormFloat64(), rng.NormFloat64()
		n := math.Sqrt(cov.NN) * u
		ea := cov.NE/math.Sqrt(cov.NN)*u + math.Sqrt(cov.EE-cov.NE*cov.NE/cov.NN)*v
		if math.Hypot((n*c+ea*s)/e.MajorM, (ea*c-n*s)/e.MinorM) <= 1 {
			inside++
		}
	}
	// three standard deviations of the count
	assert.InDelta(t, 0.95, float64(inside)/draws, 3*math.Sqrt(0.95*0.05/draws))
}

func TestOutline(t *testing.T) {
	centre := orb.Point{1.5, 42.5}
	e := Ellipse{MajorM: 800, MinorM: 300, AzimuthDeg: 30}
	ring := e.Outline(centre, 72)
	require.Len(t, ring, 73)
	assert.True(t, ring.Closed())
	assert.Equal(t, orb.CCW, ring.Orientation())
	assert.True(t, planar.RingContains(ring, centre))
	d, b, _ := Inverse(centre, ring[0])
	assert.InDelta(t, 800, d, 1e-6)
	assert.InDelta(t, 30, float64(b), 1e-6)
	d, b, _ = Inverse(centre, ring[18]) // a quarter on, against the clock
	assert.InDelta(t, 300, d, 1e-6)
	assert.InDelta(t, 300, float64(b), 1e-6)

	// A circle is a circle.
	for _, p := range (Ellipse{MajorM: 20e3, MinorM: 20e3}).Outline(centre, 48) {
		d, _, _ := Inverse(centre, p)
		assert.InDelta(t, 20e3, d, 1e-6)
	}

	// Its longitudes do not jump at the antimeridian.
	ring = Ellipse{MajorM: 20e3, MinorM: 10e3}.Outline(orb.Point{179.99, -17}, 36)
	for i := range ring[1:] {
		assert.Less(t, math.Abs(ring[i+1].Lon()-ring[i].Lon()), 1.0)
	}
	assert.Greater(t, ring.Bound().Max.Lon(), 180.0)

	assert.Nil(t, e.Outline(centre, 2))
	assert.Nil(t, e.Outline(orb.Point{0, 95}, 36))
	assert.Nil(t, Ellipse{MajorM: math.NaN()}.Outline(centre, 36))
}
