package job

import (
	"fmt"
	"math"
	"time"

	"farhail/cmd/internal/plan"
	"farhail/geo/los"
	"farhail/signal/sighting"
	"farhail/signal/sweep"

	"github.com/paulmach/orb"
)

// A drillPost watches from one place.
type drillPost struct {
	name        string
	by          seer
	people      int
	point       orb.Point
	from, until time.Time
	watches     []postWatch
}

// A postWatch is how one of the signals shows to somebody who watches.
type postWatch struct {
	signal  plan.Signal
	offsets []sighting.Watch // by the offset of the threshold
}

// planPosts are the plan's lookouts during a drill. Those that are told to watch outside
// of it watch all through it; outside names them.
func (r *run) planPosts(begins, ends time.Time) (posts []*drillPost, outside []string) {
	for _, l := range r.plan.Looking.Lookouts {
		post := &drillPost{name: l.Name, by: seer{Eyes: l.Eyes, eyeM: r.plan.Looking.EyeHeightM}, people: l.People, point: l.Point, from: l.From, until: l.Until}
		if post.from.IsZero() || !post.from.Before(ends) || !post.until.After(begins) {
			outside = append(outside, l.Name)
			post.from, post.until = begins, ends
		}
		if post.from.Before(begins) {
			post.from = begins
		}
		if post.until.After(ends) {
			post.until = ends
		}
		posts = append(posts, post)
	}
	return posts, outside
}

// watch makes ready how each signal shows to a lookout, in the light of the middle of
// the watch.
func (s *drillSearch) watch(p *drillPost) error {
	p.watches = nil
	at := p.from.Add(p.until.Sub(p.from) / 2)
	for _, signal := range s.signals {
		if !alight(signal, at) {
			continue
		}
		request, err := s.w.run.requestBy(signal, at, p.by, true)
		if err != nil {
			return err
		}
		request.Task = TaskScan
		q, err := request.ask(&SightResult{Kind: signal.Kind})
		if err != nil {
			return err
		}
		w, err := q.Watch()
		if err != nil {
			s.w.run.leaveOut(fmt.Sprintf("%s as %s sees it: %v", signal.Name, p.name, err))
			continue
		}
		one := postWatch{signal: signal}
		for _, offset := range sweep.Offsets() {
			one.offsets = append(one.offsets, w.Raised(offset))
		}
		p.watches = append(p.watches, one)
	}
	return nil
}

// ratesOf returns the rates of finding [1/s] what is at a place, by post and offset; nil
// for a post to which nothing shows.
func (s *drillSearch) ratesOf(t drillTarget) (rates [][]float64, err error) {
	rates = make([][]float64, len(s.posts))
	for k, post := range s.posts {
		if rates[k], _, err = s.postView(post, t); err != nil {
			return nil, err
		}
	}
	return rates, nil
}

// watchedUntil returns the chances by offset of all people at posts who have had a chance
// to notice something until a moment.
func (s *drillSearch) watchedUntil(rates [][]float64, moment time.Time) (watchers [][]float64) {
	for k, post := range s.posts {
		if chance := watchedFor(rates[k], post, moment); chance != nil {
			for range post.people {
				watchers = append(watchers, chance)
			}
		}
	}
	return watchers
}

// watchedFor returns the chance by offset that one person at a post has noticed
// something until a moment; nil for none.
func watchedFor(rates []float64, p *drillPost, moment time.Time) []float64 {
	if moment.After(p.until) {
		moment = p.until
	}
	spent := moment.Sub(p.from).Seconds()
	if rates == nil || spent <= 0 {
		return nil
	}
	chance := make([]float64, len(rates))
	for i, rate := range rates {
		chance[i] = -math.Expm1(-rate * spent)
	}
	return chance
}

// postView returns the rates of what shows best from a post, and what that is.
func (s *drillSearch) postView(p *drillPost, t drillTarget) (best []float64, shows string, err error) {
	w := s.w
	from, err := w.point(p.point)
	if err != nil {
		return nil, "", err
	}
	distM := math.Hypot(from.EastM-t.at.EastM, from.NorthM-t.at.NorthM)
	col, row := w.run.heights.Cell(p.point)
	kind := w.kinds[t.kind]
	options := w.linesTo(kind)
	for _, watch := range p.watches {
		if distM > watch.offsets[0].FarthestM() {
			continue
		}
		eye, err := los.NewEye(w.run.heights, los.Station{Col: t.col, Row: t.row, HeightM: w.run.standsM(watch.signal)}, options)
		if err != nil || eye.State(los.Station{Col: col, Row: row, HeightM: p.by.eyeM}) != los.Seen {
			continue
		}
		clear := kind.plants.Clear(distM)
		rates := make([]float64, len(watch.offsets))
		for i, o := range watch.offsets {
			rates[i] = clear * o.Rate(max(distM, 1))
		}
		if best == nil || rates[len(rates)/2] > best[len(best)/2] {
			best, shows = rates, watch.signal.Name
		}
	}
	return best, shows, nil
}
