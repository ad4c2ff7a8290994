package plan

import (
	"fmt"
	"strings"
	"time"

	"github.com/goccy/go-yaml/ast"

	"farhail/cmd/internal/cli"
)

// Pauses is when the traveller rests or is slower, as somebody states it; nothing
// of it is assumed, for rings are outer limits.
type Pauses struct {
	Rest, Night    Hours
	LoadKG, BodyKG float64 // LoadKG 0: none
}

// DefaultBodyKG is the body that a load is carried by. Own choice: the 70 kg of the
// textbooks.
const DefaultBodyKG = 70

// MassRange are the masses that a load or a body may have.
var MassRange = cli.Mass.Positive().AtMost(300)

// Hours is a span of every day; one without Text is none.
type Hours struct {
	Text string // as written

	dark     bool
	from, to time.Duration
}

// Dark reports whether it is the time from the end of civil twilight to its
// beginning.
func (h Hours) Dark() bool { return h.dark }

// Span returns the times after midnight, over midnight where the second is not
// later.
func (h Hours) Span() (from, to time.Duration) { return h.from, h.to }

// DarkHours stands for the hours with the sun more than 6 degrees down.
const DarkHours = "dark"

// ParseHours reads hours of the day like 22:00-06:00, or the word dark.
func ParseHours(s string) (Hours, error) {
	if s == DarkHours {
		return Hours{Text: s, dark: true}, nil
	}
	begin, end, _ := strings.Cut(s, "-")
	from, err1 := time.Parse("15:04", strings.TrimSpace(begin))
	to, err2 := time.Parse("15:04", strings.TrimSpace(end))
	if err1 != nil || err2 != nil || from.Equal(to) {
		return Hours{}, fmt.Errorf("not two times of day: %q", s)
	}
	clock := func(t time.Time) time.Duration {
		return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute
	}
	return Hours{Text: s, from: clock(from), to: clock(to)}, nil
}

// pauseKeys are the traveller's keys of rests, nights and loads.
func (r *reader) pauseKeys(p *Pauses) []key {
	hours := func(to *Hours) func(ast.Node) {
		return func(n ast.Node) {
			s, ok := r.scalar(n, "hours of the day")
			if !ok {
				return
			}
			h, err := ParseHours(s)
			if err != nil {
				r.bad(n, s, "not two times of day", `write it like "22:00-06:00", or dark`)
				return
			}
			*to = h
		}
	}
	return []key{
		{"rest", hours(&p.Rest), false},
		{"night", hours(&p.Night), false},
		{"load", r.quantity(&p.LoadKG, MassRange), false},
		{"body", r.quantity(&p.BodyKG, MassRange), false},
	}
}
