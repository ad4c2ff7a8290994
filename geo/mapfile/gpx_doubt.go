package mapfile

import (
	"fmt"
	"math"
	"time"

	"farhail/geo/track"

	"github.com/paulmach/orb"
)

// What a segment may hold that is legal and yet doubtful. The limits are own
// choices; none of them changes anything that was read.
const (
	silence = 5 * time.Minute // between two fixes, after which people may have been anywhere
	fastMS  = 70              // faster than a walker, horse or car is fast [m/s]
	fastM   = 100             // and farther than a receiver errs [m]
	sunkM   = 100             // a height of 0 this far below both its neighbours is none [m]
)

// gpsBegin is when GPS time begins. Source: IS-GPS-200 (2022), section 3.3.4.
var gpsBegin = time.Date(1980, 1, 6, 0, 0, 0, 0, time.UTC)

// rollover is the time after which the week number that a satellite sends
// begins at 0 again: 10 bits of it. A receiver that does not count the turns is
// wrong by it. Source: IS-GPS-200 (2022), section 20.3.3.3.1.1.
const rollover = 1024 * 7 * 24 * time.Hour

// spot is where a fix stands in the file.
type spot struct{ line, col, index int32 }

// tally counts one kind of doubt over a segment and keeps its first place.
type tally struct {
	n     int
	first spot
	worst float64
}

func (t *tally) add(at spot, size float64) {
	if t.n == 0 {
		t.first = at
	}
	t.n++
	t.worst = math.Max(t.worst, size)
}

// doubts tells what is odd about a segment whose fixes stand at the given
// spots, one line for each kind.
func (p *gpxReader) doubts(at place, s track.Segment, spots []spot) {
	if len(s) == 0 {
		return
	}
	tell := func(kind string, t tally, text, hint string) {
		if t.n == 0 {
			return
		}
		text = fmt.Sprintf("track %d, segment %d: %s; first at point %d", at.track+1, at.segment+1, text, t.first.index+1)
		p.problems.add(kind, Problem{Line: int(t.first.line), Column: int(t.first.col), Severity: SeverityWarning, Text: text, Hint: hint})
	}
	one := track.Track{Segments: []track.Segment{s}}
	for _, j := range one.Jumps() {
		f, sp := s[j.Index], spots[j.Index]
		at.index = int(sp.index)
		p.problems.add("jump", Problem{Line: int(sp.line), Column: int(sp.col), Severity: SeverityWarning,
			Text: fmt.Sprintf("%s: a jump of %.0f km to %.6g, %.6g (latitude, longitude), not counted in the length", at, j.LengthM/1000, f.Point.Lat(), f.Point.Lon()),
			Hint: "a receiver without a position writes 0, 0: take the point out"})
	}
	var twice, early tally
	for i, f := range s {
		if i > 0 && f.Point == s[i-1].Point {
			twice.add(spots[i], 0)
		}
		if !f.Time.IsZero() && f.Time.Before(gpsBegin) {
			early.add(spots[i], 0)
		}
	}
	p.g.Duplicates += twice.n
	tell("repeated position", twice, fmt.Sprintf("%s the position before %s", count(twice.n, "point repeats", "points repeat"), itThem(twice.n)), "")
	tell("clock not set", early, fmt.Sprintf("%s before 6 January 1980, when GPS time begins", count(early.n, "point is dated", "points are dated")),
		"the receiver's clock was not set: do not rely on these times")
	p.doubtClock(one, spots, tell)
	p.doubtHeights(s, spots, tell)
}

// doubtClock looks at the steps from one timed fix to the next.
func (p *gpxReader) doubtClock(one track.Track, spots []spot, tell func(string, tally, string, string)) {
	s := one.Segments[0]
	var still, back, turned, silent, fast, untimed tally
	for _, c := range one.ClockFaults() {
		switch {
		case c.Seconds == 0:
			still.add(spots[c.Index], 0)
		case !isRollover(c.Seconds, 0):
			back.add(spots[c.Index], -c.Seconds)
		}
	}
	last := -1
	for i, f := range s {
		if f.Time.IsZero() {
			untimed.add(spots[i], 0)
			continue
		}
		if last >= 0 {
			seconds := f.Time.Sub(s[last].Time).Seconds()
			switch {
			case isRollover(seconds, 0):
				turned.add(spots[i], 0)
			case seconds > silence.Seconds():
				silent.add(spots[i], seconds)
			case seconds > 0 && last == i-1:
				if m, ok := stepM(s[last], f, fastMS*seconds); ok {
					fast.add(spots[i], m/seconds)
				}
			}
		}
		last = i
	}
	tell("clock stands still", still, fmt.Sprintf("the clock stands still on %s", count(still.n, "step", "steps")), "")
	tell("clock runs back", back, fmt.Sprintf("the clock runs back on %s, by %s at most", count(back.n, "step", "steps"), timeSpan(back.worst)),
		"nothing was re-dated: put the points in order, or split the track where the clock was set")
	tell("1024 weeks", turned, "the clock jumps by 1024 weeks", rolloverHint)
	tell("silence", silent, fmt.Sprintf("nothing recorded for more than %s %s, %s at most", timeSpan(silence.Seconds()), count(silent.n, "time", "times"), timeSpan(silent.worst)),
		"where the party was meanwhile is not known")
	tell("fast step", fast, fmt.Sprintf("%s faster than %d m/s, %.0f m/s at most", count(fast.n, "step", "steps"), fastMS, fast.worst),
		"a receiver that errs makes such steps: look at the points on a map")
	if untimed.n < len(s) && !p.problems.any("time", "empty time") {
		tell("times missing", untimed, fmt.Sprintf("%d of %d points have no time", untimed.n, len(s)), "")
	}
}

const rolloverHint = "receivers count weeks to 1024 and begin again: nothing was re-dated, add 7168 days where they are missing"

// isRollover says whether a span of time is 1024 weeks, give or take a week, and
// at most more than that.
func isRollover(seconds float64, more time.Duration) bool {
	over := math.Abs(seconds) - rollover.Seconds()
	week := (7 * 24 * time.Hour).Seconds()
	return over > -week && over < week+more.Seconds()
}

// doubtDates looks for 1024 weeks between one segment and the next, and between
// the tracks and the file's own date: a file written 1024 weeks and up to a year
// after them may have them from a receiver that is 1024 weeks behind.
func (p *gpxReader) doubtDates() {
	var last time.Time
	for i, t := range p.g.Tracks {
		for j, s := range t.Segments {
			first, end := timed(s)
			if !last.IsZero() && !first.IsZero() && isRollover(first.Sub(last).Seconds(), 0) {
				p.problems.add("1024 weeks", Problem{Severity: SeverityWarning, Hint: rolloverHint,
					Text: fmt.Sprintf("track %d, segment %d begins %s, what is before it ends %s: 1024 weeks lie between", i+1, j+1, first.Format(time.DateOnly), last.Format(time.DateOnly))})
			}
			if !end.IsZero() {
				last = end
			}
		}
	}
	if p.made.IsZero() || last.IsZero() {
		return
	}
	const year = 366 * 24 * time.Hour
	if isRollover(p.made.Sub(last).Seconds(), year) {
		p.problems.add("1024 weeks", Problem{Line: int(p.madeAt.line), Column: int(p.madeAt.col), Severity: SeverityWarning, Hint: rolloverHint,
			Text: fmt.Sprintf("the file is dated %s, its tracks end %s: 1024 weeks or a little more lie between", p.made.Format(time.DateOnly), last.Format(time.DateOnly))})
	}
}

// timed returns the first and the last time of a segment in its own order, zero
// where it has none.
func timed(s track.Segment) (first, last time.Time) {
	for _, f := range s {
		if first.IsZero() {
			first = f.Time
		}
		if !f.Time.IsZero() {
			last = f.Time
		}
	}
	return first, last
}

// doubtHeights looks for zeros that stand for no height.
func (p *gpxReader) doubtHeights(s track.Segment, spots []spot, tell func(string, tally, string, string)) {
	var zero, missing, sunk tally
	for i, f := range s {
		switch h := f.HeightM; {
		case math.IsNaN(h):
			missing.add(spots[i], 0)
		case h == 0:
			zero.add(spots[i], 0)
			if i > 0 && i < len(s)-1 && s[i-1].HeightM > sunkM && s[i+1].HeightM > sunkM {
				sunk.add(spots[i], 0)
			}
		}
	}
	known := len(s) - missing.n
	if known > 0 && !p.problems.any("elevation", "empty elevation") {
		tell("elevations missing", missing, fmt.Sprintf("%d of %d points have no elevation", missing.n, len(s)), "")
	}
	if zero.n > 1 && zero.n == known {
		tell("elevations 0", zero, "every elevation is 0", "unless this is the sea, 0 was filled in for what was not known: take heights from terrain")
	} else {
		tell("elevations 0", sunk, fmt.Sprintf("%s to 0 between points above %d m", count(sunk.n, "elevation falls", "elevations fall"), sunkM), "0 was filled in for what was not known")
	}
}

// stepM is the length of a step, worked out only where it may be longer than a
// limit [m].
func stepM(a, b track.Fix, limitM float64) (m float64, longer bool) {
	// A degree is at most 112 km; the longitudes' turn over 180 is a long step.
	if 112e3*(math.Abs(a.Point[0]-b.Point[0])+math.Abs(a.Point[1]-b.Point[1])) < math.Max(limitM, fastM) {
		return 0, false
	}
	if a.Point == (orb.Point{}) || b.Point == (orb.Point{}) {
		return 0, false // told as a jump
	}
	m = track.Segment{a, b}.LengthM()
	return m, m > limitM && m > fastM
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func itThem(n int) string {
	if n == 1 {
		return "it"
	}
	return "them"
}

// timeSpan writes seconds in the unit that suits them.
func timeSpan(s float64) string {
	switch {
	case s < 100:
		return fmt.Sprintf("%.3g s", s)
	case s < 100*60:
		return fmt.Sprintf("%.0f min", s/60)
	case s < 100*3600:
		return fmt.Sprintf("%.0f h", s/3600)
	}
	return fmt.Sprintf("%.0f days", s/86400)
}
