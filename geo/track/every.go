package track

import (
	"time"

	"github.com/paulmach/orb"
)

// Spacing says how [Track.Every] cuts a route into places.
type Spacing struct {
	StepM float64 // longest stretch one place stands for [m]; 0 = 25
	JoinM float64 // segments end to start no further apart than this are walked as one [m]; 0 = 50, negative = never

	// Pace gives the seconds from one position to the next where the fixes have
	// no clock. Nil leaves such seconds unknown (NaN).
	Pace func(from, to orb.Point) float64

	// Start is when the first fix of a route without any times is passed;
	// zero = unknown. Ignored where the fixes carry times.
	Start time.Time
}

// Place stands for a stretch of a route.
type Place struct {
	Point   orb.Point // middle of the stretch
	HeightM float64   // between the two fixes around it [m], NaN = unknown
	Time    time.Time // when the middle is passed, zero = unknown
	Seconds float64   // time spent on the stretch [s], NaN = unknown
	LengthM float64   // length of the stretch [m]
	AlongM  float64   // from the start of its run to the middle [m]
	Run     int       // 0-based number of the unbroken run it lies on
	Segment int       // 0-based number of the segment of the track it lies on
}
