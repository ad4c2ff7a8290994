package air

import (
	"math"
	"sort"
)

// The winds at which things on land change their look [m/s]: the lower bounds
// of Beaufort's forces (WMO-No. 8, wind specifications on land).
const (
	// DriftMS is where smoke begins to drift; below it rises straight up.
	DriftMS = 0.3
	// StreamMS is where a light flag stands out.
	StreamMS = 3.4
)

// beaufortMS holds the lower bounds of forces 1 to 12.
var beaufortMS = []float64{DriftMS, 1.6, StreamMS, 5.5, 8.0, 10.8, 13.9, 17.2, 20.8, 24.5, 28.5, 32.7}

// Beaufort returns the force, 0 to 12, of a wind at 10 m above open ground
// [m/s]; -1 for a wind that is no number from 0 up. WMO rounds winds to 0.1 m/s,
// a wind between two forces counts as the lower here.
func Beaufort(windMS float64) int {
	if !(windMS >= 0) {
		return -1
	}
	const rounding = 1e-9
	return sort.Search(len(beaufortMS), func(i int) bool { return beaufortMS[i] > windMS+rounding })
}

// Streams returns how far a wind [m/s] has spread a hanging cloth: 0 in calm
// air, 1 from [StreamMS] on, by a straight line between (own choice; Beaufort
// tells its two ends).
func Streams(windMS float64) float64 {
	return math.Min(math.Max(windMS/StreamMS, 0), 1)
}
