package sweep

import (
	"fmt"
	"math"

	"farhail/signal/observer"
	"farhail/signal/sighting"
)

// WindowM is the length of path over which a line of sight between plants
// stays clear or blocked [m]: own estimate, 1 to 4.
const WindowM = 2

// GrazingPerM is the part by which low growth and small humps, which no
// terrain file holds, hide a target on the ground per unit of range over height:
// e^(-0.02 r/h). Own estimate, 0 to 0.05.
const GrazingPerM = 0.02

// A Pass is an observer who moves past a target in a straight line and does
// not know where it is. Query and SpeedMS are required.
type Pass struct {
	// Query is the target, the air and the observer, with how the observer looks.
	// Its zero Search is [observer.WalkingSearch] here, or AirSearch with
	// Abeam. Eye and signal heights give the slant.
	Query   sighting.Query
	SpeedMS float64 // [m/s]
	Plants  Plants
	// Abeam: the sector looks to the sides, half of it ahead of abeam, as from an
	// aircraft's window. Otherwise its middle is straight ahead.
	Abeam      bool
	ScanLimitM float64 // to either side [m], beyond which nobody looks; 0: none
	Grazing    bool    // low growth hides targets seen at a slant: [GrazingPerM]
	// NoOffset takes every observer as the median one on a median day, so that
	// misses are independent. For comparing; it overstates.
	NoOffset bool
}

// ScanLimitM returns how far to the side the crew of an aircraft looks, in air
// of the given visibility [m]: a nautical mile, or less in haze. Fitted to
// the widths of the land search table of IAMSAR (volume II, N-9, from memory);
// the US National SAR Manual tells crews not to look past the range they
// expect.
func ScanLimitM(visibilityM float64) float64 {
	return min(1852, visibilityM/4.5)
}

// Bands of the sweep width: a width may be larger or smaller by these factors.
const (
	ForestBand = 1.35
	AirBand    = 1.6
)

// Band returns the factor by which the pass's sweep width may be larger or
// smaller.
func (p Pass) Band() float64 {
	if p.Plants.ClearM() < math.Inf(1) && !p.Abeam {
		return ForestBand
	}
	return AirBand
}

// Check returns an error that names the first impossible value.
func (p Pass) Check() error {
	if err := p.query().Check(); err != nil {
		return err
	}
	if err := p.Plants.Check(); err != nil {
		return err
	}
	switch {
	case !(p.SpeedMS > 0) || math.IsInf(p.SpeedMS, 1):
		return fmt.Errorf("sweep: speed %g m/s is not a positive number", p.SpeedMS)
	case !(p.ScanLimitM >= 0):
		return fmt.Errorf("sweep: scan limit %g m is not a number from 0 up", p.ScanLimitM)
	case p.Abeam && p.query().Search.WidthDeg > 180:
		return fmt.Errorf("sweep: a side window of %g deg is wider than 180", p.query().Search.WidthDeg)
	}
	return nil
}

// query returns the query with the way of looking filled in.
func (p Pass) query() sighting.Query {
	q := p.Query
	if q.Search == (observer.Search{}) {
		q.Search = observer.WalkingSearch()
		if p.Abeam {
			q.Search = observer.AirSearch()
		}
	}
	return q
}

// heightM is how far eye and target are apart in height.
func (p Pass) heightM() float64 { return math.Abs(p.Query.EyeM - p.Query.SignalM) }

// stretch returns where along the path, counted back from abeam of a target x to
// the side, the target is in the sector: from near to far [m] before abeam,
// far +Inf where it has no end. With Abeam the same stretch lies behind too.
func (p Pass) stretch(xM float64) (nearM, farM float64) {
	half := p.query().Search.WidthDeg / 2
	if p.Abeam {
		return 0, math.Max(p.heightM(), xM) * math.Tan(half*math.Pi/180)
	}
	switch half {
	case 90:
		return 0, math.Inf(1)
	case 180:
		return math.Inf(-1), math.Inf(1)
	}
	return xM / math.Tan(half*math.Pi/180), math.Inf(1)
}
