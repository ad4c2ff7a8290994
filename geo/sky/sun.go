package sky

import (
	"math"
	"time"

	"github.com/paulmach/orb"
	"github.com/soniakeys/meeus/v3/base"
	"github.com/soniakeys/meeus/v3/coord"
	"github.com/soniakeys/meeus/v3/nutation"
	"github.com/soniakeys/meeus/v3/sidereal"
	"github.com/soniakeys/meeus/v3/solar"
	"github.com/soniakeys/unit"

	"farhail/geo/earth"
)

// Direction is where a body of the sky stands, seen from a place on the
// ground.
type Direction struct {
	Azimuth      earth.True // clockwise from true north
	ElevationDeg float64    // of the centre above the horizontal, without air [deg]
	ApparentDeg  float64    // the same with refraction [deg]
}

const (
	// deltaTS is terrestrial time less universal time [s], as it was in
	// 2024-2026 (IERS Bulletin A). The sun moves by 0.04 arc seconds in a
	// second, so that 70 s of error in a distant year are 0.001 degrees.
	deltaTS = 69.2
	// unixEpochJD is the Julian day of 1970-01-01T00:00Z.
	unixEpochJD = 2440587.5
	// parallaxDeg is the sun's horizontal parallax at one astronomical unit
	// [deg], 8.794 arc seconds (Meeus, p. 279).
	parallaxDeg = 8.794 / 3600
	// aberrationDeg is the constant of aberration [deg] at one astronomical
	// unit, 20.4898 arc seconds (Meeus, (25.10) p. 167).
	aberrationDeg = 20.4898 / 3600
)

// Sun returns the direction of the sun's centre from a place at a time,
// parallax included, refraction by [Refraction]. The accuracy is 0.01 degrees
// from 1900 to 2100; an apparent elevation near the horizon is no better than
// the air is known, about 0.1 degrees. A place that is not a pair of numbers
// gives NaN.
func Sun(p orb.Point, t time.Time) Direction {
	m := momentOf(t)
	α, δ, R := m.sun()
	azimuth, h := m.horizontal(p, α, δ)
	return direction(azimuth, h.Deg()-parallaxDeg/R*h.Cos())
}

// A moment is a time with what the places of all bodies at it rest on.
type moment struct {
	jd, jde float64    // Julian days, universal and terrestrial
	Δψ      unit.Angle // nutation in longitude
	sε, cε  float64    // of the true obliquity
	θ       unit.Angle // apparent sidereal time at Greenwich
}

func momentOf(t time.Time) moment {
	jd := unixEpochJD + float64(t.Unix())/86400 + float64(t.Nanosecond())/86400e9
	m := moment{jd: jd, jde: jd + deltaTS/86400}
	Δψ, Δε := nutation.Nutation(m.jde)
	m.Δψ = Δψ
	m.sε, m.cε = (nutation.MeanObliquity(m.jde) + Δε).Sincos()
	m.θ = sidereal.Mean(jd).Angle() + Δψ.Mul(m.cε) // chapter 12, p. 88
	return m
}

// sun returns the sun's apparent geocentric place, and its distance in
// astronomical units.
func (m moment) sun() (α unit.RA, δ unit.Angle, R float64) {
	// Apparent longitude: true longitude, nutation and aberration (chapter 25).
	T := base.J2000Century(m.jde)
	λ, _ := solar.True(T)
	R = solar.Radius(T)
	λ += m.Δψ + unit.AngleFromDeg(pullDeg(T)-aberrationDeg/R)
	α, δ = coord.EclToEq(λ, 0, m.sε, m.cε) // (13.3), (13.4) p. 93
	return α, δ, R
}

// horizontal turns a place among the stars into azimuth and elevation. Meeus
// counts longitude to the west and azimuth from the south.
func (m moment) horizontal(p orb.Point, α unit.RA, δ unit.Angle) (earth.True, unit.Angle) {
	A, h := coord.EqToHz(α, δ, unit.AngleFromDeg(p.Lat()), unit.AngleFromDeg(-p.Lon()), unit.TimeFromRad(m.θ.Rad()))
	return earth.NewTrue(A.Deg() + 180), h
}

// hourAngle returns how far a body has turned past the meridian of a place,
// westward.
func (m moment) hourAngle(p orb.Point, α unit.RA) unit.Angle {
	return m.θ + unit.AngleFromDeg(p.Lon()) - unit.Angle(α)
}

func direction(azimuth earth.True, elevationDeg float64) Direction {
	return Direction{azimuth, elevationDeg, elevationDeg + Refraction(elevationDeg)}
}

// pullDeg returns what Venus (two terms), Jupiter and the moon add to the
// sun's longitude [deg], T in centuries from J2000 (Meeus, Astronomical
// Formulae for Calculators, 4th ed. 1988, chapter 18, which counts from 1900;
// from memory, and confirmed: the largest error against JPL Horizons falls
// from 0.011 to 0.006 degrees).
func pullDeg(T float64) float64 {
	T++ // centuries from 1900, to the day
	venus1 := unit.AngleFromDeg(153.23 + 22518.7541*T)
	venus2 := unit.AngleFromDeg(216.57 + 45037.5082*T)
	jupiter := unit.AngleFromDeg(312.69 + 32964.3577*T)
	moon := unit.AngleFromDeg(350.74 + (445267.1142-0.00144*T)*T)
	return 0.00134*venus1.Cos() + 0.00154*venus2.Cos() + 0.00200*jupiter.Cos() + 0.00179*moon.Sin()
}

// lowestRefractedDeg is the true elevation down to which the formula for
// refraction holds; a body there is just below the apparent horizon.
const lowestRefractedDeg = -1

// Refraction returns how much the air lifts a body of the given true elevation
// [deg], in degrees, for 1010 hPa and 10 C: Saemundsson's formula, which
// inverts Bennett's (Meeus, (16.4) p. 106), to 0.07 arc minutes above 0. Cold
// or thin air changes it by a few percent, and near the horizon by far more.
// Below -1 degrees, where nothing is seen, the value of -1 degrees stays, as
// in the tables of JPL Horizons.
func Refraction(elevationDeg float64) float64 {
	h := max(elevationDeg, lowestRefractedDeg)
	// Within 0.11 degrees of the zenith the formula passes below 0.
	return max(0, 1.02/60/math.Tan((h+10.3/(h+5.11))*math.Pi/180))
}
