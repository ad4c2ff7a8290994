package air

import (
	"math"
	"slices"
)

// Stability is a Pasquill class of how the air mixes, from A, very unstable (a
// calm sunny noon), by D, neutral (cloud or wind), to F, stable (a clear calm
// night). Pasquill, Meteorol. Mag. 90 (1961) 33-49.
type Stability string

// Stabilities lists the classes.
var Stabilities = []Stability{"A", "B", "C", "D", "E", "F"}

// Known reports whether the class is one of [Stabilities].
func (c Stability) Known() bool { return slices.Contains(Stabilities, c) }

// A curve is one of Briggs's for a standard deviation: a x (1 + b x)^p.
type curve struct{ a, b, p float64 }

func (c curve) at(x float64) float64 { return c.a * x * math.Pow(1+c.b*x, c.p) }

// briggsSide and briggsUp are the curves for open country, 100 m to 10 km, of
// Briggs (1973), as in Vallero, Fundamentals of Air Pollution, 3rd ed.,
// table 19-7 p. 305, after Gifford.
var (
	briggsSide = map[Stability]curve{
		"A": {0.22, 0.0001, -0.5}, "B": {0.16, 0.0001, -0.5}, "C": {0.11, 0.0001, -0.5},
		"D": {0.08, 0.0001, -0.5}, "E": {0.06, 0.0001, -0.5}, "F": {0.04, 0.0001, -0.5},
	}
	briggsUp = map[Stability]curve{
		"A": {0.20, 0, 0}, "B": {0.12, 0, 0}, "C": {0.08, 0.0002, -0.5},
		"D": {0.06, 0.0015, -0.5}, "E": {0.03, 0.0003, -1}, "F": {0.016, 0.0003, -1},
	}
)

// Spread returns the standard deviations [m] across the wind and up and down
// of smoke that has drifted the given distance [m] over open country. The
// curves rest on trials from 100 m to 10 km, to a factor of about 2, and run on
// straight below. NaN for a class that is not known.
func (c Stability) Spread(distM float64) (sideM, upM float64) {
	if !c.Known() {
		return math.NaN(), math.NaN()
	}
	return briggsSide[c].at(distM), briggsUp[c].at(distM)
}

const (
	gravity = 9.80665 // m/s2, standard
	// heatPerVolumeKelvin is cp rho T, which hardly depends on T: 1005 J/(kg K)
	// times 101325 Pa over 287.05 J/(kg K) [J/m3].
	heatPerVolumeKelvin = 1005 * 101325 / 287.05
	// plumeAirK is the air that stability is reckoned in [K], 10 C.
	plumeAirK = 283.15
	// LeastWindMS is the lightest wind that a bent-over plume is reckoned with
	// [m/s], as regulatory models do (EPA ISC3, calm processing).
	LeastWindMS = 1
)

// BuoyancyFlux returns Briggs's F = g Q / (pi cp rho T) [m4/s3] of a fire whose
// rising air carries the given heat [W]: 8.8 for a megawatt.
func BuoyancyFlux(convectiveW float64) float64 {
	return gravity * convectiveW / (math.Pi * heatPerVolumeKelvin)
}

// PlumeRiseM returns how high above its fire the middle of a smoke plume is
// [m] at a distance downwind [m]: 1.6 F^(1/3) x^(2/3) / u up to its final rise
// (Briggs), for a buoyancy flux [m4/s3] and a wind [m/s] that counts as no less
// than [LeastWindMS]. The final rise is that of neutral air, and in the classes
// E and F the lower of that and of stable air.
//
// The formulas are fitted to tall stacks. A fire on the ground, among trees or
// in gusts is outside of their trials. NaN for a class that is not known.
func (c Stability) PlumeRiseM(flux, windMS, distM float64) float64 {
	if !c.Known() {
		return math.NaN()
	}
	u := max(windMS, LeastWindMS)
	final := neutralRiseM(flux, u)
	if gradient, stable := stableGradient[c]; stable {
		final = min(final, stableRiseM(flux, u, gradient))
	}
	return min(final, 1.6*math.Cbrt(flux*distM*distM)/u)
}

// neutralRiseM is the final rise in neutral and unstable air: ISC3 User's Guide
// volume II, EPA-454/B-95-003b, equations 1-8 and 1-9 (from memory). The law of
// weak plumes ends 1 % above that of strong ones, and is held there, so that no
// fire rises less than a smaller one.
func neutralRiseM(flux, u float64) float64 {
	const strongFlux = 55 // m4/s3
	weak := 21.425 * math.Pow(min(flux, strongFlux), 0.75) / u
	if flux < strongFlux {
		return weak
	}
	return max(weak, 38.71*math.Pow(flux, 0.6)/u)
}

// stableGradient is the rise of potential temperature with height in stable
// air [K/m], the defaults of ISC3 (from memory).
var stableGradient = map[Stability]float64{"E": 0.020, "F": 0.035}

// stableRiseM is the final rise in stable air with wind, 2.6 (F / (u s))^(1/3)
// with s = (g / T) dtheta/dz (Briggs).
func stableRiseM(flux, u, gradient float64) float64 {
	s := gravity / plumeAirK * gradient
	return 2.6 * math.Cbrt(flux/(u*s))
}
