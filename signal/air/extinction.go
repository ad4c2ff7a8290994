package air

import "math"

var (
	ln20 = math.Log(20) // MOR is where 5 % of the light is left
	ln50 = math.Log(50) // the older visual range is where 2 % is left
)

// Extinction returns the coefficient [1/m] at which the air weakens light or
// contrast, ln 20 / MOR (Koschmieder's law at the 5 % of the CIE
// International Lighting Vocabulary, terms 17-21-026 to 17-21-028).
func (a Air) Extinction() float64 {
	return ln20 / a.VisibilityM
}

// Transmission returns the share of the light, or of the contrast against the
// horizon, that is left after the given path [m].
func (a Air) Transmission(pathM float64) float64 {
	return math.Exp(-a.Extinction() * pathM)
}

// FromTwoPercent returns the MOR of air whose 2 % visual range
// ("meteorological range" in older books) is given, both [m] or in another unit:
// ln 20 / ln 50 = 0.765776 of it.
func FromTwoPercent(visualRange float64) float64 {
	return visualRange * ln20 / ln50
}
