package observer

import "math"

// Factors on a laboratory threshold for observers in the field (Taylor,
// "Use of visual performance data in visibility prediction", Applied Optics 3
// (1964) 562; from memory, their likelihoods are those of a normal ogive of
// standard deviation 0.39 throughout). They are a chain of their own, without
// a lobe: an unknown place costs the same however wide the sector and however
// long the look.
const (
	TaylorUnknownPlace = 1.31 // anywhere within four degrees or more
	TaylorVigilance    = 1.19 // neither place nor time known
	TaylorUntrained    = 1.9  // a practised observer in the laboratory is 1; up to 2.0
)

// taylorLikelihoods turn a threshold seen in half of all looks into others.
var taylorLikelihoods = []struct{ chance, factor float64 }{{0.50, 1}, {0.90, 1.50}, {0.95, 1.64}, {0.99, 1.91}}

// TaylorLikelihood returns the factor for a chance of a look of 0.5, 0.9, 0.95
// or 0.99, those of Taylor's table; NaN for others.
func TaylorLikelihood(chance float64) float64 {
	for _, l := range taylorLikelihoods {
		if l.chance == chance {
			return l.factor
		}
	}
	return math.NaN()
}

// TaylorNoticed is the factor for a signal that is nearly always noticed by
// those who do not know the place: 1.64 x 1.31 x 1.19, without training.
var TaylorNoticed = TaylorLikelihood(0.95) * TaylorUnknownPlace * TaylorVigilance
