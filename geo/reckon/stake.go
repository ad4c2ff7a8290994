package reckon

import (
	"errors"
	"math"

	"farhail/geo/earth"
)

// Causes why a log gives no stake map.
var (
	// ErrNoPatch says that the patch of ground has no size.
	ErrNoPatch = errors.New("reckon: a stake map needs a patch of ground with two sides above zero")
	// ErrNowhere says that a log leads nowhere, so that there is nothing to lay out.
	ErrNowhere = errors.New("reckon: the log leads nowhere")
)

// A StakeMap is a log laid out on the ground with stakes and string, a stake
// where a leg ends, so that the string from the last stake to the first is the way
// home at that scale. Where the log was joined or spread, it shows the adjusted
// legs.
type StakeMap struct {
	Scale float64 // metres on the ground for one on the map: 1, 2 or 5 and zeros
	// The patch lies with its long side east and west, or north and south.
	LongSideEast bool
	// FirstEastM and FirstNorthM are the place of the first stake from the patch's
	// south-west corner; the map lies in the middle [m].
	FirstEastM, FirstNorthM float64
	WideM, HighM            float64 // of the map, east and north [m]
	Strings                 []String
	Home                    String // from the last stake to the first
}

// A String runs from one stake to the next.
type String struct {
	Leg     int // from 0
	Gap     bool
	True    earth.True // NaN for one of no length
	StringM float64
}

// stakeMargin is the part of a patch's side that is left free for stakes and
// feet. Own choice.
const stakeMargin = 0.05

// Stakes returns the stake map of a log on a patch with two sides [m], at the
// largest scale of round numbers at which it fits, and 5 % of each side to spare.
func (r *Result) Stakes(sideM, otherM float64) (*StakeMap, error) {
	if !(sideM > 0 && otherM > 0) || math.IsInf(sideM, 0) || math.IsInf(otherM, 0) {
		return nil, ErrNoPatch
	}
	type step struct {
		leg  int
		gap  bool
		n, e float64
	}
	var steps []step
	gap := 0
	for i := range len(r.Legs) + 1 {
		for ; gap < len(r.Gaps) && r.Gaps[gap].After == i; gap++ {
			steps = append(steps, step{i, true, r.Gaps[gap].NorthM, r.Gaps[gap].EastM})
		}
		if i == len(r.Legs) {
			break
		}
		s := r.Legs[i]
		if math.IsNaN(s.AdjustedNorthM) {
			steps = append(steps, step{i, false, s.NorthM, s.EastM})
		} else {
			steps = append(steps, step{i, false, s.AdjustedNorthM, s.AdjustedEastM})
		}
	}
	var n, e, south, north, west, east float64
	for _, s := range steps {
		n, e = n+s.n, e+s.e
		south, north = math.Min(south, n), math.Max(north, n)
		west, east = math.Min(west, e), math.Max(east, e)
	}
	high, wide := north-south, east-west
	if !(high > 0 || wide > 0) {
		return nil, ErrNowhere
	}
	long, short := math.Max(sideM, otherM), math.Min(sideM, otherM)
	free := 1 - 2*stakeMargin
	flat, upright := math.Max(wide/long, high/short)/free, math.Max(wide/short, high/long)/free
	m := &StakeMap{LongSideEast: flat <= upright, Scale: roundScale(math.Min(flat, upright))}
	if !m.LongSideEast {
		long, short = short, long
	}
	m.WideM, m.HighM = wide/m.Scale, high/m.Scale
	m.FirstEastM = (long-m.WideM)/2 - west/m.Scale
	m.FirstNorthM = (short-m.HighM)/2 - south/m.Scale
	for _, s := range steps {
		m.Strings = append(m.Strings, newString(s.leg, s.gap, s.n/m.Scale, s.e/m.Scale))
	}
	m.Home = newString(len(r.Legs), false, -n/m.Scale, -e/m.Scale)
	return m, nil
}

func newString(leg int, gap bool, n, e float64) String {
	s := String{leg, gap, earth.True(math.NaN()), math.Hypot(n, e)}
	switch {
	case s.StringM < 1e-9: // what rounding leaves of a loop
		s.StringM = 0
	default:
		s.True = earth.NewTrue(math.Atan2(e, n) * 180 / math.Pi)
	}
	return s
}

// roundScale returns the least of 1, 2 and 5 times a power of ten that is not
// below v.
func roundScale(v float64) float64 {
	exponent := math.Floor(math.Log10(v)) - 1
	for {
		for _, digit := range []float64{1, 2, 5} {
			// A division keeps 0.01 and the like as they are written.
			round := digit * math.Pow(10, exponent)
			if exponent < 0 {
				round = digit / math.Pow(10, -exponent)
			}
			if round >= v*(1-1e-12) {
				return round
			}
		}
		exponent++
	}
}
