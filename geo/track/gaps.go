package track

import "time"

// Gap is a piece of a track of which nothing was recorded.
type Gap struct {
	Segment, Index int     // of the fix after it, from 0
	Break          bool    // the recording was broken off: a new segment begins
	LengthM        float64 // straight across [m]
	Seconds        float64 // by the fixes' clock [s], NaN = unknown, negative where the clock runs back
}

// Gaps lists every break between segments and every step inside a segment that
// took longer than silence.
func (t Track) Gaps(silence time.Duration) []Gap {
	var list []Gap
	var last *Fix
	for i, s := range t.Segments {
		for j := range s {
			f := &s[j]
			if last == nil {
				last = f
				continue
			}
			g := Gap{Segment: i, Index: j, Break: j == 0, Seconds: between(*last, *f)}
			if g.Break || g.Seconds > silence.Seconds() {
				g.LengthM = distM(*last, *f)
				list = append(list, g)
			}
			last = f
		}
	}
	return list
}

// ClockFault is a step on which the clock of a track does not move on.
type ClockFault struct {
	Segment, Index int     // of the later fix in the file, from 0
	Seconds        float64 // 0 = the clock stands still, below 0 = it runs back [s]
}

// ClockFaults lists the steps inside segments, from one timed fix to the next,
// on which the clock stands still or runs back. Nothing is re-dated: a receiver
// that set its clock on the way cannot be told from one that was wrong before.
func (t Track) ClockFaults() []ClockFault {
	var list []ClockFault
	for i, s := range t.Segments {
		var last time.Time
		for j, f := range s {
			if f.Time.IsZero() {
				continue
			}
			if !last.IsZero() && !f.Time.After(last) {
				list = append(list, ClockFault{Segment: i, Index: j, Seconds: f.Time.Sub(last).Seconds()})
			}
			last = f.Time
		}
	}
	return list
}
