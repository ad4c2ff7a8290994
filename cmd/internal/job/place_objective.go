package job

import (
	"context"
	"math"
	"runtime"
	"time"

	"farhail/cmd/internal/plan"
	"farhail/geo/los"
	"farhail/signal/place"
	"farhail/signal/sighting"

	"golang.org/x/sync/errgroup"
)

// An objective is what sites are worth in one question.
type objective struct {
	chances   place.Chances
	mean      []float64 // of each of its rows over the draws
	total     float64   // weight of all that counts
	unit      string
	unknown   int // sight lines that voids leave open, counted as not seen
	noticedBy []PlaceSeer
	restsOn   []string
	// Of a question about those who look: their glances, which the places are, and the
	// chances of each kind in each light.
	glances []glance
	looks   []*looks
	over    sightOver // the pairing that its chances are of
}

// A lookedAt is a place from which a site is looked at, or at which it looks.
type lookedAt struct {
	candidate
	heightM float64
	weight  float64
	by      int // which of the looks
}

// Distances are taken in steps of rowStep from nearRowM on: all pairs of one step
// have the chances of its middle, which is at most 2 % off. Own choice.
const (
	rowStep  = 1.04
	nearRowM = 5.0
)

// A looks is the chance of a minute's look by distance and joint draw, for one kind of
// those who look.
type looks struct {
	rows [][]float32
	mean []float64 // of each row over the draws
	from int       // where its rows stand in the objective
}

// farM is the distance beyond which nothing is noticed.
func (l *looks) farM() float64 {
	if len(l.rows) == 0 {
		return 0
	}
	return nearRowM * math.Pow(rowStep, float64(len(l.rows))-0.5)
}

// row returns the row of a distance, -1 where it is too far.
func (l *looks) row(distM float64) int {
	if !(distM < l.farM()) {
		return -1
	}
	return min(int(math.Round(math.Log(max(distM, nearRowM)/nearRowM)/math.Log(rowStep))), len(l.rows)-1)
}

// cut leaves off the far rows in which nothing is noticed.
func (l *looks) cut() {
	l.mean = l.mean[:0]
	last := 0
	for i, row := range l.rows {
		sum := 0.0
		for _, p := range row {
			sum += float64(p)
		}
		l.mean = append(l.mean, sum/float64(len(row)))
		if l.mean[i] >= leastChance {
			last = i + 1
		}
	}
	l.rows, l.mean = l.rows[:last], l.mean[:last]
}

// leastChance is the mean chance of a look below which a pair is not counted: own
// choice.
const leastChance = 0.005

// looksOf returns the chances of a signal at an hour for one kind of those who look.
func (r *run) looksOf(s plan.Signal, at time.Time, k seer) (*looks, error) {
	if s.Heard() {
		return r.hearsOf(s)
	}
	request, err := r.requestBy(s, at, k, true)
	if err != nil {
		return nil, err
	}
	q, err := request.ask(&SightResult{})
	if err != nil {
		return nil, err
	}
	var dist []float64
	for d := nearRowM; d <= viewLimitM; d *= rowStep {
		dist = append(dist, d)
	}
	l := &looks{}
	if l.rows, err = q.Looks(sighting.UsualSpread(q.Source.Kind()), r.plan.Seed, dist); err != nil {
		return nil, err
	}
	l.cut()
	return l, nil
}

// hearsOf returns one as far as a sound is noticed: nothing tells its chance.
func (r *run) hearsOf(s plan.Signal) (*looks, error) {
	heard, err := r.hear(s)
	if err != nil {
		return nil, err
	}
	l := &looks{}
	for d := nearRowM; d <= float64(heard.NoticedM); d *= rowStep {
		row := make([]float32, sighting.Draws)
		for i := range row {
			row[i] = 1
		}
		l.rows = append(l.rows, row)
	}
	l.cut()
	return l, nil
}

// A sightOver is a pairing of sites with places over the ground.
type sightOver struct {
	siteM  float64 // height of what stands at a site above the ground
	places []lookedAt
	looks  []*looks
	// cells are the terrain's cells of the places, where all stand at their centres
	// and at one height; nil: anywhere.
	cells []int
	// through: ground does not count, as for sounds.
	through bool
	// levelM returns the distance that is worth as much as that of a site from a
	// place, for a beam that is met off its level; nil: their own.
	levelM func(site candidate, at lookedAt, distM float64) float64
	leastM float64 // no distance is less
	// eyesAtSites: those who look stand at the sites, not at the places.
	eyesAtSites bool
	// skip says which pairs are left out; what they are worth is summed by site. nil:
	// none.
	skip func(site int, at int) bool
}

// row returns the row of chances of a site and a place that sees it, -1 where it is too
// far.
func (o sightOver) row(site candidate, at lookedAt) int {
	distM := max(math.Hypot(at.x-site.x, at.y-site.y), o.leastM)
	if o.levelM != nil {
		distM = o.levelM(site, at, distM)
	}
	l := o.looks[at.by]
	row := l.row(distM)
	if row < 0 {
		return -1
	}
	return l.from + row
}

// A paired is what pairing came to.
type paired struct {
	chances  place.Chances
	mean     []float64 // of each of its rows over the draws
	unknown  int
	noticing []float64 // by site: weight x mean chance of all pairs
	skipped  []float64 // of those left out
}

// pair finds for every site the places that notice it, near enough and over the
// ground, with their chances.
func (r *run) pair(ctx context.Context, sites []candidate, o sightOver) (paired, error) {
	out := paired{noticing: make([]float64, len(sites)), skipped: make([]float64, len(sites))}
	out.chances.States = make([]float64, statesOf(o.looks))
	for i := range out.chances.States {
		out.chances.States[i] = 1 / float64(len(out.chances.States))
	}
	farM := 0.0
	for _, l := range o.looks {
		l.from = len(out.chances.Rows)
		out.chances.Rows, out.mean = append(out.chances.Rows, l.rows...), append(out.mean, l.mean...)
		farM = max(farM, l.farM())
	}
	for _, w := range o.places {
		out.chances.Weights = append(out.chances.Weights, w.weight)
	}
	out.chances.Seen = make([]place.Noticing, len(sites))
	if farM == 0 || len(o.places) == 0 {
		return out, nil
	}
	sets, err := r.seenSets(ctx, sites, o, farM)
	if err != nil {
		return out, err
	}
	unknown := make([]int, len(sites))
	workers := errgroup.Group{}
	workers.SetLimit(runtime.GOMAXPROCS(0))
	for i := range sites {
		workers.Go(func() error {
			var n place.Noticing
			for k, at := range o.places {
				if sets != nil && !sets[i].Seen.Has(k) && !sets[i].Unknown.Has(k) {
					continue
				}
				row := o.row(sites[i], at)
				if row < 0 {
					continue
				}
				if sets != nil && sets[i].Unknown.Has(k) {
					unknown[i]++
					continue
				}
				out.noticing[i] += at.weight * out.mean[row]
				if o.skip != nil && o.skip(i, k) {
					out.skipped[i] += at.weight * out.mean[row]
					continue
				}
				n.Cells = append(n.Cells, int32(k))
				n.Row = append(n.Row, int32(row))
			}
			out.chances.Seen[i] = n
			return nil
		})
	}
	err = workers.Wait()
	for _, n := range unknown {
		out.unknown += n
	}
	return out, err
}

// seenSets returns what each site sees of the places; nil where ground does not count.
func (r *run) seenSets(ctx context.Context, sites []candidate, o sightOver, farM float64) ([]los.SeenSet, error) {
	if o.through {
		return nil, nil
	}
	stations := make([]los.Station, len(sites))
	for i, c := range sites {
		stations[i] = los.Station{Col: c.col, Row: c.row, HeightM: o.siteM}
	}
	// Lengths over the grid and in the plan's frame differ by less than that.
	farM *= 1.01
	if o.cells != nil {
		return los.SeenCells(ctx, r.heights, stations, o.cells, o.places[0].heightM, farM, r.sightLines())
	}
	targets := make([]los.Station, len(o.places))
	for i, w := range o.places {
		targets[i] = los.Station{Col: w.col, Row: w.row, HeightM: w.heightM}
	}
	return los.SeenSets(ctx, r.heights, stations, targets, farM, r.sightLines())
}

// levelOf returns for a beam that does not shine alike to all sides the distance on
// its level that is worth one off it; nil for a signal that shines all round. atSite:
// the signal stands at the site, not at the place.
func (r *run) levelOf(s plan.Signal, atSite bool, eyeM float64) func(candidate, lookedAt, float64) float64 {
	if !beamOf(s).Narrow() {
		return nil
	}
	return func(site candidate, at lookedAt, distM float64) float64 {
		lamp, eye, over := site, at.candidate, at.heightM
		if !atSite {
			lamp, eye, over = at.candidate, site, eyeM
		}
		b := r.beamOver(s, los.Station{Col: lamp.col, Row: lamp.row, HeightM: r.standsM(s)}, over)
		return b.levelM(distM, eye.col, eye.row, eye.x-lamp.x, eye.y-lamp.y)
	}
}
