package job

import (
	"context"
	"fmt"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
)

// A SiteSeer is somebody who can notice a site, alone.
type SiteSeer struct {
	Who      string     `json:"who"`
	Observer string     `json:"observer"`
	NoticeS  cli.Num    `json:"noticed_person_s"`
	From     *time.Time `json:"from"` // first and last time at which a minute's look has a tenth or more; null without a clock
	Until    *time.Time `json:"until"`
}

// tellingChance is the chance of a minute's look from which on somebody is said to
// see a site, and below which nothing is seen of it. Own choice.
const tellingChance = 0.1

// heightsAsTheyAre says what the choice does not draw.
const heightsAsTheyAre = "sites are chosen over the heights as they are and for the stated refraction; what they come to with errors of both drawn is told beside it"

// watcherRests says what the chance of those who look rests on.
var watcherRests = []string{
	"the chance that a minute's look finds the signal, by distance, air, eyes and plants, times the looking time; looks are taken to be toward it",
	"each look in the light of its own quarter of an hour; who has no clock looks in that of the plan's hour",
	"averaged over joint draws that all sites, people and places share, the threshold of person and day among them",
	heightsAsTheyAre,
}

// passive chooses sites for a signal so that those who look notice it.
func (p *placing) passive(ctx context.Context, s plan.Signal, at time.Time) (*Place, error) {
	o, err := p.watched(ctx, s, at, p.sites)
	if err != nil {
		return nil, err
	}
	out, choice, err := p.choose(s, at, o)
	if err != nil {
		return nil, err
	}
	p.tellWatchers(out, o, choice.Sites())
	if out.Drawn, err = p.drawn(ctx, o, choice.Sites()); err != nil {
		return nil, err
	}
	return out, p.seenGround(ctx, s, out, choice.Sites())
}

// watched returns what sites are worth to all who look, each in the light in which they
// do.
func (p *placing) watched(ctx context.Context, s plan.Signal, at time.Time, sites []candidate) (*objective, error) {
	o := &objective{unit: UnitPersonSeconds, restsOn: watcherRests, glances: p.glances(s, at)}
	pairs := sightOver{siteM: p.standsM(s), levelM: p.levelOf(s, true, 0)}
	var err error
	if o.noticedBy, err = p.noticedBy(s, at); err != nil {
		return nil, err
	}
	if o.looks, err = p.looksOfAll(s, o.glances); err != nil {
		return nil, err
	}
	pairs.looks = o.looks
	eyes := make([]candidate, len(p.watch.watchers))
	for i, w := range p.watch.watchers {
		if eyes[i], err = p.put("", w.point); err != nil {
			return nil, err
		}
	}
	for _, g := range o.glances {
		pairs.places = append(pairs.places, lookedAt{eyes[g.watcher], p.seers[p.watch.watchers[g.watcher].by].eyeM, g.weight, g.looks})
		o.total += g.weight
	}
	if from, _ := burning(s); from != always[0] && !p.watch.clocked {
		p.warn(fmt.Sprintf("%s burns for a time, but not everybody who looks has a clock: those without count as if it burnt", s.Name), "give routes a start: and lookouts from: and until:")
	}
	o.over = pairs
	found, err := p.pair(ctx, sites, pairs)
	o.chances, o.mean, o.unknown = found.chances, found.mean, found.unknown
	return o, err
}

// looksOfAll returns the chances for each kind of those who look in each of their lights,
// and tells each glance which are its own. Who cannot be judged in a light notices nothing
// in it, and that is told.
func (p *placing) looksOfAll(s plan.Signal, glances []glance) ([]*looks, error) {
	type key struct {
		by    int
		light time.Time
	}
	var list []*looks
	at := map[key]int{}
	for i, g := range glances {
		k := key{p.watch.watchers[g.watcher].by, g.light}
		n, known := at[k]
		if !known {
			l, err := p.looksOf(s, g.light, p.seers[k.by])
			if err != nil && p.seers[k.by].special() {
				p.leaveOut(fmt.Sprintf("%s: %v, by %s in some of the light in which they look", p, err, p.seers[k.by]))
				l, err = &looks{}, nil
			}
			if err != nil {
				return nil, err
			}
			n = len(list)
			at[k], list = n, append(list, l)
		}
		glances[i].looks = n
	}
	return list, nil
}

// tellWatchers tells who notices the chosen sites, and when.
func (p *placing) tellWatchers(out *Place, o *objective, sites []int) {
	out.Watchers, out.Light = len(p.watch.watchers), lights(o.glances)
	out.Hours = p.byHour(o, o.chances.ByCell(sites))
	for i, site := range sites {
		out.Sites[i].SeenBy = p.seenBy(o, o.chances.ByCell([]int{site}))
	}
}

// seenBy lists who notices one site, in the order of the plan.
func (p *placing) seenBy(o *objective, chance []float64) []SiteSeer {
	list := []SiteSeer{}
	at := map[string]int{}
	zone := p.result.Plan.location
	for i, g := range o.glances {
		if chance[i] == 0 || g.weight == 0 {
			continue
		}
		w := p.watch.watchers[g.watcher]
		n, known := at[w.who]
		if !known {
			n = len(list)
			at[w.who] = n
			list = append(list, SiteSeer{Who: w.who, Observer: p.seers[w.by].observer()})
		}
		seer := &list[n]
		seer.NoticeS += cli.Num(g.weight * chance[i])
		if g.from.IsZero() || chance[i] < tellingChance {
			continue
		}
		if seer.From == nil || g.from.Before(*seer.From) {
			seer.From = instant(g.from, zone)
		}
		if seer.Until == nil || g.until.After(*seer.Until) {
			seer.Until = instant(g.until, zone)
		}
	}
	return list
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
