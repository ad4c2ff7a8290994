package earth

import (
	"math"
	"strconv"
	"testing"

	"farhail/geo/geotest"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
)

func TestLAEA(t *testing.T) {
	europe := EuropeLAEA()
	geotest.Check(t, "laea-europe", func(in []string) ([]any, error) {
		lon, err := strconv.ParseFloat(in[0], 64)
		if err != nil {
			return nil, err
		}
		lat, err := strconv.ParseFloat(in[1], 64)
		if err != nil {
			return nil, err
		}
		e, n := europe.Forward(orb.Point{lon, lat})
		return []any{e, n}, nil
	})
}

// TestLAEAIsEqualArea: a small square of longitude and latitude has the area on
// the grid that it has on the ellipsoid.
func TestLAEAIsEqualArea(t *testing.T) {
	europe := EuropeLAEA()
	for _, at := range []orb.Point{{1.5, 42.5}, {10, 52}, {30, 70}, {-20, 64}} {
		const d = 1e-3
		var ring [4][2]float64
		for i, corner := range []orb.Point{{-d, -d}, {d, -d}, {d, d}, {-d, d}} {
			ring[i][0], ring[i][1] = europe.Forward(orb.Point{at[0] + corner[0], at[1] + corner[1]})
		}
		area := 0.0
		for i, p := range ring {
			q := ring[(i+1)%4]
			area += ((p[0]-ring[0][0])*(q[1]-ring[0][1]) - (q[0]-ring[0][0])*(p[1]-ring[0][1])) / 2
		}
		e, n := MetresPerDegree(at.Lat())
		assert.InEpsilon(t, e*n*4*d*d, area, 1e-6, "%v", at)
	}
	e, n := NewLAEA(orb.Point{10, 0}, 0, 0).Forward(orb.Point{-170, 0})
	assert.True(t, math.IsNaN(e) && math.IsNaN(n) || math.Abs(e) > 1e6, "the antipode is a circle")
}
