package job

import (
	"fmt"

	"farhail/geo/coord"
	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// maxSpanM is how far apart the positions of one plan may lie [m]: what the
// plan's local frame holds on either side of its middle.
const maxSpanM = 600_000

// A placed item is something of a plan that has a position, for messages.
type placedItem struct {
	line  int
	name  string
	point orb.Point
}

// placed lists what has a position in the plan: files by the middle of what they
// hold.
func (r *run) placed() []placedItem {
	var list []placedItem
	for _, s := range r.plan.Starts {
		list = append(list, placedItem{s.Line, "the start " + s.Name, s.Point})
	}
	for _, l := range r.plan.Looking.Lookouts {
		list = append(list, placedItem{l.Line, "the lookout " + l.Name, l.Point})
	}
	for _, c := range r.plan.Candidates() {
		list = append(list, placedItem{c.Line, "the site " + c.Name, c.Point})
	}
	for i, tracks := range r.parties {
		for _, t := range tracks {
			if b := t.Bound(); !b.IsEmpty() {
				p := r.plan.Looking.Parties[i]
				list = append(list, placedItem{p.Line, fmt.Sprintf("the way of %s (%s)", p.Name, p.File()), b.Center()})
			}
		}
	}
	for i, tracks := range r.flights {
		for _, t := range tracks {
			if b := t.Bound(); !b.IsEmpty() {
				f := r.plan.Looking.Aircraft[i]
				list = append(list, placedItem{f.Line, fmt.Sprintf("the way of %s (%s)", f.Name, f.File()), b.Center()})
			}
		}
	}
	for _, t := range r.travelled {
		if b := t.Bound(); !b.IsEmpty() {
			list = append(list, placedItem{r.plan.Traveller.Line, "the traveller's track", b.Center()})
		}
	}
	if r.plan.Trip.Route != "" {
		for _, t := range r.trip {
			if b := t.Bound(); !b.IsEmpty() {
				list = append(list, placedItem{r.plan.Trip.Line, "the route of the trip", b.Center()})
			}
		}
	}
	if g := r.result.Reckon; g != nil && len(g.Path) > 0 {
		list = append(list, placedItem{r.plan.Traveller.Line, "the start of the log", g.Path[0]})
	}
	return append(list, r.searchedPlaced()...)
}

// checkSpan refuses a plan whose positions lie too far apart to be of one
// search: one of them is wrong, most often with latitude and longitude swapped.
func (r *run) checkSpan() error {
	items := r.placed()
	wide := false
	for _, a := range items {
		d, _, _ := earth.Inverse(a.point, items[0].point)
		wide = wide || d > maxSpanM/2
	}
	if !wide {
		return nil
	}
	// The odd one lies farthest from all others together.
	sums := make([]float64, len(items))
	odd := 0
	for i, a := range items {
		for _, b := range items {
			d, _, _ := earth.Inverse(a.point, b.point)
			sums[i] += d
		}
		if sums[i] > sums[odd]*(1+1e-9) {
			odd = i
		}
	}
	other, most := odd, 0.0
	for i, b := range items {
		if d, _, _ := earth.Inverse(items[odd].point, b.point); d > most {
			other, most = i, d
		}
	}
	if most <= maxSpanM {
		return nil
	}
	a, b := items[odd], items[other]
	hint := "look at its position: latitude comes first, south and west are negative"
	if q, ok := swapped(a.point); ok && near(q, b.point) {
		hint = "did you mean " + coord.Decimal(q) + "? latitude comes first"
		if sums[other] > 0.99*sums[odd] {
			hint = "in one of the two latitude and longitude are swapped: latitude comes first"
		}
	}
	return r.plan.At(a.line, fmt.Sprintf("%s lies %.0f km from %s: a plan is of one search", a.name, most/1000, b.name), hint)
}

// near says whether two positions can be of one search.
func near(p, q orb.Point) bool {
	d, _, _ := earth.Inverse(p, q)
	return d <= maxSpanM
}
