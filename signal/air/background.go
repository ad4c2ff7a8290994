package air

import "math"

// Behind names what stands behind a signal as the eye sees it.
type Behind string

// What can stand behind a signal.
const (
	Sky    Behind = "sky"    // the sky near the horizon
	Ground Behind = "ground" // dark vegetation, earth, rock
	Snow   Behind = "snow"
)

// Backgrounds lists what can stand behind a signal.
var Backgrounds = []Behind{Sky, Ground, Snow}

const (
	// groundFactor is the luminance factor of ground to the eye. Green plants
	// have 0.03 to 0.10, dry grass and rock 0.15 to 0.4 (from memory); broadband
	// albedo is higher and wrong here.
	groundFactor = 0.1
	// snowFactor is that of snow (Smith, Modern Optical Engineering,
	// figure 12.9b: 0.85; aged snow is darker).
	snowFactor = 0.8
	// brightSkyCDM2 is the horizon sky of a clear day [cd/m2] (RCA
	// Electro-Optics Handbook, 1974; from memory).
	brightSkyCDM2 = 1e4
)

// Factor returns the luminance factor of what stands behind a signal: 0.1 for
// ground, 0.8 for snow, and 1 for the sky, which is taken as even; NaN for a
// word that is not in [Backgrounds].
func Factor(behind Behind) float64 {
	switch behind {
	case Sky:
		return 1
	case Ground:
		return groundFactor
	case Snow:
		return snowFactor
	}
	return math.NaN()
}

// Background returns the luminance [cd/m2] of what stands behind a signal, for
// the given light on open level ground [lx]; NaN for a word that is not in
// [Backgrounds].
//
// Ground and snow are diffuse and level: luminance factor times light over pi,
// 0.1 and 0.8. The sky is taken as even, light over pi, up to the 1e4 cd/m2 of
// a clear day's horizon (own choice): the sun's own beam adds to the light on
// the ground and not to the sky. Within a factor 3 either way.
func Background(illuminanceLx float64, behind Behind) float64 {
	luminance := Factor(behind) * illuminanceLx / math.Pi
	if behind == Sky {
		return min(luminance, brightSkyCDM2)
	}
	return luminance
}
