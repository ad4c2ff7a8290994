package job

import (
	"context"
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

	"github.com/paulmach/orb"
)

// A Sighting is how far one signal is seen at one hour: by light, air and eye,
// and over the ground around the traveller's last position where there is
// terrain.
type Sighting struct {
	Signal       string         `json:"signal"`
	Kind         string         `json:"kind"`
	At           *time.Time     `json:"at"`
	NoticedM     cli.Len        `json:"noticed_m"`
	PerceptibleM cli.Len        `json:"perceptible_m"`
	Limit        string         `json:"limit"` // of noticed
	LimitBest    string         `json:"limit_perceptible"`
	LuminousM    cli.Len        `json:"luminous_m"` // noticed, without the ground
	GeographicM  cli.Len        `json:"geographic_m"`
	EffectiveCD  cli.Num        `json:"effective_cd"`
	ThresholdLx  cli.Num        `json:"threshold_lx"`
	ThresholdC   cli.Num        `json:"threshold_contrast"`
	Lat          cli.Deg        `json:"lat"` // where the signal is taken to be
	Lon          cli.Deg        `json:"lon"`
	SeenAreaM2   cli.Area       `json:"seen_area_m2"` // ground from which it is noticed; null without terrain
	Inputs       SightingInputs `json:"inputs"`
	Point        orb.Point      `json:"-"`
}

// SightingInputs is what a sighting rests on.
type SightingInputs struct {
	SunElevationDeg cli.Num  `json:"sun_elevation_deg"`
	IlluminanceLx   cli.Num  `json:"illuminance_lx"`
	BackgroundCDM2  cli.Num  `json:"background_cd_m2"`
	VisibilityM     cli.Len  `json:"visibility_m"`
	EyeHeightM      cli.Len  `json:"eye_height_m"`
	SignalHeightM   cli.Len  `json:"signal_height_m"`
	Factors         []Factor `json:"factors"`
}

// A look is a signal judged at an hour by light, air and eye alone.
type look struct {
	sighting.Result
	inputs SightingInputs
}

type lookKey struct {
	signal string
	at     int64
}

// look judges a signal at an hour in the light of the plan's place. The ground
// behind it is taken as open level country under a clear sky.
func (r *run) look(s plan.Signal, at time.Time) (look, error) {
	key := lookKey{s.Name, at.UnixNano()}
	if l, ok := r.looks[key]; ok {
		return l, nil
	}
	where, ok := r.position()
	if !ok {
		return look{}, fmt.Errorf("signal %s: the plan gives no position whose light could be known", s.Name)
	}
	sun := sky.Sun(where, at)
	lux := sky.ClearSkyIlluminance(sun.ElevationDeg)
	a := air.Default(air.Background(lux, air.Ground))
	a.VisibilityM, a.Refraction = r.plan.Weather.VisibilityM, r.plan.Weather.Refraction
	q := sighting.Query{
		Source: sourceOf(s), Air: a, EyeM: r.plan.Looking.EyeHeightM, SignalM: s.HeightM,
		View: inBeam(s), Ground: r.lineOfSight(where),
	}
	if from, until := burning(s); at.Before(from) || !at.Before(until) {
		q.View.LitForS = math.Inf(1)
	}
	result, err := sighting.Solve(q)
	if err != nil {
		return look{}, fmt.Errorf("signal %s: %w", s.Name, err)
	}
	l := look{result, SightingInputs{
		SunElevationDeg: cli.Num(sun.ElevationDeg), IlluminanceLx: cli.Num(lux), BackgroundCDM2: cli.Num(a.BackgroundCDM2),
		VisibilityM: cli.Len(a.VisibilityM), EyeHeightM: cli.Len(q.EyeM), SignalHeightM: cli.Len(q.SignalM),
		Factors: factors(result.Factors, result.Noticed.Factors),
	}}
	r.looks[key] = l
	return l, nil
}

// inBeam returns the view of somebody whom the signal's beam meets: what stands
// in the table is how far it shows to them.
func inBeam(s plan.Signal) source.View {
	v := source.View{Azimuth: earth.True(math.NaN())}
	if beam := beamOf(s); beam.WidthDeg > 0 {
		v.ElevationDeg = beam.TiltDeg
	}
	return v
}

// position returns where the traveller was last: the end of the log, or else
// the start that nothing supersedes, or else where the tracks are.
func (r *run) position() (orb.Point, bool) {
	if r.result.Reckon != nil && len(r.result.Reckon.Path) > 0 {
		return r.result.Reckon.End.Point(), true
	}
	if s, ok := ringStart(r.plan.Starts); ok {
		return s.Point, true
	}
	if box, ok := r.box(); ok {
		return box.Center(), true
	}
	return orb.Point{}, false
}

// sights judges every signal at every hour.
func (r *run) sights(ctx context.Context) error {
	switch {
	case len(r.plan.Traveller.Signals) == 0:
		r.leaveOut("sighting distances: the plan gives no signals (traveller: signals:)")
		return nil
	case len(r.plan.Hours) == 0:
		r.leaveOut("sighting distances: the plan gives no hours (hours:)")
		return nil
	}
	where, ok := r.position()
	if !ok {
		r.leaveOut("sighting distances: the plan gives no position whose light could be known")
		return nil
	}
	for _, s := range r.plan.Traveller.Signals {
		for _, hour := range r.plan.Hours {
			l, err := r.look(s, hour.Time)
			if err != nil {
				return err
			}
			for _, text := range l.Notes {
				r.warn(text, "")
			}
			out := Sighting{
				Signal: s.Name, Kind: s.Kind, At: instant(hour.Time, r.result.Plan.location),
				NoticedM: cli.Len(l.Noticed.DistanceM), PerceptibleM: cli.Len(l.Perceptible.DistanceM),
				Limit: string(l.Noticed.Limit), LimitBest: string(l.Perceptible.Limit),
				LuminousM: cli.Len(l.Noticed.LuminousM), GeographicM: cli.Len(l.GeographicM),
				EffectiveCD: cli.Num(math.NaN()),
				ThresholdLx: cli.Num(l.Noticed.ThresholdLx), ThresholdC: cli.Num(l.Noticed.ThresholdContrast),
				Lat: cli.Deg(where.Lat()), Lon: cli.Deg(where.Lon()), SeenAreaM2: cli.Area(math.NaN()),
				Inputs: l.inputs, Point: where,
			}
			if l.Appearance.Point() {
				out.EffectiveCD = cli.Num(l.Appearance.IntensityCD)
			}
			if err := r.overGround(ctx, s, l, &out); err != nil {
				return err
			}
			r.result.Sight = append(r.result.Sight, out)
		}
	}
	return nil
}

// lineOfSight says what the earth does to sight lines from a place: nothing that
// light need know of where the terrain there decides.
func (r *run) lineOfSight(where orb.Point) sighting.Ground {
	if r.heights == nil {
		return sighting.RoundEarth
	}
	if math.IsNaN(r.heights.Sample(where)) {
		r.warn("the terrain has no height at the traveller's last position: sighting distances are over a smooth earth", "")
		return sighting.RoundEarth
	}
	return sighting.LineClear
}

// A Factor is one number that entered a distance, with where it is from.
type Factor struct {
	Name   string  `json:"name"`
	Value  cli.Num `json:"value"`
	Unit   string  `json:"unit"`
	Source string  `json:"source"`
}

func factors(lists ...[]source.Factor) []Factor {
	out := []Factor{}
	for _, list := range lists {
		for _, f := range list {
			out = append(out, Factor{f.Name, cli.Num(f.Value), f.Unit, f.Source})
		}
	}
	return out
}

// sourceOf returns the plan's signal as light, air and eye meet it.
func sourceOf(s plan.Signal) source.Source {
	switch s.Kind {
	case plan.Flag:
		return source.Flag{WidthM: s.FlagWidthM, HeightM: s.FlagHeightM, Reflectance: s.Reflectance, Behind: s.BackgroundReflectance}
	case plan.Fire:
		return source.Fire{HeatW: s.PowerW, BedM: s.BedM}
	}
	l := source.Light{IntensityCD: s.IntensityCD, Beam: beamOf(s)}
	switch {
	case s.FluxLM > 0:
		l.IntensityCD = source.FromLumens(s.FluxLM, l.Beam.WidthDeg)
	case s.BeamDistanceM > 0:
		l.IntensityCD = source.FromBeamDistance(s.BeamDistanceM)
	}
	if s.FlashS > 0 {
		l.Flash = source.Flash{OnS: s.FlashS, EveryS: s.PeriodS}
	}
	if s.RatedS > 0 {
		l.RatedS = s.RatedS
	}
	return l
}
