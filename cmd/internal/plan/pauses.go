package plan

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/goccy/go-yaml/ast"

	"farhail/cmd/internal/cli"
	"farhail/geo/walk"
)

// Pauses is when the traveller rests or is slower, as somebody states it; nothing
// of it is assumed, for rings are outer limits.
type Pauses struct {
	Rest, Night    Hours
	LoadKG, BodyKG float64 // LoadKG 0: none
}

// Check returns an error where the load leaves no power to walk with.
func (p Pauses) Check() error {
	if p.LoadKG > 0 && walk.LoadFactor(p.BodyKG, p.LoadKG) == 0 {
		return fmt.Errorf("a load of %g kg leaves a body of %g kg no power to walk (Pandolf 1977)", p.LoadKG, p.BodyKG)
	}
	return nil
}

// DefaultBodyKG is the body that a load is carried by. Own choice: the 70 kg of the
// textbooks.
const DefaultBodyKG = 70

// MassRange are the masses that a load or a body may have.
var MassRange = cli.Mass.Positive().AtMost(300)

// Hours is a span of every day, like 22:00-06:00, or DarkHours; empty for none.
type Hours string

// DarkHours are those from the end of civil twilight to its beginning, with the
// sun more than 6 degrees down.
const DarkHours Hours = "dark"

// Span returns the times after midnight between which the hours lie, over midnight
// where the second is not later. DarkHours have none: they are of the place.
func (h Hours) Span() (from, to time.Duration, err error) {
	begin, end, _ := strings.Cut(string(h), "-")
	t0, err0 := time.Parse("15:04", strings.TrimSpace(begin))
	t1, err1 := time.Parse("15:04", strings.TrimSpace(end))
	if err0 != nil || err1 != nil || t0.Equal(t1) {
		return 0, 0, fmt.Errorf("not two times of day: %q", string(h))
	}
	clock := func(t time.Time) time.Duration {
		return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute
	}
	return clock(t0), clock(t1), nil
}

// ParseHours returns hours as somebody wrote them.
func ParseHours(s string) (Hours, error) {
	h := Hours(s)
	if h == DarkHours || h == "" {
		return h, nil
	}
	_, _, err := h.Span()
	return h, err
}

// pauseKeys are the traveller's keys of rests, nights and loads.
func (r *reader) pauseKeys(p *Pauses) []key {
	hours := func(to *Hours) func(ast.Node) {
		return r.parsed("hours of the day", func(s string) error {
			h, err := ParseHours(s)
			if err != nil || h == "" {
				return cli.WithHint(errors.New("not two times of day"), `write it like "22:00-06:00", or dark`)
			}
			*to = h
			return nil
		})
	}
	return []key{
		{"rest", hours(&p.Rest), false},
		{"night", hours(&p.Night), false},
		{"load", r.quantity(&p.LoadKG, MassRange), false},
		{"body", r.quantity(&p.BodyKG, MassRange), false},
	}
}
