package plan

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/paulmach/orb"

	"farhail/cmd/internal/cli"
)

// Questions that a placement can answer.
const (
	PlacePassive  = "passive"  // where the traveller's signal should stand for those who look
	PlaceRoute    = "route"    // where along a route, and from which stretches nothing is seen
	PlaceLookouts = "lookouts" // which posts watch most of the probability
	PlaceAttract  = "attract"  // where a light or a sound that draws the traveller should stand
	PlaceRelay    = "relay"    // posts that see each other
)

// PlaceQuestions lists the questions, the usual first.
var PlaceQuestions = []string{PlacePassive, PlaceRoute, PlaceLookouts, PlaceAttract, PlaceRelay}

// Where candidate sites are looked for.
const (
	AmongGrid      = "grid"
	AmongRidges    = "ridges"
	AmongKnolls    = "knolls"
	AmongClearings = "clearings" // open ground beside woods, by the ground cover
	AmongRoute     = "route"     // points along the routes and the log
)

// AmongWords lists them.
var AmongWords = []string{AmongGrid, AmongRidges, AmongKnolls, AmongClearings, AmongRoute}

// Placement asks where signals, lookouts or posts should stand.
type Placement struct {
	Line     int
	Question string // one of PlaceQuestions
	Count    int
	Signal   string  // name of a signal of the traveller, "" for the first that burns
	Shown    *Signal // by those who search, to draw the traveller or from post to post; nil: Signal
	Route    string  // path, for PlaceRoute; "" for the traveller's track

	Candidates []Candidate
	Among      []string // of AmongWords, where no candidates are given
	SpacingM   float64  // of candidates where none are given
	WithinM    float64  // of route, log or lookouts

	MaxSlopeDeg float64 // 0: any
	ReachS      float64 // walking time to a site; 0: any
	ReachFrom   string  // name of the start that they walk from, "" for the newest
	FireAllowed bool

	GroundSeenBy string // initials of who saw the ground between the traveller and the light
	Forced       bool   // also where many would have to cross a cliff or water
	Base, To     string // candidates that posts are linked with
}

// A Candidate is a place where something may stand.
type Candidate struct {
	Line  int
	Name  string
	Point orb.Point
}

// Candidates returns those of all placements.
func (p *Plan) Candidates() []Candidate {
	var list []Candidate
	for _, a := range p.Placements {
		list = append(list, a.Candidates...)
	}
	return list
}

// slopeRange bounds what is still walked to.
var slopeRange = cli.Direction.Positive().AtMost(60)

// placements reads one block or a list of them.
func (r *reader) placements(n ast.Node, list *[]Placement, signals, starts *names) {
	r.oneOrMany(n, "placement", func(n ast.Node) {
		*list = append(*list, r.placement(n, signals, starts))
	})
}

func (r *reader) placement(n ast.Node, signals, starts *names) Placement {
	p := Placement{Question: PlacePassive, Count: DefaultCount, SpacingM: DefaultSpacingM, WithinM: DefaultWithinM, FireAllowed: true}
	var sites, shown names
	b := r.block(n, "placement",
		key{"question", r.word(&p.Question, PlaceQuestions...), false},
		key{"count", r.whole(&p.Count, 1, 100), false},
		key{"signal", r.text(&p.Signal), false},
		key{"shows", func(n ast.Node) {
			s := r.signal(n, &shown)
			p.Shown = &s
		}, false},
		key{"route", r.path(&p.Route, true), false},
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
		key{"among", func(n ast.Node) {
			r.oneOrMany(n, "among", func(n ast.Node) {
				var w string
				if r.word(&w, AmongWords...)(n); w != "" && !slices.Contains(p.Among, w) {
					p.Among = append(p.Among, w)
				}
			})
		}, false},
		key{"spacing", r.quantity(&p.SpacingM, cli.Length.Positive()), false},
		key{"within", r.quantity(&p.WithinM, cli.Length.Positive()), false},
		key{"max_slope", r.quantity(&p.MaxSlopeDeg, slopeRange), false},
		key{"reach", r.quantity(&p.ReachS, cli.Duration.Positive()), false},
		key{"reach_from", r.text(&p.ReachFrom), false},
		key{"fire_allowed", r.boolean(&p.FireAllowed), false},
		key{"ground_seen_by", r.initials(&p.GroundSeenBy), false},
		key{"forced", r.boolean(&p.Forced), false},
		key{"base", r.text(&p.Base), false},
		key{"to", r.text(&p.To), false},
	)
	p.Line = b.line
	r.mustKnow(b, "signal", "signal", p.Signal, *signals)
	r.mustKnow(b, "reach_from", "start", p.ReachFrom, *starts)
	r.mustKnow(b, "base", "candidate", p.Base, sites)
	r.mustKnow(b, "to", "candidate", p.To, sites)
	r.placementKeys(b, &p)
	return p
}

// keysOfQuestion lists the keys that only some questions have.
var keysOfQuestion = []struct {
	keys, questions []string
}{
	{[]string{"shows"}, []string{PlaceAttract, PlaceRelay}},
	{[]string{"route"}, []string{PlaceRoute}},
	{[]string{"ground_seen_by", "forced"}, []string{PlaceAttract}},
	{[]string{"base", "to"}, []string{PlaceRelay}},
}

// placementKeys checks what the keys of a placement say together.
func (r *reader) placementKeys(b block, p *Placement) {
	if n := len(p.Candidates); n > 0 && p.Count > n && b.has("count") {
		r.at(b, "count", fmt.Sprintf("%d sites asked for, %d candidates given", p.Count, n), "give more candidates or a smaller count")
	}
	for _, k := range []string{"among", "spacing", "within"} {
		if b.has("candidates") && b.has(k) {
			r.at(b, k, fmt.Sprintf("%q has no meaning where candidates are given", k), "remove one of the two")
		}
	}
	for _, of := range keysOfQuestion {
		for _, k := range of.keys {
			if b.has(k) && !slices.Contains(of.questions, p.Question) {
				r.at(b, k, fmt.Sprintf("%q belongs to the question %s", k, strings.Join(of.questions, " or ")), "remove it, or write question: "+of.questions[0])
			}
		}
	}
	switch {
	case b.has("signal") && b.has("shows"):
		r.at(b, "shows", `a placement has both "signal" and "shows"`, "keep one of them")
	case b.has("reach_from") && !b.has("reach"):
		r.at(b, "reach_from", "reach_from without its reach", "add reach: 1 h, how long they may walk to a site")
	case b.has("to") && !b.has("base"):
		r.at(b, "to", "to without its base", "add base: the candidate at the other end")
	case cmp.Or(p.Base, p.To) != "" && p.Base == p.To:
		r.at(b, "to", "base and to are one candidate", "name the other end")
	}
}
