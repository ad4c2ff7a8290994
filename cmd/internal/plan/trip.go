package plan

import (
	"time"

	"github.com/goccy/go-yaml/ast"

	"farhail/cmd/internal/cli"
)

// A Trip is what a traveller leaves with their contact before they set out. Who the
// contact is stands in the person block.
type Trip struct {
	Line         int       // 0 when the plan is of no trip
	Start        time.Time // zero: that of the newest start
	Route        string    // path; "": the traveller's track
	RestsS       float64   // all of them together
	AlarmMarginS float64   // from the time when they are back to the alarm; 0: not stated, and never guessed
	TurnRound    time.Time // when they turn back at the latest; zero when not stated
	Asks         []string  // what else the contact is asked to do
}

// Papers are what every party needs on paper, and only the coordinator knows.
type Papers struct {
	Radio        []string // channels and call signs
	Medical      []string // who treats the injured, and where
	ReportEveryS float64  // between reports; 0 when not stated
}

// paperKeys are the keys of trips and of the parties' papers.
func (r *reader) paperKeys(p *Plan) []key {
	return []key{
		{"radio", r.textList(&p.Papers.Radio, "radio"), false},
		{"medical", r.textList(&p.Papers.Medical, "medical"), false},
		{"report_every", r.quantity(&p.Papers.ReportEveryS, cli.Duration.Positive().AtMost(24*3600)), false},
		{"trip", func(n ast.Node) { r.trip(n, &p.Trip) }, false},
	}
}

func (r *reader) trip(n ast.Node, t *Trip) {
	b := r.block(n, "trip",
		key{"start", r.time(&t.Start), false},
		key{"route", r.path(&t.Route, true), false},
		key{"rests", r.quantity(&t.RestsS, cli.Duration.NotNegative()), false},
		key{"alarm_margin", r.quantity(&t.AlarmMarginS, cli.Duration.Positive()), false},
		key{"turn_round", r.time(&t.TurnRound), false},
		key{"asks", r.textList(&t.Asks, "what the contact is asked"), false},
	)
	t.Line = b.line
	if !t.Start.IsZero() && !t.TurnRound.IsZero() && !t.TurnRound.After(t.Start) {
		r.at(b, "turn_round", "they turn back before they set out", "turn_round is later than start")
	}
}
