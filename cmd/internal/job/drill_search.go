package job

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/los"
	"farhail/geo/track"
	"farhail/signal/sweep"

	"github.com/paulmach/orb"
)

// A drillSearch is who looks for what is hidden.
type drillSearch struct {
	w       *sweeping
	signals []plan.Signal // what there is to see there
	parties []*drillParty
	posts   []*drillPost
	// fine asks for sight lines from as near together as they can differ: for one place,
	// of which it matters from where it is hidden. Many places make up for each other.
	fine bool
}

// A drillParty goes along tracks.
type drillParty struct {
	by      plan.SearchedBy
	tracks  []track.Track // as far as they count as searching
	speedMS float64
	at      time.Time // whose light
	// By kind of ground, how what shows best is seen; nil where nothing shows.
	passings []*sweep.Passing
	best     []plan.Signal
}

// inFileM is between neighbours of a party that does not go abreast [m]. Own choice.
const inFileM = 2

// shows returns what there is to see of something hidden: its signals that are seen,
// and somebody who lies there unless they lie alone. A sound, and a mirror that somebody
// must aim, are left out, and that is told.
func (r *run) shows(names []string, alone bool) []plan.Signal {
	var list []plan.Signal
	for _, name := range names {
		switch s := r.target(name); {
		case s.Heard():
			r.leaveOut(name + " in a drill's chances: it is heard, and nobody's way tells how well they listened")
		case s.Kind == plan.Mirror:
			r.leaveOut(name + " in a drill's chances: a mirror shows to whom it is aimed at alone")
		default:
			list = append(list, s)
		}
	}
	if !alone {
		list = append(list, plan.SomebodyLying())
	}
	return list
}

// planSearch is the plan's parties and lookouts during a drill. Who is told to begin
// outside of it begins with it, which a note tells.
func (r *run) planSearch(w *sweeping, begins, ends time.Time) *drillSearch {
	s := &drillSearch{w: w}
	var outside []string
	for i, p := range r.plan.Looking.Parties {
		by := plan.SearchedBy{Name: p.Name, People: p.People, SpacingM: p.SpacingM, SpeedMS: p.SpeedMS, Fatigued: p.Fatigued, Eyes: p.Eyes}
		start := p.Start
		if start.IsZero() {
			start = begins
		}
		party := &drillParty{by: by, tracks: timed(r.parties[i], track.Spacing{Pace: pace(r.rule(), r.heights), Start: start})}
		sum := track.Summarise(party.tracks...)
		if !sum.First.IsZero() && (sum.First.Before(begins) || sum.First.After(ends)) {
			outside = append(outside, p.Name)
			party.tracks = redated(party.tracks, begins.Sub(sum.First))
		}
		s.add(party, ends)
	}
	posts, late := r.planPosts(begins, ends)
	s.posts, outside = posts, append(outside, late...)
	if len(outside) > 0 {
		r.warn(fmt.Sprintf("outside of the drill by the plan's times, and taken by the forecast to begin with it: %s", strings.Join(outside, ", ")), "give them times within the drill")
	}
	return s
}

// add settles a party's spacing, speed and light.
func (s *drillSearch) add(p *drillParty, ends time.Time) {
	if p.by.SpacingM == 0 {
		p.by.SpacingM = inFileM
	}
	speed, _ := searchSpeed(p.by, p.tracks)
	p.speedMS = float64(speed)
	sum := track.Summarise(p.tracks...)
	if last := sum.Last; !sum.First.IsZero() {
		if last.After(ends) {
			last = ends
		}
		p.at = sum.First.Add(max(0, last.Sub(sum.First)) / 2)
	}
	s.parties = append(s.parties, p)
}

// timed returns tracks as places with times, one every few metres.
func timed(tracks []track.Track, o track.Spacing) []track.Track {
	var list []track.Track
	for _, t := range tracks {
		out := track.Track{Name: t.Name}
		run := -1
		for _, at := range t.Every(o) {
			if at.Run != run {
				out.Segments, run = append(out.Segments, nil), at.Run
			}
			last := len(out.Segments) - 1
			f := track.At(at.Point)
			f.Time = at.Time
			out.Segments[last] = append(out.Segments[last], f)
		}
		list = append(list, out)
	}
	return list
}

// redated returns tracks with all their times moved.
func redated(tracks []track.Track, by time.Duration) []track.Track {
	return eachSegment(tracks, func(s track.Segment) track.Segment {
		for i := range s {
			if !s[i].Time.IsZero() {
				s[i].Time = s[i].Time.Add(by)
			}
		}
		return s
	})
}

// before returns tracks without the fixes after a moment; those without a time stay.
func before(tracks []track.Track, end time.Time) []track.Track {
	return eachSegment(tracks, func(s track.Segment) track.Segment {
		return slices.DeleteFunc(s, func(f track.Fix) bool { return f.Time.After(end) })
	})
}

// from returns tracks without the fixes before a moment; those without a time stay.
func from(tracks []track.Track, begin time.Time) []track.Track {
	return eachSegment(tracks, func(s track.Segment) track.Segment {
		return slices.DeleteFunc(s, func(f track.Fix) bool { return !f.Time.IsZero() && f.Time.Before(begin) })
	})
}

// eachSegment returns tracks of the same names with every segment changed; change may
// write into the segment that it is given.
func eachSegment(tracks []track.Track, change func(track.Segment) track.Segment) []track.Track {
	var list []track.Track
	for _, t := range tracks {
		out := track.Track{Name: t.Name}
		for _, s := range t.Segments {
			out.Segments = append(out.Segments, change(slices.Clone(s)))
		}
		list = append(list, out)
	}
	return list
}

// lookFor works out how those who look see what shows.
func (s *drillSearch) lookFor(signals []plan.Signal) error {
	s.signals = signals
	for _, p := range s.parties {
		p.passings, p.best = make([]*sweep.Passing, len(s.w.kinds)), make([]plan.Signal, len(s.w.kinds))
		for k, kind := range s.w.kinds {
			if err := s.pass(p, k, kind); err != nil {
				return err
			}
		}
	}
	for _, p := range s.posts {
		if err := s.watch(p); err != nil {
			return err
		}
	}
	return nil
}

// pass finds the signal that shows best to a party on one kind of ground.
func (s *drillSearch) pass(p *drillParty, k int, kind cellKind) error {
	if k > 0 && len(kind.cells) == 0 {
		return nil
	}
	by := s.w.run.searcher(p.by.Eyes, p.speedMS, p.by.Fatigued)
	for _, signal := range s.signals {
		passing, _, err := s.w.passing(signal, p.at, by, kind, plan.OwnWidth{})
		if err != nil {
			s.w.run.leaveOut(fmt.Sprintf("%s as %s sees it: %v", signal.Name, p.by.Name, err))
			continue
		}
		if p.passings[k] == nil || passing.WidthM > p.passings[k].WidthM {
			p.passings[k], p.best[k] = passing, signal
		}
	}
	return nil
}

// chances returns for each moment and place the chance that what is there has been
// detected by then, by the parties and the lookouts together: the offset of target and
// day is common to them all.
func (s *drillSearch) chances(ctx context.Context, places []orb.Point, moments []time.Time) ([][]float64, error) {
	targets, err := s.targets(places)
	if err != nil {
		return nil, err
	}
	rates := make([][][]float64, len(targets)) // by place, post and offset [1/s]
	for n, t := range targets {
		if rates[n], err = s.ratesOf(t); err != nil {
			return nil, err
		}
	}
	out := make([][]float64, len(moments))
	for i, moment := range moments {
		if out[i], err = s.until(ctx, targets, rates, moment); err != nil {
			return nil, err
		}
		for n := range out[i] {
			if i > 0 {
				// The light of a party is that of the middle of its whole way, so that
				// chances only rise; rounding must not make them fall.
				out[i][n] = max(out[i][n], out[i-1][n])
			}
		}
	}
	return out, nil
}

// until returns for each place the chance that what is there has been detected until a
// moment.
func (s *drillSearch) until(ctx context.Context, targets []drillTarget, rates [][][]float64, moment time.Time) ([]float64, error) {
	w := s.w
	pod := make([]float64, len(targets))
	for k, kind := range w.kinds {
		var of []int // the places on that ground
		var centres []sweep.Point
		for i, t := range targets {
			if t.kind == k {
				of, centres = append(of, i), append(centres, t.at)
			}
		}
		if len(of) == 0 {
			continue
		}
		ways, err := s.ways(k, moment)
		if err != nil {
			return nil, err
		}
		op := sweep.Operation{HeightsM: w.groundM(centres)}
		for _, way := range ways {
			op.Ways = append(op.Ways, sweep.Way{Passing: s.parties[way.party].passings[k], Points: way.points, HeightsM: w.groundM(way.points), Watcher: way.watcher})
		}
		op.Clear = s.clear(k, kind, ways, targets, of)
		searched, err := op.Search(ctx, centres)
		if err != nil {
			return nil, err
		}
		for n, i := range of {
			if pod[i], err = searched.With(n, s.watchedUntil(rates[i], moment)); err != nil {
				return nil, err
			}
		}
	}
	return pod, nil
}

// linesTo are sight lines to what is on a kind of ground: among plants these count, and
// trees do not stand in the way as well.
func (w *sweeping) linesTo(kind cellKind) los.Options {
	if kind.among {
		return w.run.bareLines()
	}
	return w.run.sightLines()
}

// A drillTarget is a place at which something may be.
type drillTarget struct {
	at       sweep.Point
	col, row float64 // of the terrain
	kind     int     // of ground
}

func (s *drillSearch) targets(places []orb.Point) ([]drillTarget, error) {
	list := make([]drillTarget, len(places))
	for i, p := range places {
		at, err := s.w.point(p)
		if err != nil {
			return nil, err
		}
		list[i].at = at
		list[i].col, list[i].row = s.w.run.heights.Cell(p)
		if cell := s.w.cellAt(at); cell >= 0 {
			list[i].kind = int(s.w.kind[cell])
		}
	}
	return list, nil
}

// ways returns the ways of all people until a moment who see anything on a kind of
// ground, in steps that are short beside the distance that matters, or fine ones.
func (s *drillSearch) ways(k int, moment time.Time) ([]walkedWay, error) {
	farM := 0.0
	for _, p := range s.parties {
		if p.passings[k] != nil && p.passings[k].WidthM > 0 {
			farM = max(farM, rangeM(p.passings[k]))
		}
	}
	withinM, stepM := max(receiverM, farM/100), s.w.stepM(farM)
	if s.fine {
		withinM, stepM = receiverM, leastStepM
	}
	var all partyWays
	for n, p := range s.parties {
		if p.passings[k] == nil {
			continue
		}
		side, err := s.w.abreast(p.by, before(p.tracks, moment), withinM, stepM)
		if err != nil {
			return nil, err
		}
		all.add(n, p.by.People, side)
	}
	return all.ways, nil
}

// clear tells whether the line from the middle of a leg to one of the places is
// clear, by lines from the places. Each place is asked for by one goroutine alone.
func (s *drillSearch) clear(k int, kind cellKind, ways []walkedWay, targets []drillTarget, of []int) func(way, leg, cell int) float64 {
	h := s.w.run.heights
	options := s.w.linesTo(kind)
	stations := make([][]los.Station, len(ways))
	for i, way := range ways {
		for n := 1; n < len(way.points); n++ {
			a, b := way.points[n-1], way.points[n]
			col, row := h.Cell(s.w.local.Inverse((a.EastM+b.EastM)/2, (a.NorthM+b.NorthM)/2))
			stations[i] = append(stations[i], los.Station{Col: col, Row: row, HeightM: s.w.run.plan.Looking.EyeHeightM})
		}
	}
	parties := len(s.parties)
	eyes := make([]*los.Eye, len(of)*parties)
	return func(way, leg, cell int) float64 {
		party := ways[way].party
		eye := &eyes[cell*parties+party]
		if *eye == nil {
			t := targets[of[cell]]
			e, err := los.NewEye(h, los.Station{Col: t.col, Row: t.row, HeightM: s.w.run.standsM(s.parties[party].best[k])}, options)
			if err != nil {
				return 0 // nothing is known of lines from there
			}
			*eye = e
		}
		if (*eye).State(stations[way][leg]) == los.Seen {
			return 1
		}
		return 0
	}
}

// A DrillForecast is how the plan would fare with something hidden in many places.
type DrillForecast struct {
	Names  []string    `json:"hidden"` // that show the same
	Drills int         `json:"drills"`
	Hours  []DrillHour `json:"hours"`
	Seen   []string    `json:"seen"` // what of it each party sees best, with its sweep width
}

// A DrillHour is one point of the curve.
type DrillHour struct {
	AfterS        cli.Num `json:"after_s"` // since the drill began
	Found         cli.Num `json:"found"`   // share of the drills
	StandardError cli.Num `json:"standard_error"`
}

// seen says what each party sees best in the open.
func (s *drillSearch) seen() []string {
	list := []string{}
	for _, p := range s.parties {
		if p.passings[0] != nil {
			list = append(list, fmt.Sprintf("%s: %s, sweep width %s", p.by.Name, p.best[0].Name, Distance(p.passings[0].WidthM)))
		}
	}
	return list
}

// showsKey tells apart what shows differently.
func showsKey(names []string, alone bool) string { return fmt.Sprint(strings.Join(names, "\n"), alone) }
