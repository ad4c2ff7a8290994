package job

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/los"
	"farhail/signal/place"
)

// A PlaceLink is two posts of a choice that see each other.
type PlaceLink struct {
	From      string  `json:"from"`
	To        string  `json:"to"`
	DistanceM cli.Len `json:"distance_m"`
	// Chance that one glimpse at the known place shows the signal of the one to the
	// other, the lower of both ways, over the joint draws, in the plan's hour that is
	// worst for it.
	Chance cli.Num `json:"chance"`
}

// leastLink is the chance of a glimpse from which on two posts count as linked. Own
// choice: they look again and again at a known place.
const leastLink = 0.5

// relay chooses posts that see each other's signal. With two ends it is the chain between
// them with the fewest posts, and of those the surest; else the posts that are worth most
// together and hang together with the base.
func (p *placing) relay(ctx context.Context, s plan.Signal, hours []time.Time) (*Place, error) {
	at := hours[0]
	links, looked, err := p.linksOver(ctx, s, hours)
	if err != nil {
		return nil, err
	}
	o, cells, err := p.postsWorth(ctx, s, hours)
	if err != nil {
		return nil, err
	}
	base := p.base()
	choice, err := p.linked(o, links, base)
	if err != nil {
		return nil, err
	}
	if len(choice.Picks) == 0 {
		p.leaveOut(fmt.Sprintf("%s at %s: no chain of posts that see each other leads from %s to %s", p, p.clock(at), p.ask.Base, p.ask.To))
		return nil, errLeftOut
	}
	o.noticedBy = []PlaceSeer{{ObserverEye, []string{}, cli.Len(slices.Min(looked))}}
	out := p.told(s, at, o, choice)
	out.Cells = cells
	if out.OverHours, err = p.overHours(o, choice.Sites(), hours, func(at time.Time) (float64, error) { return looked[slices.Index(hours, at)], nil }); err != nil {
		return nil, err
	}
	if cells == 0 {
		out.Watchers = len(p.watch.watchers)
	}
	if p.ask.To != "" {
		out.Bound, out.Gap = cli.Num(math.NaN()), cli.Num(math.NaN())
	}
	sites := choice.Sites()
	for i := range sites {
		for j := i + 1; j < len(sites); j++ {
			if chance := links[sites[i]][sites[j]]; chance >= leastLink {
				a, b := p.sites[sites[i]], p.sites[sites[j]]
				out.Links = append(out.Links, PlaceLink{out.Sites[i].Name, out.Sites[j].Name, cli.Len(math.Hypot(a.x-b.x, a.y-b.y)), cli.Num(chance)})
			}
		}
	}
	return out, nil
}

// base returns the candidate that posts are linked with: the one that the plan names, or
// the nearest to the newest start, or the first.
func (p *placing) base() int {
	if p.ask.Base != "" {
		return p.named(p.ask.Base)
	}
	start, ok := ringStart(p.plan.Starts)
	if !ok {
		return 0
	}
	best, least := 0, math.Inf(1)
	at, err := p.put("", start.Point)
	if err != nil {
		return 0
	}
	for i, c := range p.sites {
		if d := math.Hypot(c.x-at.x, c.y-at.y); d < least {
			best, least = i, d
		}
	}
	return best
}

// named returns the candidate of that name, -1 where the limits left it out.
func (p *placing) named(name string) int {
	for i, c := range p.sites {
		if c.name == name {
			return i
		}
	}
	return -1
}

// linked chooses posts.
func (p *placing) linked(o *objective, links place.Links, base int) (place.Choice, error) {
	if base < 0 {
		return place.Choice{}, cli.WithHint(fmt.Errorf("the base %s lies beyond the limits of the placement", p.ask.Base), "look at its max_slope:, reach: and position")
	}
	if p.ask.To == "" {
		return place.Relay(o.chances, links, base, p.ask.Count, leastLink)
	}
	to := p.named(p.ask.To)
	if to < 0 {
		return place.Choice{}, cli.WithHint(fmt.Errorf("%s lies beyond the limits of the placement", p.ask.To), "look at its max_slope:, reach: and position")
	}
	chain, ok := links.Chain(base, to, leastLink)
	if !ok {
		return place.Choice{}, nil
	}
	choice := place.Choice{Total: o.total}
	before := 0.0
	for i := range chain.Posts {
		worth := 0.0
		for cell, chance := range o.chances.ByCell(chain.Posts[:i+1]) {
			worth += o.chances.Weights[cell] * chance
		}
		choice.Picks = append(choice.Picks, place.Pick{Candidate: chain.Posts[i], Gain: worth - before})
		before = worth
	}
	choice.Covered = before
	return choice, nil
}

// linksOver returns the chances of the hour that is worst for each link, and how far a
// signal is seen from post to post in each hour.
func (p *placing) linksOver(ctx context.Context, s plan.Signal, hours []time.Time) (place.Links, []float64, error) {
	var worst place.Links
	var farM []float64
	for _, at := range hours {
		links, m, err := p.links(ctx, s, at)
		if err != nil {
			return nil, nil, err
		}
		farM = append(farM, m)
		if worst == nil {
			worst = links
			continue
		}
		for i, row := range links {
			for j, chance := range row {
				worst[i][j] = min(worst[i][j], chance)
			}
		}
	}
	return worst, farM, nil
}

// links returns the chances that posts see each other's signal at places that they know,
// and how far that is at best.
func (p *placing) links(ctx context.Context, s plan.Signal, at time.Time) (place.Links, float64, error) {
	k := seer{Eyes: p.plan.Looking.Eyes, Going: plan.Going{Task: TaskKnow}, eyeM: p.plan.Looking.EyeHeightM}
	l, err := p.looksOf(s, at, k)
	if err != nil {
		return nil, 0, err
	}
	request, err := p.requestBy(s, at, k, true)
	if err != nil {
		return nil, 0, err
	}
	best, err := sightFor(request)
	if err != nil {
		return nil, 0, err
	}
	lamps, eyes := make([]los.Station, len(p.sites)), make([]los.Station, len(p.sites))
	for i, c := range p.sites {
		lamps[i] = los.Station{Col: c.col, Row: c.row, HeightM: p.standsM(s)}
		eyes[i] = los.Station{Col: c.col, Row: c.row, HeightM: k.eyeM}
	}
	links := make(place.Links, len(p.sites))
	for i := range links {
		links[i] = make([]float64, len(p.sites))
	}
	if l.farM() == 0 {
		return links, float64(best.PerceptibleM), nil
	}
	sets, err := los.SeenSets(ctx, p.heights, lamps, eyes, l.farM()*1.01, p.sightLines())
	if err != nil {
		return nil, 0, err
	}
	level := p.levelOf(s, true, 0)
	oneWay := func(i, j int) float64 {
		if !sets[i].Seen.Has(j) {
			return 0
		}
		distM := math.Hypot(p.sites[i].x-p.sites[j].x, p.sites[i].y-p.sites[j].y)
		if level != nil {
			distM = level(p.sites[i], lookedAt{candidate: p.sites[j], heightM: k.eyeM}, distM)
		}
		if row := l.row(distM); row >= 0 {
			return l.mean[row]
		}
		return 0
	}
	for i := range links {
		for j := range i {
			links[i][j] = min(oneWay(i, j), oneWay(j, i))
			links[j][i] = links[i][j]
		}
	}
	return links, float64(best.PerceptibleM), nil
}

// postsWorth returns what posts are worth: the likely ground that they watch for the
// traveller's signal, where it is known, or else those who look and can see theirs.
func (p *placing) postsWorth(ctx context.Context, s plan.Signal, hours []time.Time) (o *objective, cells int, err error) {
	at := hours[0]
	if p.result.Chance == nil {
		o, err = p.watched(ctx, s, at, p.sites)
		return o, 0, err
	}
	watched := *p
	watched.ask.Question, watched.ask.Shown, watched.ask.Signal = plan.PlaceLookouts, nil, ""
	theirs, ok := watched.signalAt(at)
	if !ok {
		theirs = s
	}
	o, ground, _, err := watched.watching(ctx, theirs, slices.DeleteFunc(slices.Clone(hours), func(t time.Time) bool { return !alight(theirs, t) }))
	return o, len(ground.places), err
}
