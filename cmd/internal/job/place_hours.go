package job

import (
	"cmp"
	"math"
	"slices"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/sky"
)

// The time of all who look is parted by lightStep, and each part judged in the light of
// its middle: parts whose daylight, moonlight and battery differ by less than about a
// tenth, lightRatio in log10, in that of the first of them. Own choice.
const (
	lightStep  = 15 * time.Minute
	lightRatio = 0.05
)

// By whose light a question is judged.
const (
	LightOfLooks = "while they look" // the light in which each of those who look does so
	LightOfHour  = "at the hour"     // that of the plan's hour
	LightOfBoth  = "while they look, and at the hour for those without a clock"
)

// A PlaceHour is one hour of the clock: how long people look in it, how far they notice
// the signal, and for how much of that the chosen sites are noticed.
type PlaceHour struct {
	From    *time.Time `json:"from"`
	LookS   cli.Num    `json:"look_person_s"`
	NoticeS cli.Num    `json:"noticed_person_s"`
	// HalfM is the longest distance at which a minute's look in the open has an even
	// chance, for any of those who look in this hour.
	HalfM cli.Len `json:"half_chance_m"`
}

// A glance is a part of the time of one watcher, in one light.
type glance struct {
	watcher     int       // of the run's
	from, until time.Time // zero where the clock is not known
	light       time.Time // in whose light
	weight      float64   // person-seconds
	looks       int       // of the objective
}

// glances parts the time of all who look while the signal shows by the light. Who has no
// clock looks in the light of the plan's hour.
func (p *placing) glances(s plan.Signal, at time.Time) []glance {
	from, until := burning(s)
	var list []glance
	for i, w := range p.watch.watchers {
		if w.from.IsZero() {
			list = append(list, glance{watcher: i, light: at, weight: w.weight})
			continue
		}
		end := earlier(w.from.Add(w.stay), until)
		for t := later(w.from, from); t.Before(end); {
			step := t.Truncate(lightStep)
			next := earlier(step.Add(lightStep), end)
			light := earlier(later(step.Add(lightStep/2), from), until.Add(-time.Second))
			list = append(list, glance{watcher: i, from: t, until: next, light: light, weight: w.weight * next.Sub(t).Seconds() / w.stay.Seconds()})
			t = next
		}
	}
	p.alike(s, list)
	return list
}

// alike gives glances in light that is nearly the same the light of the first of them.
func (p *placing) alike(s plan.Signal, list []glance) {
	where, ok := p.position()
	if !ok {
		return // no light is known: the request says so
	}
	type light struct{ lx, output float64 }
	of := func(t time.Time) light {
		lx := sky.LightAt(sky.Sun(where, t), sky.Moon(where, t), sky.Cloud(p.plan.Weather.Cloud)).TotalLx()
		output := 1.0
		if from, _ := burning(s); from != always[0] {
			output = lamp(s).Output(t.Sub(from).Seconds())
		}
		return light{math.Round(math.Log10(lx) / lightRatio), math.Round(math.Log10(output) / lightRatio)}
	}
	times, firsts := map[time.Time]time.Time{}, map[light]time.Time{}
	for i, g := range list {
		if g.from.IsZero() {
			continue
		}
		first, known := times[g.light]
		if !known {
			l := of(g.light)
			if first, known = firsts[l]; !known {
				first, firsts[l] = g.light, g.light
			}
			times[g.light] = first
		}
		list[i].light = first
	}
}

// lights says by whose light all who look are judged.
func lights(list []glance) string {
	with := slices.ContainsFunc(list, func(g glance) bool { return !g.from.IsZero() })
	without := slices.ContainsFunc(list, func(g glance) bool { return g.from.IsZero() })
	switch {
	case with && without:
		return LightOfBoth
	case with:
		return LightOfLooks
	}
	return LightOfHour
}

// halfM returns the longest distance at which a look has an even chance.
func (l *looks) halfM() float64 {
	for i := len(l.mean) - 1; i >= 0; i-- {
		if l.mean[i] >= 0.5 {
			return nearRowM * math.Pow(rowStep, float64(i))
		}
	}
	return 0
}

// hoursTold is how many hours are told of a plan of several days.
const hoursTold = 48

// byHour sums looking and noticing over the hours of the clock.
func (p *placing) byHour(o *objective, chance []float64) []PlaceHour {
	list := []PlaceHour{}
	at := map[time.Time]int{}
	for i, g := range o.glances {
		if g.from.IsZero() || g.weight == 0 {
			continue
		}
		hour := g.from.Truncate(time.Hour)
		n, known := at[hour]
		if !known {
			n = len(list)
			at[hour] = n
			list = append(list, PlaceHour{From: instant(hour, p.result.Plan.location)})
		}
		list[n].LookS += cli.Num(g.weight)
		list[n].NoticeS += cli.Num(g.weight * chance[i])
		list[n].HalfM = max(list[n].HalfM, cli.Len(o.looks[g.looks].halfM()))
	}
	slices.SortStableFunc(list, func(a, b PlaceHour) int { return cmp.Compare(a.From.Unix(), b.From.Unix()) })
	return list[:min(len(list), hoursTold)]
}
