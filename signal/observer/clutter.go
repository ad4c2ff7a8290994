package observer

import "math"

// Clutter is what else in the scene looks like the object: its contrast at the
// object's own scale, and how far it pools together away from the fixation
// point. That linear growth with contrast is from Sebastian, Abrams and
// Geisler, PNAS 114 (2017) E5731 (abstract read); the pooling is "crowding".
const (
	// ClutterKnown and ClutterUnknown weigh the clutter's contrast for an
	// object of known and of unknown place. The second is fitted to sweep
	// widths in forests (Koester et al. 2014), the first is taken as half.
	ClutterKnown   = 0.5
	ClutterUnknown = 1.0
	// poolCentreDeg is the size of the region whose clutter is pooled at the
	// fixation point [deg], poolGrowth how much it grows per degree outside the
	// central disc: fitted to the same widths, within the 0.1 to 0.5 of the
	// crowding literature (from memory).
	poolCentreDeg = 2.0 / 60
	poolGrowth    = 0.30
)

// Contrasts of clutter at the scale of a person or a flag. OpenGround is
// fitted to air search over land, the rest are own estimates within a factor 2
// either way.
const (
	ClutterSky         = 0.0
	ClutterOpenGround  = 0.025
	ClutterScrub       = 0.10
	ClutterForestFloor = 0.35
)

// ClutterContrast returns the contrast that clutter of contrast c sets against
// an object of the given solid angle [sr] at an angle from the fixation point
// [deg]: c, times what the pooled region is larger than the object. Weigh it
// by [ClutterKnown] or [ClutterUnknown] and the transmission of the air, and
// add it to the threshold as the root of the squares' sum.
func ClutterContrast(c, solidAngleSR, angleDeg float64) float64 {
	pool := (poolCentreDeg + poolGrowth*max(0, angleDeg-CentralDeg)) * degree
	return c * max(1, pool*pool/solidAngleSR)
}

// PooledDeg returns the angle from the fixation point [deg] from which on the
// pooled region is larger than an object of the given solid angle [sr], so that
// [ClutterContrast] grows; negative where it is from the start.
func PooledDeg(solidAngleSR float64) float64 {
	return CentralDeg + (math.Sqrt(solidAngleSR)/degree-poolCentreDeg)/poolGrowth
}
