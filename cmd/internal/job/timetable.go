package job

import (
	"context"
	"math"
	"slices"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/sky"

	"github.com/paulmach/orb"
)

// A Timetable is the plan's day, from noon to noon where it is as of the afternoon, else
// from midnight to midnight: its light, the moon, the lamps, and how far each signal is
// noticed hour by hour.
type Timetable struct {
	From    *time.Time    `json:"from"`
	Until   *time.Time    `json:"until"`
	Light   []LightSpan   `json:"light"`
	Moon    []Span        `json:"moon"` // above the level horizon
	MoonLit cli.Num       `json:"moon_lit_fraction"`
	Lamps   []LampSpan    `json:"lamps"`
	Signals []SignalHours `json:"signals"`
}

// A Span is a part of the day.
type Span struct {
	From  *time.Time `json:"from"`
	Until *time.Time `json:"until"`
}

// Kinds of light, by the sun: above the level horizon, down to 6 degrees below it, and
// lower.
const (
	Daylight = "day"
	Twilight = "twilight"
	Darkness = "dark"
)

// A LightSpan is a part of the day of one kind of light.
type LightSpan struct {
	Span
	Light string `json:"light"`
}

// A LampSpan is when a lamp burns, as far as the plan says.
type LampSpan struct {
	Span
	Signal string `json:"signal"`
}

// SignalHours is how far one signal is noticed by light, air and eye at every whole hour
// of a timetable, its ends included, by the first of those who look from the ground.
type SignalHours struct {
	Signal   string    `json:"signal"`
	NoticedM []cli.Len `json:"noticed_m"` // null where it cannot be judged
}

// timetable works out the plan's day.
func (r *run) timetable(ctx context.Context) error {
	where, ok := r.position()
	day := r.plan.AsOf
	if day.IsZero() && len(r.plan.Hours) > 0 {
		day = r.plan.Hours[0].Time
	}
	if !ok || day.IsZero() {
		return nil
	}
	zone := r.result.Plan.location
	from := dayWindow(day.In(zone))
	until := from.Add(24 * time.Hour)
	out := &Timetable{
		From: instant(from, zone), Until: instant(until, zone), Light: []LightSpan{}, Moon: []Span{}, Lamps: []LampSpan{}, Signals: []SignalHours{},
		MoonLit: cli.Num(sky.Moon(where, from.Add(12*time.Hour)).LitFraction),
	}
	out.skySpans(where, from, until, zone)
	for _, s := range r.plan.Traveller.Signals {
		lit, end := burning(s)
		if lit != always[0] || end != always[1] {
			if begin, over := later(lit, from), earlier(end, until); begin.Before(over) {
				out.Lamps = append(out.Lamps, LampSpan{Span{instant(begin, zone), instant(over, zone)}, s.Name})
			}
		}
		if s.Heard() {
			continue
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		hours := SignalHours{Signal: s.Name}
		for h := range 25 {
			hours.NoticedM = append(hours.NoticedM, r.noticedAt(s, from.Add(time.Duration(h)*time.Hour), where))
		}
		out.Signals = append(out.Signals, hours)
	}
	r.result.Timetable = out
	return nil
}

// noticedAt judges a signal as a look from the ground, without the spread of its inputs,
// which a bar would not show.
func (r *run) noticedAt(s plan.Signal, at time.Time, where orb.Point) cli.Len {
	if !alight(s, at) {
		return 0
	}
	request, err := r.lookRequest(s, at, r.onFoot(), r.groundDecides(where))
	if err != nil {
		return cli.Len(math.NaN())
	}
	request.Task, request.SpeedMS, request.Fatigued = TaskScan, 0, false
	out, _, err := request.judge()
	if err != nil {
		return cli.Len(math.NaN())
	}
	return out.NoticedM
}

// dayWindow returns the noon or midnight on the clock that comes before a time.
func dayWindow(t time.Time) time.Time {
	hour := 0
	if t.Hour() >= 12 {
		hour = 12
	}
	return time.Date(t.Year(), t.Month(), t.Day(), hour, 0, 0, 0, t.Location())
}

// onFoot returns the first kind of those who look that does not fly.
func (r *run) onFoot() int {
	return max(0, slices.IndexFunc(r.seers, func(k seer) bool { return !k.aloft() }))
}

// skySpans cuts the day where sun and moon cross the horizons, and asks in the middle of
// each part what it is.
func (t *Timetable) skySpans(p orb.Point, from, until time.Time, zone *time.Location) {
	sun, moon := []time.Time{from, until}, []time.Time{from, until}
	for d := -1; d <= 1; d++ {
		begin, end := localDay(from.AddDate(0, 0, d), zone)
		day := sky.DayOf(p, begin, end)
		sun = append(sun, day.CivilDawn, day.Sunrise, day.Sunset, day.CivilDusk)
		moon = append(moon, day.Moonrise, day.Moonset)
	}
	eachPart(sun, from, until, func(a, b time.Time) {
		light := Darkness
		// On the same horizons as the events: 0.833 degrees for refraction and radius.
		switch up := sky.Sun(p, a.Add(b.Sub(a)/2)).ElevationDeg; {
		case up > -50.0/60:
			light = Daylight
		case up > -6:
			light = Twilight
		}
		t.Light = append(t.Light, LightSpan{Span{instant(a, zone), instant(b, zone)}, light})
	})
	eachPart(moon, from, until, func(a, b time.Time) {
		if sky.Moon(p, a.Add(b.Sub(a)/2)).ApparentDeg > 0 {
			t.Moon = append(t.Moon, Span{instant(a, zone), instant(b, zone)})
		}
	})
}

// eachPart calls one for the parts between times that lie in a span, in order.
func eachPart(times []time.Time, from, until time.Time, one func(a, b time.Time)) {
	var cuts []time.Time
	for _, t := range times {
		if !t.Before(from) && !t.After(until) { // the zero time is before
			cuts = append(cuts, t)
		}
	}
	slices.SortFunc(cuts, time.Time.Compare)
	for i := 1; i < len(cuts); i++ {
		if cuts[i].Sub(cuts[i-1]) >= time.Second {
			one(cuts[i-1], cuts[i])
		}
	}
}
