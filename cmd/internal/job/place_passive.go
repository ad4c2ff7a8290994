package job

import (
	"context"
	"fmt"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
)

// A PlaceHour is one hour of the clock: how long people look in it, and for how much
// of that the chosen sites are noticed.
type PlaceHour struct {
	From    *time.Time `json:"from"`
	LookS   cli.Num    `json:"look_person_s"`
	NoticeS cli.Num    `json:"noticed_person_s"`
}

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

// watcherRests says what the chance of those who look rests on.
var watcherRests = []string{
	"the chance that a minute's look finds the signal, by distance, air, eyes and plants, times the looking time; looks are taken to be toward it",
	"averaged over joint draws that all sites, people and places share, the threshold of person and day among them",
	"sight lines for the stated refraction and the heights as they are: their errors are not drawn",
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
	p.tellWatchers(s, out, o, choice.Sites())
	return out, p.seenGround(ctx, s, out, choice.Sites())
}

// watched returns what sites are worth to all who look.
func (p *placing) watched(ctx context.Context, s plan.Signal, at time.Time, sites []candidate) (*objective, error) {
	o := &objective{unit: UnitPersonSeconds, restsOn: watcherRests}
	pairs := sightOver{siteM: p.standsM(s), levelM: p.levelOf(s, true, 0)}
	var err error
	noticed := []float64(nil)
	if noticed, o.noticedBy, err = p.noticedBy(s, at); err != nil {
		return nil, err
	}
	for by, k := range p.seers {
		l := &looks{}
		if noticed[by] > 0 {
			if l, err = p.looksOf(s, at, k); err != nil {
				return nil, err
			}
		}
		pairs.looks = append(pairs.looks, l)
	}
	from, until := burning(s)
	for _, w := range p.watch.watchers {
		eye, err := p.put("", w.point)
		if err != nil {
			return nil, err
		}
		pairs.places = append(pairs.places, lookedAt{eye, p.seers[w.by].eyeM, w.weight * w.during(from, until), w.by})
		o.total += w.weight * w.during(from, until)
	}
	if from != always[0] && !p.watch.clocked {
		p.warn(fmt.Sprintf("%s burns for a time, but not everybody who looks has a clock: those without count as if it burnt", s.Name), "give routes a start: and lookouts from: and until:")
	}
	found, err := p.pair(ctx, sites, pairs)
	o.chances, o.mean, o.unknown = found.chances, found.mean, found.unknown
	return o, err
}

// tellWatchers tells who notices the chosen sites, and when.
func (p *placing) tellWatchers(s plan.Signal, out *Place, o *objective, sites []int) {
	out.Watchers = len(p.watch.watchers)
	from, until := burning(s)
	if p.watch.clocked {
		out.Hours = p.byHour(o.chances.ByCell(sites), from, until)
	}
	for i, site := range sites {
		out.Sites[i].SeenBy = p.seenBy(o.chances.ByCell([]int{site}), o.chances.Weights, from, until)
	}
}

// byHour sums looking and noticing over the hours of the clock.
func (p *placing) byHour(chance []float64, from, until time.Time) []PlaceHour {
	first, last := time.Time{}, time.Time{}
	for _, w := range p.watch.watchers {
		start, end := later(w.from, from), earlier(w.from.Add(w.stay), until)
		if !start.Before(end) {
			continue
		}
		if first.IsZero() || start.Before(first) {
			first = start
		}
		last = later(last, end)
	}
	list := []PlaceHour{}
	const most = 48 // of a plan of more days the first two are told
	for t := first.Truncate(time.Hour); t.Before(last) && len(list) < most; t = t.Add(time.Hour) {
		h := PlaceHour{From: instant(t, p.result.Plan.location)}
		for i, w := range p.watch.watchers {
			share := w.during(later(t, from), earlier(t.Add(time.Hour), until))
			h.LookS += cli.Num(w.weight * share)
			h.NoticeS += cli.Num(w.weight * share * chance[i])
		}
		if h.LookS > 0 {
			list = append(list, h)
		}
	}
	return list
}

// seenBy lists who notices one site, in the order of the plan.
func (p *placing) seenBy(chance, weights []float64, from, until time.Time) []SiteSeer {
	list := []SiteSeer{}
	at := map[string]int{}
	for i, w := range p.watch.watchers {
		if chance[i] == 0 || weights[i] == 0 {
			continue
		}
		n, known := at[w.who]
		if !known {
			n = len(list)
			at[w.who] = n
			list = append(list, SiteSeer{Who: w.who, Observer: p.seers[w.by].observer()})
		}
		seer := &list[n]
		seer.NoticeS += cli.Num(weights[i] * chance[i])
		if w.from.IsZero() || chance[i] < tellingChance {
			continue
		}
		zone := p.result.Plan.location
		if start := later(w.from, from); seer.From == nil || start.Before(*seer.From) {
			seer.From = instant(start, zone)
		}
		if end := earlier(w.from.Add(w.stay), until); seer.Until == nil || end.After(*seer.Until) {
			seer.Until = instant(end, zone)
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
