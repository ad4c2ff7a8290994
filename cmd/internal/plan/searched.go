package plan

import (
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/goccy/go-yaml/ast"
	"github.com/paulmach/orb"

	"farhail/cmd/internal/cli"
)

// AnyPerson is what is looked for where no signal is named: the traveller.
const AnyPerson = "person"

// Conspicuities are how well a thing stands out, as signal/sweep has them.
var Conspicuities = []string{"high", "medium", "low"}

// SomebodyLying is the traveller as they are looked for where no signal is named:
// lying, in clothes of a plain colour. Own choice, the safe side.
func SomebodyLying() Signal {
	s := blankSignal()
	s.Name, s.Kind, s.Posture, s.Clothing = AnyPerson, Figure, "lying", "medium"
	s.HeightM = 0.3 // of somebody who lies
	return s
}

// A Searched is an operation that found nothing: all that was searched under one
// day's conditions.
type Searched struct {
	Line        int
	Name        string
	From, Until time.Time // zero: as the tracks say
	LookedFor   string    // name of a signal, or AnyPerson
	Shown       float64   // chance that the signal was shown then; NaN: nobody has said
	Own         OwnWidth
	Parties     []SearchedBy
}

// An OwnWidth is what searchers measured themselves; it wins over the model. Zero is
// not given.
type OwnWidth struct {
	WidthM      float64 // sweep width
	RangeM      float64 // detection range, with Conspicuity
	Conspicuity string
}

// A SearchedBy is a party with what its receiver recorded.
type SearchedBy struct {
	Line     int
	Name     string
	Tracks   []string // paths
	Start    time.Time
	People   int
	SpacingM float64 // between neighbours; 0 for one alone
	Carrier  int     // who carries the receiver, from the left; 0: the middle
	SpeedMS  float64 // at which they searched; 0: as the tracks say
	Fatigued bool
	Eyes     Eyes
	// AltitudeM is that of an aircraft above the ground, whose crew looks to both
	// sides; 0 on foot.
	AltitudeM float64
}

// A NotSeen is a signal of the traveller that nobody saw who looked.
type NotSeen struct {
	Line        int
	Name        string
	Signal      string
	Shown       float64  // chance that it was shown then; NaN: nobody has said
	By          []string // names of those who looked; none: all of them
	From, Until time.Time
	Observed    bool // Shown and the air rest on observation
}

// An Effort is what there is for the next operation.
type Effort struct {
	Line        int // 0 when the plan asks for none
	From, Until time.Time
	MaxSlopeDeg float64 // that parties walk and search
	LookedFor   string
	Own         OwnWidth
	Parties     []EffortParty
}

// An EffortParty is who can search next.
type EffortParty struct {
	Line     int
	Name     string
	People   int
	Hours    float64   // that they have, with the ways there and back [s]
	SpeedMS  float64   // while searching
	Point    orb.Point // where they set out
	ByNight  bool      // may be out after dark
	Fatigued bool
	Eyes     Eyes
}

// SearchFiles returns the files that tell what has been searched.
func (p *Plan) SearchFiles() []string {
	var list []string
	for _, s := range p.Searched {
		for _, by := range s.Parties {
			list = append(list, by.Tracks...)
		}
	}
	return list
}

// Undo takes an operation or a signal that was not seen out of the plan, by its name; false
// where none has it.
func (p *Plan) Undo(name string) bool {
	before := len(p.Searched) + len(p.NotSeen)
	p.Searched = slices.DeleteFunc(p.Searched, func(s Searched) bool { return s.Name == name })
	p.NotSeen = slices.DeleteFunc(p.NotSeen, func(n NotSeen) bool { return n.Name == name })
	return len(p.Searched)+len(p.NotSeen) < before
}

// searchKeys are the keys of the plan that tell what has been searched, and what
// comes next. They come after the traveller and those who look, whose names they use.
func (r *reader) searchKeys(p *Plan, signals *names) []key {
	return []key{
		{"searched", func(n ast.Node) { r.searched(n, p, signals) }, false},
		{"not_seen", func(n ast.Node) { r.notSeen(n, p, signals) }, false},
		{"mobile", r.quantity(&p.Mobile, cli.Number.Between(0, 1)), false},
		{"effort", func(n ast.Node) { r.effort(n, p, signals) }, false},
	}
}

// ownKeys are those of a width that was measured.
func (r *reader) ownKeys(o *OwnWidth) []key {
	return []key{
		{"width", r.quantity(&o.WidthM, cli.Length.Positive()), false},
		{"detection_range", r.quantity(&o.RangeM, cli.Length.Positive()), false},
		{"conspicuity", r.word(&o.Conspicuity, Conspicuities...), false},
	}
}

// ownTogether checks what they say together.
func (r *reader) ownTogether(b block) {
	switch {
	case b.has("width") && b.has("detection_range"):
		r.at(b, "detection_range", "width and detection_range both say how wide a pass sweeps", "keep the measured width")
	case b.has("detection_range") && !b.has("conspicuity"):
		r.at(b, "detection_range", "detection_range without its conspicuity", "add conspicuity: high, medium or low")
	case b.has("conspicuity") && !b.has("detection_range"):
		r.at(b, "conspicuity", "conspicuity without its detection_range", "add detection_range: 30 m")
	}
}

// lookedFor checks the name of what was looked for.
func (r *reader) lookedFor(b block, name string, signals names) {
	if name != AnyPerson {
		r.mustKnow(b, "looked_for", "signal", name, signals)
	}
}

func (r *reader) searched(n ast.Node, p *Plan, signals *names) {
	var named names
	r.list(n, "searched", func(n ast.Node) {
		s := Searched{LookedFor: AnyPerson, Shown: math.NaN()}
		var parties names
		b := r.block(n, "an operation", append(r.ownKeys(&s.Own),
			key{"name", r.name(&s.Name, &named), true},
			key{"from", r.time(&s.From), false},
			key{"until", r.time(&s.Until), false},
			key{"looked_for", r.text(&s.LookedFor), false},
			key{"shown", r.quantity(&s.Shown, cli.Number.Between(0, 1)), false},
			key{"parties", func(n ast.Node) {
				r.list(n, "parties", func(n ast.Node) { s.Parties = append(s.Parties, r.searchedBy(n, p, &parties)) })
			}, true},
		)...)
		s.Line = b.line
		r.ownTogether(b)
		r.lookedFor(b, s.LookedFor, *signals)
		r.inOrder(b, "it", "from", "until", s.From, s.Until)
		p.Searched = append(p.Searched, s)
	})
}

// mostAbreast bounds a line of people.
const mostAbreast = 100

func (r *reader) searchedBy(n ast.Node, p *Plan, named *names) SearchedBy {
	by := SearchedBy{People: DefaultPeople, Eyes: p.Looking.Eyes}
	b := r.block(n, "a party that searched",
		key{"name", r.name(&by.Name, named), true},
		key{"tracks", r.paths(&by.Tracks, "tracks", true), true},
		key{"start", r.time(&by.Start), false},
		key{"people", r.whole(&by.People, 1, mostAbreast), false},
		key{"spacing", r.quantity(&by.SpacingM, cli.Length.Positive()), false},
		key{"carrier", r.whole(&by.Carrier, 1, mostAbreast), false},
		key{"speed", r.quantity(&by.SpeedMS, cli.Speed.Positive()), false},
		key{"fatigue", r.boolean(&by.Fatigued), false},
		key{"eyes", r.eyes(&by.Eyes), false},
		key{"altitude", r.quantity(&by.AltitudeM, cli.Length.Positive()), false},
	)
	by.Line = b.line
	if by.AltitudeM > 0 {
		for _, k := range []string{"people", "spacing", "carrier"} {
			if b.has(k) {
				r.at(b, k, k+" with an altitude: an aircraft sweeps both sides with its crew as one", "remove "+k)
			}
		}
		if !b.has("eyes") {
			by.Eyes = Eyes{} // those of all are for the ground
		}
		return by
	}
	if by.People > 1 && by.SpacingM == 0 {
		r.at(b, "people", "a line of people without its spacing", "add spacing: 20 m, from neighbour to neighbour")
	}
	if by.Carrier > by.People {
		r.at(b, "carrier", fmt.Sprintf("person %d of %d carries the receiver", by.Carrier, by.People), "count from the left, from 1")
	}
	return by
}

func (r *reader) notSeen(n ast.Node, p *Plan, signals *names) {
	who := lookers(p.Looking)
	r.list(n, "not_seen", func(n ast.Node) {
		s := NotSeen{Shown: math.NaN()}
		b := r.block(n, "a signal that was not seen",
			key{"name", r.text(&s.Name), false},
			key{"signal", r.text(&s.Signal), true},
			key{"shown", r.quantity(&s.Shown, cli.Number.Between(0, 1)), false},
			key{"by", r.textList(&s.By, "by"), false},
			key{"from", r.time(&s.From), true},
			key{"until", r.time(&s.Until), true},
			key{"observed", r.boolean(&s.Observed), false},
		)
		s.Line = b.line
		r.mustKnow(b, "signal", "signal", s.Signal, *signals)
		for _, name := range s.By {
			r.mustKnow(b, "by", "party or lookout", name, who)
		}
		r.inOrder(b, "it", "from", "until", s.From, s.Until)
		if s.Name == "" {
			s.Name = s.Signal + " not seen"
		}
		p.NotSeen = append(p.NotSeen, s)
	})
}

// lookers are the names of those on the ground who look.
func lookers(l Looking) names {
	var who names
	for _, p := range l.Parties {
		who.add(p.Name, p.Line)
	}
	for _, o := range l.Lookouts {
		who.add(o.Name, o.Line)
	}
	return who
}

func (r *reader) effort(n ast.Node, p *Plan, signals *names) {
	e := Effort{LookedFor: AnyPerson, MaxSlopeDeg: DefaultMaxSlopeDeg}
	var named names
	b := r.block(n, "effort", append(r.ownKeys(&e.Own),
		key{"from", r.time(&e.From), true},
		key{"until", r.time(&e.Until), false},
		key{"max_slope", r.quantity(&e.MaxSlopeDeg, slopeRange), false},
		key{"looked_for", r.text(&e.LookedFor), false},
		key{"parties", func(n ast.Node) {
			r.list(n, "parties", func(n ast.Node) { e.Parties = append(e.Parties, r.effortParty(n, p, &named)) })
		}, true},
	)...)
	e.Line = b.line
	r.ownTogether(b)
	r.lookedFor(b, e.LookedFor, *signals)
	r.inOrder(b, "it", "from", "until", e.From, e.Until)
	p.Effort = e
}

func (r *reader) effortParty(n ast.Node, p *Plan, named *names) EffortParty {
	by := EffortParty{People: DefaultPeople, SpeedMS: DefaultSearchSpeedMS, Point: nowhere, Eyes: p.Looking.Eyes}
	by.Line = r.block(n, "a party that can search",
		key{"name", r.name(&by.Name, named), true},
		key{"hours", r.quantity(&by.Hours, cli.Duration.Positive()), true},
		key{"position", r.point(&by.Point, nil), true},
		key{"people", r.whole(&by.People, 1, mostAbreast), false},
		key{"speed", r.quantity(&by.SpeedMS, cli.Speed.Positive()), false},
		key{"by_night", r.boolean(&by.ByNight), false},
		key{"fatigue", r.boolean(&by.Fatigued), false},
		key{"eyes", r.eyes(&by.Eyes), false},
	).line
	return by
}
