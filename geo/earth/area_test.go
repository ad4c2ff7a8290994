package earth

import (
	"math"
	"testing"

	"farhail/geo/geotest"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/tidwall/geodesic"
	"pgregory.net/rapid"
)

// wholeM2 is the surface of the ellipsoid: 2πa² + πb²/e ln((1+e)/(1-e)). GRS 80
// has 510 065 621.7 km2 (Moritz 2000, as cited at MeanRadiusM, from memory).
var wholeM2 = func() float64 {
	e, b := math.Sqrt(e2), SemiMajorM*(1-Flattening)
	return 2*math.Pi*SemiMajorM*SemiMajorM + math.Pi*b*b/e*math.Log((1+e)/(1-e))
}()

func TestAreaWhole(t *testing.T) {
	assert.InDelta(t, 510065621.7e6, wholeM2, 1e5, "the printed figure")
	box := func(w, s, e, n float64) orb.Ring { return orb.Ring{{w, s}, {e, s}, {e, n}, {w, n}, {w, s}} }
	assert.InEpsilon(t, wholeM2, AreaM2(box(-180, -90, 180, 90)), 1e-12)
	assert.InEpsilon(t, wholeM2/2, AreaM2(box(-180, 0, 180, 90)), 1e-12)
	assert.InEpsilon(t, wholeM2/2, AreaM2(box(10, 0, 370, -90)), 1e-12)
	assert.InEpsilon(t, AreaM2(box(10, 45, 12, 47)), AreaM2(box(179, 45, 181, 47)), 1e-12, "over the 180 degree line")
	assert.InEpsilon(t, AreaM2(box(10, 45, 12, 47)), AreaM2(box(10, -47, 12, -45)), 1e-12)
}

func TestAreaCheck(t *testing.T) {
	geotest.Check(t, "earth-ring-area", func(in []string) ([]any, error) {
		v, err := geotest.Floats(in)
		if err != nil {
			return nil, err
		}
		var ring orb.Ring
		for i := 0; i < len(v); i += 2 {
			ring = append(ring, orb.Point{v[i+1], v[i]})
		}
		return []any{AreaM2(ring)}, nil
	})
}

func TestAreaEdges(t *testing.T) {
	assert.Zero(t, AreaM2(nil))
	assert.Zero(t, AreaM2(orb.Ring{{1, 2}}))
	assert.Zero(t, AreaM2(orb.Ring{{1, 2}, {3, 4}, {1, 2}}))
	assert.True(t, math.IsNaN(AreaM2(orb.Ring{{1, 2}, {3, 95}, {1, 3}})))
	assert.True(t, math.IsNaN(AreaM2(orb.Ring{{1, 2}, {math.NaN(), 5}, {1, 3}})))
}

// TestAreaSmall: small rings have edges that are geodesics to far below the
// tolerance, and then the polygon area of GeographicLib's port is the oracle.
func TestAreaSmall(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		centre := orb.Point{rapid.Float64Range(-180, 180).Draw(t, "lon"), rapid.Float64Range(-80, 80).Draw(t, "lat")}
		radius := rapid.Float64Range(1, 200).Draw(t, "radius")
		sides := rapid.IntRange(3, 9).Draw(t, "sides")
		polygon := geodesic.WGS84.PolygonInit(false)
		var ring orb.Ring
		for i := range sides {
			p, _ := Direct(centre, NewTrue(-float64(i)*360/float64(sides)), radius)
			p[0] = centre.Lon() + Wrap180(p.Lon()-centre.Lon())
			polygon.AddPoint(p.Lat(), p.Lon())
			ring = append(ring, p)
		}
		var want float64
		polygon.Compute(false, false, &want, nil)
		got := AreaM2(ring)
		if math.Abs(got-math.Abs(want)) > 2e-4*math.Abs(want)+1e-3 {
			t.Fatalf("area %v, want %v", got, want)
		}
		ring.Reverse()
		if back := AreaM2(ring); math.Abs(back-got) > 1e-9*got+1e-6 {
			t.Fatalf("the other way round %v, not %v", back, got)
		}
	})
}
