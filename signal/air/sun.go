package air

import "math"

// SunDiscDeg is the angle across the sun [deg]: 0.524 to 0.542 in the course
// of a year.
const SunDiscDeg = 0.533

// SunDiscSR is the solid angle that the sun fills [sr].
const SunDiscSR = math.Pi / 4 * (SunDiscDeg * math.Pi / 180) * (SunDiscDeg * math.Pi / 180)

// OpticalAirMass returns how much more air the sun's light comes through than
// from overhead, for an apparent elevation [deg] from 0 to 90: 1 / (sin h +
// 0.50572 (h + 6.07995)^-1.6364) (Kasten and Young, Applied Optics 28 (1989)
// 4735-4738, equation (3)), within 0.5 % of their table down to the horizon,
// where it is 38. NaN below it.
func OpticalAirMass(elevationDeg float64) float64 {
	if !(elevationDeg >= 0) {
		return math.NaN()
	}
	return 1 / (math.Sin(elevationDeg*math.Pi/180) + 0.50572*math.Pow(elevationDeg+6.07995, -1.6364))
}

const (
	// SunAboveAirLx is the light of the sun outside of the air, on a surface
	// that faces it [lx]; it swings by 3.4 % in the course of a year.
	SunAboveAirLx = 127_500
	// ClearSkyExtinction is the part of a power of e that clear air overhead
	// takes of it. Both: Illuminating Engineering Society, Recommended Practice
	// for the Calculation of Daylight Availability, J. IES 13 (1984) 381-392 (values from
	// memory).
	ClearSkyExtinction = 0.21
)

// SunBeamLx returns the light of the sun's disc alone on a surface that faces
// it [lx], under a clear sky, for an apparent elevation [deg]: the light outside
// of the air times e^(-0.21 m) with [OpticalAirMass] m; 0 with the sun down. Haze
// and thin cloud take more: a factor 2 either way above 10 degrees. Near the
// horizon, where the air takes the blue first and then less of the rest, it is
// low by up to a factor 10, the safe side for a mirror.
func SunBeamLx(elevationDeg float64) float64 {
	if elevationDeg < 0 {
		return 0
	}
	return SunAboveAirLx * math.Exp(-ClearSkyExtinction*OpticalAirMass(elevationDeg))
}
