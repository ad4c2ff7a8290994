package air

import "math"

// DefaultHazeHeightM is the height over which haze thins to 1/e, for an
// observer in an aircraft [m]: own choice within 1.0 to 1.5 km. Slant and level
// paths measured together gave 1 km in the visible (Shchelkanov, Proc. SPIE
// 5397 (2004), abstract read). Twice or half of it changes the optical depth
// from the ground to 500 m by a fifth or less.
const DefaultHazeHeightM = 1200

// MeanExtinction returns the mean coefficient [1/m] at which the air weakens
// light or contrast along a straight path between two heights above the ground
// [m]. With a haze height H it thins as e^(-z/H), and
//
//	s = s0 H (e^(-z1/H) - e^(-z2/H)) / (z2 - z1),
//
// whatever the slope of the path; without one it is [Air.Extinction]. The
// visibility is that at the ground. Layers, an inversion above all, are not
// modelled: under one the haze is as thick as at the ground up to its top and
// thin above. A level path is the limit s0 e^(-z/H). Heights below 0 count as
// 0.
func (a Air) MeanExtinction(heightM, otherM float64) float64 {
	s := a.Extinction()
	if a.HazeHeightM == 0 {
		return s
	}
	low, high := max(min(heightM, otherM), 0), max(heightM, otherM, 0)
	s *= math.Exp(-low / a.HazeHeightM)
	if x := (high - low) / a.HazeHeightM; x > 0 {
		s *= -math.Expm1(-x) / x
	}
	return s
}

// CloudBetween reports whether the base of a cloud cover lies between two
// heights above the ground [m]. Nothing is seen through it.
func (a Air) CloudBetween(heightM, otherM float64) bool {
	return a.CloudBaseM > 0 && max(heightM, otherM) > a.CloudBaseM && min(heightM, otherM) <= a.CloudBaseM
}
