package job

import (
	"context"
	"fmt"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/signal/air"
	"farhail/signal/sighting"
	"farhail/signal/source"

	"github.com/paulmach/orb"
)

// A Sighting is how far one signal of a plan is seen at one hour: by light, air
// and eye, and over the ground around the traveller's last position where there
// is terrain.
type Sighting struct {
	Signal   string     `json:"signal"` // its name in the plan
	At       *time.Time `json:"at"`
	Observer string     `json:"observer"` // eye, glasses, aircraft, intensifier; ear for a sound
	Watchers []string   `json:"watchers"` // of the plan, who look so; none where it names nobody
	Lat      cli.Deg    `json:"lat"`      // where it is taken to be
	Lon      cli.Deg    `json:"lon"`
	SightResult
	SeenAreaM2 cli.Area `json:"seen_area_m2"` // ground from which it is noticed; null without terrain
	// WithoutTrees is what the bare ground alone would let be seen; null where no
	// cover stands in the way, or nothing shows.
	WithoutTrees *OpenSight `json:"without_trees"`
	Point        orb.Point  `json:"-"`
}

type lookKey struct {
	signal string
	at     int64
	by     int // of the run's seers
	clear  bool
}

// look judges a signal at an hour for one kind of those who look, in the light of
// the plan's place, before the ground is looked at. With clear the ground will
// decide, and no horizon does. What is behind it is taken as open level country under
// the plan's sky.
func (r *run) look(s plan.Signal, at time.Time, by int, clear bool) (*SightResult, error) {
	key := lookKey{s.Name, at.UnixNano(), by, clear}
	if l, ok := r.looks[key]; ok {
		return l, nil
	}
	if s.Heard() {
		l, err := r.hear(s)
		if err != nil {
			return nil, fmt.Errorf("signal %s: %w", s.Name, err)
		}
		r.looks[key] = l
		return l, nil
	}
	request, err := r.lookRequest(s, at, by, clear)
	if err != nil {
		return nil, err
	}
	l, err := sightFor(request)
	if err != nil {
		return nil, fmt.Errorf("signal %s: %w", s.Name, err)
	}
	if !alight(s, at) {
		l.NoticedM, l.PerceptibleM, l.LuminousM, l.LuminousNoticedM, l.EffectiveCD = 0, 0, 0, 0, 0
		l.Limit, l.LimitNoticed = string(sighting.Battery), string(sighting.Battery)
		if l.SweepWidthM > 0 {
			l.SweepWidthM = 0
		}
		never := SightBand{SweepWidthM: l.SweepWidthM} // null but for a pass
		l.Low, l.Mid, l.High = never, never, never
		l.Why, l.Help = why(l), nil
	}
	r.looks[key] = l
	return l, nil
}

// lookRequest is the question that look asks.
func (r *run) lookRequest(s plan.Signal, at time.Time, by int, clear bool) (SightRequest, error) {
	return r.requestBy(s, at, r.seers[by], clear)
}

// requestBy is the question for one kind of those who look.
func (r *run) requestBy(s plan.Signal, at time.Time, k seer, clear bool) (SightRequest, error) {
	where, ok := r.position()
	if !ok {
		return SightRequest{}, fmt.Errorf("signal %s: the plan gives no position whose light could be known", s.Name)
	}
	nan := math.NaN()
	s, behind := namedGround(s)
	request := SightRequest{
		Signal: s, At: at, Place: &where, Behind: behind, Cloud: r.plan.Weather.Cloud, WindMS: r.plan.Weather.WindMS, BackgroundCDM2: nan,
		VisibilityM: r.plan.Weather.VisibilityM, Refraction: r.plan.Weather.Refraction, EarthRadiusM: earth.MeanRadiusM,
		ThresholdLx: nan, ThresholdContrast: nan, ToM: nan,
		clear: clear, ofPlan: true, LightsAbout: r.plan.Weather.LightsAbout, Mirror: mirrorOf(s), Seed: r.plan.Seed,
	}
	if from, _ := burning(s); from != always[0] {
		request.LitForS = max(0, at.Sub(from).Seconds())
	}
	return request.by(k, r.plan), nil
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
	if r.heights != nil && !r.groundDecides(where) {
		r.warn("the terrain has no height at the traveller's last position: sighting distances are over a smooth earth", "")
	}
	for _, s := range r.plan.Traveller.Signals {
		for _, hour := range r.plan.Hours {
			if err := r.sightsAt(ctx, s, hour.Time, where); err != nil {
				return err
			}
		}
	}
	return nil
}

// sightsAt judges a signal at an hour for all who look, a sound once.
func (r *run) sightsAt(ctx context.Context, s plan.Signal, at time.Time, where orb.Point) error {
	seers := r.seers
	if s.Heard() {
		seers = []seer{{}}
	}
	for by, k := range seers {
		l, err := r.lookOrLeaveOut(s, at, by, r.groundDecides(where))
		switch {
		case err != nil:
			return err
		case l == nil:
			continue
		}
		for _, text := range l.Cautions {
			r.warn(text, "")
		}
		out := Sighting{
			Signal: s.Name, At: instant(at, r.result.Plan.location), Observer: k.observer(), Watchers: append([]string{}, k.names...),
			Lat: cli.Deg(where.Lat()), Lon: cli.Deg(where.Lon()), Point: where,
			SightResult: *l, SeenAreaM2: cli.Area(math.NaN()),
		}
		if s.Heard() {
			out.Observer = ObserverEar
		} else if err := r.overGround(ctx, s, at, by, &out); err != nil {
			return err
		}
		if r.groundDecides(where) {
			out.Low, out.Mid, out.High = widthBand(out.Low), widthBand(out.Mid), widthBand(out.High)
		}
		r.result.Sight = append(r.result.Sight, out)
	}
	return nil
}

// lookOrLeaveOut is look, but what cannot be judged for eyes that are not the
// usual ones, like a law that is not stated for the dark, is left out: nil.
func (r *run) lookOrLeaveOut(s plan.Signal, at time.Time, by int, clear bool) (*SightResult, error) {
	l, err := r.look(s, at, by, clear)
	if k := r.seers[by]; err != nil && k.special() {
		r.leaveOut(fmt.Sprintf("%v, by %s at %s", err, k, r.clock(at)))
		return nil, nil
	}
	return l, err
}

// widthBand keeps of a band what terrain does not decide, the width of a pass.
func widthBand(b SightBand) SightBand {
	return SightBand{unknownBand.NoticedM, unknownBand.PerceptibleM, b.SweepWidthM}
}

// groundDecides says whether the terrain has a height at a place, so that sight
// lines over it decide and not the horizon of a smooth earth.
func (r *run) groundDecides(where orb.Point) bool {
	return r.heights != nil && !math.IsNaN(r.heights.Sample(where))
}

// A Factor is one number that entered a distance, with where it is from.
type Factor struct {
	Name   string  `json:"name"`
	Value  cli.Num `json:"value"`
	Unit   string  `json:"unit"`
	Source string  `json:"source"`
}

func factors(list []source.Factor) []Factor {
	out := make([]Factor, 0, len(list))
	for _, f := range list {
		out = append(out, Factor{f.Name, cli.Num(f.Value), f.Unit, f.Source})
	}
	return out
}

// source returns the signal as light, air and eye meet it.
func (r SightRequest) source() source.Source {
	s := r.Signal
	switch s.Kind {
	case KindMirror:
		return r.mirror()
	case plan.Smoke:
		smoke := smokeOf(s, r.WindMS, air.Behind(r.Behind))
		smoke.FromM = r.HiddenM
		return smoke
	case plan.Flag, plan.Figure, plan.Symbol, plan.Reflector:
		return thing(s)
	case plan.Fire:
		return source.Fire{HeatW: s.PowerW, BedM: s.BedM}
	}
	return lamp(s)
}
