package sky

import (
	"math"
	"time"

	"github.com/paulmach/orb"
	"github.com/soniakeys/unit"

	"farhail/geo/earth"
)

// Elevations of the sun's centre, without refraction, that part day, the
// twilights and night [deg]. At sunrise and sunset the upper limb is on a level
// horizon: 34 minutes of refraction and 16 of radius (USNO, Astronomical
// Applications Department, definitions of rise, set and twilight).
const (
	SunriseDeg      = -50.0 / 60
	CivilDeg        = -6.0
	NauticalDeg     = -12.0
	AstronomicalDeg = -18.0
)

// horizonRefractionDeg is the refraction at the horizon that rising and
// setting are reckoned with [deg].
const horizonRefractionDeg = 34.0 / 60

// DayState says whether a day has a sunrise or sunset.
type DayState string

// States of a day.
const (
	DayAndNight   DayState = "day-and-night"
	SunNeverSets  DayState = "sun-never-sets"
	SunNeverRises DayState = "sun-never-rises"
)

// A Day holds what happens around one noon of the sun. Times are zero where an
// event does not occur.
type Day struct {
	State DayState
	Noon  time.Time // the sun's centre passes the meridian

	AstronomicalDawn, NauticalDawn, CivilDawn, Sunrise time.Time // before noon
	Sunset, CivilDusk, NauticalDusk, AstronomicalDusk  time.Time // after noon

	Moonrise, Moonset time.Time // the first of each within the local day

	DarkS      float64 // with the sun below CivilDeg, from this noon to the next [s]
	LowestDeg  float64 // of the sun, from this noon to the next [deg]
	HighestDeg float64 // of the sun, from half a day before noon to half a day after [deg]
}

// DayOf returns the events of a local day at a place, which runs from one
// moment to another, two midnights by the clocks there.
//
// The sun's events belong to its noon in that day, whatever their date: dawns
// and sunrise are the last before that noon and after the noon before, sunset
// and dusks the first after it and before the next noon. The noon is the first
// from the start of the day. The state goes by the sunrise and the sunset;
// where there is neither, by the sun's elevation at noon. The moon's events
// are the first within the local day, as almanacs list them: its upper limb on
// a level horizon, parallax included.
//
// Events are within 60 s of the tables of the United States Naval Observatory
// where the body crosses the horizon at an angle; where it grazes it, near the
// poles, the elevation is within 0.01 degrees (sun) or 0.02 (moon). Hills,
// height above the horizon and unusual air move real events by minutes. At a
// pole, where every meridian meets, noon is that of the stated longitude.
func DayOf(p orb.Point, from, until time.Time) Day {
	noon := noonFrom(p, from)
	before, after := noonNear(p, noon.Add(-24*time.Hour)), noonNear(p, noon.Add(24*time.Hour))
	elevation := func(t time.Time) float64 { return Sun(p, t).ElevationDeg }
	morning, evening := samples(elevation, before, noon), samples(elevation, noon, after)
	dawn := func(level float64) time.Time { return last(crossings(elevation, morning, level), true) }
	dusk := func(level float64) time.Time { return first(crossings(elevation, evening, level), false) }

	d := Day{
		State: DayAndNight, Noon: noon,
		AstronomicalDawn: dawn(AstronomicalDeg), NauticalDawn: dawn(NauticalDeg), CivilDawn: dawn(CivilDeg), Sunrise: dawn(SunriseDeg),
		Sunset: dusk(SunriseDeg), CivilDusk: dusk(CivilDeg), NauticalDusk: dusk(NauticalDeg), AstronomicalDusk: dusk(AstronomicalDeg),
		DarkS:      below(evening, crossings(elevation, evening, CivilDeg), CivilDeg),
		LowestDeg:  math.Inf(1),
		HighestDeg: math.Inf(-1),
	}
	for _, s := range evening {
		d.LowestDeg = min(d.LowestDeg, s.v)
	}
	half := noon.Sub(before) / 2
	for _, s := range append(morning, evening...) {
		if s.at.Sub(noon).Abs() <= half {
			d.HighestDeg = max(d.HighestDeg, s.v)
		}
	}
	if d.Sunrise.IsZero() && d.Sunset.IsZero() {
		d.State = SunNeverRises
		if elevation(noon) >= SunriseDeg {
			d.State = SunNeverSets
		}
	}

	limb := func(t time.Time) float64 {
		m := Moon(p, t)
		return m.ElevationDeg + m.SemidiameterDeg + horizonRefractionDeg
	}
	moon := crossings(limb, samples(limb, from, until), 0)
	d.Moonrise, d.Moonset = first(moon, true), first(moon, false)
	return d
}

// noonFrom returns the sun's first noon at a place from a moment on.
func noonFrom(p orb.Point, from time.Time) time.Time {
	turn := earth.Wrap360(-sunHourAngle(p, from).Deg())
	return noonNear(p, from.Add(turned(turn)))
}

// noonNear returns the noon that a moment is near to. The sun's hour angle
// grows so evenly that three steps lead to it within a millisecond.
func noonNear(p orb.Point, t time.Time) time.Time {
	for range 3 {
		t = t.Add(turned(earth.Wrap180(-sunHourAngle(p, t).Deg())))
	}
	return t
}

func sunHourAngle(p orb.Point, t time.Time) unit.Angle {
	m := momentOf(t)
	α, _, _ := m.sun()
	return m.hourAngle(p, α)
}

// turned returns the time in which the sun turns by an angle [deg].
func turned(deg float64) time.Duration {
	if math.IsNaN(deg) {
		return 0
	}
	return time.Duration(deg / 360 * float64(24*time.Hour))
}

func first(list []crossing, up bool) time.Time {
	for _, c := range list {
		if c.up == up {
			return c.at
		}
	}
	return time.Time{}
}

func last(list []crossing, up bool) time.Time {
	var at time.Time
	for _, c := range list {
		if c.up == up {
			at = c.at
		}
	}
	return at
}

// below returns how long a quantity is below the level that it crosses at the
// given moments [s].
func below(list []sample, at []crossing, level float64) float64 {
	start, end := list[0], list[len(list)-1]
	under, since, total := start.v < level, start.at, 0.0
	for _, c := range at {
		if under {
			total += c.at.Sub(since).Seconds()
		}
		under, since = !c.up, c.at
	}
	if under {
		total += end.at.Sub(since).Seconds()
	}
	return total
}
