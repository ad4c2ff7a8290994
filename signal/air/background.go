package air

import "math"

// Behind names what stands behind a signal as the eye sees it.
type Behind string

// What can stand behind a signal.
const (
	Ground   Behind = "ground" // open country that nobody describes: plants, earth, rock
	Sky      Behind = "sky"    // the sky near the horizon
	Grass    Behind = "grass"  // green fields
	DryGrass Behind = "dry-grass"
	Forest   Behind = "forest" // trees in leaf or needle, from outside
	Conifer  Behind = "conifer"
	Soil     Behind = "soil" // bare earth
	Rock     Behind = "rock"
	Sand     Behind = "sand"  // dry
	Water    Behind = "water" // seen from above; from low down it mirrors the sky
	Snow     Behind = "snow"
)

// Backgrounds lists what can stand behind a signal, the usual first.
var Backgrounds = []Behind{Ground, Sky, Grass, DryGrass, Forest, Conifer, Soil, Rock, Sand, Water, Snow}

// reflectances are luminance factors, for the eye. Broadband albedo is another
// thing and wrong here: green plants are bright in the near infrared alone.
var reflectances = map[Behind]struct {
	factor float64
	source string
}{
	Sky:    {1, "taken as even, up to a clear day's horizon"},
	Ground: {0.1, "own choice, within a factor 3"},
	// Seen from aircraft in summer and autumn: mean of some thousand measurements.
	Forest: {0.043, "Luckiesh, Visual Illusions, 1922, p. 228: woods"},
	Grass:  {0.068, "Luckiesh 1922: fields, grazing land and growing crops"},
	Water:  {0.068, "Luckiesh 1922: inland water, from above"},
	Soil:   {0.13, "Luckiesh 1922: barren ground"},
	// No table for the eye was found for these.
	DryGrass: {0.2, "from memory, 0.15 to 0.25"},
	Conifer:  {0.04, "from memory, 0.03 to 0.05"},
	Rock:     {0.3, "from memory, granite and limestone 0.2 to 0.4"},
	Sand:     {0.35, "own choice under the broadband 0.39 to 0.40 of two lists"},
	// Smith, Modern Optical Engineering, figure 12.9b: 0.85; aged snow keeps more
	// than 0.8 in the visible (O'Brien and Munis, CRREL Research Report 332, 1975,
	// abstract).
	Snow: {0.8, "Smith, Modern Optical Engineering, figure 12.9b (0.85), aged"},
}

// brightSkyCDM2 is the horizon sky of a clear day [cd/m2] (RCA Electro-Optics
// Handbook, 1974; from memory).
const brightSkyCDM2 = 1e4

// Factor returns the luminance factor of what stands behind a signal, 1 for the
// sky, which is taken as even; NaN for a word that is not in [Backgrounds].
func Factor(behind Behind) float64 {
	if r, ok := reflectances[behind]; ok {
		return r.factor
	}
	return math.NaN()
}

// FactorSource tells where [Factor] is from, "" for an unknown word.
func FactorSource(behind Behind) string { return reflectances[behind].source }

// Background returns the luminance [cd/m2] of what stands behind a signal, for
// the given light on open level ground [lx]; NaN for a word that is not in
// [Backgrounds].
//
// All but the sky are diffuse and level: luminance factor times light over pi.
// The sky is taken as even, light over pi, up to the 1e4 cd/m2 of a clear day's
// horizon (own choice): the sun's own beam adds to the light on the ground and
// not to the sky. Within a factor 3 either way.
func Background(illuminanceLx float64, behind Behind) float64 {
	luminance := Factor(behind) * illuminanceLx / math.Pi
	if behind == Sky {
		return min(luminance, brightSkyCDM2)
	}
	return luminance
}

// overcastHorizon is the luminance of an overcast sky at the horizon over that of
// an even sky which gives the same light on the ground: a third of the zenith's,
// by L = Lz (1 + 2 sin e) / 3, whose light on the ground is 7/9 pi Lz (Moon and
// Spencer 1942, the CIE overcast sky).
const overcastHorizon = 3.0 / 7

// HorizonRatio returns the luminance of the horizon over that of a diffuse
// level background of the given luminance factor, in the given light on open
// ground [lx]: 3.1 for ground in full sun, 4.3 under cloud. Haze in front of a
// background takes on the brightness of the horizon, so that a dark background
// is veiled sooner than the sky. The horizon is that of an overcast sky, up to a
// clear day's; under a clear sky with a low sun it is brighter by up to 2. NaN
// without light or factor.
func HorizonRatio(illuminanceLx, factor float64) float64 {
	even := illuminanceLx / math.Pi
	return min(overcastHorizon*even, brightSkyCDM2) / (factor * even)
}
