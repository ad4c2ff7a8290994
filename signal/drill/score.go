package drill

import (
	"fmt"
	"math"
	"time"

	"farhail/geo/earth"
	"farhail/geo/prob"
	"farhail/geo/track"

	"github.com/paulmach/orb"
)

// A Pass is how near one track came to what was hidden.
type Pass struct {
	Who      string
	ClosestM float64   // least distance [m]
	At       time.Time // when; zero where the track has no times
	// InSightM is the length of track from which the hidden thing could be noticed
	// [m], FirstSeen when that began.
	InSightM  float64
	FirstSeen time.Time
}

// sightStepM is the length of the pieces of a track in which sight is asked for [m].
const sightStepM = 10

// Passes tells for each track how near it came to a place, and over what length it
// was within sight: nearer than noticedM, with a clear line (nil: always).
// Nothing is taken to have been walked between segments. A track without two fixes
// in a row has the distance of its fixes; one without any is left out. A place that
// is too far for a local map is an error.
func Passes(tracks []track.Track, target orb.Point, noticedM float64, clear func(orb.Point) bool) ([]Pass, error) {
	local := earth.NewLocal(target)
	var list []Pass
	for _, t := range tracks {
		p := Pass{Who: t.Name, ClosestM: math.Inf(1)}
		for _, s := range t.Segments {
			var last stand
			for i, f := range s {
				east, north, err := local.Forward(f.Point)
				if err != nil {
					return nil, fmt.Errorf("drill: track %s: %w", t.Name, err)
				}
				now := stand{east, north, f.Time}
				if i == 0 {
					p.near(math.Hypot(east, north), f.Time)
				} else {
					p.leg(local, last, now, noticedM, clear)
				}
				last = now
			}
		}
		if t.Points() > 0 {
			list = append(list, p)
		}
	}
	return list, nil
}

func (p *Pass) near(distM float64, at time.Time) {
	if distM < p.ClosestM {
		p.ClosestM, p.At = distM, at
	}
}

// A stand is where somebody was in a plane about the target [m], and when.
type stand struct {
	x, y float64
	at   time.Time
}

// leg adds a straight leg.
func (p *Pass) leg(local *earth.Local, from, to stand, noticedM float64, clear func(orb.Point) bool) {
	dx, dy := to.x-from.x, to.y-from.y
	length := math.Hypot(dx, dy)
	nearest := 0.0
	if length > 0 {
		nearest = min(1, max(0, -(from.x*dx+from.y*dy)/(length*length)))
	}
	short := math.Hypot(from.x+nearest*dx, from.y+nearest*dy)
	p.near(short, between(from.at, to.at, nearest))
	if short > noticedM {
		return
	}
	pieces := max(1, int(math.Ceil(length/sightStepM)))
	for i := range pieces {
		k := (float64(i) + 0.5) / float64(pieces)
		x, y := from.x+k*dx, from.y+k*dy
		if math.Hypot(x, y) > noticedM || clear != nil && !clear(local.Inverse(x, y)) {
			continue
		}
		if p.InSightM == 0 {
			p.FirstSeen = between(from.at, to.at, k)
		}
		p.InSightM += length / float64(pieces)
	}
}

// between returns the time at a part of the way, zero where an end has none.
func between(from, to time.Time, part float64) time.Time {
	if from.IsZero() || to.IsZero() {
		return time.Time{}
	}
	return from.Add(time.Duration(part * float64(to.Sub(from))))
}

// A Report is what somebody said to have found.
type Report struct {
	Who   string
	At    time.Time
	Point orb.Point
}

// FoundWithinM is how near a reported place must be to count as found [m]: the error
// of a receiver and of a reading together, own choice.
const FoundWithinM = 100

// Found returns the first report within a distance of what was hidden [m], and how
// long after the start it came [s]; ok is false where there is none. Reports
// without a time, or from before the start, do not count.
func Found(reports []Report, target orb.Point, start time.Time, withinM float64) (first Report, afterS float64, ok bool) {
	for _, r := range reports {
		if r.At.IsZero() || r.At.Before(start) || ok && !r.At.Before(first.At) {
			continue
		}
		if d, _, _ := earth.Inverse(r.Point, target); d <= withinM {
			first, ok = r, true
		}
	}
	if !ok {
		return Report{}, math.NaN(), false
	}
	return first, first.At.Sub(start).Seconds(), true
}

// A Score is how a drill went.
type Score struct {
	FoundS    float64 // from the start to the report that found it [s]; NaN: not found
	FoundBy   string
	ClosestM  float64 // that anybody came [m]; +Inf without tracks
	ClosestBy string
	RankScore float64 // of the group's map [1], from -1 to 1; NaN without one
}

// A Drill is what is known after it of one thing that was hidden.
type Drill struct {
	Hidden  orb.Point
	Start   time.Time
	Passes  []Pass
	Reports []Report
	// Map is where the group thought the person to be; nil without one.
	Map *prob.Surface
}

// Judge puts the figures of a drill together.
func Judge(d Drill) Score {
	s := Score{ClosestM: math.Inf(1), RankScore: math.NaN()}
	first, afterS, ok := Found(d.Reports, d.Hidden, d.Start, FoundWithinM)
	s.FoundS = afterS
	if ok {
		s.FoundBy = first.Who
	}
	for _, p := range d.Passes {
		if p.ClosestM < s.ClosestM {
			s.ClosestM, s.ClosestBy = p.ClosestM, p.Who
		}
	}
	if d.Map != nil {
		col, row := d.Map.Cell(d.Hidden)
		if c := cellAt(d.Map.Frame, col, row); c >= 0 {
			s.RankScore = d.Map.RankScore(c%d.Map.Cols, c/d.Map.Cols)
		}
	}
	return s
}
