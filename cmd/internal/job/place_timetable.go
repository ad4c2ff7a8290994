package job

import (
	"time"

	"farhail/cmd/internal/plan"
)

// A PlaceTurn is one line of the timetable of what attracts.
type PlaceTurn struct {
	From  *time.Time `json:"from"`
	Until *time.Time `json:"until"`
	Do    string     `json:"do"` // show, dark or silent
	What  string     `json:"what"`
}

// The turns of what attracts: shown long enough for several looks of a minute, then a
// gap in which nobody shines or calls, to look and listen for an answer. Own choice.
var (
	lightTurns = []turn{
		{7 * time.Minute, TurnShow, "light on; call or whistle three times in each minute"},
		{1 * time.Minute, TurnDark, "all lamps out: look around for an answering light"},
		{2 * time.Minute, TurnSilent, "lamps still out, engines off, nobody moves or speaks: listen"},
	}
	soundTurns = []turn{
		{1 * time.Minute, TurnShow, "three blasts or calls, together"},
		{2 * time.Minute, TurnSilent, "engines off, nobody moves or speaks: listen"},
		{1 * time.Minute, TurnShow, "three blasts or calls, together"},
		{1 * time.Minute, TurnDark, "all lamps out and still silent: look around for an answering light"},
	}
)

// What a turn is.
const (
	TurnShow   = "show"
	TurnDark   = "dark"
	TurnSilent = "silent"
)

type turn struct {
	lasts    time.Duration
	do, what string
}

// timetable returns one round of turns from an hour of the plan on, to be repeated.
func (p *placing) timetable(s plan.Signal, at time.Time) []PlaceTurn {
	turns := lightTurns
	if s.Heard() {
		turns = soundTurns
	}
	list := []PlaceTurn{}
	zone := p.result.Plan.location
	for _, t := range turns {
		end := at.Add(t.lasts)
		list = append(list, PlaceTurn{instant(at, zone), instant(end, zone), t.do, t.what})
		at = end
	}
	return list
}
