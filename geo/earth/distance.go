package earth

import (
	"math"

	"github.com/paulmach/orb"
)

// shortStepDeg is the step in longitude and in latitude up to which Distance
// works in the plane [degrees].
const shortStepDeg = 0.005

// Distance returns the length [m] of the shortest way over the ellipsoid, as
// Inverse does, for the many short steps of tracks: it agrees with Inverse to
// 1 micrometre and is some twenty times as fast on steps of up to 0.005 degrees
// both ways, about 500 m. A position outside the earth gives NaN.
//
// Such steps are measured in the plane at their middle latitude (the formulas of
// MetresPerDegree), which leaves out a share of (Δλ sin φ)²/24, 3e-10 at most.
func Distance(from, to orb.Point) float64 {
	dx, dy := to[0]-from[0], to[1]-from[1]
	if !(math.Abs(dx) <= shortStepDeg && math.Abs(dy) <= shortStepDeg && onEarth(from) && onEarth(to)) {
		distM, _, _ := Inverse(from, to)
		return distM
	}
	eastM, northM := MetresPerDegree(from[1] + dy/2)
	x, y := dx*eastM, dy*northM
	return math.Sqrt(x*x + y*y)
}
