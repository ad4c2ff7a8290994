package track

import (
	"math"
	"time"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// Defaults of [Spacing].
const (
	DefaultStepM = 25
	DefaultJoinM = 50
)

// Spacing says how [Track.Every] cuts a route into places.
type Spacing struct {
	StepM float64 // longest stretch one place stands for [m]; 0 = DefaultStepM
	JoinM float64 // segments end to start no further apart than this are walked as one [m]; 0 = DefaultJoinM, negative = never

	// Pace gives the seconds [s] from one position to the next, at most StepM
	// apart, where the fixes have no clock. Nil leaves such seconds unknown.
	Pace func(from, to orb.Point) float64

	// Start is when the first fix of a route without any times is passed;
	// zero = unknown. Ignored where a fix carries a time.
	Start time.Time
}

// Place stands for a stretch of a route.
type Place struct {
	Point   orb.Point // middle of the stretch
	HeightM float64   // between the two fixes around it [m], NaN = unknown
	Time    time.Time // when the middle is passed, zero = unknown
	Seconds float64   // time spent on the stretch [s], NaN = unknown
	LengthM float64   // length of the stretch [m]
	AlongM  float64   // from the start of its run to the middle [m]
	Run     int       // number of the unbroken run it lies on, from 0
	Segment int       // number of the segment it lies on, from 0
}

// Every cuts a track into equal stretches of at most StepM and returns the
// middle of each with the time spent on it, so that a sum over the places
// weighted by Seconds is a sum over the whole time of the walk.
//
// Segments whose ends are more than JoinM apart are separate runs and nothing
// lies between them. Where fixes carry times the seconds are theirs, spread
// evenly over the ground between two timed fixes; a stay falls on the stretch
// where it was made; the way over a joined break was not recorded and counts
// 0 s. Where they carry none, or where the clock runs back, Pace is asked for
// each piece. The sum of the seconds is then [Summary.RecordedS] for a track
// whose fixes all carry times that never run back.
//
// Fixes where the track cannot have been are passed over, see [Track.Jumps].
//
// With Start, a route without times is walked from it, run after run, the way
// between runs taking no time.
func (t Track) Every(o Spacing) []Place {
	if !(o.StepM > 0) {
		o.StepM = DefaultStepM
	}
	if o.JoinM == 0 {
		o.JoinM = DefaultJoinM
	}
	t = t.WithoutJumps()
	var places []Place
	for i, r := range t.runs(o.JoinM) {
		places = append(places, r.places(i, o)...)
	}
	if !o.Start.IsZero() && !t.timed() {
		passed := 0.0
		for i := range places {
			p := &places[i]
			if middle := passed + p.Seconds/2; !math.IsNaN(middle) {
				p.Time = o.Start.Add(time.Duration(middle * float64(time.Second)))
			}
			passed += p.Seconds
		}
	}
	return places
}

func (t Track) timed() bool {
	for _, s := range t.Segments {
		for _, f := range s {
			if !f.Time.IsZero() {
				return true
			}
		}
	}
	return false
}

// leg is the straight way between two fixes.
type leg struct {
	from, to Fix
	lengthM  float64
	bearing  earth.True
	seconds  float64   // by the clock, NaN = no clock
	start    time.Time // when from is passed, by the clock
	segment  int
}

// run is an unbroken chain of legs.
type run []leg

// runs chains the legs of segments whose ends are no more than joinM apart. A
// segment of a single fix gives a leg of no length.
func (t Track) runs(joinM float64) []run {
	var list []run
	var last *Fix
	lastSegment := 0
	clock := t.timed()
	for i, s := range t.Segments {
		if len(s) == 0 {
			continue
		}
		if last != nil && distM(*last, s[0]) <= joinM {
			bridge := newLeg(*last, s[0], lastSegment)
			if clock {
				bridge.seconds = 0
			}
			list[len(list)-1] = append(list[len(list)-1], bridge)
		} else {
			list = append(list, nil)
		}
		r := &list[len(list)-1]
		if len(s) == 1 {
			stand := newLeg(s[0], s[0], i)
			stand.seconds, stand.start = 0, s[0].Time
			*r = append(*r, stand)
		}
		first := len(*r)
		for j := 1; j < len(s); j++ {
			*r = append(*r, newLeg(s[j-1], s[j], i))
		}
		(*r)[first:].spreadClock()
		last, lastSegment = &s[len(s)-1], i
	}
	return list
}

func newLeg(from, to Fix, segment int) leg {
	d, b, _ := earth.Inverse(from.Point, to.Point)
	return leg{from: from, to: to, lengthM: d, bearing: b, seconds: math.NaN(), segment: segment}
}

// spreadClock gives each leg between two timed fixes its share, by length, of
// the time between them.
func (r run) spreadClock() {
	from := -1 // first leg after the last timed fix
	for i := range r {
		if !r[i].from.Time.IsZero() {
			from = i
		}
		if from < 0 || r[i].to.Time.IsZero() {
			continue
		}
		start := r[from].from.Time
		total := r[i].to.Time.Sub(start).Seconds()
		if total < 0 {
			continue
		}
		length := 0.0
		for _, l := range r[from : i+1] {
			length += l.lengthM
		}
		passed := 0.0
		for k := from; k <= i; k++ {
			share := 1 / float64(i+1-from)
			if length > 0 {
				share = r[k].lengthM / length
			}
			r[k].start = start.Add(time.Duration(passed * float64(time.Second)))
			r[k].seconds = total * share
			passed += r[k].seconds
		}
	}
}

// at is the position and height a distance along the leg.
func (l leg) at(alongM float64) (orb.Point, float64) {
	switch {
	case alongM <= 0 || l.lengthM == 0:
		return l.from.Point, l.from.HeightM
	case alongM >= l.lengthM:
		return l.to.Point, l.to.HeightM
	}
	p, _ := earth.Direct(l.from.Point, l.bearing, alongM)
	return p, l.from.HeightM + (l.to.HeightM-l.from.HeightM)*alongM/l.lengthM
}

// places cuts the run into equal stretches.
func (r run) places(number int, o Spacing) []Place {
	total := 0.0
	for _, l := range r {
		total += l.lengthM
	}
	if total == 0 {
		return []Place{r.stay(number)}
	}
	n := max(1, int(math.Ceil(total/o.StepM-1e-9)))
	step := total / float64(n)
	list := make([]Place, n)
	for k := range list {
		list[k] = Place{LengthM: step, AlongM: (float64(k) + 0.5) * step, Run: number}
	}
	passed := 0.0 // length of the legs before this one
	for _, l := range r {
		end := passed + l.lengthM
		first, last := min(n-1, int(passed/step)), min(n-1, int(end/step))
		for k := first; k <= last; k++ {
			p := &list[k]
			from, to := max(passed, float64(k)*step), min(end, float64(k+1)*step)
			if k == n-1 {
				to = end // whatever rounding has left over
			}
			p.Seconds += l.pieceSeconds(from-passed, to-passed, o.Pace)
			if passed <= p.AlongM && p.AlongM < end {
				p.Point, p.HeightM = l.at(p.AlongM - passed)
				p.Segment, p.Time = l.segment, l.timeAt(p.AlongM-passed)
			}
		}
		passed = end
	}
	return list
}

// stay is the place of a run without length.
func (r run) stay(number int) Place {
	p := Place{Point: r[0].from.Point, HeightM: r[0].from.HeightM, Run: number, Segment: r[0].segment}
	for _, l := range r {
		p.Seconds += l.pieceSeconds(0, 0, nil)
	}
	if !r[0].start.IsZero() {
		p.Time = r[0].start.Add(time.Duration(p.Seconds / 2 * float64(time.Second)))
	}
	return p
}

// timeAt is when a place on the leg is passed, zero where there is no clock.
func (l leg) timeAt(alongM float64) time.Time {
	if l.start.IsZero() {
		return time.Time{}
	}
	return l.start.Add(time.Duration(l.seconds * alongM / l.lengthM * float64(time.Second)))
}

// pieceSeconds is the time spent on a piece of the leg. Pieces that rounding
// leaves at the edge of a stretch take no time on foot.
func (l leg) pieceSeconds(fromM, toM float64, pace func(from, to orb.Point) float64) float64 {
	const least = 1e-6 // m
	switch {
	case !math.IsNaN(l.seconds) && l.lengthM == 0:
		return l.seconds
	case !math.IsNaN(l.seconds):
		return l.seconds * max(0, toM-fromM) / l.lengthM
	case toM-fromM < least:
		return 0
	case pace == nil:
		return math.NaN()
	}
	a, _ := l.at(fromM)
	b, _ := l.at(toM)
	return pace(a, b)
}
