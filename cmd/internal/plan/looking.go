package plan

import (
	"fmt"

	"github.com/goccy/go-yaml/ast"

	"farhail/cmd/internal/cli"
)

const maxPeople = 10000

func (r *reader) looking(n ast.Node, l *Looking) {
	var watchers names // parties and lookouts share one list of names
	l.Line = r.block(n, "looking",
		key{"eye_height", r.quantity(&l.EyeHeightM, cli.Length.Positive()), false},
		key{"parties", func(n ast.Node) { r.parties(n, &l.Parties, &watchers) }, false},
		key{"lookouts", func(n ast.Node) { r.lookouts(n, &l.Lookouts, &watchers) }, false},
	).line
}

func (r *reader) parties(n ast.Node, parties *[]Party, named *names) {
	r.list(n, "parties", func(n ast.Node) {
		p := Party{People: DefaultPeople}
		b := r.block(n, "a party",
			key{"name", r.name(&p.Name, named), true},
			key{"track", r.path(&p.Track, true), false},
			key{"route", r.path(&p.Route, true), false},
			key{"start", r.time(&p.Start), false},
			key{"people", r.whole(&p.People, 1, maxPeople), false},
		)
		p.Line = b.line
		if r.oneOf(b, "a party", "track", "route") == "track" && b.has("start") {
			r.at(b, "start", "a track has its own times", "remove start, or call it a route")
		}
		*parties = append(*parties, p)
	})
}

func (r *reader) lookouts(n ast.Node, lookouts *[]Lookout, named *names) {
	r.list(n, "lookouts", func(n ast.Node) {
		l := Lookout{People: DefaultPeople, Point: nowhere}
		b := r.block(n, "a lookout",
			key{"name", r.name(&l.Name, named), true},
			key{"position", r.point(&l.Point, nil), true},
			key{"from", r.time(&l.From), true},
			key{"until", r.time(&l.Until), true},
			key{"people", r.whole(&l.People, 1, maxPeople), false},
		)
		l.Line = b.line
		if !l.From.IsZero() && !l.Until.IsZero() && !l.Until.After(l.From) {
			r.at(b, "until", "the watch ends before it begins", "until is later than from")
		}
		*lookouts = append(*lookouts, l)
	})
}

func (r *reader) placement(n ast.Node, p *Placement, signals *names) {
	var sites names
	b := r.block(n, "placement",
		key{"count", r.whole(&p.Count, 1, 100), false},
		key{"signal", r.text(&p.Signal), false},
		key{"candidates", func(n ast.Node) {
			r.list(n, "candidates", func(n ast.Node) {
				c := Candidate{Point: nowhere}
				c.Line = r.block(n, "a candidate",
					key{"name", r.name(&c.Name, &sites), true},
					key{"position", r.point(&c.Point, nil), true},
				).line
				p.Candidates = append(p.Candidates, c)
			})
		}, false},
		key{"spacing", r.quantity(&p.SpacingM, cli.Length.Positive()), false},
		key{"within", r.quantity(&p.WithinM, cli.Length.Positive()), false},
	)
	p.Line = b.line
	r.mustKnow(b, "signal", "signal", p.Signal, *signals)
	if n := len(p.Candidates); n > 0 && p.Count > n && b.has("count") {
		r.at(b, "count", fmt.Sprintf("%d sites asked for, %d candidates given", p.Count, n), "give more candidates or a smaller count")
	}
	for _, k := range []string{"spacing", "within"} {
		if b.has("candidates") && b.has(k) {
			r.at(b, k, fmt.Sprintf("%q has no meaning where candidates are given", k), "remove one of the two")
		}
	}
}
