package job

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/track"

	"github.com/paulmach/orb"
)

// How many sites are compared at most. Own choice: 2000 with 2000 people-places each,
// or 500 with thousands of likely cells, are a few million sight lines.
const (
	maxCandidates = 2000
	maxPosts      = 500
	// nearCells is how many likely cells stand for the ground near which posts are
	// looked for.
	nearCells = 400
)

// candidates returns the sites that the question gives, or else those that it has
// looked for near the route, the log, the lookouts and likely ground; without those off
// the terrain and beyond the question's limits.
func (p *placing) candidates(ctx context.Context) ([]candidate, float64, error) {
	list, spacing, err := p.given()
	if len(p.ask.Candidates) == 0 && err == nil {
		list, spacing, err = p.lookedFor(ctx)
	}
	if err != nil {
		return nil, 0, err
	}
	list, err = p.withinLimits(ctx, list)
	return list, spacing, err
}

// given returns the candidates of the plan.
func (p *placing) given() ([]candidate, float64, error) {
	var list []candidate
	for _, c := range p.ask.Candidates {
		at, err := p.put(c.Name, c.Point)
		if err != nil {
			return nil, 0, err
		}
		if p.onGround(at) {
			list = append(list, at)
		} else {
			p.warn(fmt.Sprintf("candidate %s lies where the terrain has no height and is left out", c.Name), "")
		}
	}
	if len(list) > maxCandidates {
		return nil, 0, fmt.Errorf("%d candidates are more than the %d that are compared", len(list), maxCandidates)
	}
	return list, math.NaN(), nil
}

// most is how many candidates the question compares.
func (p *placing) most() int {
	switch p.ask.Question {
	case plan.PlaceLookouts, plan.PlaceAttract, plan.PlaceRelay:
		return maxPosts
	}
	return maxCandidates
}

// lookedFor looks for candidates, wider apart where there would be too many.
func (p *placing) lookedFor(ctx context.Context) ([]candidate, float64, error) {
	near, err := p.near()
	if err != nil || len(near) == 0 {
		return nil, 0, err
	}
	spacing, most := p.ask.SpacingM, p.most()
	ground, err := p.groundNear(near)
	if err != nil {
		return nil, 0, err
	}
	var list []candidate
	for {
		if list, err = p.atSpacing(ctx, near, ground, spacing); err != nil {
			return nil, 0, err
		}
		if len(list) <= most {
			break
		}
		// The count falls with the square of the spacing.
		spacing *= 1.02 * math.Sqrt(float64(len(list))/float64(most))
	}
	if spacing > p.ask.SpacingM {
		p.warn(fmt.Sprintf("candidate sites stand %.0f m apart instead of %.0f m, so that no more than %d are compared", spacing, p.ask.SpacingM, most), "give candidates: or a smaller within:")
	}
	return list, spacing, nil
}

// atSpacing returns the candidates of every kind that is asked for.
func (p *placing) atSpacing(ctx context.Context, near []candidate, ground *nearGround, spacing float64) ([]candidate, error) {
	among := p.ask.Among
	if len(among) == 0 {
		among = []string{plan.AmongGrid}
		if p.ask.Question == plan.PlaceRoute {
			among = []string{plan.AmongRoute}
		}
	}
	var list []candidate
	for _, word := range among {
		var found []candidate
		var err error
		switch word {
		case plan.AmongGrid:
			found, err = p.gridSites(near, spacing)
		case plan.AmongRoute:
			found, err = p.routeSites(spacing)
		default:
			found, err = p.groundSites(ctx, ground, word, spacing)
		}
		if err != nil {
			return nil, err
		}
		list = append(list, found...)
	}
	if len(among) > 1 {
		list = apart(list, spacing/2)
	}
	return list, nil
}

// gridSites returns the points of a grid in the plan's local frame that lie
// within the plan's distance of what is near, from the north and west.
func (p *placing) gridSites(near []candidate, spacing float64) ([]candidate, error) {
	within := p.ask.WithinM
	type node struct{ row, col int }
	inside := map[node]bool{}
	for _, at := range near {
		x, y := at.x, at.y
		for row := int(math.Ceil((y - within) / spacing)); float64(row)*spacing <= y+within; row++ {
			for col := int(math.Ceil((x - within) / spacing)); float64(col)*spacing <= x+within; col++ {
				if math.Hypot(float64(col)*spacing-x, float64(row)*spacing-y) <= within {
					inside[node{row, col}] = true
				}
			}
		}
	}
	var list []candidate
	for n := range inside {
		at, err := p.put("", p.local.Inverse(float64(n.col)*spacing, float64(n.row)*spacing))
		if err != nil {
			return nil, err
		}
		if p.onGround(at) {
			list = append(list, at)
		}
	}
	slices.SortFunc(list, func(a, b candidate) int {
		return cmp.Or(-cmp.Compare(math.Round(a.y), math.Round(b.y)), cmp.Compare(math.Round(a.x), math.Round(b.x)))
	})
	return list, nil
}

// routeSites returns points along the question's route, or else along the routes and
// the log.
func (p *placing) routeSites(spacing float64) ([]candidate, error) {
	tracks := p.travelled
	if p.ask.Question == plan.PlaceRoute {
		tracks = p.routeTracks()
	}
	var list []candidate
	for _, t := range tracks {
		for _, at := range t.Every(track.Spacing{StepM: spacing}) {
			c, err := p.put("", at.Point)
			if err != nil {
				return nil, err
			}
			if p.onGround(c) {
				list = append(list, c)
			}
		}
	}
	if p.ask.Question != plan.PlaceRoute {
		for _, at := range p.logPoints() {
			c, err := p.put("", at)
			if err != nil {
				return nil, err
			}
			if p.onGround(c) {
				list = append(list, c)
			}
		}
		list = apart(list, spacing/2)
	}
	return list, nil
}

// near returns where sites are looked for: along the routes, the log and the
// traveller's track, at the lookouts, and for questions of likely ground there too.
func (p *placing) near() ([]candidate, error) {
	var list []candidate
	for _, at := range p.run.near() {
		c, err := p.put("", at)
		if err != nil {
			return nil, err
		}
		list = append(list, c)
	}
	if p.ask.Question == plan.PlacePassive || p.ask.Question == plan.PlaceRoute || p.result.Chance == nil {
		return list, nil
	}
	likely, err := p.likely(nearCells)
	for _, l := range likely.places {
		list = append(list, l.candidate)
	}
	return list, err
}

// near returns positions along the routes, the log and the traveller's track,
// and of the lookouts: where sites are looked for.
func (r *run) near() []orb.Point {
	var list []orb.Point
	for _, w := range r.watch.watchers {
		if !w.aloft {
			list = append(list, w.point)
		}
	}
	for _, t := range r.travelled {
		for _, at := range t.Every(everyHundred) {
			list = append(list, at.Point)
		}
	}
	return append(list, r.logPoints()...)
}

// logPoints returns positions no more than 100 m apart along the log.
func (r *run) logPoints() []orb.Point {
	if r.result.Reckon == nil {
		return nil
	}
	var list []orb.Point
	path := r.result.Reckon.Path
	for i := 1; i < len(path); i++ {
		length, bearing, _ := earth.Inverse(path[i-1], path[i])
		n := int(length/100) + 1
		for k := range n {
			p, _ := earth.Direct(path[i-1], bearing, length*float64(k)/float64(n))
			list = append(list, p)
		}
	}
	if len(path) > 0 {
		list = append(list, path[len(path)-1])
	}
	return list
}

// put returns a position with its places on the terrain and in the local frame.
func (r *run) put(name string, p orb.Point) (candidate, error) {
	c := candidate{name: name, point: p, walkS: math.NaN()}
	c.col, c.row = r.heights.Cell(p)
	var err error
	if c.x, c.y, err = r.local.Forward(p); err != nil {
		return c, fmt.Errorf("a position of the plan: %w", err)
	}
	return c, nil
}

func (r *run) onGround(c candidate) bool {
	return !math.IsNaN(r.heights.SampleCell(c.col, c.row))
}
