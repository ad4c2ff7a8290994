package job

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/sky"
	"farhail/signal/source"

	"github.com/paulmach/orb"
)

// A Card is what somebody carries in a pocket: how far their signals show in the
// light and air of that day, and the signs of distress.
type Card struct {
	Program        string       `json:"program"`
	Plan           PlanInfo     `json:"plan"`
	Lat            cli.Deg      `json:"lat"`
	Lon            cli.Deg      `json:"lon"`
	Date           string       `json:"date"`
	EyeHeightM     cli.Len      `json:"eye_height_m"`
	Lights         []CardLight  `json:"lights"`
	Airs           []CardAir    `json:"airs"`
	Signals        []CardSignal `json:"signals"`
	DistressSignal string       `json:"distress_signal"` // three or six; "" where the plan does not say
	Symbols        []CardSymbol `json:"symbols"`
	Mirror         CardMirror   `json:"mirror"`
	Point          orb.Point    `json:"-"`
}

// A CardLight is a time of the day that signals are judged at.
type CardLight struct {
	Name            string     `json:"name"` // day, dusk or night
	At              *time.Time `json:"at"`   // null for the night, which is taken without moon, and where it does not occur
	SunElevationDeg cli.Num    `json:"sun_elevation_deg"`
	Occurs          bool       `json:"occurs"` // on that day at that place
}

// A CardAir is how clear the air is.
type CardAir struct {
	Name        string  `json:"name"`
	VisibilityM cli.Len `json:"visibility_m"`
	Source      string  `json:"source"`
}

// cardAirs are the air of the card's columns. Fog is as the glossary of the American
// Meteorological Society has it; the limits of haze are those of mist in weather reports,
// read in the guide of an instrument that reports them and not in the code itself. That
// haze runs over the same span is from memory. Which visibility stands for each is own
// choice.
var cardAirs = []CardAir{
	{"clear", 20_000, "own choice"},
	{"haze", 3_000, "own choice within the 1 to 5 km of mist, second-hand: Vaisala FS11P User's Guide, M211107EN-C, table 23, WMO METAR code limits; WMO-No. 306 itself was not opened"},
	{"fog", 500, "own choice within fog, which is below 1 km: AMS Glossary of Meteorology, fog, as archived on 2013-03-27"},
}

// A CardSignal is one signal in every light and air; a sound has one distance for all.
type CardSignal struct {
	Signal string      `json:"signal"` // its name
	Kind   string      `json:"kind"`
	Sound  bool        `json:"sound"`
	Sights []CardSight `json:"sights"`
}

// A CardSight is how far a signal is noticed, and seen at best. Both are null where
// the signal does not serve in that light, or where that light does not occur.
type CardSight struct {
	Light        string  `json:"light"` // "" for a sound
	Air          string  `json:"air"`
	NoticedM     cli.Len `json:"noticed_m"`
	PerceptibleM cli.Len `json:"perceptible_m"`
	Limit        string  `json:"limit"` // of noticed
}

// A CardSymbol is a sign of the ground-to-air code.
type CardSymbol struct {
	Letter  string  `json:"letter"`
	Meaning string  `json:"meaning"`
	LeastM  cli.Len `json:"least_m"` // how long it must be
	StrokeM cli.Len `json:"stroke_m"`
	Source  string  `json:"source"`
}

// A CardMirror is when the sun is high enough for a mirror, over a level horizon.
type CardMirror struct {
	LeastElDeg    cli.Num    `json:"least_elevation_deg"`
	Spans         []CardSpan `json:"spans"`
	AllRoundElDeg cli.Num    `json:"all_round_elevation_deg"`
	AllRound      []CardSpan `json:"all_round"` // when one mirror reaches every bearing
}

// A CardSpan is a time of the day, to the minute.
type CardSpan struct {
	From  *time.Time `json:"from"`
	Until *time.Time `json:"until"`
}

// leastMirrorDeg is the sun's elevation below which a mirror is not counted on: own
// choice, since there ten atmospheres take nine tenths of its light.
const leastMirrorDeg = 5

var errCard = errors.New("a card")

// MakeCard judges the signals of a plan for the day of a date, in the card's light and
// air, by the naked eye over a smooth earth. A zero date is that of the plan.
func MakeCard(ctx context.Context, fsys fs.FS, p *plan.Plan, date time.Time, o Options) (*Card, *Result, error) {
	// A card is for anywhere near the place: neither ground nor searchers count.
	bare := *p
	bare.Terrain, bare.Cover, bare.Placements, bare.Plants = nil, plan.Cover{}, nil, plan.Plants{}
	bare.Looking = plan.Looking{EyeHeightM: p.Looking.EyeHeightM}
	bare.Searched, bare.NotSeen, bare.Drill, bare.Effort = nil, nil, plan.Drill{}, plan.Effort{}
	var card *Card
	o.Parts = Reckoning
	o.then = func(ctx context.Context, r *run) (err error) {
		card, err = r.card(ctx, date)
		return err
	}
	result, err := Run(ctx, fsys, &bare, o)
	return card, result, err
}

func (r *run) card(ctx context.Context, date time.Time) (*Card, error) {
	where, ok := r.position()
	if !ok {
		return nil, cli.WithHint(fmt.Errorf("%w: the plan gives no position whose light could be known", errCard), "give starts: with a position")
	}
	if len(r.plan.Traveller.Signals) == 0 {
		return nil, cli.WithHint(fmt.Errorf("%w: no signals", errCard), "give traveller: signals:, or flags like --light 100cd")
	}
	zone := r.result.Plan.location
	if date.IsZero() {
		date = r.plan.AsOf
	}
	year, month, day := date.In(zone).Date()
	noon := time.Date(year, month, day, 12, 0, 0, 0, zone)
	c := &Card{
		Program: r.result.Program, Plan: r.result.Plan, Lat: cli.Deg(where.Lat()), Lon: cli.Deg(where.Lon()), Point: where,
		Date: noon.Format(time.DateOnly), EyeHeightM: cli.Len(r.plan.Looking.EyeHeightM),
		Airs: cardAirs, Lights: cardLights(where, noon, zone), Signals: []CardSignal{},
		DistressSignal: r.plan.Distress, Mirror: mirrorTimes(where, noon, zone),
	}
	for _, l := range source.Letters {
		c.Symbols = append(c.Symbols, CardSymbol{l.Name, l.Meaning, source.LeastSymbolM, source.LeastSymbolM * source.StrokeShare, "ICAO Annex 12, 8th ed., appendix, 2.1 and 2.3; width of the lines: common practice"})
	}
	for _, s := range r.plan.Traveller.Signals {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		one, err := r.cardSignal(s, c)
		if err != nil {
			return nil, fmt.Errorf("signal %s: %w", s.Name, err)
		}
		c.Signals = append(c.Signals, one)
	}
	return c, nil
}

// cardLights are the sun's noon, the end of civil twilight and the night of a day.
func cardLights(where orb.Point, noon time.Time, zone *time.Location) []CardLight {
	d := dayOf(where, noon, zone)
	light := func(name string, at *time.Time) CardLight {
		l := CardLight{Name: name, At: at, SunElevationDeg: cli.Num(math.NaN())}
		if at != nil {
			l.SunElevationDeg, l.Occurs = cli.Num(sky.Sun(where, *at).ElevationDeg), true
		}
		return l
	}
	list := []CardLight{light("day", d.Noon), light("dusk", d.CivilDusk), light("night", nil)}
	list[0].Occurs = list[0].Occurs && d.State != "sun-never-rises"
	list[2].Occurs = d.DarkS > 0
	return list
}

// cardSignal judges one signal in every light and air.
func (r *run) cardSignal(s plan.Signal, c *Card) (CardSignal, error) {
	out := CardSignal{Signal: s.Name, Kind: s.Kind, Sound: s.Heard(), Sights: []CardSight{}}
	if s.Heard() {
		heard, err := r.hear(s)
		if err == nil {
			out.Sights = []CardSight{{NoticedM: heard.NoticedM, PerceptibleM: heard.PerceptibleM, Limit: heard.LimitNoticed}}
		}
		return out, err
	}
	s.RatedS, s.LitFrom, s.Output = 0, time.Time{}, nil // a fresh battery
	for _, light := range c.Lights {
		for _, air := range c.Airs {
			sight := CardSight{Light: light.Name, Air: air.Name, NoticedM: cli.Len(math.NaN()), PerceptibleM: cli.Len(math.NaN())}
			if light.Occurs && servesIn(s, light.Name) {
				found, err := r.cardLook(s, light, air)
				if err != nil {
					return out, err
				}
				sight.NoticedM, sight.PerceptibleM, sight.Limit = found.NoticedM, found.PerceptibleM, found.LimitNoticed
			}
			out.Sights = append(out.Sights, sight)
		}
	}
	return out, nil
}

// servesIn reports whether a signal is of use in a light: what gives no light of its
// own is not by night, nor a mirror without the sun.
func servesIn(s plan.Signal, light string) bool {
	switch {
	case s.Kind == plan.Mirror:
		return light == "day"
	case HasContrast(s.Kind):
		return light != "night"
	}
	return true
}

// cardLook judges a signal in one light and air. The night is that of the default
// background: no moon, no lamps about.
func (r *run) cardLook(s plan.Signal, light CardLight, air CardAir) (*SightResult, error) {
	at := r.plan.AsOf
	if light.At != nil {
		at = *light.At
	}
	request, err := r.requestBy(s, at, seer{eyeM: r.plan.Looking.EyeHeightM}, false)
	if err != nil {
		return nil, err
	}
	request.VisibilityM, request.Cloud, request.LitForS = float64(air.VisibilityM), string(sky.Clear), 0
	if light.At == nil {
		request.At, request.Place = time.Time{}, nil
	}
	return sightFor(request)
}

// mirrorTimes finds when the sun is high enough on a day.
func mirrorTimes(where orb.Point, noon time.Time, zone *time.Location) CardMirror {
	const allRoundDeg = 180 - source.MostTurnDeg // the turn to the level opposite the sun
	from, until := localDay(noon, zone)
	return CardMirror{
		LeastElDeg: leastMirrorDeg, Spans: sunOver(where, from, until, leastMirrorDeg, zone),
		AllRoundElDeg: allRoundDeg, AllRound: sunOver(where, from, until, allRoundDeg, zone),
	}
}

// sunOver lists when the sun is seen over an elevation, by whole minutes.
func sunOver(where orb.Point, from, until time.Time, deg float64, zone *time.Location) []CardSpan {
	spans := []CardSpan{}
	var begun, last time.Time
	for at := from; !at.After(until); at = at.Add(time.Minute) {
		up := at.Before(until) && sky.Sun(where, at).ApparentDeg >= deg
		switch {
		case up && begun.IsZero():
			begun = at
		case !up && !begun.IsZero():
			spans = append(spans, CardSpan{instant(begun, zone), instant(last, zone)})
			begun = time.Time{}
		}
		last = at
	}
	return spans
}
