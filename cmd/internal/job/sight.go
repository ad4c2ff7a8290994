package job

import (
	"fmt"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/los"
	"farhail/geo/sky"
	"farhail/signal/air"
	"farhail/signal/observer"
	"farhail/signal/sighting"
	"farhail/signal/source"

	"github.com/paulmach/orb"
)

// A SightRequest is one signal and one observer. Numbers that are not given are
// NaN, except where the comment names another value.
type SightRequest struct {
	Signal  plan.Signal // PeriodS, RatedS: 0 when not given
	LitForS float64     // how long it has burnt [s]; 0 when not given

	VisibilityM, Refraction, EarthRadiusM float64

	BackgroundCDM2 float64    // NaN: from At, or else the default of the kind of signal
	At             time.Time  // zero when not given
	Place          *orb.Point // whose light it is; needed with At
	Behind         string     // one of SightBackgrounds; used with At, and for smoke
	Cloud          string     // one of Clouds; used with At

	LightsAbout string // one of plan.LightsAbout, for points of light; "": none

	WindMS  float64 // that smoke drifts in
	HiddenM float64 // of the smoke, from its fire up; 0: none
	Mirror  *MirrorRequest

	EyeM              float64
	Factor            float64 // 0: the default
	ThresholdLx       float64
	ThresholdContrast float64
	Flat              bool // no curvature

	SightTask               // how they look
	SightEye                // who looks
	Measured  SightMeasured // by the users themselves; wins over the model of a pass
	Seed      uint64        // of the draws behind low, mid and high

	ToM          float64       // distance for the stimulus
	From, Toward *orb.Point    // the eye and the signal; both or none
	Heights      *grid.Heights // terrain between them, or nil
	clear        bool          // the caller looks at the ground itself: no horizon
	among        []LinePlants  // on the line, once Among was asked
	ofPlan       bool          // lights about count where they mean something
}

// SightBackgrounds lists what can stand behind a signal, the usual first.
func SightBackgrounds() []string {
	var list []string
	for _, b := range air.Backgrounds {
		list = append(list, string(b))
	}
	return list
}

// A SightResult is how far one signal is seen. What stands beside perceptible_m
// without another word in its key is of that distance.
type SightResult struct {
	Signal            string  `json:"signal"`
	Kind              string  `json:"kind"`
	NoticedM          cli.Len `json:"noticed_m"`
	PerceptibleM      cli.Len `json:"perceptible_m"`
	Limit             string  `json:"limit"`
	LimitNoticed      string  `json:"limit_noticed"`
	Why               string  `json:"why"` // the limits in a sentence
	LuminousM         cli.Len `json:"luminous_m"`
	LuminousNoticedM  cli.Len `json:"luminous_noticed_m"`
	GeographicM       cli.Len `json:"geographic_m"`
	EffectiveCD       cli.Num `json:"effective_cd"`
	ThresholdLx       cli.Num `json:"threshold_lx"`
	ThresholdContrast cli.Num `json:"threshold_contrast"`
	MarginLog10       cli.Num `json:"margin_log10"`  // at ToM, or else at perceptible_m
	SweepWidthM       cli.Len `json:"sweep_width_m"` // null but for a pass
	// ClearLineChance is how often no plant stands in the line at ToM, or else at
	// noticed_m; null where no plants are told.
	ClearLineChance cli.Num `json:"clear_line_chance"`

	Low  SightBand `json:"low"`
	Mid  SightBand `json:"mid"`
	High SightBand `json:"high"`
	*SightAt
	*SightLine
	*SightSound
	// Help is what would help most; nil where the ground around a place decides.
	Help *SightHelp `json:"help,omitempty"`
	// SweepWidthFrom is the source of the width: the model, or what users measured.
	SweepWidthFrom string `json:"sweep_width_from,omitempty"`

	Sweep    *SightSweep  `json:"sweep,omitempty"` // of a pass, by the model
	Lamp     *SightLamp   `json:"lamp,omitempty"`
	Mirror   *SightMirror `json:"mirror,omitempty"`
	Symbol   *SightSymbol `json:"symbol,omitempty"`
	Fires    *SightFires  `json:"fires,omitempty"`
	Smoke    *SightSmoke  `json:"smoke,omitempty"`
	Inputs   SightInputs  `json:"inputs"`
	Fixed    bool         `json:"-"` // perceptible is by a threshold that was given
	Cautions []string     `json:"-"` // what the reader must know; the verb tells them as notes
}

// SightAt is the stimulus at a distance, along a clear line.
type SightAt struct {
	ToM              cli.Len `json:"to_m"` // over the ground
	IlluminanceLx    cli.Num `json:"illuminance_lx"`
	ApparentContrast cli.Num `json:"apparent_contrast"`
	ChancePerGlimpse cli.Num `json:"chance_per_glimpse"`
}

// SightLine is the line from the eye to the signal over the ground.
type SightLine struct {
	LineM      cli.Len `json:"line_m"`
	ClearanceM cli.Len `json:"clearance_m"`
	BlockedAtM cli.Len `json:"blocked_at_m"`
	// Plants are those of the cover that the line runs among; null where no cover
	// was counted.
	Plants []LinePlants `json:"line_plants"`
}

// SightInputs is what a sighting rests on. What was not used is null.
type SightInputs struct {
	VisibilityM      cli.Len    `json:"visibility_m"`
	BackgroundCDM2   cli.Num    `json:"background_cd_m2"`
	BackgroundFrom   string     `json:"background_from"` // given, default, or the light of a time and place
	At               *time.Time `json:"at"`
	Cloud            string     `json:"cloud"` // "" without At
	SunElevationDeg  cli.Num    `json:"sun_elevation_deg"`
	MoonElevationDeg cli.Num    `json:"moon_elevation_deg"`
	MoonLitFraction  cli.Num    `json:"moon_lit_fraction"`
	GroundLx         cli.Num    `json:"ground_lx"` // light on open ground
	Refraction       cli.Num    `json:"refraction"`
	EarthRadiusM     cli.Len    `json:"earth_radius_m"`
	EyeHeightM       cli.Len    `json:"eye_height_m"`
	SignalHeightM    cli.Len    `json:"signal_height_m"`
	LitForS          cli.Num    `json:"lit_for_s"`

	Who     SightWho      `json:"who"`
	Looking SightLooking  `json:"looking"`
	Factors []SightFactor `json:"factors"`
	Draws   *SightDraws   `json:"draws,omitempty"` // behind low, mid and high
}

// A SightFactor is a number that entered one of the distances.
type SightFactor struct {
	For string `json:"for"` // signal, noticed or perceptible
	Factor
}

// Sight judges one signal. An impossible value is an error.
func Sight(r SightRequest) (*SightResult, error) {
	out, q, err := r.judge()
	if err != nil {
		return nil, err
	}
	if err := r.bands(q, out); err != nil {
		return nil, err
	}
	out.Cautions = append(out.Cautions, r.eyeCautions(q, out)...)
	toM := r.lineM()
	out.ClearLineChance = r.clearLine(r.among != nil, toM, float64(out.NoticedM))
	if m, ok := q.Source.(source.Mirror); ok {
		if err := r.tellMirror(q, m, out); err != nil {
			return nil, err
		}
	}
	out.Help = r.help(out)
	if !math.IsNaN(toM) {
		if !(toM > 0) {
			return nil, fmt.Errorf("a distance of %g m to the signal is not a positive length", toM)
		}
		s, err := sighting.At(q, q.AlongM(toM))
		if err != nil {
			return nil, err
		}
		out.SightAt = &SightAt{cli.Len(toM), cli.Num(s.IlluminanceLx), cli.Num(s.ApparentContrast), cli.Num(s.ChancePerGlimpse)}
		out.MarginLog10 = cli.Num(s.MarginLog10)
		return out, nil
	}
	switch p, luminousM := float64(out.PerceptibleM), float64(out.LuminousM); {
	case p == q.OverGroundM(luminousM) && p > 0:
		out.MarginLog10 = 0 // by its definition
	case p > 0:
		s, err := sighting.At(q, q.AlongM(p))
		if err != nil {
			return nil, err
		}
		out.MarginLog10 = cli.Num(s.MarginLog10)
	}
	return out, nil
}

// judge finds the distances, and with a pass its width.
func (r SightRequest) judge() (*SightResult, sighting.Query, error) {
	out := &SightResult{Kind: r.Signal.Kind, SweepWidthM: cli.Len(math.NaN()), EffectiveCD: cli.Num(math.NaN())}
	q, err := r.ask(out)
	if err != nil {
		return nil, q, err
	}
	found, err := sighting.Solve(q)
	if err != nil {
		return nil, q, err
	}
	r.tell(found, q, out)
	if err := r.tellThing(found, q, out); err != nil {
		return nil, q, err
	}
	if r.Task == TaskPass {
		if err := r.pass(q, out); err != nil {
			return nil, q, err
		}
	}
	return out, q, nil
}

// ask turns the request into a query, and notes in the result what it rests on.
func (r SightRequest) ask(out *SightResult) (sighting.Query, error) {
	a, err := r.air(&out.Inputs)
	if err != nil {
		return sighting.Query{}, err
	}
	q := sighting.Query{
		Source: r.source(), Air: a, EyeM: r.EyeM, SignalM: r.signalM(),
		View:     source.View{Azimuth: earth.True(math.NaN()), LitForS: r.LitForS},
		Observer: observer.Observer{Factor: r.Factor, FixedLx: orZero(r.ThresholdLx), FixedContrast: orZero(r.ThresholdContrast)},
	}
	switch {
	case r.Flat:
		q.Ground = sighting.NoCurvature
	case r.clear:
		q.Ground = sighting.LineClear
		if !r.aloft() {
			q.View.ElevationDeg = beamOf(r.Signal).TiltDeg // the ground decides who stands in the beam
		}
	}
	if err := r.observe(r.AgeYears, &q); err != nil {
		return q, err
	}
	r.lightsAbout(&q)
	r.before(&q, float64(out.Inputs.GroundLx))
	if out.Inputs.Looking, err = r.SightTask.look(&q); err != nil {
		return q, err
	}
	out.Inputs.Who = r.who(q)
	if r.From != nil && r.Toward != nil {
		r.meet(&q, out)
	}
	return q, nil
}

// lineM returns the distance for the stimulus [m]: that given, or else from the
// eye to the signal; NaN where neither is known.
func (r SightRequest) lineM() float64 {
	if math.IsNaN(r.ToM) && r.From != nil && r.Toward != nil {
		distM, _, _ := earth.Inverse(*r.From, *r.Toward)
		return distM
	}
	return r.ToM
}

// air returns the air of the request, and notes where its background is from.
func (r SightRequest) air(in *SightInputs) (air.Air, error) {
	a := air.Air{VisibilityM: r.VisibilityM, Refraction: r.Refraction, EarthRadiusM: r.EarthRadiusM, BackgroundCDM2: r.BackgroundCDM2}
	r.overAir(&a)
	unknown := cli.Num(math.NaN())
	in.SunElevationDeg, in.MoonElevationDeg, in.MoonLitFraction, in.GroundLx = unknown, unknown, unknown, unknown
	switch {
	case !math.IsNaN(r.BackgroundCDM2):
		in.BackgroundFrom = "given"
	case !r.At.IsZero():
		if r.Place == nil {
			return a, fmt.Errorf("the light at %s is not known without a place", r.At.Format(time.RFC3339))
		}
		sun, moon := sky.Sun(*r.Place, r.At), sky.Moon(*r.Place, r.At)
		light := sky.LightAt(sun, moon, sky.Cloud(r.Cloud))
		lx := light.TotalLx()
		if math.IsNaN(lx) {
			return a, fmt.Errorf("the sky cannot be %q", r.Cloud)
		}
		a.BackgroundCDM2 = r.luminance(lx)
		at := r.At
		in.At, in.Cloud = &at, r.Cloud
		in.SunElevationDeg, in.GroundLx = cli.Num(sun.ElevationDeg), cli.Num(lx)
		in.MoonElevationDeg, in.MoonLitFraction = cli.Num(moon.ElevationDeg), cli.Num(moon.LitFraction)
		in.BackgroundFrom = r.behindWords() + " under " + skyWords(r.Cloud, light)
	case r.BehindStated:
		a.BackgroundCDM2 = r.luminance(fullSunLx)
		in.BackgroundFrom = r.behindWords() + " in full sun"
	case r.aloft() && !source.Kind(r.Signal.Kind).ByDay():
		a.BackgroundCDM2 = air.Background(nightGroundLx, air.Ground)
		in.BackgroundFrom = "default, the ground below on a clear night without moon"
	default:
		a.BackgroundCDM2 = air.NightBackgroundCDM2
		if source.Kind(r.Signal.Kind).ByDay() {
			a.BackgroundCDM2 = air.DayBackgroundCDM2
		}
		in.BackgroundFrom = "default"
	}
	in.VisibilityM, in.BackgroundCDM2 = cli.Len(a.VisibilityM), cli.Num(a.BackgroundCDM2)
	in.Refraction, in.EarthRadiusM = cli.Num(a.Refraction), cli.Len(a.EarthRadiusM)
	return a, nil
}

// signalM returns how high above the ground the signal shows [m].
func (r SightRequest) signalM() float64 { return standsM(r.Signal, r.WindMS) }

// meet puts the eye and the signal in their places: the side of the signal that
// is met, and the line over the ground where there is terrain.
func (r SightRequest) meet(q *sighting.Query, out *SightResult) {
	distM, _, arrival := earth.Inverse(*r.From, *r.Toward)
	q.View.Azimuth = arrival.Back()
	riseM := r.EyeM - r.signalM()
	if r.Heights != nil {
		eye, target := r.station(*r.From, r.EyeM), r.station(*r.Toward, r.topM(*q))
		line := los.Line(r.Heights, eye, target, los.Options{Refraction: r.Refraction, EarthRadiusM: r.EarthRadiusM})
		switch line.State {
		case los.Seen:
			q.Ground = sighting.LineClear
		case los.Hidden:
			q.Ground = sighting.LineBlocked
		default:
			q.Ground = sighting.LineUnknown
		}
		r.hideFoot(line, q)
		out.SightLine = &SightLine{cli.Len(distM), cli.Len(line.ClearanceM), cli.Len(line.BlockedAtM), r.among}
		riseM += r.Heights.Sample(*r.From) - r.Heights.Sample(*r.Toward)
	}
	if !r.Flat {
		riseM -= earth.DropM(distM, r.Refraction, r.EarthRadiusM)
	}
	// Without ground under one of them the line is unknown, and the level will do.
	if !math.IsNaN(riseM) {
		q.View.ElevationDeg = math.Atan2(riseM, distM) * 180 / math.Pi
	}
}

func (r SightRequest) station(p orb.Point, heightM float64) los.Station {
	col, row := r.Heights.Cell(p)
	return los.Station{Col: col, Row: row, HeightM: heightM}
}

// tell writes the solution into the result.
func (r SightRequest) tell(found sighting.Result, q sighting.Query, out *SightResult) {
	p, n := found.Perceptible, found.Noticed
	out.Signal = q.Source.String()
	out.NoticedM, out.PerceptibleM = cli.Len(n.DistanceM), cli.Len(p.DistanceM)
	out.Limit, out.LimitNoticed = string(p.Limit), string(n.Limit)
	out.LuminousM, out.LuminousNoticedM, out.GeographicM = cli.Len(p.LuminousM), cli.Len(n.LuminousM), cli.Len(found.GeographicM)
	if found.Appearance.Point() {
		out.EffectiveCD = cli.Num(found.Appearance.IntensityCD)
	}
	out.ThresholdLx, out.ThresholdContrast = cli.Num(p.ThresholdLx), cli.Num(p.ThresholdContrast)
	out.MarginLog10 = cli.Num(math.NaN())
	out.Why = why(out)
	out.Cautions = append(found.Notes, r.smokeCautions(q.Air.BackgroundCDM2)...)
	out.Fixed = q.Observer.FixedLx > 0 || q.Observer.FixedContrast > 0

	in := &out.Inputs
	in.EyeHeightM, in.SignalHeightM, in.LitForS = cli.Len(q.EyeM), cli.Len(q.SignalM), cli.Num(q.View.LitForS)
	in.Factors = []SightFactor{}
	for _, list := range []struct {
		of      string
		factors []source.Factor
	}{{"signal", found.Factors}, {"noticed", n.Factors}, {"perceptible", p.Factors}} {
		for _, f := range factors(list.factors) {
			in.Factors = append(in.Factors, SightFactor{list.of, f})
		}
	}
}

// orZero turns "not given" into the zero value that the signal packages take
// for it.
func orZero(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return v
}
