package sky

import (
	"math"
	"time"
)

// A crossing is a moment at which a quantity passes zero.
type crossing struct {
	at time.Time
	up bool // from below
}

// A sample is a quantity at a moment.
type sample struct {
	at time.Time
	v  float64
}

const (
	// sampleStep is short against the hours that the sky takes from one turning
	// point to the next, so that three samples hold no more than one.
	sampleStep = time.Hour
	// crossingWithin is how closely a crossing is found.
	crossingWithin = 50 * time.Millisecond
)

// samples follows a smooth quantity from one moment to another, with its
// turning points among the samples, so that between two of them it only rises
// or only falls.
func samples(f func(time.Time) float64, from, to time.Time) []sample {
	var list []sample
	for at := from; at.Before(to); at = at.Add(sampleStep) {
		list = append(list, sample{at, f(at)})
	}
	list = append(list, sample{to, f(to)})

	turned := list[:1:1]
	for i := 1; i < len(list); i++ {
		if i+1 < len(list) {
			before, at, after := list[i-1], list[i], list[i+1]
			if (at.v >= before.v) == (at.v >= after.v) && before.v != after.v {
				sign := 1.0
				if at.v < before.v {
					sign = -1
				}
				peak := highest(func(t time.Time) float64 { return sign * f(t) }, before.at, after.at)
				turn := sample{peak, f(peak)}
				if turn.at.Before(at.at) {
					turned = append(turned, turn, at)
				} else {
					turned = append(turned, at, turn)
				}
				continue
			}
		}
		turned = append(turned, list[i])
	}
	return turned
}

// highest returns where a quantity with one maximum between two moments has it
// (golden section).
func highest(f func(time.Time) float64, from, to time.Time) time.Time {
	const shrink = 0.6180339887498949
	span := func(share float64) time.Duration { return time.Duration(share * float64(to.Sub(from))) }
	a, b := to.Add(-span(shrink)), from.Add(span(shrink))
	fa, fb := f(a), f(b)
	for to.Sub(from) > time.Second {
		if fa > fb {
			to, b, fb = b, a, fa
			a = to.Add(-span(shrink))
			fa = f(a)
		} else {
			from, a, fa = a, b, fb
			b = from.Add(span(shrink))
			fb = f(b)
		}
	}
	return a
}

// crossings returns where a quantity passes a level, by bracketing between
// samples and halving, in order of time.
func crossings(f func(time.Time) float64, list []sample, level float64) []crossing {
	var found []crossing
	for i := 1; i < len(list); i++ {
		lo, hi := list[i-1], list[i]
		if (lo.v >= level) == (hi.v >= level) || math.IsNaN(lo.v+hi.v) {
			continue
		}
		up := hi.v >= level
		for hi.at.Sub(lo.at) > crossingWithin {
			mid := lo.at.Add(hi.at.Sub(lo.at) / 2)
			if v := f(mid); (v >= level) == up {
				hi = sample{mid, v}
			} else {
				lo = sample{mid, v}
			}
		}
		found = append(found, crossing{lo.at.Add(hi.at.Sub(lo.at) / 2), up})
	}
	return found
}
