package source

import (
	"fmt"
	"math"

	"farhail/geo/earth"
	"farhail/signal/air"
)

// DefaultReflectivity is what a clean glass mirror throws back, 0.85 (own
// choice: silvered glass has 0.8 to 0.95, polished metal 0.6 to 0.9, a bare
// pane 0.04 a face).
const DefaultReflectivity = 0.85

// MostTurnDeg is the largest angle between sun and target over which a mirror
// held in the hand still throws the sun's light [deg]; beyond, it is met so
// flatly that frame and grip are in the way. Common practice, no source.
const MostTurnDeg = 160

// leastApartDeg is how far two mirrors must stand out of each other's light
// [deg], so that one does not shade the other. Own choice.
const leastApartDeg = 20

// An Aim is a direction from a mirror: a bearing, and an elevation above the
// level.
type Aim struct {
	Azimuth      earth.True
	ElevationDeg float64
}

// known reports whether the direction is given.
func (a Aim) known() bool { return !math.IsNaN(float64(a.Azimuth)) }

// vector returns the unit vector, east, north, up.
func (a Aim) vector() [3]float64 {
	sz, cz := math.Sincos(radians(float64(a.Azimuth)))
	sh, ch := math.Sincos(radians(a.ElevationDeg))
	return [3]float64{ch * sz, ch * cz, sh}
}

// A Mirror throws the sun's light at a target by hand. WidthM, HeightM, Sun and
// SunLx are required.
type Mirror struct {
	WidthM, HeightM float64
	Reflectivity    float64 // 0 to 1; 0: DefaultReflectivity
	Sun             Aim     // where it stands, as it is seen
	SunLx           float64 // of its disc on a surface that faces it [lx]; air.SunBeamLx; 0: hidden by cloud
	// Target is what the mirror is aimed at. With an azimuth of NaN it is the eye of
	// the View, or where that is not known either, the level to one side of
	// the sun, which is the middle of all sides.
	Target Aim
	// SweepDegS is how fast the spot is swept over the target [deg/s]; 0: held on it.
	SweepDegS float64
	Second    bool // a second mirror of the same size takes over where one does less
}

// Kind returns [KindMirror].
func (m Mirror) Kind() Kind { return KindMirror }

// String describes the mirror.
func (m Mirror) String() string {
	s := fmt.Sprintf("mirror of %g x %g mm, sun at %g/%g", round(m.WidthM*1000), round(m.HeightM*1000), round(float64(m.Sun.Azimuth)), round(m.Sun.ElevationDeg))
	if m.Target.known() {
		s += fmt.Sprintf(", aimed at %g/%g", round(float64(m.Target.Azimuth)), round(m.Target.ElevationDeg))
	}
	if m.SweepDegS > 0 {
		s += fmt.Sprintf(", swept at %g deg/s", m.SweepDegS)
	}
	return s
}

// round keeps one place after the point, for print.
func round(v float64) float64 { return math.Round(v*10)/10 + 0 }

// Check returns an error that names the first impossible value.
func (m Mirror) Check() error {
	switch {
	case !(m.WidthM > 0) || math.IsInf(m.WidthM, 1):
		return fmt.Errorf("mirror: width %g m is not a positive length", m.WidthM)
	case !(m.HeightM > 0) || math.IsInf(m.HeightM, 1):
		return fmt.Errorf("mirror: height %g m is not a positive length", m.HeightM)
	case !(m.Reflectivity >= 0 && m.Reflectivity <= 1):
		return fmt.Errorf("mirror: reflectivity %g is outside 0 to 1", m.Reflectivity)
	case !m.Sun.known():
		return fmt.Errorf("mirror: the sun's azimuth is not a number")
	case !(m.Sun.ElevationDeg >= -90 && m.Sun.ElevationDeg <= 90):
		return fmt.Errorf("mirror: sun's elevation %g deg is outside -90 to 90", m.Sun.ElevationDeg)
	case !(m.Target.ElevationDeg >= -90 && m.Target.ElevationDeg <= 90):
		return fmt.Errorf("mirror: target's elevation %g deg is outside -90 to 90", m.Target.ElevationDeg)
	case !(m.SunLx >= 0) || math.IsInf(m.SunLx, 1):
		return fmt.Errorf("mirror: sunlight of %g lx is not a number from 0 up", m.SunLx)
	case !(m.SweepDegS >= 0) || math.IsInf(m.SweepDegS, 1):
		return fmt.Errorf("mirror: sweep of %g deg/s is not a number from 0 up", m.SweepDegS)
	}
	return nil
}

// Toward returns the flash that an eye meets: from the target, whatever the
// view, where one is given.
func (m Mirror) Toward(v View) Appearance {
	t := m.Throw(m.At(v))
	if t.IntensityCD == 0 {
		return Appearance{Absent: NoSun}
	}
	return Appearance{IntensityCD: t.IntensityCD * m.flash()}
}

// At returns what the mirror is aimed at, for an eye on the given side.
func (m Mirror) At(v View) Aim {
	switch {
	case m.Target.known():
		return m.Target
	case !math.IsNaN(float64(v.Azimuth)):
		return Aim{v.Azimuth, v.ElevationDeg}
	}
	return Aim{earth.NewTrue(float64(m.Sun.Azimuth) + 90), 0}
}

// A Throw is how a mirror has to be held to throw the sun's light one way, and
// how much gets there.
type Throw struct {
	TurnDeg      float64 // angle between sun and target, twice that between the mirror's normal and either [deg]
	CosIncidence float64 // cosine of half of it
	Normal       Aim     // where the mirror faces; an azimuth of NaN where sun and target are opposite
	Second       bool    // two mirrors do it: CosIncidence and IntensityCD are theirs, the rest what one would need
	IntensityCD  float64 // of the spot, held on the target [cd]; 0: the sun does not allow it
}

// Throw returns how the sun's light is thrown at a target: the normal halves
// the angle between them, and from far off (beyond 107 times the mirror) every
// eye in the spot sees a piece of the sun as large as the mirror, so that I =
// rho E A cos i / Omega, with the light E of the disc that fills Omega.
//
// With Second, a mirror that stands where the first throws the light turns it
// on to the target: each is met at a quarter of the angle that sun and target
// lack of 180 degrees, or at half of the 20 degrees by which they must stand out of
// each other's light, and the reflectivity counts twice.
func (m Mirror) Throw(at Aim) Throw {
	s, t := m.Sun.vector(), at.vector()
	sum := [3]float64{s[0] + t[0], s[1] + t[1], s[2] + t[2]}
	difference := [3]float64{s[0] - t[0], s[1] - t[1], s[2] - t[2]}
	half := math.Atan2(length(difference), length(sum))
	out := Throw{TurnDeg: 2 * degrees(half), CosIncidence: math.Cos(half)}
	out.Normal = Aim{earth.True(math.NaN()), math.NaN()}
	if length(sum) > 1e-9 {
		out.Normal = Aim{earth.NewTrue(degrees(math.Atan2(sum[0], sum[1]))), degrees(math.Asin(sum[2] / length(sum)))}
	}
	if m.Sun.ElevationDeg < 0 {
		return out
	}
	straight := m.reflectivity() * m.SunLx * m.WidthM * m.HeightM / air.SunDiscSR
	if out.TurnDeg <= MostTurnDeg+1e-9 {
		out.IntensityCD = straight * out.CosIncidence
	}
	if second := math.Cos(radians(max(180-out.TurnDeg, 2*leastApartDeg)) / 4); m.Second && m.reflectivity()*second*straight > out.IntensityCD {
		out.Second, out.CosIncidence, out.IntensityCD = true, second, m.reflectivity()*second*straight
	}
	return out
}

// SpotM returns the width of the spot of light at a distance [m]: the longer
// side of the mirror and the width of the sun.
func (m Mirror) SpotM(distM float64) float64 {
	return max(m.WidthM, m.HeightM) + 2*distM*math.Tan(radians(air.SunDiscDeg/2))
}

// Sector returns which bearings of the level the sun allows, from one to the
// other clockwise through the sun's: half its width to either side [deg], 180
// for all round, and 0 with the sun down. What a second mirror adds is not in it.
func (m Mirror) Sector() (halfWidthDeg float64) {
	if m.Sun.ElevationDeg < 0 || m.SunLx == 0 {
		return 0
	}
	// The turn of a level aim at an angle a from the sun has the cosine cos h cos a.
	c := math.Cos(radians(MostTurnDeg)) / math.Cos(radians(m.Sun.ElevationDeg))
	if c <= -1 {
		return 180
	}
	return degrees(math.Acos(c))
}

// flash is what a swept spot is worth of one that is held, by Blondel and Rey
// for the time in which the sun's width passes.
func (m Mirror) flash() float64 {
	if m.SweepDegS == 0 {
		return 1
	}
	onS := air.SunDiscDeg / m.SweepDegS
	return onS / (VisualTimeS + onS)
}

func (m Mirror) reflectivity() float64 {
	if m.Reflectivity == 0 {
		return DefaultReflectivity
	}
	return m.Reflectivity
}

// Factors lists what the mirror's appearance rests on.
func (m Mirror) Factors() []Factor {
	f := []Factor{
		{Name: "light of the sun's disc", Value: m.SunLx, Unit: "lx", Source: "on a surface that faces it"},
		{Name: "width of the sun", Value: air.SunDiscDeg, Unit: "deg", Source: "0.524 to 0.542 in the course of a year"},
		{Name: "reflectivity", Value: m.reflectivity(), Source: "0.85 where none is stated, own choice: clean silvered glass"},
	}
	if m.SweepDegS > 0 {
		f = append(f, Factor{Name: "flash of the swept spot", Value: m.flash(), Source: "Blondel and Rey 1911, a = 0.2 s, for the time in which the sun's width passes"})
	}
	return f
}

func degrees(rad float64) float64 { return rad * 180 / math.Pi }

func length(v [3]float64) float64 { return math.Hypot(math.Hypot(v[0], v[1]), v[2]) }
