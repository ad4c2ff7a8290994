package track

import (
	"math"
	"slices"
)

// A Cut is a stretch of a track that is no searching on foot.
type Cut struct {
	Segment, First, Last int // the fixes, from 0, as in the track that was cleaned
	Why                  Why
	LengthM              float64 // of track that is taken out [m]
	Seconds              float64 // by the clock [s]; NaN where the fixes have none
}

// A Why says what a stretch is.
type Why string

// Reasons.
const (
	Jumped  Why = "jump"    // nobody can have been there
	Silent  Why = "gap"     // nothing was recorded on the way: nobody is taken to have walked it
	Stopped Why = "stop"    // somebody stood still, and the receiver wandered
	Driven  Why = "vehicle" // faster than anybody searches on foot
)

// What counts as one of them; own choice.
const (
	silentS = 120.0 // without a fix [s], and
	silentM = 100.0 // so far from the last one [m]
	// Who stays for stoppedS within stoppedM of where the stay began stands still.
	stoppedS, stoppedM = 300.0, 20.0
	// drivenMS is 15 km/h: a run, held for drivenS and drivenM.
	drivenMS, drivenS, drivenM = 15 / 3.6, 60.0, 300.0
)

// Clean returns the track as it was searched on foot, and what was taken out: fixes
// where nobody can have been, steps of which nothing was recorded (between two fixes,
// First and Last), stays, of which the first fix is kept, and stretches in a vehicle.
// What is left of a segment is in as many segments as the cuts leave it. A track
// without times keeps all but its jumps, and clocks that run back are not mended: see
// [Track.ClockFaults].
func (t Track) Clean() (Track, []Cut) { return t.clean(true) }

// CleanFlown returns the track as it was searched from an aircraft, less jumps and steps
// of which nothing was recorded.
func (t Track) CleanFlown() (Track, []Cut) { return t.clean(false) }

func (t Track) clean(onFoot bool) (Track, []Cut) {
	out := Track{Name: t.Name}
	var cuts []Cut
	jumps := t.Jumps()
	for i, s := range t.Segments {
		why := make([]Why, len(s)) // of each fix; "" is kept
		for _, j := range jumps {
			if j.Segment == i {
				why[j.Index] = Jumped
			}
		}
		if onFoot {
			s.markDriven(why)
			s.markStopped(why)
		}
		cuts = append(cuts, s.cuts(i, why)...)
		var piece Segment
		end := func() {
			if len(piece) > 0 {
				out.Segments = append(out.Segments, piece)
			}
			piece = nil
		}
		last := -1 // of the fixes kept
		for k, f := range s {
			switch {
			case why[k] == Driven:
				end()
				continue
			case why[k] != "":
				continue
			}
			if len(piece) > 0 && s.silent(last, k) {
				cuts = append(cuts, Cut{Segment: i, First: last, Last: k, Why: Silent, LengthM: distM(s[last], f), Seconds: between(s[last], f)})
				end()
			}
			piece, last = append(piece, f), k
		}
		end()
	}
	slices.SortStableFunc(cuts, func(a, b Cut) int {
		if a.Segment != b.Segment {
			return a.Segment - b.Segment
		}
		return a.First - b.First
	})
	return out, cuts
}

// cuts lists the runs of marked fixes.
func (s Segment) cuts(segment int, why []Why) (cuts []Cut) {
	for k := 0; k < len(s); k++ {
		if why[k] == "" {
			continue
		}
		c := Cut{Segment: segment, First: k, Last: k, Why: why[k], Seconds: math.NaN()}
		for c.Last+1 < len(s) && why[c.Last+1] == c.Why {
			c.Last++
		}
		// The ways to the first and from the last belong to it.
		from, to := max(k-1, 0), min(c.Last+1, len(s)-1)
		if c.Why != Jumped {
			c.LengthM = s[from : to+1].LengthM()
			if c.Why == Stopped {
				c.LengthM -= distM(s[from], s[to]) // which is still walked
			}
			c.Seconds = between(s[from], s[to])
		}
		cuts, k = append(cuts, c), c.Last
	}
	return cuts
}

// between returns the time from one fix to another [s], NaN where it is not known.
func between(a, b Fix) float64 {
	if a.Time.IsZero() || b.Time.IsZero() {
		return math.NaN()
	}
	return b.Time.Sub(a.Time).Seconds()
}

func (s Segment) silent(from, to int) bool {
	return between(s[from], s[to]) > silentS && distM(s[from], s[to]) > silentM
}

// markDriven marks stretches that are faster on the whole than a run, for longer than
// one. They begin and end with a fast step; slow ones within, as at a crossing, are
// shorter than half of drivenS.
func (s Segment) markDriven(why []Why) {
	first, lengthM := -1, 0.0
	lastFast := -1
	end := func() {
		if first < 0 {
			return
		}
		if took := between(s[first], s[lastFast]); took >= drivenS && lengthM >= drivenM && lengthM > drivenMS*took {
			for k := first; k <= lastFast; k++ {
				if why[k] == "" {
					why[k] = Driven
				}
			}
		}
		first, lengthM = -1, 0
	}
	before := -1
	for k := range s {
		if why[k] == Jumped || s[k].Time.IsZero() {
			continue
		}
		if before >= 0 {
			seconds, m := between(s[before], s[k]), distM(s[before], s[k])
			switch {
			case seconds > 0 && seconds <= silentS && m/seconds > drivenMS:
				if first < 0 {
					first = before
				}
				lastFast = k
				lengthM += m
			case first >= 0 && between(s[lastFast], s[k]) > drivenS/2:
				end()
			}
		}
		before = k
	}
	end()
}

// markStopped marks all but the first fix of stays.
func (s Segment) markStopped(why []Why) {
	for k := 0; k < len(s); k++ {
		if why[k] != "" || s[k].Time.IsZero() {
			continue
		}
		last := k
		for j := k + 1; j < len(s); j++ {
			if why[j] != "" {
				if why[j] == Driven {
					break
				}
				continue
			}
			if s[j].Time.IsZero() || distM(s[k], s[j]) > stoppedM {
				break
			}
			last = j
		}
		if between(s[k], s[last]) < stoppedS {
			continue
		}
		for j := k + 1; j <= last; j++ {
			if why[j] == "" {
				why[j] = Stopped
			}
		}
		k = last
	}
}
