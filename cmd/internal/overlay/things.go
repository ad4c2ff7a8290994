package overlay

import (
	"fmt"
	"slices"
	"strings"

	"farhail/cmd/internal/job"
)

// things writes what there is to know of signals beside how far they show: how long
// a lamp burns, from where a symbol is read, where several fires are told apart,
// and what shows of a smoke. Each once, as it is at the first hour.
func (b *brief) things(r *job.Result) {
	var done []string
	for _, s := range r.Sight {
		words := b.thingWords(s)
		if words == "" || slices.Contains(done, s.Signal) {
			continue
		}
		if len(done) == 0 {
			b.title("WHAT ELSE THE SIGNALS DO")
		}
		done = append(done, s.Signal)
		b.item("   ", "%s: %s.", s.Signal, words)
	}
}

func (b *brief) thingWords(s job.Sighting) string {
	switch {
	case s.Lamp != nil:
		return lampWords(s.Lamp)
	case s.Symbol != nil:
		t := s.Symbol
		parts := []string{fmt.Sprintf("%s (%s), read from up to %s straight above it", t.Letter, t.Meaning, b.words.Distance(float64(t.LegibleM)))}
		for _, a := range t.Aside {
			if a.GroundM > 0 {
				parts = append(parts, fmt.Sprintf("from %s above the ground up to %s aside", b.words.Distance(float64(a.HeightM)), b.words.Distance(float64(a.GroundM))))
			}
		}
		return strings.Join(parts, "; ")
	case s.Fires != nil:
		t := s.Fires
		words := fmt.Sprintf("%d, %s apart, told apart as two from %s, at best %s", t.Count, b.words.Distance(float64(t.ApartM)), b.words.Distance(float64(t.TwoApartNoticedM)), b.words.Distance(float64(t.TwoApartM)))
		if t.Count > 2 {
			words += fmt.Sprintf(", as three from %s, at best %s", b.words.Distance(float64(t.ThreeApartNoticedM)), b.words.Distance(float64(t.ThreeApartM)))
		}
		return words
	case s.Smoke != nil:
		return fmt.Sprintf("the smoke stands up to %s above its fire, and may show where the ground hides the flame", b.words.Distance(float64(s.Smoke.TopM)))
	}
	return ""
}

// lampWords says when a lamp goes out, and by what rule it shines; "" where nothing
// ends it.
func lampWords(l *job.SightLamp) string {
	var parts []string
	if l.Standard != "" {
		parts = append(parts, "as "+l.Standard+" asks for")
	}
	if l.OutAt != nil {
		parts = append(parts, fmt.Sprintf("lit from %s, out at %s", clock(l.LitFrom), clock(l.OutAt)))
	} else if lasts := float64(l.LastsS); lasts > 0 {
		parts = append(parts, fmt.Sprintf("burns for %s once lit; the plan does not say when", job.Duration(lasts)))
	}
	return strings.Join(parts, "; ")
}
