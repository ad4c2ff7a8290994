package observer

import "math"

// seeingExponent shapes the frequency-of-seeing curve. 2.5 has the same 90 %
// point as the normal ogive of Blackwell's data (standard deviation 0.48 of
// the threshold, JOSA 36 (1946) 624; from memory), and is 0 at zero stimulus
// as an ogive is not: an ogive's 1.9 % at nothing would add up over the field
// of view to a lobe of its own.
const seeingExponent = 2.5

// Seen returns the probability that one look shows a stimulus of the given
// ratio V to the 50 % threshold: 1 - 2^(-V^2.5). It is 0 for V of 0 or less.
func Seen(v float64) float64 {
	if v <= 0 {
		return 0
	}
	x := math.Ln2 * v * v * math.Sqrt(v)
	if x < seenSeries {
		return x * (1 - x/2*(1-x/3*(1-x/4*(1-x/5))))
	}
	return -math.Expm1(-x)
}

// seenSeries is up to where 1 - e^-x is its series to the fifth power, exact to
// 2e-13; most of a lobe is.
const seenSeries = 0.01

// VisibilityRatio returns the ratio V at which one look shows the stimulus
// with the given probability, the inverse of [Seen]: 1 at 0.5, 1.616 at 0.9.
// It is NaN outside 0 to 1.
func VisibilityRatio(probability float64) float64 {
	return math.Pow(-math.Log1p(-probability)/math.Ln2, 1/seeingExponent)
}
