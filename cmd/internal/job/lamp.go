package job

import (
	"cmp"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/signal/sighting"
	"farhail/signal/source"
)

// A StandardLight is an entry of the catalogue of lights that rules and standards
// describe.
type StandardLight struct {
	Name        string  `json:"name"`
	Title       string  `json:"title"`
	IntensityCD cli.Num `json:"intensity_cd"` // null: the standard states none
	LastsS      cli.Num `json:"lasts_s"`      // null: none stated
	Colour      string  `json:"colour"`
	Figure      string  `json:"figure"`
	Source      string  `json:"source"`
	Read        string  `json:"read"`        // how far the figures can be trusted
	NotSighted  string  `json:"not_sighted"` // why no distance comes of it; "" when one does
}

// StandardLights lists the catalogue.
func StandardLights() []StandardLight {
	var list []StandardLight
	for _, s := range source.Standards {
		cd, lasts := math.NaN(), math.NaN()
		if s.NotSighted == "" {
			cd = s.Light.IntensityCD
		}
		if t := s.Light.LastsS(); !math.IsInf(t, 1) {
			lasts = t
		}
		list = append(list, StandardLight{
			s.Name, s.Title, cli.Num(cd), cli.Num(lasts), string(s.Light.Colour), s.Figure, s.Source, s.Read, s.NotSighted,
		})
	}
	return list
}

// lamp returns the light of a signal: that of its standard, and whatever is stated
// beside it.
func lamp(s plan.Signal) source.Light {
	standard, _ := source.FindStandard(s.Standard)
	l := standard.Light
	switch {
	case len(s.BeamTable) > 0:
		l.Beam, l.IntensityCD = source.TableBeam(s.BeamTable)
	case s.BeamDeg > 0:
		l.Beam = source.Beam{Shape: source.Shape(s.BeamShape), WidthDeg: s.BeamDeg, Spill: s.Spill}
	}
	if !math.IsNaN(s.AzimuthDeg) && l.Beam.Narrow() {
		l.Beam.Aimed, l.Beam.Azimuth = true, earth.NewTrue(s.AzimuthDeg)
	}
	if !math.IsNaN(s.TiltDeg) && l.Beam.Narrow() {
		l.Beam.TiltDeg = s.TiltDeg
	}
	switch {
	case s.IntensityCD > 0:
		l.IntensityCD = s.IntensityCD
	case s.FluxLM > 0:
		l.IntensityCD = l.Beam.FromLumens(s.FluxLM)
	case s.BeamDistanceM > 0:
		l.IntensityCD = source.FromBeamDistance(s.BeamDistanceM)
	}
	if s.FlashS > 0 {
		l.Flash = source.Flash{
			OnS: s.FlashS, EveryS: s.PeriodS, Pulses: s.Pulses, GapS: s.GapS, Pulse: source.PulseShape(s.PulseShape),
			Law: source.FlashLaw(s.FlashLaw), ConstantS: s.FlashConstantS,
		}
	}
	if s.Colour != "" {
		l.Colour = source.Colour(s.Colour)
	}
	if s.RatedS > 0 {
		l.RatedS = s.RatedS
	}
	if s.Fade != "" {
		l.Battery.Fade = source.Fade(s.Fade)
	}
	if len(s.Output) > 0 {
		l.RatedS, l.Battery.Fade = 0, ""
		for _, row := range s.Output {
			l.Battery.Output = append(l.Battery.Output, source.OutputPoint{LitS: row[0], Share: row[1]})
		}
	}
	l.Battery.Cold = s.Cold
	return l
}

// beamOf returns where a signal shines; all but lights shine all round.
func beamOf(s plan.Signal) source.Beam {
	if s.Kind != plan.Light {
		return source.Beam{}
	}
	return lamp(s).Beam
}

// always is a time span that holds every time of a plan.
var always = [2]time.Time{{}, time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)}

// burning returns from when until when a signal shows.
func burning(s plan.Signal) (from, until time.Time) {
	from, until = always[0], always[1]
	if s.Kind != plan.Light || s.LitFrom.IsZero() {
		return from, until
	}
	from = s.LitFrom
	if lasts := lamp(s).LastsS(); lasts < until.Sub(from).Seconds() {
		until = from.Add(seconds(lasts))
	}
	return from, until
}

// alight reports whether a signal shows at a moment. At the end of its time a lamp still
// gives its last light.
func alight(s plan.Signal, at time.Time) bool {
	from, until := burning(s)
	return !at.Before(from) && !at.After(until)
}

// lightsAbout puts other lights near the line into the query: for a plan where they mean
// something, since it judges all its signals at all its hours.
func (r SightRequest) lightsAbout(q *sighting.Query) {
	q.About = sighting.LightsAbout(r.LightsAbout)
	if r.ofPlan && !q.AboutCounts() {
		q.About = sighting.NoLights
	}
}

// A SightLamp is how a light shines: where it is brightest, for how long, and what
// its battery leaves of it.
type SightLamp struct {
	Standard   string     `json:"standard"`    // "" for none
	PeakCD     cli.Num    `json:"peak_cd"`     // where the beam is brightest, lit, with a fresh battery
	FlashShare cli.Num    `json:"flash_share"` // that its flashes are worth; 1 for a steady light
	FlashLaw   string     `json:"flash_law"`   // "" for a steady light
	LastsS     cli.Num    `json:"lasts_s"`     // null: nothing ends it
	Output     cli.Num    `json:"output"`      // share of the first light that is left; 0: out
	LitFrom    *time.Time `json:"lit_from"`    // null where it is not known
	OutAt      *time.Time `json:"out_at"`
	// Reach is how far it is noticed on the bearings of the level, before the ground
	// is looked at: of a lamp of a plan that is aimed.
	Reach []SightReach `json:"reach,omitempty"`
}

// tellLamp adds how a light shines.
func (r SightRequest) tellLamp(l source.Light, q sighting.Query, out *SightResult) {
	t := &SightLamp{
		Standard: r.Signal.Standard, PeakCD: cli.Num(l.IntensityCD), FlashShare: cli.Num(l.Flash.Share()),
		LastsS: cli.Num(math.NaN()), Output: cli.Num(l.Output(r.LitForS)),
	}
	if l.Flash.OnS > 0 {
		t.FlashLaw = string(cmp.Or(l.Flash.Law, source.FlashLaws[0]))
	}
	if lasts := l.LastsS(); !math.IsInf(lasts, 1) {
		t.LastsS = cli.Num(lasts)
		if from := r.Signal.LitFrom; !from.IsZero() {
			from = from.In(r.At.Location())
			at := from.Add(seconds(lasts))
			t.LitFrom, t.OutAt = &from, &at
		}
	}
	if r.ofPlan && l.Beam.Aimed {
		t.Reach = newLampBeam(l.Beam, q.Air.Extinction(), q.View.ElevationDeg).reach(float64(out.LuminousNoticedM), float64(out.NoticedM))
	}
	out.Lamp = t
	if s, ok := source.FindStandard(r.Signal.Standard); ok {
		out.Inputs.Factors = append(out.Inputs.Factors, SightFactor{"signal", Factor{Name: "intensity of " + s.Name, Value: cli.Num(s.Light.IntensityCD), Unit: "cd", Source: s.Source + ": " + s.Figure + " (" + s.Read + ")"}})
	}
}
