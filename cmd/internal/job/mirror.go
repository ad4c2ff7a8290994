package job

import (
	"fmt"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/sky"
	"farhail/signal/air"
	"farhail/signal/sighting"
	"farhail/signal/source"
)

// KindMirror is the kind of a mirror.
const KindMirror = plan.Mirror

// A MirrorRequest is a mirror that throws the sun's light. Directions that are
// not given are NaN: the sun is then that of the time and place, the target the
// eye.
type MirrorRequest struct {
	WidthM, HeightM                      float64
	Reflectivity                         float64 // 0: the usual
	SweepDegS                            float64 // 0: the spot is held on the target
	SunAzimuthDeg, SunElevationDeg       float64
	TargetAzimuthDeg, TargetElevationDeg float64
	Second                               bool
}

// SightMirror is how a mirror is held, and what the sun allows.
type SightMirror struct {
	TurnDeg      cli.Num   `json:"turn_deg"` // angle between sun and target
	CosIncidence cli.Num   `json:"cos_incidence"`
	NormalAzDeg  cli.Angle `json:"normal_az_deg"` // where the mirror faces
	NormalElDeg  cli.Num   `json:"normal_el_deg"`
	Second       bool      `json:"second"` // two mirrors do it
	IntensityCD  cli.Num   `json:"intensity_cd"`
	SunAzDeg     cli.Angle `json:"sun_az_deg"`
	SunElDeg     cli.Num   `json:"sun_el_deg"`
	SunLx        cli.Num   `json:"sun_lx"`   // of its disc, on a surface that faces it
	SpotDeg      cli.Num   `json:"spot_deg"` // width of the spot of light
	SpotM        cli.Len   `json:"spot_m"`   // at a kilometre
	MirrorSector
	Reach []MirrorReach `json:"reach"` // by bearings, in the sector; null along a line to one eye
	Hours []MirrorHour  `json:"hours"` // of the local day; null without a time and place
}

// A MirrorSector is which bearings of the level one mirror reaches: from one to
// the other, clockwise through the sun's. Both are null where there are none.
type MirrorSector struct {
	FromDeg  cli.Angle `json:"from_deg"`
	ToDeg    cli.Angle `json:"to_deg"`
	AllRound bool      `json:"all_round"`
}

// A MirrorReach is how far the flash is noticed on one bearing.
type MirrorReach struct {
	AzimuthDeg  cli.Angle `json:"azimuth_deg"`
	IntensityCD cli.Num   `json:"intensity_cd"`
	NoticedM    cli.Len   `json:"noticed_m"` // by light, air and eye, and the horizon of a smooth earth where no ground decides
}

// A MirrorHour is what the sun allows at an hour.
type MirrorHour struct {
	At       *time.Time `json:"at"`
	SunAzDeg cli.Angle  `json:"sun_az_deg"`
	SunElDeg cli.Num    `json:"sun_el_deg"`
	MirrorSector
	SunCD    cli.Num `json:"sun_intensity_cd"`    // thrown along the level to the sun's side, the most
	SquareCD cli.Num `json:"square_intensity_cd"` // to either side of the sun, the middle
}

// Words writes the sector for people.
func (s MirrorSector) Words() string {
	switch {
	case s.AllRound:
		return "all round"
	case math.IsNaN(float64(s.FromDeg)):
		return "none"
	}
	from, to := bearing(float64(s.FromDeg)), bearing(float64(s.ToDeg))
	switch {
	case from != to:
		return from + " clockwise to " + to
	case earth.Wrap360(float64(s.ToDeg)-float64(s.FromDeg)) > 180:
		return "all round but for " + from
	}
	return from + " alone"
}

// bearing writes a direction in three figures; 360 is 000.
func bearing(deg float64) string { return fmt.Sprintf("%03d", int(math.Round(deg))%360) }

// mirrorOf returns the mirror of a plan's signal, nil for another kind.
func mirrorOf(s plan.Signal) *MirrorRequest {
	if s.Kind != plan.Mirror {
		return nil
	}
	nan := math.NaN()
	return &MirrorRequest{
		WidthM: s.MirrorWidthM, HeightM: s.MirrorHeightM, Reflectivity: s.MirrorReflectivity, SweepDegS: s.MirrorSweepDegS, Second: s.SecondMirror,
		SunAzimuthDeg: nan, SunElevationDeg: nan, TargetAzimuthDeg: s.TowardAzDeg, TargetElevationDeg: s.TowardElDeg,
	}
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
	out := source.Mirror{
		WidthM: r.Mirror.WidthM, HeightM: r.Mirror.HeightM, Reflectivity: r.Mirror.Reflectivity, SweepDegS: r.Mirror.SweepDegS, Second: r.Mirror.Second,
		Sun: sun, SunLx: air.SunBeamLx(sun.ElevationDeg), Target: source.Aim{Azimuth: earth.True(math.NaN())},
	}
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

// sector returns which bearings a mirror reaches.
func sector(m source.Mirror) MirrorSector {
	half, az := m.Sector(), float64(m.Sun.Azimuth)
	if half == 0 {
		none := cli.Angle(math.NaN())
		return MirrorSector{FromDeg: none, ToDeg: none}
	}
	return MirrorSector{FromDeg: cli.Angle(earth.Wrap360(az - half)), ToDeg: cli.Angle(earth.Wrap360(az + half)), AllRound: half == 180}
}

// tellMirror adds how the mirror is held, where its light can go, and what the
// day allows.
func (r SightRequest) tellMirror(q sighting.Query, m source.Mirror, out *SightResult) error {
	t := m.Throw(m.At(q.View))
	out.Mirror = &SightMirror{
		TurnDeg: cli.Num(t.TurnDeg), CosIncidence: cli.Num(t.CosIncidence),
		NormalAzDeg: cli.Angle(t.Normal.Azimuth), NormalElDeg: cli.Num(t.Normal.ElevationDeg), Second: t.Second, IntensityCD: cli.Num(t.IntensityCD),
		SunAzDeg: cli.Angle(m.Sun.Azimuth), SunElDeg: cli.Num(m.Sun.ElevationDeg), SunLx: cli.Num(m.SunLx),
		SpotDeg: air.SunDiscDeg, SpotM: cli.Len(m.SpotM(1000)), MirrorSector: sector(m),
	}
	out.Inputs.Factors = append(out.Inputs.Factors,
		SightFactor{"signal", Factor{Name: "air mass before the sun", Value: cli.Num(air.OpticalAirMass(m.Sun.ElevationDeg)), Source: "Kasten and Young 1989"}},
		SightFactor{"signal", Factor{Name: "extinction of clear air overhead", Value: air.ClearSkyExtinction, Source: fmt.Sprintf("IES 1984 (from memory), of %g lx outside of the air", float64(air.SunAboveAirLx))}},
		SightFactor{"signal", Factor{Name: "largest angle between sun and target for one mirror", Value: source.MostTurnDeg, Unit: "deg", Source: "common practice, no source"}})
	out.Cautions = append(out.Cautions,
		"sweep the spot over the target and stop once it answers; never hold it on an aircraft or a vehicle, and never look at the sun",
		fmt.Sprintf("the spot is %.0f m wide at a kilometre: the mirror must be held to within a quarter of a degree", m.SpotM(1000)))
	if sky.Cloud(r.Cloud) == sky.Broken && m.SunLx > 0 {
		out.Cautions = append(out.Cautions, "under a broken sky the mirror works only while the sun is out of the clouds")
	}
	if r.From == nil {
		if err := r.mirrorReach(q, m, out.Mirror); err != nil {
			return err
		}
	}
	if !r.At.IsZero() && r.Place != nil {
		out.Mirror.Hours = r.mirrorHours()
	}
	return nil
}

// reachStepDeg is how closely the bearings of a mirror's reach lie. Own choice.
const reachStepDeg = 10

// mirrorReach finds how far the flash is noticed on the bearings that the sun
// allows; with a second mirror these are all.
func (r SightRequest) mirrorReach(q sighting.Query, m source.Mirror, out *SightMirror) error {
	half := m.Sector()
	if m.Second && half > 0 {
		half = 180
	}
	out.Reach = []MirrorReach{}
	steps := int(math.Ceil(2 * half / reachStepDeg))
	for i := range steps + 1 {
		if half == 180 && i == steps {
			break // the first again
		}
		m.Target = source.Aim{Azimuth: earth.NewTrue(float64(m.Sun.Azimuth) - half + 2*half*float64(i)/float64(max(steps, 1)))}
		look := m.Toward(q.View)
		if look.Absent != "" {
			continue
		}
		q.Source = m
		found, err := sighting.Solve(q)
		if err != nil {
			return err
		}
		out.Reach = append(out.Reach, MirrorReach{cli.Angle(m.Target.Azimuth), cli.Num(look.IntensityCD), cli.Len(found.Noticed.DistanceM)})
	}
	return nil
}

// mirrorHours returns what the sun allows at the whole hours of the local day.
func (r SightRequest) mirrorHours() []MirrorHour {
	hours := []MirrorHour{}
	day := time.Date(r.At.Year(), r.At.Month(), r.At.Day(), 0, 0, 0, 0, r.At.Location())
	for when := day; when.Day() == day.Day(); when = when.Add(time.Hour) {
		m := r.mirrorUnder(r.sunAt(when))
		if m.Sector() == 0 {
			continue
		}
		sun := float64(m.Sun.Azimuth)
		hours = append(hours, MirrorHour{
			At: instant(when, r.At.Location()), SunAzDeg: cli.Angle(sun), SunElDeg: cli.Num(m.Sun.ElevationDeg), MirrorSector: sector(m),
			SunCD:    cli.Num(m.Throw(source.Aim{Azimuth: m.Sun.Azimuth}).IntensityCD),
			SquareCD: cli.Num(m.Throw(source.Aim{Azimuth: earth.NewTrue(sun + 90)}).IntensityCD),
		})
	}
	return hours
}
