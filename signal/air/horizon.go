package air

import "farhail/geo/earth"

// GeographicM returns the distance [m] at which two points at the given
// heights [m] above a smooth round earth just see each other, refraction
// included: the sum of their horizon distances, sqrt(2 R h / (1 - k)) each
// (Bowditch, American Practical Navigator, 2017, vol. 2, explanation of table
// 12, with k in place of its factor 0.8279). Heights below 0 count as 0. Over
// 10 km the spread of k from 0 to 0.25 moves the line by about 1 m.
func (a Air) GeographicM(heightM, otherM float64) float64 {
	return earth.HorizonM(max(heightM, 0), a.Refraction, a.EarthRadiusM) +
		earth.HorizonM(max(otherM, 0), a.Refraction, a.EarthRadiusM)
}
