package sighting

import "math"

// farthest returns the end of the distances from 0 on at which a condition
// holds that holds nearer and not farther, found to the last place of float64
// below an upper bound [m].
func farthest(boundM float64, holds func(distM float64) bool) float64 {
	lo, hi := 0.0, boundM
	for {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			return lo
		}
		if holds(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
}

// rootWidth is how closely a root is found; in the logarithm of a distance it
// is a share of it.
const rootWidth = 1e-10

// root returns where a falling function is 0 between a and b, whose values
// there are given, fa > 0 > fb: false position, with the Illinois rule that
// halves the weight of an end which stays.
func root(f func(float64) float64, a, b, fa, fb float64) float64 {
	last := a
	for side := 0; ; {
		x := b - fb*(b-a)/(fb-fa)
		if !(x > a && x < b) {
			x = a + (b-a)/2 // an infinite value at an end, or an end next to the root
		}
		if math.Abs(x-last) < rootWidth || b-a < rootWidth {
			return x
		}
		last = x
		if fx := f(x); fx > 0 {
			a, fa = x, fx
			if side > 0 {
				fb /= 2
			}
			side = 1
		} else {
			b, fb = x, fx
			if side < 0 {
				fa /= 2
			}
			side = -1
		}
	}
}
