package job

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/prob"
	"farhail/geo/track"
	"farhail/signal/sighting"
	"farhail/signal/sweep"

	"github.com/paulmach/orb"
	"golang.org/x/sync/errgroup"
)

// An Unseen is a signal that nobody saw who looked.
type Unseen struct {
	Name     string     `json:"name"`
	Signal   string     `json:"signal"`
	From     *time.Time `json:"from"`
	Until    *time.Time `json:"until"`
	By       []string   `json:"by"`
	Shown    cli.Num    `json:"shown"` // null: nobody has said
	Observed bool       `json:"observed"`
	Used     bool       `json:"used"`
	Why      string     `json:"why"`    // it is not used; "" where it is
	Chance   cli.Num    `json:"chance"` // that it would have been noticed, had it been shown where the surface has them
	Least    cli.Num    `json:"least"`  // likelihood that any cell keeps
}

// A post is one watcher's place for a stretch of time.
type post struct {
	point   orb.Point
	seconds float64
}

// A group is people who look alike and together: each with misses of their own.
type group struct {
	seer   seer
	people int
	posts  []post
	rates  [][]float64 // by offset and step of distance [1/s]
	farM   float64
}

// unseen turns a signal that was not seen into evidence; ok is false where it is not
// used, and the result says why.
func (w *sweeping) unseen(ctx context.Context, n plan.NotSeen) (prob.Entry, bool, error) {
	zone := w.run.result.Plan.location
	told := Unseen{Name: n.Name, Signal: n.Signal, From: instant(n.From, zone), Until: instant(n.Until, zone), By: []string{},
		Shown: cli.Num(n.Shown), Observed: n.Observed, Chance: cli.Num(math.NaN()), Least: prob.LeastLikelihood}
	if n.Observed {
		told.Least = 0
	}
	not := func(why, hint string) (prob.Entry, bool, error) {
		told.Why = why
		w.out.NotSeen = append(w.out.NotSeen, told)
		w.run.warn(n.Name+": not used: "+why, hint)
		return prob.Entry{}, false, nil
	}
	s := w.run.target(n.Signal)
	lit, out := burning(s)
	from, until := later(n.From, lit), earlier(n.Until, out)
	switch {
	case math.IsNaN(n.Shown):
		return not("nobody has said how likely it was shown", "add shown: 60 %, the chance that somebody able to showed it then, in the clear")
	case s.Heard() || s.Kind == plan.Mirror:
		return not("what is heard, or flashed by hand at whom its holder sees, is not judged", "")
	case !until.After(from):
		return not("it did not burn while they looked", "")
	}
	groups, names := w.groups(n, from, until)
	told.By = names
	if len(groups) == 0 {
		return not("nobody is known to have looked then", "give lookouts watch times and parties tracks with times, or a start:")
	}
	at := from.Add(until.Sub(from) / 2)
	for i := range groups {
		if err := w.rates(&groups[i], s, at); err != nil {
			return not(err.Error(), "")
		}
	}
	noticed, err := w.noticed(ctx, groups, w.run.standsM(s))
	if err != nil {
		return prob.Entry{}, false, err
	}
	sum := 0.0
	for i, p := range noticed {
		sum += w.before.Mass[i] * p
	}
	told.Used, told.Chance = true, cli.Num(sum)
	w.out.NotSeen = append(w.out.NotSeen, told)
	return prob.Entry{Name: n.Name, At: at, Input: prob.NotSeen{Shown: n.Shown, Noticed: noticed, Observed: n.Observed}}, true, nil
}

// postStepM is how far apart the places lie from which a party on the way is taken to
// look [m]: own choice.
const postStepM = 100

// groups lists who of those named looked between two moments, and from where. A
// lookout looks all round; so does somebody on the way, who stands for each 100 m
// of it. Whose clock is not known did not look.
func (w *sweeping) groups(n plan.NotSeen, from, until time.Time) (list []group, names []string) {
	asked := func(name string) bool { return len(n.By) == 0 || slices.Contains(n.By, name) }
	r := w.run
	names = []string{}
	add := func(name string, g group) {
		if len(g.posts) > 0 {
			list, names = append(list, g), append(names, name)
		}
	}
	for i, p := range r.plan.Looking.Parties {
		if !asked(p.Name) {
			continue
		}
		g := group{seer: seer{Eyes: p.Eyes, eyeM: r.plan.Looking.EyeHeightM}, people: p.People}
		for _, t := range r.parties[i] {
			for _, at := range t.Every(track.Spacing{StepM: postStepM, Pace: pace(r.rule(), r.heights), Start: p.Start}) {
				if at.Time.IsZero() || !(at.Seconds > 0) {
					continue
				}
				stay := watcher{from: at.Time.Add(-seconds(at.Seconds) / 2), stay: seconds(at.Seconds)}
				if s := at.Seconds * stay.during(from, until); s > 0 {
					g.posts = append(g.posts, post{at.Point, s})
				}
			}
		}
		add(p.Name, g)
	}
	for _, l := range r.plan.Looking.Lookouts {
		if !asked(l.Name) {
			continue
		}
		watch := watcher{from: l.From, stay: l.Until.Sub(l.From)}
		g := group{seer: seer{Eyes: l.Eyes, eyeM: r.plan.Looking.EyeHeightM}, people: l.People}
		if s := watch.stay.Seconds() * watch.during(from, until); s > 0 && !l.From.IsZero() {
			g.posts = []post{{l.Point, s}}
		}
		add(l.Name, g)
	}
	return list, names
}

// Steps of the logarithm of the distance in the tables of rates, from nearestRateM on.
const (
	rateStep     = 0.05
	nearestRateM = 1.0
)

// rates tabulates how fast a group finds the signal by distance, for each offset of
// the threshold.
func (w *sweeping) rates(g *group, s plan.Signal, at time.Time) error {
	eyes := g.seer
	if eyes.SectorWidthDeg == 0 {
		eyes.SectorWidthDeg = 360 // they do not know where to look
	}
	request, err := w.run.requestBy(s, at, eyes, true)
	if err != nil {
		return err
	}
	q, err := request.ask(&SightResult{Kind: s.Kind})
	if err != nil {
		return err
	}
	if !q.Observer.Law.HasLobe() {
		return fmt.Errorf("%s has no visual lobe, which a search rests on", q.Observer.Law.Name())
	}
	watch, err := q.Watch()
	if err != nil {
		return err
	}
	offsets := sweep.Offsets()
	g.farM = min(watch.Raised(offsets[0]).FarthestM(), w.across()) // of the luckiest
	for _, offset := range offsets {
		g.rates = append(g.rates, ratesOf(watch.Raised(offset), g.farM))
	}
	return nil
}

// across returns the diagonal of the map [m].
func (w *sweeping) across() float64 {
	east, north := w.frame.Metres(w.frame.Rows / 2)
	return math.Hypot(east*float64(w.frame.Cols), north*float64(w.frame.Rows))
}

func ratesOf(watch sighting.Watch, farM float64) []float64 {
	var list []float64
	for d := nearestRateM; d < farM*math.Exp(rateStep); d *= math.Exp(rateStep) {
		list = append(list, watch.Rate(min(d, farM)))
	}
	return list
}

// rate returns the rate of finding at a distance [1/s], for one offset.
func (g *group) rate(offset int, distM float64) float64 {
	if distM > g.farM {
		return 0
	}
	x := max(math.Log(distM/nearestRateM)/rateStep, 0)
	table := g.rates[offset]
	i := min(int(x), len(table)-2)
	if i < 0 {
		return table[0]
	}
	return table[i] + (table[i+1]-table[i])*(x-float64(i))
}

// leastHazard is a chance of finding that does not matter.
const leastHazard = 1e-4

// reachM returns the distance beyond which a group hardly finds anything in all its
// time [m].
func (g *group) reachM() float64 {
	longest := 0.0
	for _, p := range g.posts {
		longest += p.seconds
	}
	middle := len(g.rates) / 2
	reach := nearestRateM
	for i, r := range g.rates[middle] {
		if r*longest > leastHazard {
			reach = nearestRateM * math.Exp(float64(i+1)*rateStep)
		}
	}
	return min(reach, g.farM)
}

// noticed returns by cell the chance that somebody of the groups would have noticed
// the signal there.
func (w *sweeping) noticed(ctx context.Context, groups []group, targetM float64) ([]float64, error) {
	type from struct {
		lines *seenLines
		at    []sweep.Point
	}
	sees := make([]from, len(groups))
	for i := range groups {
		g := &groups[i]
		var ways []walkedWay
		for _, p := range g.posts {
			at, err := w.point(p.point)
			if err != nil {
				return nil, err
			}
			sees[i].at = append(sees[i].at, at)
			ways = append(ways, walkedWay{eyeM: g.seer.eyeM, points: []sweep.Point{at, at}})
		}
		var err error
		if sees[i].lines, err = w.seenLines(ctx, ways, targetM, g.reachM(), true); err != nil {
			return nil, err
		}
	}
	out := make([]float64, len(w.centres))
	workers, ctx := errgroup.WithContext(ctx)
	workers.SetLimit(runtime.GOMAXPROCS(0))
	for row := range w.frame.Rows {
		workers.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			for cell := row * w.frame.Cols; cell < (row+1)*w.frame.Cols; cell++ {
				var watchers [][]float64
				for i := range groups {
					chance, any := groups[i].chance(w.centres[cell], sees[i].at, func(post int) bool {
						return sees[i].lines == nil || sees[i].lines.clear(post, 0, cell) > 0
					})
					for range groups[i].people {
						if any {
							watchers = append(watchers, chance)
						}
					}
				}
				if len(watchers) == 0 {
					continue
				}
				var err error
				if out[cell], err = sweep.AtLeastOne(watchers); err != nil {
					return err
				}
			}
			return nil
		})
	}
	return out, workers.Wait()
}

// chance returns for each offset of the threshold the chance that one of the group
// notices a signal at a place from any of their posts; any is false where they see
// nothing of it.
func (g *group) chance(at sweep.Point, posts []sweep.Point, clear func(post int) bool) (chance []float64, any bool) {
	var hazard []float64
	for i, p := range g.posts {
		d := math.Hypot(at.EastM-posts[i].EastM, at.NorthM-posts[i].NorthM)
		if d > g.farM || !clear(i) {
			continue
		}
		if hazard == nil {
			hazard = make([]float64, len(g.rates))
		}
		for k := range hazard {
			hazard[k] += g.rate(k, d) * p.seconds
		}
	}
	for i, h := range hazard {
		hazard[i] = -math.Expm1(-h)
	}
	return hazard, hazard != nil
}
