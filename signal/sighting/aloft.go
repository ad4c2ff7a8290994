package sighting

import (
	"math"

	"farhail/signal/source"
)

// extinction is that of the air along the line of sight [1/m]: from the ground
// to an aircraft its mean, whatever the slope.
func (q Query) extinction() float64 { return q.Air.MeanExtinction(q.EyeM, q.SignalM) }

// aboveM is how far an eye in an aircraft is above the signal [m], 0 for others.
func (q Query) aboveM() float64 {
	if !q.Aloft {
		return 0
	}
	return max(0, q.EyeM-q.SignalM)
}

// OverGroundM returns the distance over the ground [m] of a signal at a
// distance along the line of sight [m], 0 where an eye aloft is never as near.
// For other eyes it is the same: their heights do not count.
func (q Query) OverGroundM(alongM float64) float64 {
	h := q.aboveM()
	if h == 0 {
		return alongM
	}
	if alongM <= h {
		return 0
	}
	return math.Sqrt((alongM - h) * (alongM + h))
}

// AlongM is the inverse of [Query.OverGroundM].
func (q Query) AlongM(overGroundM float64) float64 { return math.Hypot(overGroundM, q.aboveM()) }

// looksDown reports whether the side of the signal that is met depends on how
// far off it is.
func (q Query) looksDown() bool {
	return q.aboveM() > 0 && math.IsNaN(float64(q.View.Azimuth))
}

// elevationDeg is that of an eye aloft as seen from a signal at a distance along
// the line of sight [m].
func (q Query) elevationDeg(alongM float64) float64 {
	return math.Asin(min(1, q.aboveM()/alongM)) * 180 / math.Pi
}

// solveAloft is [Solve] for an eye in an aircraft: it meets the signal at the
// elevation that goes with the distance found, another one for each purpose.
func (q Query) solveAloft() Result {
	r := q.settle(func(r *Result) *Reach { return &r.Perceptible })
	noticed := q.settle(func(r *Result) *Reach { return &r.Noticed })
	r.Noticed = noticed.Noticed
	return r
}

const (
	// settleSteps is in how many steps the elevation of a signal that looks
	// alike from neighbouring ones is found, to settledDeg.
	settleSteps = 40
	settledDeg  = 1e-7
	// scanDeg is the step in which a beam is looked for; a narrower one that
	// falls between two steps is missed. An area is looked for in scanAreaDeg.
	scanDeg, scanAreaDeg = 0.25, 5
)

// settle solves at the elevation of the farthest distance that serves a purpose.
func (q Query) settle(which func(*Result) *Reach) Result {
	at := func(elevationDeg float64) Result {
		p := q
		p.View.ElevationDeg = elevationDeg
		return p.solve()
	}
	e := 0.0
	for range settleSteps {
		r := at(e)
		along := which(&r).LuminousM
		if !(along > q.aboveM()) {
			break // no light in that direction, or too far below
		}
		next := q.elevationDeg(along)
		if math.Abs(next-e) < settledDeg || q.at(next) == r.Appearance {
			return at(next)
		}
		e = next
	}
	if q.alikeBelow() {
		return at(0)
	}
	return q.scan(at, which)
}

// alikeBelow reports whether the signal is an area that shows alike to every
// elevation, so that there is nothing to look for.
func (q Query) alikeBelow() bool {
	level := q.at(0)
	return !level.Point() && level.Absent == "" && q.at(45) == level && q.at(90) == level
}

// at returns what the signal shows at an elevation of the eye [deg].
func (q Query) at(elevationDeg float64) source.Appearance {
	v := q.View
	v.ElevationDeg = elevationDeg
	return q.Source.Toward(v)
}

// scan looks for the lowest elevation at which the signal is seen as far as the
// aircraft then is. The edge of a beam ends the distance.
func (q Query) scan(at func(elevationDeg float64) Result, which func(*Result) *Reach) Result {
	seen := func(e float64) (Result, bool) {
		r := at(e)
		return r, which(&r).LuminousM*math.Sin(e*math.Pi/180) >= q.aboveM()
	}
	step := float64(scanDeg)
	if !q.at(90).Point() {
		step = scanAreaDeg
	}
	low := 0.0
	for high := step; high <= 90; low, high = high, high+step {
		r, ok := seen(high)
		if !ok {
			continue
		}
		for high-low > settledDeg {
			mid := (low + high) / 2
			if m, ok := seen(mid); ok {
				r, high = m, mid
			} else {
				low = mid
			}
		}
		reach := which(&r)
		if edge := q.aboveM() / math.Tan(high*math.Pi/180); edge < reach.DistanceM*(1-1e-6) {
			reach.DistanceM, reach.Limit = edge, Beam
		}
		return r
	}
	return at(0)
}
