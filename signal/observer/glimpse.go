package observer

import (
	"fmt"
	"math"
)

// The way of looking that is taken where nobody states another.
const (
	// GlimpseS is how long the eye rests on a place [s], three glimpses a
	// second: the time of Taylor's lobes (SIO 61-10, 1961, abstract), and fixations 3
	// to 4 degrees apart at 10 degrees a second in the US National SAR Manual. Up to
	// 1 s in hard tasks (Enoch, in Overington, Vision and Acquisition, 1976,
	// chapter 8, second-hand).
	GlimpseS = 0.33
	// mostPerGlimpse bounds the chance of one glimpse: nobody is sure.
	mostPerGlimpse = 0.98
)

// A Search is how somebody looks for what they know to exist, but not where.
// The zero value is not usable; begin with [DefaultSearch], [WalkingSearch] or
// [AirSearch].
type Search struct {
	WidthDeg, HeightDeg float64 // of the sector that is scanned, level in its middle [deg]
	LookS               float64 // how long [s]
	Attention           float64 // share of the glimpses that is spent on it, 0 to 1
	GlimpseS            float64 // how long one glimpse takes [s]
}

// DefaultSearch is a person who stands still and looks over a sector of 90 by
// 20 degrees about the horizon for a minute, with half of the glimpses. Own
// choice, and the definition of "noticed".
func DefaultSearch() Search {
	return Search{WidthDeg: 90, HeightDeg: 20, LookS: 60, Attention: 0.5, GlimpseS: GlimpseS}
}

// WalkingSearch is a person who walks and looks over all that is ahead, 180 by
// 30 degrees, with half of the glimpses; the rest go to footing and way. Own
// estimate.
func WalkingSearch() Search {
	return Search{WidthDeg: 180, HeightDeg: 30, LookS: 60, Attention: 0.5, GlimpseS: GlimpseS}
}

// AirSearch is a scanner at the side window of an aircraft: 120 by 40 degrees,
// with four fifths of the glimpses. Own estimate.
func AirSearch() Search {
	return Search{WidthDeg: 120, HeightDeg: 40, LookS: 60, Attention: 0.8, GlimpseS: GlimpseS}
}

// Check returns an error that names the first impossible value.
func (s Search) Check() error {
	switch {
	case !(s.WidthDeg > 0 && s.WidthDeg <= 360):
		return fmt.Errorf("search: sector %g deg wide is outside 0 to 360", s.WidthDeg)
	case !(s.HeightDeg > 0 && s.HeightDeg <= 180):
		return fmt.Errorf("search: sector %g deg high is outside 0 to 180", s.HeightDeg)
	case !(s.LookS > 0) || math.IsInf(s.LookS, 1):
		return fmt.Errorf("search: look of %g s is not a positive time", s.LookS)
	case !(s.Attention > 0 && s.Attention <= 1):
		return fmt.Errorf("search: attention %g is outside 0 to 1", s.Attention)
	case !(s.GlimpseS > 0) || math.IsInf(s.GlimpseS, 1):
		return fmt.Errorf("search: glimpse of %g s is not a positive time", s.GlimpseS)
	}
	return nil
}

// SectorSR returns the solid angle of the sector [sr].
func (s Search) SectorSR() float64 {
	return s.WidthDeg * degree * 2 * math.Sin(s.HeightDeg*degree/2)
}

// Glimpses returns how many glimpses the search spends on the sector in the
// given time [s].
func (s Search) Glimpses(seconds float64) float64 {
	return seconds / s.GlimpseS * s.Attention
}

// Chance returns the chance that one glimpse at a random place of the sector
// shows an object whose lobe is given [sr]: lobe over sector, at most 0.98.
func (s Search) Chance(lobeSR float64) float64 {
	return min(lobeSR/s.SectorSR(), mostPerGlimpse)
}

// Rate returns the rate of finding [1/s] of an object whose lobe is given
// [sr], -ln(1 - chance) times the glimpses a second: glimpses at random places
// find as a Poisson process.
func (s Search) Rate(lobeSR float64) float64 {
	return -math.Log1p(-s.Chance(lobeSR)) * s.Glimpses(1)
}

// LobeFor returns the lobe [sr] that is found with the given probability
// within the look; +Inf where a chance of 0.98 a glimpse does not do.
func (s Search) LobeFor(probability float64) float64 {
	chance := -math.Expm1(math.Log1p(-probability) / s.Glimpses(s.LookS))
	if chance > mostPerGlimpse {
		return math.Inf(1)
	}
	return chance * s.SectorSR()
}
