package job

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/mapfile"
	"farhail/geo/track"
	"farhail/geo/walk"

	"github.com/paulmach/orb"
)

// A watcher is a place from which people look, for a time.
type watcher struct {
	point  orb.Point
	weight float64       // person-seconds
	from   time.Time     // zero where the clock is not known
	stay   time.Duration // from then on
	by     int           // which of the run's seers
	who    string        // party, lookout or aircraft
	aloft  bool          // from an aircraft
}

// during returns the share of the watcher's time that falls between two
// moments, 1 where its clock is not known.
func (w watcher) during(from, until time.Time) float64 {
	if w.from.IsZero() || w.stay <= 0 {
		return 1
	}
	start, end := w.from, w.from.Add(w.stay)
	if start.Before(from) {
		start = from
	}
	if end.After(until) {
		end = until
	}
	return max(0, end.Sub(start).Seconds()) / w.stay.Seconds()
}

// watch is everybody who looks.
type watch struct {
	looking  Looking
	watchers []watcher
	clocked  bool // every watcher's clock is known
}

// assumedWatch is how long a lookout without times counts for. Own choice; the
// notes say so.
const assumedWatch = time.Hour

// readWatch places a watcher on every 25 m of the parties' tracks and routes, and
// one at each lookout. A route without times is walked by the plan's rule, as on
// the flat where there is no terrain.
func (r *run) readWatch(context.Context) error {
	r.watch = &watch{clocked: true, looking: Looking{EyeHeightM: cli.Len(r.plan.Looking.EyeHeightM)}}
	for i, p := range r.plan.Looking.Parties {
		r.addParty(p, r.parties[i])
	}
	for _, l := range r.plan.Looking.Lookouts {
		r.addLookout(l)
	}
	for i, f := range r.plan.Looking.Aircraft {
		r.addFlight(f, r.flights[i])
	}
	return nil
}

func (r *run) addParty(p plan.Party, tracks []track.Track) {
	by := r.seer(p.Name, seer{Eyes: p.Eyes, Going: p.Going, eyeM: r.plan.Looking.EyeHeightM})
	way := r.addWay(p.Name, tracks, track.Spacing{Pace: pace(r.rule(), r.heights), Start: p.Start}, p.People, by)
	if way.gaps > 0 {
		r.warn(fmt.Sprintf("%s: the route of %s has %d breaks of more than %d m, which nobody is taken to walk", p.File(), p.Name, way.gaps, track.DefaultJoinM), "")
	}
	zone := r.result.Plan.location
	r.watch.looking.Parties = append(r.watch.looking.Parties, Party{
		Name: p.Name, Observer: r.seers[by].observer(), People: p.People, LengthM: way.lengthM, Seconds: way.seconds, Gaps: way.gaps, Paths: way.paths,
		From: instant(way.from, zone), Until: instant(way.until, zone), Legs: wayLegs(tracks, cmp.Or(way.from, r.plan.AsOf)),
	})
}

// A way is what somebody who looks goes along.
type way struct {
	lengthM cli.Len
	seconds cli.Num
	gaps    int
	paths   orb.MultiLineString

	from, until time.Time // zero where not known
}

// span takes a watcher into the time that the way takes.
func (w *way) span(at watcher) {
	if w.from.IsZero() || at.from.Before(w.from) {
		w.from = at.from
	}
	if end := at.from.Add(at.stay); end.After(w.until) {
		w.until = end
	}
}

// addWay puts a watcher on every part of the tracks, of so many people and one
// kind of eyes.
func (r *run) addWay(who string, tracks []track.Track, spacing track.Spacing, people, by int) way {
	var out way
	for _, t := range tracks {
		places := t.Every(spacing)
		for i, at := range places {
			out.lengthM += cli.Len(at.LengthM)
			w := watcher{point: at.Point, who: who, by: by, aloft: r.seers[by].aloft()}
			if !math.IsNaN(at.Seconds) {
				w.weight = at.Seconds * float64(people)
				w.stay = seconds(at.Seconds)
				out.seconds += cli.Num(at.Seconds)
			}
			if at.Time.IsZero() {
				r.watch.clocked = false
			} else {
				w.from = at.Time.Add(-w.stay / 2)
				out.span(w)
			}
			if i > 0 && at.Run != places[i-1].Run {
				out.gaps++
			}
			r.watch.watchers = append(r.watch.watchers, w)
		}
		for _, s := range t.Segments {
			if line := lineOf(s); len(line) > 1 {
				out.paths = append(out.paths, line)
			}
		}
	}
	return out
}

func (r *run) addLookout(l plan.Lookout) {
	by := r.seer(l.Name, seer{Eyes: l.Eyes, eyeM: r.plan.Looking.EyeHeightM})
	w := watcher{point: l.Point, who: l.Name, from: l.From, stay: l.Until.Sub(l.From), by: by}
	if l.From.IsZero() || l.Until.IsZero() {
		w.from, w.stay = time.Time{}, assumedWatch
		r.watch.clocked = false
		r.warn(fmt.Sprintf("lookout %s has no watch times and counts for one hour", l.Name), "give it from: and until:")
	}
	w.weight = w.stay.Seconds() * float64(l.People)
	r.watch.watchers = append(r.watch.watchers, w)
	zone := r.result.Plan.location
	r.watch.looking.Lookouts = append(r.watch.looking.Lookouts, Lookout{
		Name: l.Name, Observer: r.seers[by].observer(), Lat: cli.Deg(l.Point.Lat()), Lon: cli.Deg(l.Point.Lon()), People: l.People,
		From: instant(l.From, zone), Until: instant(l.Until, zone), Point: l.Point,
	})
}

// readTracks reads the tracks of a GPX file, or its routes where it holds no
// track, and keeps what the reader found odd as notes.
func (r *run) readTracks(name string) ([]track.Track, error) {
	f, err := r.fsys.Open(name)
	if err != nil {
		return nil, cli.InputError(name, err)
	}
	defer f.Close()
	g, err := mapfile.ReadGPX(f, name)
	if err != nil {
		return nil, err
	}
	r.tell(name, g.Problems)
	tracks := g.Ways()
	if len(tracks) == 0 {
		r.warn(name+": no track and no route in this file", "")
	}
	return tracks, nil
}

// tell keeps a map file's warnings as notes.
func (r *run) tell(name string, problems []mapfile.Problem) {
	for _, p := range problems {
		if p.Severity == mapfile.SeverityWarning {
			r.warn(fmt.Sprintf("%s:%d:%d: %s", name, p.Line, p.Column, p.Text), p.Hint)
		}
	}
}

// pace returns the walking time between two positions by a rule over the
// ground, as on the flat where the ground is not known.
func pace(rule walk.Rule, heights *grid.Heights) func(from, to orb.Point) float64 {
	return func(from, to orb.Point) float64 {
		d, _, _ := earth.Inverse(from, to)
		if d == 0 {
			return 0
		}
		slope := 0.0
		if heights != nil {
			if rise := heights.Sample(to) - heights.Sample(from); !math.IsNaN(rise) {
				slope = rise / d
			}
		}
		return d * rule.MapPace(slope)
	}
}

func lineOf(s track.Segment) orb.LineString {
	line := make(orb.LineString, len(s))
	for i, f := range s {
		line[i] = f.Point
	}
	return line
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }
