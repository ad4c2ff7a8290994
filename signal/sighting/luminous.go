package sighting

import "math"

// LuminousM returns the distance [m] at which a point of light of the given
// intensity [cd] gives the given illuminance [lx] at the eye, through air of
// the given extinction [1/m].
//
// It solves Allard's law E = I e^(-s R) / R^2 (Allard 1876; AMS Glossary of
// Meteorology) in closed form, R = (2/s) W0((s/2) sqrt(I/E)), exact to a few
// units in the last place. The light must be a point, and the air uniform and
// not so dense that its own halo counts (MOR above about 50 m).
func LuminousM(intensityCD, illuminanceLx, extinction float64) float64 {
	vacuumM := math.Sqrt(intensityCD / illuminanceLx)
	if extinction == 0 {
		return vacuumM
	}
	return 2 / extinction * lambertW(extinction/2*vacuumM)
}

// IlluminanceLx returns what a point of light gives at the given distance [m]:
// Allard's law.
func IlluminanceLx(intensityCD, distM, extinction float64) float64 {
	return intensityCD * math.Exp(-extinction*distM) / (distM * distM)
}

// lambertW returns the principal branch W0 of Lambert's function for x >= 0,
// the w with w e^w = x. log(1+x) is never below W0, and w e^w is convex, so
// Newton's steps come down to it without overshoot.
func lambertW(x float64) float64 {
	if x == 0 || math.IsInf(x, 1) || math.IsNaN(x) {
		return x
	}
	w := math.Log1p(x)
	for {
		next := w - (w-x*math.Exp(-w))/(1+w)
		if !(next < w) {
			return w
		}
		w = next
	}
}
