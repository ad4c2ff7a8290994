package plan

import (
	"fmt"

	"github.com/goccy/go-yaml/ast"

	"farhail/cmd/internal/cli"
)

const maxPeople = 10000

func (r *reader) looking(n ast.Node, l *Looking) {
	var watchers names // all who look share one list of names
	l.Line = r.block(n, "looking",
		key{"eye_height", r.quantity(&l.EyeHeightM, cli.Length.Positive()), false},
		key{"eyes", r.eyes(&l.Eyes), false},
		key{"parties", func(n ast.Node) { r.parties(n, l, &watchers) }, false},
		key{"lookouts", func(n ast.Node) { r.lookouts(n, l, &watchers) }, false},
		key{"aircraft", func(n ast.Node) { r.aircraft(n, &l.Aircraft, &watchers) }, false},
	).line
}

func (r *reader) parties(n ast.Node, l *Looking, named *names) {
	r.list(n, "parties", func(n ast.Node) {
		p := Party{People: DefaultPeople, Eyes: l.Eyes}
		b := r.block(n, "a party", append(r.goingKeys(&p.Going),
			key{"name", r.name(&p.Name, named), true},
			key{"track", r.path(&p.Track, true), false},
			key{"route", r.path(&p.Route, true), false},
			key{"start", r.time(&p.Start), false},
			key{"people", r.whole(&p.People, 1, maxPeople), false},
			key{"spacing", r.quantity(&p.SpacingM, cli.Length.Positive()), false},
			key{"eyes", r.eyes(&p.Eyes), false},
		)...)
		p.Line = b.line
		r.going(b, &p.Going, p.Eyes, false)
		if r.oneOf(b, "a party", "track", "route") == "track" && b.has("start") {
			r.at(b, "start", "a track has its own times", "remove start, or call it a route")
		}
		l.Parties = append(l.Parties, p)
	})
}

func (r *reader) lookouts(n ast.Node, all *Looking, named *names) {
	r.list(n, "lookouts", func(n ast.Node) {
		l := Lookout{People: DefaultPeople, Point: nowhere, Eyes: all.Eyes}
		b := r.block(n, "a lookout",
			key{"name", r.name(&l.Name, named), true},
			key{"position", r.point(&l.Point, nil), true},
			key{"from", r.time(&l.From), true},
			key{"until", r.time(&l.Until), true},
			key{"people", r.whole(&l.People, 1, maxPeople), false},
			key{"eyes", r.eyes(&l.Eyes), false},
		)
		l.Line = b.line
		r.inOrder(b, "the watch", "from", "until", l.From, l.Until)
		all.Lookouts = append(all.Lookouts, l)
	})
}

func (r *reader) aircraft(n ast.Node, flights *[]Flight, named *names) {
	r.list(n, "aircraft", func(n ast.Node) {
		f := Flight{People: DefaultPeople}
		b := r.block(n, "an aircraft", append(r.goingKeys(&f.Going),
			key{"name", r.name(&f.Name, named), true},
			key{"altitude", r.quantity(&f.AltitudeM, cli.Length.Positive()), true},
			key{"track", r.path(&f.Track, true), false},
			key{"route", r.path(&f.Route, true), false},
			key{"start", r.time(&f.Start), false},
			key{"people", r.whole(&f.People, 1, maxPeople), false},
			key{"eyes", r.eyes(&f.Eyes), false},
		)...)
		f.Line = b.line
		r.going(b, &f.Going, f.Eyes, true)
		if b.has("track") && b.has("route") {
			r.at(b, "route", `an aircraft has both "track" and "route"`, "keep one of them")
		}
		if b.has("start") && !b.has("route") {
			r.at(b, "start", "a start without its route", "a track has its own times: add a route, or remove start")
		}
		*flights = append(*flights, f)
	})
}

// plants reads what stands between those who look and the signals.
func (r *reader) plants(n ast.Node, p *Plants) {
	b := r.block(n, "plants",
		key{"stems", r.quantity(&p.StemsPerM2, cli.Density.Positive()), false},
		key{"stem_width", r.quantity(&p.StemWidthM, cli.Length.Positive()), false},
		key{"leaf_area", r.quantity(&p.LeafAreaIndex, cli.Number.Positive()), false},
		key{"canopy_height", r.quantity(&p.CanopyM, cli.Length.Positive()), false},
	)
	p.Line = b.line
	for _, pair := range [][2]string{{"stems", "stem_width"}, {"leaf_area", "canopy_height"}} {
		for i, k := range pair {
			if other := pair[1-i]; b.has(k) && !b.has(other) {
				r.at(b, k, fmt.Sprintf("%s without its %s", k, other), "give both, like stems: 800 /ha with stem_width: 0.25 m, leaf_area: 3 with canopy_height: 20 m")
			}
		}
	}
}
