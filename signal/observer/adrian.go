package observer

import "math"

// AdrianContrast returns the luminance contrast at which half of all looks
// show a disc brighter than its background (k = 1), by Adrian, "Visibility of
// targets: model for calculation", Lighting Res. Technol. 21 (1989) 181-188.
//
// The background is in cd/m2, the diameter in minutes of arc, the look in
// seconds (2 or more counts as unlimited, and so does any look at a disc of 60
// minutes or more). The branches of the fit join to 1 %. Multiply by 2.6 for a
// certain sight, by [AdrianAge] for the observer's age. Against
// [CrumeyContrast] points of light agree within a factor 0.8 to 2.3 from 1e-5
// to 1e4 cd/m2.
func AdrianContrast(backgroundCDM2, diameterArcmin, lookS float64) float64 {
	rootPhi, rootL := adrianRoots(backgroundCDM2)
	s := rootPhi/diameterArcmin + rootL
	return s * s * adrianTime(backgroundCDM2, diameterArcmin, lookS) / backgroundCDM2
}

// AdrianPointLx returns the limit of Adrian's law for a point of light of
// known place [lx], k = 1, unlimited look: Phi times the area of a disc of one
// minute of arc.
func AdrianPointLx(backgroundCDM2 float64) float64 {
	rootPhi, _ := adrianRoots(backgroundCDM2)
	return rootPhi * rootPhi * math.Pi / 4 * arcmin * arcmin
}

// arcmin is a minute of arc in radians.
const arcmin = math.Pi / 180 / 60

// adrianRoots returns the square roots of the luminous flux function Phi and
// of the luminance function L, whose sizes decide for small and for large
// discs.
func adrianRoots(b float64) (rootPhi, rootL float64) {
	l := math.Log10(b)
	switch {
	case b >= 0.6:
		return math.Log10(4.1925*math.Pow(b, 0.1556)) + 0.1684*math.Pow(b, 0.5867),
			0.05946 * math.Pow(b, 0.466)
	case b > 0.00418:
		return math.Pow(10, -0.072+0.3372*l+0.0866*l*l),
			math.Pow(10, -1.256+0.319*l)
	}
	return math.Pow(10, 0.028+0.173*l),
		math.Pow(10, -0.891+0.5275*l+0.0227*l*l)
}

// adrianTime returns the factor (a + t) / t for a short look.
func adrianTime(b, diameterArcmin, lookS float64) float64 {
	if lookS >= 2 || diameterArcmin >= 60 {
		return 1
	}
	p := math.Log10(diameterArcmin) + 0.523
	s := math.Log10(b) + 6
	aSize := 0.36 - 0.0972*p*p/(p*p-2.513*p+2.7895)
	aLum := 0.355 - 0.1217*s*s/(s*s-10.4*s+52.28)
	a := math.Sqrt(aSize*aSize+aLum*aLum) / 2.1
	return (a + lookS) / lookS
}

// AdrianAge returns the factor on the threshold for the observer's age in
// years, 1.0 at 23; NaN above 75, where the law has no data. Ages below 23
// count as 23.
func AdrianAge(years float64) float64 {
	switch {
	case years > 75 || math.IsNaN(years):
		return math.NaN()
	case years >= 64:
		return (years-56.6)*(years-56.6)/116.3 + 1.43
	}
	y := max(years, 23)
	return (y-19)*(y-19)/2160 + 0.99
}
