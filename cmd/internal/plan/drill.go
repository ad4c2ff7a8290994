package plan

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"github.com/goccy/go-yaml/ast"

	"farhail/cmd/internal/cli"
)

// A Drill is what farhail drill set needs to know beside the plan.
type Drill struct {
	Line          int    // 0 when the plan sets none
	Objective     string // what is to be learnt
	Briefing      string // what the parties are told of the case
	Begins, Ends  time.Time
	EmergencyWord string // "" for one that is still to be agreed
	SafetyOfficer string
	Tell          []string // whom to tell before it; none: UsualTell
	Safety        []string // further points of the safety plan
	WaterKnown    string   // initials of who has looked where water is
	GroundSeen    string   // initials of who has seen the ground
	NotIn         []string // paths of areas where nobody may be hidden
	Hide          []Hidden // none: one person
}

// A Hidden is somebody or something that is hidden.
type Hidden struct {
	Line  int
	Name  string
	Shows []string // names of signals of the traveller; none: a person without any
	Alone bool     // the signals lie there without anybody
}

// UsualTell is whom a drill is told to before it. Common practice, no source.
var UsualTell = []string{
	"police", "rescue coordination or emergency control room", "fire service, of any fire or smoke",
	"air services, of any light, mirror or smoke", "the owner of the land", "people who live in view of it",
}

// mostHidden keeps a drill to what can be watched over.
const mostHidden = 20

// UsualHidden is what is hidden where the plan does not say: one person with all the
// traveller's signals.
func (p *Plan) UsualHidden() []Hidden {
	h := Hidden{Name: "the hidden person"}
	for _, s := range p.Traveller.Signals {
		h.Shows = append(h.Shows, s.Name)
	}
	return []Hidden{h}
}

// drillKeys is the plan's key of the drill. It comes after the traveller, whose
// signals it names.
func (r *reader) drillKeys(d *Drill, signals *names) []key {
	return []key{{"drill", func(n ast.Node) { r.drill(n, d, signals) }, false}}
}

func (r *reader) drill(n ast.Node, d *Drill, signals *names) {
	var hidden names
	b := r.block(n, "drill",
		key{"objective", r.text(&d.Objective), false},
		key{"briefing", r.texts(&d.Briefing), false},
		key{"begins", r.time(&d.Begins), true},
		key{"ends", r.time(&d.Ends), true},
		key{"emergency_word", r.text(&d.EmergencyWord), false},
		key{"safety_officer", r.text(&d.SafetyOfficer), false},
		key{"tell", r.textList(&d.Tell, "whom to tell"), false},
		key{"safety", r.textList(&d.Safety, "the safety plan"), false},
		key{"water_known", r.initials(&d.WaterKnown), false},
		key{"ground_seen", r.initials(&d.GroundSeen), false},
		key{"not_in", r.paths(&d.NotIn, "areas where nobody may be hidden", true), false},
		key{"hide", func(n ast.Node) {
			r.list(n, "hide", func(n ast.Node) { d.Hide = append(d.Hide, r.hidden(n, &hidden, signals)) })
		}, false},
	)
	d.Line = b.line
	r.inOrder(b, "the drill", "begins", "ends", d.Begins, d.Ends)
	if len(d.Hide) > mostHidden {
		r.at(b, "hide", fmt.Sprintf("%d hidden, more than %d", len(d.Hide), mostHidden), "set two drills")
	}
}

func (r *reader) hidden(n ast.Node, named, signals *names) Hidden {
	var h Hidden
	b := r.block(n, "something hidden",
		key{"name", r.name(&h.Name, named), true},
		key{"shows", r.textList(&h.Shows, "shows"), false},
		key{"alone", r.boolean(&h.Alone), false},
	)
	h.Line = b.line
	for _, name := range h.Shows {
		r.mustKnow(b, "shows", "signal", name, *signals)
	}
	if h.Alone && len(h.Shows) == 0 {
		r.at(b, "alone", "nothing is hidden: nobody, and no signal", "add shows: with the name of a signal of the traveller")
	}
	return h
}

// textList reads one text or a list of them.
func (r *reader) textList(list *[]string, what string) func(ast.Node) {
	return func(n ast.Node) {
		r.oneOrMany(n, what, func(n ast.Node) {
			var s string
			if r.text(&s)(n); s != "" {
				*list = append(*list, s)
			}
		})
	}
}

// texts reads one text or several, which become one.
func (r *reader) texts(p *string) func(ast.Node) {
	return func(n ast.Node) {
		var list []string
		r.textList(&list, "this text")(n)
		*p = strings.Join(list, " ")
	}
}

// initials reads who stands for something.
func (r *reader) initials(p *string) func(ast.Node) {
	return r.parsed("initials", func(s string) error {
		v, err := ParseInitials(s)
		if err == nil {
			*p = v
		}
		return err
	})
}

// ParseInitials returns initials as somebody wrote them: two to five letters, with or
// without points. A yes, or a name, stands for nobody.
func ParseInitials(s string) (string, error) {
	letters := strings.Map(func(c rune) rune {
		if c == '.' || c == ' ' {
			return -1
		}
		return c
	}, s)
	n := len([]rune(letters))
	word := slices.Contains([]string{"yes", "no", "true", "false", "ok", "none"}, strings.ToLower(letters))
	if n < 2 || n > 5 || word || strings.ContainsFunc(letters, func(c rune) bool { return !unicode.IsLetter(c) }) {
		return "", &cli.QuantityError{Text: s, Message: "not initials", Advice: "write those of the person who looked, like KB"}
	}
	return letters, nil
}
