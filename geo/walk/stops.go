package walk

import (
	"math"
	"slices"
	"time"
)

// NightOnRoads is the speed by night as a share of that by day. US Army FM 21-18,
// Foot Marches: on roads 4.0 km/h by day and 3.2 by night (across country 2.4 and
// 1.6, which is 0.67).
const NightOnRoads = 0.80

// A Stop is a span of time in which a walker rests or is slower, everywhere.
type Stop struct {
	FromS, ToS float64 // after the field's zero [s]
	Speed      float64 // share of the usual speed, 0 for a rest, at most 1
}

// Walked returns how long a walker has walked at the usual speed [s] to have
// come as far as one who stops has at that time [s]. Where stops overlap the
// slowest holds.
func Walked(afterS float64, stops []Stop) float64 {
	var sum float64
	eachSpan(stops, func(fromS, toS, speed float64) bool {
		sum += speed * (math.Min(toS, afterS) - fromS)
		return toS < afterS
	})
	return sum
}

// Arrived returns the time [s] at which a walker who stops has come as far as
// one who walks that long [s] without: the earliest time at which [Walked] is
// walkedS.
func Arrived(walkedS float64, stops []Stop) float64 {
	at, left := 0.0, walkedS
	eachSpan(stops, func(fromS, toS, speed float64) bool {
		if left <= speed*(toS-fromS) {
			at = fromS
			if left > 0 {
				at += left / speed
			}
			return false
		}
		left -= speed * (toS - fromS)
		return true
	})
	return at
}

// eachSpan calls one for the spans of one speed from 0 to +Inf, until it
// returns false.
func eachSpan(stops []Stop, one func(fromS, toS, speed float64) bool) {
	ends := []float64{0}
	for _, s := range stops {
		for _, end := range []float64{s.FromS, s.ToS} {
			if end > 0 && !math.IsInf(end, 1) {
				ends = append(ends, end)
			}
		}
	}
	slices.Sort(ends)
	ends = append(slices.Compact(ends), math.Inf(1))
	for i := 1; i < len(ends); i++ {
		speed := 1.0
		for _, s := range stops {
			if s.FromS <= ends[i-1] && ends[i-1] < s.ToS {
				speed = math.Min(speed, s.Speed)
			}
		}
		if !one(ends[i-1], ends[i], speed) {
			return
		}
	}
}

// Daily returns the stops from one time of day to another, over midnight where
// the second is not later, on every day that touches the span from start to
// lastS [s] after it. Times of day are since midnight, on the clocks of the
// start's location.
func Daily(start time.Time, from, to time.Duration, speed, lastS float64) []Stop {
	var stops []Stop
	year, month, day := start.Date()
	at := func(d int, clock time.Duration) float64 {
		t := time.Date(year, month, day+d, int(clock/time.Hour), int(clock/time.Minute)%60, int(clock/time.Second)%60, 0, start.Location())
		return t.Sub(start).Seconds()
	}
	for d := -1; at(d, from) <= lastS; d++ {
		end := d
		if to <= from {
			end++
		}
		if until := at(end, to); until > 0 {
			stops = append(stops, Stop{FromS: at(d, from), ToS: until, Speed: speed})
		}
	}
	return stops
}

// LoadFactor returns the speed of a walker with a load as a share of that
// without, on level ground at the same power of the body, 1.34 m/s without load:
// Pandolf, Givoni & Goldman 1977, Journal of Applied Physiology 43, 577-581,
//
//	M = 1.5·W + 2.0·(W + L)·(L/W)² + 1.5·(W + L)·V²  W
//
// for W and L kg, V m/s. 20 kg on 70 kg give 0.85. It is 0 where standing takes
// all, and NaN for a body that weighs nothing.
func LoadFactor(bodyKG, loadKG float64) float64 {
	if !(bodyKG > 0) {
		return math.NaN()
	}
	const v = 1.34
	both, share := bodyKG+loadKG, loadKG/bodyKG
	square := (1.5*bodyKG*v*v - 2*both*share*share) / (1.5 * both)
	return math.Sqrt(math.Max(0, square)) / v
}
