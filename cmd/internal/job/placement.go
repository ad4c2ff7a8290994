package job

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/los"
	"farhail/geo/terrain"
	"farhail/signal/place"

	"github.com/paulmach/orb"
)

// A Place is the answer to one question of the plan's placement at one hour.
type Place struct {
	Question    string      `json:"question"` // passive, route, lookouts, attract or relay
	Signal      string      `json:"signal"`
	At          *time.Time  `json:"at"`
	Light       string      `json:"light"`      // by whose light they are judged: while they look, at the hour, or both
	NoticedM    cli.Len     `json:"noticed_m"`  // at the hour: by light and air alone, by the first of those who look; the ground then decides
	NoticedBy   []PlaceSeer `json:"noticed_by"` // by each kind of those who look
	Candidates  int         `json:"candidates"`
	SpacingM    cli.Len     `json:"spacing_m"` // of candidates on a grid, null where they were given
	Watchers    int         `json:"watchers"`  // places of those who look; 0 where likely cells count
	Cells       int         `json:"cells"`     // likely cells that count; 0 where those who look do
	Unit        string      `json:"unit"`      // of gain, covered, bound, total
	Sites       []Site      `json:"sites"`
	Covered     cli.Num     `json:"covered"` // chance of noticing at least one site, by weight, summed
	Bound       cli.Num     `json:"bound"`   // no choice of as many sites can reach more
	Gap         cli.Num     `json:"gap"`     // 1 - covered / bound
	Total       cli.Num     `json:"total"`   // all weight: person-seconds of all who look, or probability of the cells
	Exact       bool        `json:"exact"`   // proven best
	Drawn       *PlaceDrawn `json:"drawn"`   // what the choice comes to with the ground drawn; null for sounds and relay posts
	SeenUnknown int         `json:"seen_unknown"`
	Draws       SightDraws  `json:"draws"`
	RestsOn     []string    `json:"rests_on"`

	OverHours []PlaceAt      `json:"over_hours"` // likely cells: the plan's hours that the answer is for, each counting alike; empty where those who look count
	Hours     []PlaceHour    `json:"by_hour"`    // who look: when the sites are noticed; empty without clocks
	Blind     *PlaceBlind    `json:"blind"`      // of a route
	LooksFor  []PlaceLooked  `json:"looks_for"`  // what lookouts look for
	Crossing  *PlaceCrossing `json:"crossing"`   // what a light that attracts was checked for
	Timetable []PlaceTurn    `json:"timetable"`  // of what attracts
	Links     []PlaceLink    `json:"links"`      // of relay posts
}

// Units of what a choice is worth.
const (
	UnitPersonSeconds = "person-seconds"
	UnitShare         = "share of the probability"
)

// A Site is one chosen place.
type Site struct {
	Name          string           `json:"name"`
	Lat           cli.Deg          `json:"lat"`
	Lon           cli.Deg          `json:"lon"`
	GroundM       cli.Len          `json:"ground_m"` // height of the ground by the terrain
	SlopeDeg      cli.Num          `json:"slope_deg"`
	Cover         string           `json:"cover"`          // class of what covers it, "" where no file tells
	WalkS         cli.Num          `json:"walk_s"`         // from the start that it must be reached from; null without
	Gain          cli.Num          `json:"gain"`           // what it adds to the sites before it
	SeenShare     cli.Num          `json:"seen_share"`     // of the total, by this site alone
	SeenAreaM2    cli.Area         `json:"seen_area_m2"`   // ground from which it is noticed
	CrossingShare cli.Num          `json:"crossing_share"` // of those who notice, who would have to cross something
	SeenBy        []SiteSeer       `json:"seen_by"`        // empty where likely cells count
	Point         orb.Point        `json:"-"`
	Seen          orb.MultiPolygon `json:"-"`
}

// A candidate is a place where something may stand.
type candidate struct {
	name     string
	point    orb.Point
	col, row float64
	x, y     float64 // in the plan's local frame [m]
	walkS    float64 // NaN where no reach is asked for
}

// A placing is one question of the plan under way.
type placing struct {
	*run
	ask      plan.Placement
	sites    []candidate
	spacingM float64
}

// placements answers the questions of the plan.
func (r *run) placements(ctx context.Context) error {
	for _, ask := range r.plan.Placements {
		p := &placing{run: r, ask: ask}
		if err := p.answer(ctx); err != nil {
			return err
		}
	}
	r.noteSites()
	return nil
}

// String names the question for messages.
func (p *placing) String() string {
	if p.ask.Question == plan.PlacePassive {
		return "placement"
	}
	return "placement (" + p.ask.Question + ")"
}

// ofLooks reports whether a question is about those who look, in whose light it is judged.
func (p *placing) ofLooks() bool {
	return p.ask.Question == plan.PlacePassive || p.ask.Question == plan.PlaceRoute
}

// answer answers one question.
func (p *placing) answer(ctx context.Context) error {
	if why := p.cannot(); why != "" {
		p.leaveOut(p.String() + ": " + why)
		return nil
	}
	var err error
	if p.sites, p.spacingM, err = p.candidates(ctx); err != nil {
		return err
	}
	if len(p.sites) == 0 {
		p.leaveOut(p.String() + ": no candidate site lies on the terrain within the limits")
		return nil
	}
	for _, s := range p.showings() {
		answered, err := p.at(ctx, s.signal, s.hours)
		if errors.Is(err, errLeftOut) {
			continue
		}
		if err != nil {
			return fmt.Errorf("%s of %s: %w", p, s.signal.Name, err)
		}
		p.result.Place = append(p.result.Place, *answered)
		p.show(answered, s.signal, s.hours[0])
	}
	return nil
}

// A showing is a signal and the hours that one answer is for.
type showing struct {
	signal plan.Signal
	hours  []time.Time
}

// showings lists what is answered: a question about likely cells once for each signal
// over all its hours; one about those who look too where their clocks are known, as they
// look in the same light whatever the hour, and else hour by hour.
func (p *placing) showings() []showing {
	var list []showing
	for _, hour := range p.plan.Hours {
		signal, ok := p.signalAt(hour.Time)
		if !ok {
			p.leaveOut(fmt.Sprintf("%s at %s: no signal burns that can be placed", p, p.clock(hour.Time)))
			continue
		}
		same := slices.IndexFunc(list, func(s showing) bool { return s.signal.Name == signal.Name })
		switch {
		case same < 0 || p.ofLooks() && !p.watch.clocked:
			list = append(list, showing{signal, []time.Time{hour.Time}})
		case !p.ofLooks():
			list[same].hours = append(list[same].hours, hour.Time)
		}
	}
	return list
}

// cannot says why the question has no answer in this plan; "" where it has.
func (p *placing) cannot() string {
	likely := p.result.Chance != nil
	looks := len(p.watch.watchers) > 0
	q := p.ask.Question
	switch {
	case p.heights == nil:
		return "no terrain"
	case (q == plan.PlacePassive || q == plan.PlaceRoute) && !looks:
		return "nobody looks (looking: parties: or lookouts:)"
	case (q == plan.PlaceLookouts || q == plan.PlaceAttract) && !likely:
		return "where they are likely to be is not known (likelihood:)"
	case q == plan.PlaceRelay && !looks && !likely:
		return "neither anybody who looks nor where they are likely to be is known"
	case q == plan.PlaceAttract:
		return p.unseenGround()
	}
	return ""
}

// at answers the question for one signal over hours of the plan.
func (p *placing) at(ctx context.Context, s plan.Signal, hours []time.Time) (*Place, error) {
	switch p.ask.Question {
	case plan.PlaceRoute:
		return p.alongRoute(ctx, s, hours[0])
	case plan.PlaceLookouts:
		return p.lookouts(ctx, s, hours)
	case plan.PlaceAttract:
		return p.attract(ctx, s, hours)
	case plan.PlaceRelay:
		return p.relay(ctx, s, hours)
	}
	return p.passive(ctx, s, hours[0])
}

// signalAt returns the signal that is placed: that of those who search, the one the
// plan names, or else the first that burns at that time. Flags, fires and
// smoke are taken to show always; a sound is not seen, a mirror's light goes by hand
// where the sun allows it, a person goes where they like and a symbol is read from
// above, so none of these is placed, but for a sound that attracts and a person who
// is looked for.
func (p *placing) signalAt(t time.Time) (plan.Signal, bool) {
	list := p.plan.Traveller.Signals
	if p.ask.Shown != nil {
		list = []plan.Signal{*p.ask.Shown}
	}
	for _, s := range list {
		if name := p.ask.Signal; name != "" && name != s.Name {
			continue
		}
		switch {
		case s.Kind == plan.Mirror, s.Kind == plan.Symbol:
			continue
		case s.Heard() && p.ask.Question != plan.PlaceAttract:
			continue
		case s.Kind == plan.Figure && p.ask.Question != plan.PlaceLookouts:
			continue
		case flames(s) && !p.ask.FireAllowed && p.ask.Question != plan.PlaceLookouts:
			continue
		}
		if alight(s, t) {
			return s, true
		}
	}
	return plan.Signal{}, false
}

// flames reports whether a signal burns something.
func flames(s plan.Signal) bool { return s.Kind == plan.Fire || s.Kind == plan.Smoke }

// choose chooses among the candidates, and tells the choice.
func (p *placing) choose(s plan.Signal, at time.Time, o *objective) (*Place, place.Choice, error) {
	choice, err := place.Choose(o.chances, place.Ask{Count: p.ask.Count, Exact: p.exact})
	if err != nil {
		return nil, choice, err
	}
	return p.told(s, at, o, choice), choice, nil
}

// told describes a choice.
func (p *placing) told(s plan.Signal, at time.Time, o *objective, choice place.Choice) *Place {
	out := &Place{
		Question: p.ask.Question, Signal: s.Name, Light: LightOfHour, At: instant(at, p.result.Plan.location), NoticedM: cli.Len(math.NaN()), NoticedBy: o.noticedBy,
		Candidates: len(p.sites), SpacingM: cli.Len(p.spacingM), Unit: o.unit, Sites: []Site{},
		Covered: cli.Num(choice.Covered), Bound: cli.Num(choice.Bound), Gap: cli.Num(choice.Gap()),
		Total: cli.Num(o.total), Exact: choice.Exact, SeenUnknown: o.unknown,
		Draws:   drawsOf(p.plan.Seed),
		RestsOn: append([]string{}, o.restsOn...), OverHours: []PlaceAt{}, Hours: []PlaceHour{}, LooksFor: []PlaceLooked{}, Timetable: []PlaceTurn{}, Links: []PlaceLink{},
	}
	if len(o.noticedBy) > 0 {
		out.NoticedM = o.noticedBy[0].NoticedM
	}
	for i, pick := range choice.Picks {
		c := p.sites[pick.Candidate]
		site := Site{
			Name: c.name, Lat: cli.Deg(c.point.Lat()), Lon: cli.Deg(c.point.Lon()), Point: c.point,
			GroundM: cli.Len(p.heights.SampleCell(c.col, c.row)), SlopeDeg: cli.Num(p.slopeDeg(c)), WalkS: cli.Num(c.walkS),
			Gain: cli.Num(pick.Gain), SeenShare: 0, SeenAreaM2: cli.Area(math.NaN()), CrossingShare: cli.Num(math.NaN()), SeenBy: []SiteSeer{},
		}
		if site.Name == "" {
			site.Name = fmt.Sprintf("site %d", i+1)
		}
		if p.cover != nil {
			site.Cover = p.cover.Class(c.point)
		}
		if o.total > 0 {
			site.SeenShare = cli.Num(o.chances.Alone(pick.Candidate) / o.total)
		}
		out.Sites = append(out.Sites, site)
	}
	return out
}

// slopeDeg returns how steep a candidate's ground is anywhere in its cell, NaN on the
// terrain's edge and beside what is not known.
func (r *run) slopeDeg(c candidate) float64 {
	col, row := int(math.Round(c.col)), int(math.Round(c.row))
	if math.IsNaN(terrain.SlopeDeg(r.heights, col, row)) {
		return math.NaN()
	}
	return terrain.SteepestDeg(r.heights, col, row)
}

// seenGround adds to each site the ground from which a signal there is noticed.
func (p *placing) seenGround(ctx context.Context, s plan.Signal, out *Place, sites []int) error {
	noticedM := float64(out.NoticedM)
	if !(noticedM > 0) || s.Heard() {
		return nil
	}
	for i := range out.Sites {
		c := p.sites[sites[i]]
		lamp := los.Station{Col: c.col, Row: c.row, HeightM: p.standsM(s)}
		area, err := los.SeenArea(ctx, p.heights, lamp, p.seers[0].eyeM, noticedM, p.sightLines())
		if err != nil {
			return err
		}
		p.beamOver(s, lamp, p.seers[0].eyeM).only(area, noticedM)
		out.Sites[i].SeenAreaM2 = cli.Area(area.AreaM2)
		out.Sites[i].Seen = outline(area)
	}
	return nil
}

// outline returns the shape of the seen cells of an area.
func outline(a *los.Area) orb.MultiPolygon {
	v := make([]float32, len(a.State))
	for i, s := range a.State {
		if s != los.Seen {
			v[i] = 1
		}
	}
	return grid.Outline(a.Frame, v, 0.5)
}

// sightLines are lines over the ground, with its trees in the way.
func (r *run) sightLines() los.Options {
	o := r.bareLines()
	o.Screen = r.screen
	return o
}

// bareLines are lines over the ground without its trees.
func (r *run) bareLines() los.Options {
	return los.Options{Refraction: r.plan.Weather.Refraction, EarthRadiusM: earth.MeanRadiusM}
}
