package job

import (
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/sky"
	"farhail/geo/walk"

	"github.com/paulmach/orb"
)

// Slowed is what makes all walkers of the rings slower than the rule, as stated.
type Slowed struct {
	By     string  `json:"by"`    // rest, night or load
	Hours  string  `json:"hours"` // of every day, "" for always
	Speed  cli.Num `json:"speed"` // share of the usual, 0 for a rest
	Source string  `json:"source"`
}

// Pauses returns what rests and nights do to walking that begins at a time and
// place, for so long [s], and the speed with the load as a share of that without.
// The start's location tells the clocks that hours of the day are read from; a
// start without a time has no rests and nights.
func Pauses(p plan.Pauses, start time.Time, at orb.Point, lastS float64) (stops []walk.Stop, load float64, told []Slowed) {
	told = []Slowed{}
	for _, span := range []struct {
		by     string
		hours  plan.Hours
		speed  float64
		source string
	}{
		{"rest", p.Rest, 0, "stated"},
		{"night", p.Night, walk.NightOnRoads, "US Army FM 21-18, Foot Marches: on roads 3.2 km/h by night against 4.0; across country it is 0.67, but a ring is an outer limit"},
	} {
		if span.hours == "" || start.IsZero() {
			continue
		}
		if span.hours == plan.DarkHours {
			stops = append(stops, darkness(start, at, span.speed, lastS)...)
		} else if from, to, err := span.hours.Span(); err == nil { // read as such
			stops = append(stops, walk.Daily(start, from, to, span.speed, lastS)...)
		}
		told = append(told, Slowed{span.by, string(span.hours), cli.Num(span.speed), span.source})
	}
	load = 1
	if p.LoadKG > 0 {
		load = walk.LoadFactor(p.BodyKG, p.LoadKG)
		told = append(told, Slowed{"load", "", cli.Num(load),
			"Pandolf, Givoni & Goldman 1977, Journal of Applied Physiology 43, 577-581: the same power of the body on the level, 1.34 m/s without load"})
	}
	return stops, load, told
}

// darkness returns the stops from the end of civil twilight to its beginning.
func darkness(start time.Time, at orb.Point, speed, lastS float64) []walk.Stop {
	var stops []walk.Stop
	year, month, day := start.Date()
	midnight := func(d int) time.Time { return time.Date(year, month, day+d, 0, 0, 0, 0, start.Location()) }
	today := sky.DayOf(at, midnight(-1), midnight(0))
	for d := 0; ; d++ {
		next := sky.DayOf(at, midnight(d), midnight(d+1))
		from, to := today.CivilDusk, next.CivilDawn
		// Without twilight it is dark from noon to noon, or not at all.
		if from.IsZero() {
			from = today.Noon
		}
		if to.IsZero() {
			to = next.Noon
		}
		if from.Sub(start).Seconds() > lastS {
			return stops
		}
		if today.DarkS > 0 && to.After(start) {
			stops = append(stops, walk.Stop{FromS: from.Sub(start).Seconds(), ToS: to.Sub(start).Seconds(), Speed: speed})
		}
		today = next
	}
}

// pauses returns what slows the plan's traveller after a start.
func (r *run) pauses(start plan.Start, lastS float64) (stops []walk.Stop, load float64, told []Slowed) {
	p := r.plan.Traveller.Pauses
	if start.Time.IsZero() && p.Rest+p.Night != "" {
		r.warn("rest and night are left out: the start "+start.Name+" has no time", "give the start a time")
	}
	at := start.Time
	if !at.IsZero() && r.result.Plan.location != nil {
		at = at.In(r.result.Plan.location)
	}
	return Pauses(p, at, start.Point, lastS)
}
