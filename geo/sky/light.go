package sky

import "math"

// NightIlluminanceLx is the light of stars and airglow on open ground under a
// clear sky without moon [lx]. Published figures run from 2e-4 (stars alone)
// to 2e-3 (with airglow); the brighter is taken, as lists of ordinary nights
// do (RCA Electro-Optics Handbook, 1974; from memory).
const NightIlluminanceLx = 2e-3

// A daylight is one row of the table: log10 E = c0 + c1 x + c2 x^2 + c3 x^3
// with x = elevation / 90 degrees, from the given elevation up.
type daylight struct {
	fromDeg float64
	c       [4]float64
}

// usno171 is the table for the sun in Janiczek, P. M. and DeYoung, J. A.,
// Computer Programs for Sun and Moon Illuminance, USNO Circular 171 (1987),
// also in Vallado, Fundamentals of Astrodynamics, table 5-1. Rows meet to 1 %.
var usno171 = []daylight{
	{20, [4]float64{3.74, 3.97, -4.07, 1.47}},
	{5, [4]float64{3.05, 13.28, -45.98, 64.33}},
	{-0.8, [4]float64{2.88, 22.26, -207.64, 1034.30}},
	{-5, [4]float64{2.88, 21.81, -258.11, -858.36}},
	{-12, [4]float64{2.70, 12.17, -431.69, -1899.83}},
	{-18, [4]float64{13.84, 262.72, 1447.42, 2797.93}},
}

// SunIlluminance returns the light of sun and sky on open level ground [lx]
// for the sun's true elevation [deg], under a clear sky and through average
// air at sea level (USNO Circular 171). It is 0 with the sun below -18
// degrees, where the table ends at 6e-4 lx, and NaN for NaN.
func SunIlluminance(elevationDeg float64) float64 {
	if math.IsNaN(elevationDeg) {
		return math.NaN()
	}
	for _, row := range usno171 {
		if elevationDeg >= row.fromDeg {
			x := elevationDeg / 90
			return math.Pow(10, row.c[0]+x*(row.c[1]+x*(row.c[2]+x*row.c[3])))
		}
	}
	return 0
}

// ClearSkyIlluminance returns the light on open level ground under a clear
// sky without moon [lx], for the sun's true elevation [deg]:
// [SunIlluminance] and [NightIlluminanceLx] together. Cloud takes a half to
// nine tenths of it by day.
func ClearSkyIlluminance(elevationDeg float64) float64 {
	return SunIlluminance(elevationDeg) + NightIlluminanceLx
}
