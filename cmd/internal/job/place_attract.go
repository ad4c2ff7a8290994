package job

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/walk"
	"farhail/signal/place"
)

// attract chooses where a light or a sound should stand that draws the traveller: each
// likely cell counts by the chance that somebody there notices it in a minute, and only
// where they can come to it without crossing a cliff, water or unknown ground.
func (p *placing) attract(ctx context.Context, s plan.Signal, hours []time.Time) (*Place, error) {
	at := hours[0]
	lost := seer{eyeM: p.plan.Looking.EyeHeightM}
	l, err := p.looksOver(s, hours, lost)
	if err != nil {
		return nil, err
	}
	ground, err := p.likely(maxLikely)
	if err != nil {
		return nil, err
	}
	for i := range ground.places {
		ground.places[i].heightM = lost.eyeM
	}
	h, err := p.hazards(ground.places)
	if err != nil {
		return nil, err
	}
	all := p.sites
	defer func() { p.sites = all }()
	if p.sites = h.offHazards(p.sites); len(p.sites) == 0 || len(ground.places) == 0 {
		p.leaveOut(fmt.Sprintf("%s at %s: every candidate stands on a cliff, water or unknown ground, or no likely cell lies on the terrain", p, p.clock(at)))
		return nil, errLeftOut
	}
	over := sightOver{
		siteM: p.standsM(s), places: ground.places, cells: ground.cells, looks: []*looks{l}, levelM: p.levelOf(s, true, 0),
		leastM: max(p.cellM(), ground.sideM/2), through: s.Heard(),
		skip: func(site, k int) bool { return h.between(ground.places[k].candidate, p.sites[site]) },
	}
	found, err := p.pair(ctx, p.sites, over)
	if err != nil {
		return nil, err
	}
	o := &objective{chances: found.chances, unknown: found.unknown, over: over, total: ground.share, unit: UnitShare, restsOn: append(attractRests(s, ground), restsOnHours(hours)...)}
	noticedM, err := p.noticedFarM(s, at, lost)
	if err != nil {
		return nil, err
	}
	o.noticedBy = []PlaceSeer{{lost.observer(), []string{}, cli.Len(noticedM)}}
	drawn := drawing{placing: p, h: h, ground: ground, found: found, walked: map[int]float64{}}
	choice, err := drawn.choose(ctx, o)
	if err != nil {
		return nil, err
	}
	out := p.told(s, at, o, choice)
	if out.OverHours, err = p.overHours(o, choice.Sites(), hours, func(at time.Time) (float64, error) { return p.noticedFarM(s, at, lost) }); err != nil {
		return nil, err
	}
	for i, site := range choice.Sites() {
		out.Sites[i].CrossingShare = cli.Num(drawn.share(site))
	}
	h.told.NotProposed = len(all) - len(p.sites)
	for i := range p.sites {
		if !p.ask.Forced && drawn.share(i) > mostCrossing {
			h.told.NotProposed++
		}
	}
	if out.Drawn, err = p.drawn(ctx, o, choice.Sites()); err != nil {
		return nil, err
	}
	out.Cells, out.Crossing = len(ground.places), &h.told
	if len(out.Sites) > 0 {
		out.Timetable = p.timetable(s, at)
	}
	return out, nil
}

func attractRests(s plan.Signal, g likelyGround) []string {
	list := []string{
		"the chance that a minute's look by somebody who is not told finds it, times the probability of the cell",
		"averaged over joint draws that all sites and cells share, the threshold of person and day among them",
		fmt.Sprintf("the densest ground with %.0f %% of the probability, as %d cells of about %.0f m", 100*g.share, len(g.places), g.sideM),
		"only who can come by the straight line and by a way over the ground without crossing anything counts",
	}
	if !s.Heard() {
		return append(list, heightsAsTheyAre)
	}
	list[0] = "whether the sound is noticed, times the probability of the cell: nothing tells a chance, and hills and wind are not counted"
	return list
}

// noticedFarM returns how far somebody notices a signal [m].
func (p *placing) noticedFarM(s plan.Signal, at time.Time, k seer) (float64, error) {
	if s.Heard() {
		heard, err := p.hear(s)
		if err != nil {
			return 0, err
		}
		return float64(heard.NoticedM), nil
	}
	request, err := p.requestBy(s, at, k, true)
	if err != nil {
		return 0, err
	}
	out, err := sightFor(request)
	if err != nil {
		return 0, err
	}
	return float64(out.NoticedM), nil
}

// A drawing is a choice of what attracts under way.
type drawing struct {
	*placing
	h      *hazards
	ground likelyGround
	found  paired
	walked map[int]float64 // by site: weight of those whose quickest way crosses something, once looked at
}

// share returns the share of those who notice a site that would have to cross something.
func (d *drawing) share(site int) float64 {
	if d.found.noticing[site] == 0 {
		return 0
	}
	return (d.found.skipped[site] + d.walked[site]) / d.found.noticing[site]
}

// mostRounds is how often is chosen anew before the choice is among the sites whose
// ways were looked at, and smallCrossing the share by which the quickest ways may lower
// what a site is worth without that. Own choice.
const (
	mostRounds    = 12
	smallCrossing = 0.02
)

// choose chooses, looks at the quickest ways to what was chosen, and chooses again
// where too many would have to cross something.
func (d *drawing) choose(ctx context.Context, o *objective) (place.Choice, error) {
	refuse := func(site int) {
		if !d.ask.Forced && d.share(site) > mostCrossing {
			d.found.chances.Seen[site] = place.Noticing{}
		}
	}
	for i := range d.sites {
		refuse(i)
	}
	o.chances = d.found.chances
	ask := place.Ask{Count: d.ask.Count, Exact: d.exact}
	for range mostRounds {
		choice, err := place.Choose(o.chances, ask)
		if err != nil {
			return choice, err
		}
		again := false
		for _, site := range choice.Sites() {
			if _, done := d.walked[site]; done {
				continue
			}
			before := d.share(site)
			if err := d.walk(ctx, site); err != nil {
				return choice, err
			}
			again = again || d.share(site) > before+smallCrossing
			refuse(site)
		}
		if !again && len(choice.Picks) == 0 && d.ask.Forced {
			return place.Choose(o.chances, place.Ask{Count: 1, Fixed: []int{d.mostNoticed()}})
		}
		if !again {
			// The same sites for what they are worth now; ways only lower what any
			// choice is worth, so that the bound holds.
			now, err := place.Choose(o.chances, place.Ask{Count: len(choice.Picks), Fixed: choice.Sites()})
			now.Bound, now.Exact = max(choice.Bound, now.Covered), false
			return now, err
		}
	}
	for i := range d.sites {
		if _, done := d.walked[i]; !done {
			d.found.chances.Seen[i] = place.Noticing{}
		}
	}
	return place.Choose(o.chances, ask)
}

// mostNoticed returns the site that most would notice, whatever they had to cross: what
// is forced is told, for nothing.
func (d *drawing) mostNoticed() int {
	best := 0
	for i, n := range d.found.noticing {
		if n > d.found.noticing[best] {
			best = i
		}
	}
	return best
}

// waysLookedAt is how many of those who notice a site have their quickest way looked at,
// the likeliest first. Own choice.
const waysLookedAt = 150

// walk looks at the quickest ways from a site to those who notice it, by the plan's
// rule, and takes those out whose way crosses something. A way is reckoned from the site
// outwards.
func (d *drawing) walk(ctx context.Context, site int) error {
	d.walked[site] = 0
	seen := d.found.chances.Seen[site]
	if len(seen.Cells) == 0 {
		return nil
	}
	order := make([]int, len(seen.Cells))
	farM := 0.0
	for i, cell := range seen.Cells {
		order[i] = i
		at := d.ground.places[cell]
		farM = max(farM, math.Hypot(at.x-d.sites[site].x, at.y-d.sites[site].y))
	}
	worth := func(i int) float64 {
		return d.ground.places[seen.Cells[i]].weight * d.found.mean[seen.Row[i]]
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(worth(b), worth(a)) })
	start, _ := ringStart(d.plan.Starts)
	o, _, err := d.walking(start)
	if err != nil {
		return err
	}
	if o.Starts, err = walk.Within(d.heights.Frame, d.sites[site].point, earth.Ellipse{}, 0); err != nil {
		return err
	}
	// Longer than any way that is worth the name: four times the straight one.
	o.MaxSeconds = 4 * (farM + d.cellM()) * o.Rule.MapPace(0)
	field, err := walk.Reach(ctx, d.heights, o)
	if err != nil {
		return err
	}
	lookedAt, crossing := 0.0, 0.0
	out := map[int]bool{}
	for _, i := range order[:min(len(order), waysLookedAt)] {
		lookedAt += worth(i)
		way, ok := field.Route(d.ground.places[seen.Cells[i]].point)
		cells := make([]candidate, len(way.Line))
		for k, p := range way.Line {
			cells[k].col, cells[k].row = d.heights.Cell(p)
		}
		if ok && !d.h.along(cells) {
			continue
		}
		crossing += worth(i)
		out[i] = true
	}
	if len(out) == 0 {
		return nil
	}
	// Those that were not looked at are taken to be like those that were.
	d.walked[site] = crossing / lookedAt * (d.found.noticing[site] - d.found.skipped[site])
	var kept place.Noticing
	for i := range seen.Cells {
		if !out[i] {
			kept.Cells, kept.Row = append(kept.Cells, seen.Cells[i]), append(kept.Row, seen.Row[i])
		}
	}
	d.found.chances.Seen[site] = kept
	return nil
}
