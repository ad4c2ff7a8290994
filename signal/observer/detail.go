package observer

import "math"

// MinuteRad is a minute of arc [rad]: the gap that an eye of acuity 1.0 tells
// from none (ISO 8596, Landolt ring).
const MinuteRad = math.Pi / 180 / 60

// ResolvedM returns the farthest distance [m] at which an eye of the given acuity
// (1.0: normal) tells a gap of the given width [m] in a clear contrast. Haze, low
// contrast and the dark take from it.
func ResolvedM(gapM, acuity float64) float64 {
	return gapM * acuity / MinuteRad
}

// A Detail is what is to be told of a thing.
type Detail string

// What can be told (Johnson 1958).
const (
	Detection      Detail = "detection"      // that something is there
	Orientation    Detail = "orientation"    // how it lies
	Recognition    Detail = "recognition"    // what kind of thing it is
	Identification Detail = "identification" // which of its kind
)

// Cycles returns how many pairs of lines [1] must be told across the smaller side of
// a thing for half of all observers to tell the detail (J. Johnson, "Analysis of
// image forming systems", Fort Belvoir 1958, AD220160, for image intensifiers;
// to a fifth either way); NaN for another word.
func (d Detail) Cycles() float64 {
	switch d {
	case Detection:
		return 1
	case Orientation:
		return 1.4
	case Recognition:
		return 4
	case Identification:
		return 6.4
	}
	return math.NaN()
}

// DetailM returns the farthest distance [m] at which the naked eye tells a detail
// of a thing whose smaller side is given [m], in a clear contrast: a pair of
// lines at two minutes of arc, each line of one.
func (d Detail) DetailM(sideM float64) float64 {
	return sideM / (d.Cycles() * 2 * MinuteRad)
}
