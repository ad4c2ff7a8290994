// Package air holds what lies between a signal and an eye: how far one sees
// through it, how it bends a line of sight, how bright the scene behind the
// signal is, how smoke drifts in it, what plants hide, and how it takes sound.
//
// Start with [Default] and set what is known. Visibility is always the
// meteorological optical range (MOR), the path that leaves 5 % of a collimated
// beam; [FromTwoPercent] converts the older 2 % visual range.
//
// # Method
//
// One extinction, ln 20 / MOR [1/m], takes from light and from contrast alike
// (Bouguer, Koschmieder): [Air.Extinction], [Air.Transmission]. For an observer in
// an aircraft haze thins with height as e^(-h/H), and the line takes its mean
// ([Air.MeanExtinction]); a closed cloud cover hides what is on the other side of
// it. The earth's curve is that of a sphere of radius R / (1 - k)
// ([Air.GeographicM]). The background is the light on the ground, which geo/sky
// gives, times what grows there over pi ([Background], [Factor]); [HorizonRatio] is
// by how much the horizon, which haze takes on, is brighter than a dark
// background. The sun's disc shines through [OpticalAirMass] of clear air
// ([SunBeamLx]). Smoke rises and spreads by Briggs's formulas for chimneys and the
// classes of [Stability]. Plants leave a line clear by chance ([Plants]): stems
// e^(-N D r), leaves e^(-0.5 a r). [Sound] is absorbed by the water, oxygen and
// nitrogen of the air, and by dense foliage ([FoliageDB]).
//
// # Sources
//
// WMO-No. 8 (2018) and the CIE vocabulary for visibility; Bowditch for the
// geographic range; Luckiesh 1922 and Munsell values for what ground reflects to
// the eye; Kasten and Young 1989 and IES 1984 (the latter from memory) for the
// sun's beam; Briggs 1969 and 1975, Pasquill and Gifford for smoke; NFPA 92 for
// columns; Beaufort's scale as WMO has it; Lang et al. 2021, Beer and Lambert and
// Ross 1981 for plants; ISO 9613-1:1993 and ISO 9613-2:1996 for sound. What has none
// says "own choice" where it stands.
//
// # Range and accuracy
//
// Even air holds from ground to ground over a few tens of kilometres at most; an
// observed visibility is off by 10 to 30 % (own estimate), and sets the error of
// most distances in haze. Refraction k differs from 0 to 0.25 by day and by far more
// at dawn over snow and water (from memory). Luminance factors hold within 1.5
// times either way (own estimate), the sun's beam within 2 above 10 degrees. Smoke formulas are outside of their
// trials for small fires: a factor 5. The share of clear lines is that of random
// stems; planted rows and clumped leaves differ by up to 2. Absorption of sound is
// within 10 %, from -20 to 50 C.
//
// # Missing
//
// Fog patches and haze in layers (an inversion), haze that differs with
// colour, the halo around a light in fog, the glitter of water, rain and falling
// snow other than by the visibility that they leave, shimmer over warm ground,
// mirage. Of sound: wind, shadow zones, echo, what the ground takes. Of plants: the
// undergrowth apart from the trees, leaves that move.
package air
