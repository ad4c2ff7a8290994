package job

import (
	"fmt"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/geo/earth"
	"farhail/geo/sky"
	"farhail/signal/air"
	"farhail/signal/source"
)

// KindMirror is the kind of a mirror, which plans do not hold yet.
const KindMirror = string(source.KindMirror)

// A MirrorRequest is a mirror that throws the sun's light. Directions that are
// not given are NaN: the sun is then that of the time and place, the target the
// eye.
type MirrorRequest struct {
	WidthM, HeightM                      float64
	SunAzimuthDeg, SunElevationDeg       float64
	TargetAzimuthDeg, TargetElevationDeg float64
	Second                               bool
}

// SightMirror is how a mirror is held, and what the sun allows.
type SightMirror struct {
	TurnDeg      cli.Num      `json:"turn_deg"` // angle between sun and target
	CosIncidence cli.Num      `json:"cos_incidence"`
	NormalAzDeg  cli.Angle    `json:"normal_az_deg"` // where the mirror faces
	NormalElDeg  cli.Num      `json:"normal_el_deg"`
	Second       bool         `json:"second"` // two mirrors do it
	IntensityCD  cli.Num      `json:"intensity_cd"`
	SunAzDeg     cli.Angle    `json:"sun_az_deg"`
	SunElDeg     cli.Num      `json:"sun_el_deg"`
	SpotM        cli.Len      `json:"spot_m"` // width of the spot at a kilometre
	Hours        []MirrorHour `json:"hours"`  // of the local day; null without a time and place
}

// A MirrorHour is which bearings of the level the sun allows at an hour: from
// one to the other, clockwise through the sun's.
type MirrorHour struct {
	At       *time.Time `json:"at"`
	SunAzDeg cli.Angle  `json:"sun_az_deg"`
	SunElDeg cli.Num    `json:"sun_el_deg"`
	FromDeg  cli.Angle  `json:"from_deg"`
	ToDeg    cli.Angle  `json:"to_deg"`
	AllRound bool       `json:"all_round"`
	SunCD    cli.Num    `json:"sun_intensity_cd"` // thrown back towards the sun's side, the most
}

// mirror returns the mirror of the request.
func (r SightRequest) mirror() source.Mirror {
	m := r.Mirror
	sun := source.Aim{Azimuth: earth.True(m.SunAzimuthDeg), ElevationDeg: m.SunElevationDeg}
	if math.IsNaN(m.SunAzimuthDeg) && !r.At.IsZero() && r.Place != nil {
		sun = r.sunAt(r.At)
	}
	out := r.mirrorUnder(sun)
	out.Target = source.Aim{Azimuth: earth.True(m.TargetAzimuthDeg), ElevationDeg: orZero(m.TargetElevationDeg)}
	return out
}

// mirrorUnder returns the mirror under a sun, without a target.
func (r SightRequest) mirrorUnder(sun source.Aim) source.Mirror {
	out := source.Mirror{WidthM: r.Mirror.WidthM, HeightM: r.Mirror.HeightM, Sun: sun, Second: r.Mirror.Second,
		SunLx: air.SunBeamLx(sun.ElevationDeg), Target: source.Aim{Azimuth: earth.True(math.NaN())}}
	if sky.Cloud(r.Cloud) == sky.Overcast {
		out.SunLx = 0 // the disc does not come through
	}
	return out
}

// sunAt returns where the sun is seen at the request's place.
func (r SightRequest) sunAt(t time.Time) source.Aim {
	s := sky.Sun(*r.Place, t)
	return source.Aim{Azimuth: s.Azimuth, ElevationDeg: s.ApparentDeg}
}

// tellMirror adds how the mirror is held, and what the day allows.
func (r SightRequest) tellMirror(m source.Mirror, at source.Aim, out *SightResult) {
	t := m.Throw(at)
	out.Mirror = &SightMirror{
		TurnDeg: cli.Num(t.TurnDeg), CosIncidence: cli.Num(t.CosIncidence),
		NormalAzDeg: cli.Angle(t.Normal.Azimuth), NormalElDeg: cli.Num(t.Normal.ElevationDeg), Second: t.Second, IntensityCD: cli.Num(t.IntensityCD),
		SunAzDeg: cli.Angle(m.Sun.Azimuth), SunElDeg: cli.Num(m.Sun.ElevationDeg), SpotM: cli.Len(m.SpotM(1000)),
	}
	out.Cautions = append(out.Cautions,
		"sweep the spot over the target and stop once it answers; never hold it on an aircraft or a vehicle, and never look at the sun",
		fmt.Sprintf("the spot is %.0f m wide at a kilometre: the mirror must be held to within a quarter of a degree", m.SpotM(1000)))
	if r.At.IsZero() || r.Place == nil {
		return
	}
	day := time.Date(r.At.Year(), r.At.Month(), r.At.Day(), 0, 0, 0, 0, r.At.Location())
	for hour := range 24 {
		when := day.Add(time.Duration(hour) * time.Hour)
		under := r.mirrorUnder(r.sunAt(when))
		half := under.Sector()
		if half == 0 {
			continue
		}
		az := float64(under.Sun.Azimuth)
		h := MirrorHour{
			At: instant(when, r.At.Location()), SunAzDeg: cli.Angle(az), SunElDeg: cli.Num(under.Sun.ElevationDeg),
			FromDeg: cli.Angle(earth.Wrap360(az - half)), ToDeg: cli.Angle(earth.Wrap360(az + half)), AllRound: half == 180,
			SunCD: cli.Num(under.Throw(source.Aim{Azimuth: under.Sun.Azimuth}).IntensityCD),
		}
		out.Mirror.Hours = append(out.Mirror.Hours, h)
	}
}
