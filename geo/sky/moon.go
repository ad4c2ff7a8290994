package sky

import (
	"math"
	"time"

	"github.com/paulmach/orb"
	"github.com/soniakeys/meeus/v3/base"
	"github.com/soniakeys/meeus/v3/coord"
	"github.com/soniakeys/meeus/v3/globe"
	"github.com/soniakeys/meeus/v3/moonillum"
	"github.com/soniakeys/meeus/v3/moonposition"
	"github.com/soniakeys/unit"
)

// A Lunar is where the moon stands, seen from a place on the ground, and what
// it shows there.
type Lunar struct {
	Direction
	LitFraction     float64 // of the disc's area, 0 new to 1 full
	PhaseDeg        float64 // 180 less the angle between moon and sun: 0 full, 180 new [deg]
	ParallaxDeg     float64 // equatorial horizontal parallax, 0.9 to 1.02 [deg]
	SemidiameterDeg float64 // of the disc, from the earth's centre [deg]
}

const (
	// moonRadiusRatio is the moon's radius over the earth's equatorial one,
	// 1737.4 km over 6378.14 km (IAU Working Group on Cartographic Coordinates,
	// 2015).
	moonRadiusRatio = 1737.4 / equatorKM
	equatorKM       = 6378.14
	kmPerAU         = 149597870.7
)

// Moon returns the direction of the moon's centre from a place at sea level at
// a time, parallax included, refraction by [Refraction], and its phase seen
// from the earth's centre. The direction is within 0.01 degrees in the years
// 2000 to 2050 and 0.03 from 1900 to 2100 (the earth's uneven turning, which
// is taken as it was in 2025); the lit fraction within 0.003. A place that is
// not a pair of numbers gives NaN.
func Moon(p orb.Point, t time.Time) Lunar {
	m := momentOf(t)
	α, δ, π := m.moon()
	α0, δ0, R := m.sun()
	distKM := equatorKM / π.Sin()
	phase := moonillum.PhaseAngleEq(α, δ, distKM, α0, δ0, R*kmPerAU) // (48.2), (48.3) p. 345
	sδ, cδ := δ.Sincos()
	sδ0, cδ0 := δ0.Sincos()
	elongation := math.Acos(max(-1, min(1, sδ0*sδ+cδ0*cδ*(α0-α).Cos()))) // (48.2)

	α, δ = m.topocentric(p, α, δ, π)
	azimuth, h := m.horizontal(p, α, δ)
	return Lunar{
		Direction:       direction(azimuth, h.Deg()),
		LitFraction:     base.Illuminated(phase), // (48.1)
		PhaseDeg:        180 - elongation*180/math.Pi,
		ParallaxDeg:     π.Deg(),
		SemidiameterDeg: math.Asin(moonRadiusRatio*π.Sin()) * 180 / math.Pi,
	}
}

// moon returns the moon's apparent geocentric place (chapter 47) and its
// equatorial horizontal parallax.
func (m moment) moon() (α unit.RA, δ, π unit.Angle) {
	λ, β, distKM := moonposition.Position(m.jde)
	α, δ = coord.EclToEq(λ+m.Δψ, β, m.sε, m.cε)
	return α, δ, moonposition.Parallax(distKM) // p. 337
}

// topocentric moves a near body's place from the earth's centre to a place at
// sea level (Meeus, chapter 40, the rigorous form with A, B and C on p. 280).
func (m moment) topocentric(p orb.Point, α unit.RA, δ, π unit.Angle) (unit.RA, unit.Angle) {
	H := m.hourAngle(p, α)
	ρsφ, ρcφ := globe.Earth76.ParallaxConstants(unit.AngleFromDeg(p.Lat()), 0)
	sδ, cδ := δ.Sincos()
	sH, cH := H.Sincos()
	A := cδ * sH
	B := cδ*cH - ρcφ*π.Sin()
	C := sδ - ρsφ*π.Sin()
	turned := unit.Angle(math.Atan2(A, B)) - H
	return unit.RA(unit.Angle(α) - turned), unit.Angle(math.Atan2(C, math.Hypot(A, B)))
}
