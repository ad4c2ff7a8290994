package observer

import "math"

// An Eye is an [Observer] before one background, with the threshold law made
// ready for many questions. Make it with [Observer.Before].
type Eye struct {
	lx       float64                 // of a point of light that V = 1 is
	contrast func(w float64) float64 // of an area that V = 1 is; nil when the law has none
	fixed    float64                 // contrast that V = 1 is whatever the size; 0: not fixed
	koopman  bool                    // Koopman's own growth to the side
	factor   float64
	optics   Optics
	small    float64 // by how much larger a small area is to the eye
}

// Before returns the observer's eye before a background [cd/m2]. The law must
// be one that [Law.Check] passes for it.
func (o Observer) Before(backgroundCDM2 float64) Eye {
	i := o.Law.info()
	e := Eye{lx: o.PointLx(backgroundCDM2), koopman: o.Law == Koopman1946, optics: o.Optics, small: o.Optics.areaGain()}
	e.factor = o.factors(backgroundCDM2) * o.ContrastLoss(backgroundCDM2)
	if i.contrast != nil {
		e.contrast = i.contrast(o.SeenCDM2(backgroundCDM2))
	}
	if o.FixedContrast > 0 {
		e.fixed = o.FixedContrast / reliable
	}
	if o.FixedLx > 0 || o.FixedContrast > 0 {
		e.koopman = false
	}
	return e
}

// reliable is the visibility ratio of nine looks in ten, which fixed
// thresholds and practical laws are taken to ask for.
var reliable = VisibilityRatio(0.9)

// PointLx returns the illuminance [lx] of which V is 1 at the fixation point.
func (e Eye) PointLx() float64 { return e.lx }

// side returns what is left of a small object's visibility ratio at an angle
// from the fixation point [deg].
func (e Eye) side(angleDeg float64) float64 {
	if e.koopman {
		return CentralDeg / max(angleDeg, CentralDeg)
	}
	g := growth(angleDeg)
	return 1 / (g * g)
}

// Contrast returns the luminance contrast on the scene of which V is 1, for an
// area of the given solid angle [sr] at an angle from the fixation point, as
// the eye meets it through field glasses [deg].
//
// For Crumey's law this is F ((R g^2 / w)^q + (C g^1/2)^q)^(1/q) with
// g = 1 + e/E2: the small-object term grows with g^2, that of a very large
// object with its root, which is the foveal law of a size g^3/2 smaller,
// times the root of g. In that form it serves every law. Koopman's has its own,
// and a fixed threshold grows like that of a small object.
func (e Eye) Contrast(solidAngleSR, angleDeg float64) float64 {
	solidAngleSR *= e.small
	if e.koopman {
		return e.factor * KoopmanContrast(diameterArcmin(solidAngleSR), angleDeg)
	}
	g := growth(angleDeg)
	if e.fixed > 0 {
		return e.fixed * g * g
	}
	if g == 1 {
		return e.factor * e.contrast(solidAngleSR)
	}
	root := math.Sqrt(g)
	return e.factor * root * e.contrast(solidAngleSR/(g*root))
}

// LargeContrast returns the contrast of which V is 1 for a very large area at
// the fixation point: no object needs less.
func (e Eye) LargeContrast() float64 { return e.Contrast(largestSR, 0) }

// largestSR is a solid angle beyond which no size counts.
const largestSR = 1.5
