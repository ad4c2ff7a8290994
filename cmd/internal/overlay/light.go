package overlay

import (
	"math"
	"time"

	"farhail/cmd/internal/job"
)

// The light of an hour.
const (
	Day      = "day"      // the sun is up
	Twilight = "twilight" // it is at most 6 degrees below the horizon
	Night    = "night"
)

// lightAt says what light an hour of the result has, "" where the result does not tell.
func lightAt(r *job.Result, at *time.Time) string {
	sun := math.NaN()
	if at != nil {
		for _, s := range r.Sight {
			if s.At != nil && s.At.Equal(*at) && known(float64(s.Inputs.SunElevationDeg)) {
				sun = float64(s.Inputs.SunElevationDeg)
				break
			}
		}
		for _, s := range r.Sky {
			if !known(sun) && s.At != nil && s.At.Equal(*at) {
				sun = float64(s.Sun.ElevationDeg)
			}
		}
	}
	switch {
	case sun > 0:
		return Day
	case sun > -6:
		return Twilight
	case known(sun):
		return Night
	}
	return ""
}
