package overlay

import (
	"fmt"
	"strings"

	"farhail/cmd/internal/job"
	"farhail/geo/layer"
)

// hazards returns the areas and lines that the plan warns of.
func hazards(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Hazards, Title: "Hazards, as the plan gives them"}
	for _, h := range r.Hazards {
		for _, part := range h.Parts {
			l.Features = append(l.Features, layer.New(part.Name, part.Shape, hazardProperties(h)...))
		}
	}
	return l
}

// hazardMarks returns a place in each of them, which a handheld keeps as a waypoint.
func hazardMarks(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Dangers, Title: "Hazards: where each is"}
	for _, h := range r.Hazards {
		for _, part := range h.Parts {
			l.Features = append(l.Features, layer.New(part.Name, part.Point, hazardProperties(h)...))
		}
	}
	return l
}

// hazardProperties tell the note first, since handhelds cut long texts.
func hazardProperties(h job.Hazard) []layer.Property {
	var list []layer.Property
	for _, p := range []layer.Property{layer.P("note", h.Note), layer.P("gear", h.Gear), layer.P("source", h.Source)} {
		if p.Value != "" {
			list = append(list, p)
		}
	}
	if known(float64(h.RadiusM)) {
		list = append(list, layer.P("radius_m", float64(h.RadiusM)))
	}
	return list
}

// meantWay returns the way that the traveller of a trip means to go.
func meantWay(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Meant, Title: "The way that is meant: a line, not a safe path"}
	if t := r.Trip; t != nil && len(t.Path) > 0 {
		f := layer.New("the way that is meant", t.Path, layer.P("length_m", float64(t.LengthM)), layer.P("walk_s", float64(t.WalkS)))
		f.Time = timeOf(t.Start)
		l.Features = append(l.Features, f)
	}
	return l
}

// hazardWords tell in a sentence what a hazard is, what it needs and who said so.
func hazardWords(h job.Hazard) string {
	var parts []string
	if h.Note != "" {
		parts = append(parts, h.Note)
	}
	if h.Gear != "" {
		parts = append(parts, "needed: "+h.Gear)
	}
	if h.Source != "" {
		parts = append(parts, "said by "+h.Source)
	}
	if len(parts) == 0 {
		return "the plan says no more"
	}
	return strings.Join(parts, "; ")
}

// hazards tells what the plan warns of, with who comes near it.
func (b *brief) hazards(r *job.Result) {
	if len(r.Hazards) == 0 {
		return
	}
	b.title("HAZARDS THAT THE PLAN GIVES")
	for _, h := range r.Hazards {
		far := ""
		if known(float64(h.RadiusM)) {
			far = fmt.Sprintf(" (%s around)", b.words.Distance(float64(h.RadiusM)))
		}
		b.item("!  ", "%s%s: %s.", h.Name, far, hazardWords(h))
		for i, part := range h.Parts {
			if i == partsInBrief {
				b.item("   ", "and %d more, which are on the map.", len(h.Parts)-i)
				break
			}
			b.columns("   %s", b.words.Position(part.Point))
		}
		for _, p := range h.Passes {
			b.item("   ", "%s.", capital(passWords(r, p)))
		}
	}
	b.line("Only what somebody told the plan: what is not listed is not safe.")
}

// partsInBrief is how many places of one hazard the brief lists.
const partsInBrief = 5

// passWords tells who comes near a hazard, and how near.
func passWords(r *job.Result, p job.HazardPass) string {
	near := fmt.Sprintf("passes within %s", r.Words().Distance(float64(p.DistanceM)))
	if p.DistanceM == 0 {
		near = "goes through it"
	}
	switch p.By {
	case job.PassNext:
		return "the way of " + p.Who + " to their area " + near
	case job.PassLookout:
		if p.DistanceM == 0 {
			return p.Who + " watches in it"
		}
		return fmt.Sprintf("%s watches %s from it", p.Who, r.Words().Distance(float64(p.DistanceM)))
	case job.PassTrip:
		return "the way that is meant " + near
	}
	return "the way of " + p.Who + " " + near
}

// hazardsOf warns those of a name of what their way or post comes near; "" means the
// traveller of a trip.
func hazardsOf(r *job.Result, s *Section, who string) {
	for _, h := range r.Hazards {
		for _, p := range h.Passes {
			if p.Who == who && (who == "") == (p.By == job.PassTrip) {
				at := h.Parts[0]
				for _, part := range h.Parts {
					if part.Name == p.Part {
						at = part
					}
				}
				s.tell("HAZARD", "%s, at %s: %s. %s.", p.Part, r.Words().Reference(at.Point), hazardWords(h), capital(passWords(r, p)))
			}
		}
	}
}

// placesWords tells where a hazard is; of one in many parts, where the first is.
func placesWords(r *job.Result, h job.Hazard) string {
	text := "at " + r.Words().Reference(h.Parts[0].Point)
	if n := len(h.Parts); n > 1 {
		text += fmt.Sprintf(", the first of %d places", n)
	}
	return text
}

// mostHazards is how many hazards are read out; the others are in the tables.
const mostHazards = 3

// given reads out the hazards of the plan, those that somebody comes near first.
func (p *alouds) given(r *job.Result) {
	n := 0
	for _, near := range []bool{true, false} {
		for _, h := range r.Hazards {
			if near != (len(h.Passes) > 0) {
				continue
			}
			if n++; n > mostHazards {
				continue
			}
			p.must("%s: %s.", capital(fewWords(h.Name, 4)), r.Words().Reference(h.Parts[0].Point))
			if n := len(h.Parts); n > 1 {
				p.should("That is the first of %d places.", n)
			}
			if h.Note != "" {
				p.should("%s.", capital(fewWords(h.Note, 10)))
			}
			if h.Gear != "" {
				p.should("Needed there: %s.", fewWords(h.Gear, 6))
			}
		}
	}
	if n > mostHazards {
		p.must("%d more in the tables.", n-mostHazards)
	}
}

// holdsWords tells which hazards an area holds that a party searches next; "" for none.
func holdsWords(t job.SweepTask) string {
	if len(t.Hazards) == 0 {
		return ""
	}
	return "HAZARDS in it: " + strings.Join(t.Hazards, ", ") + "."
}

// within warns of the hazards of an area that a party searches.
func (e *errand) within(s *Section, t job.SweepTask) {
	for _, h := range e.r.Hazards {
		for _, name := range t.Hazards {
			if name == h.Name {
				s.tell("HAZARD in it", "%s, %s: %s.", h.Name, placesWords(e.r, h), hazardWords(h))
			}
		}
	}
}
