package track

import (
	"math"

	"github.com/paulmach/orb"
)

const (
	// nullIslandM is how far from 0, 0 a track must be for a fix there to be no
	// place that it passed but what a receiver writes that has none [m], when its
	// other steps are all less than a tenth of that. Own choice.
	nullIslandM = 100e3
	// farM is a step that no recording on the ground or in an aircraft makes from
	// one fix to the next [m]. Own choice.
	farM = 1000e3
)

// Jump is a fix where the track cannot have been.
type Jump struct {
	Segment, Index int     // of the fix, from 0
	LengthM        float64 // from the nearest fix of the segment that is none, the earlier if there is one [m]
}

// Jumps lists the fixes where a track cannot have been: those at exactly 0, 0
// when the nearest other fix of their segment lies 1000 km from there, or 100 km
// and ten times the longest step between others; and single ones more than
// 1000 km from the fixes on both sides when those are not a tenth as far from
// each other. Planned lines may have long steps, so one long step alone is none.
func (t Track) Jumps() []Jump {
	var list []Jump
	for i, s := range t.Segments {
		var real *Fix         // the nearest fix that is not at 0, 0
		longest := math.NaN() // worked out when it is needed
		for j := range s {
			if s[j].Point != (orb.Point{}) {
				real = &s[j]
				if m := s.outAndBackM(j); m > 0 {
					list = append(list, Jump{Segment: i, Index: j, LengthM: m})
				}
				continue
			}
			for k := j + 1; real == nil && k < len(s); k++ {
				if s[k].Point != (orb.Point{}) {
					real = &s[k]
				}
			}
			if real == nil {
				break // all of them are there
			}
			m := distM(*real, s[j])
			if m > nullIslandM && math.IsNaN(longest) {
				longest = s.longestM()
			}
			if m > farM || m > nullIslandM && m > 10*longest {
				list = append(list, Jump{Segment: i, Index: j, LengthM: m})
			}
		}
	}
	return list
}

// WithoutJumps returns the track less the fixes that Jumps lists; what is left
// of a segment stays in one piece. A track without any comes back as it is.
func (t Track) WithoutJumps() Track {
	jumps := t.Jumps()
	if len(jumps) == 0 {
		return t
	}
	out := Track{Name: t.Name, Segments: make([]Segment, len(t.Segments))}
	for i, s := range t.Segments {
		for j, f := range s {
			if len(jumps) > 0 && jumps[0].Segment == i && jumps[0].Index == j {
				jumps = jumps[1:]
				continue
			}
			out.Segments[i] = append(out.Segments[i], f)
		}
	}
	return out
}

// outAndBackM is the step to a fix that is far from both its neighbours, 0 for
// any other.
func (s Segment) outAndBackM(j int) float64 {
	if j == 0 || j == len(s)-1 || near(s[j-1], s[j]) || near(s[j], s[j+1]) {
		return 0
	}
	if zero := (orb.Point{}); s[j-1].Point == zero || s[j+1].Point == zero {
		return 0 // then it is they who jump
	}
	before, after := distM(s[j-1], s[j]), distM(s[j], s[j+1])
	if m := min(before, after); m > farM && distM(s[j-1], s[j+1]) < m/10 {
		return before
	}
	return 0
}

// longestM is the longest step between fixes that are not at 0, 0.
func (s Segment) longestM() float64 {
	longest := 0.0
	for j := 1; j < len(s); j++ {
		if zero := (orb.Point{}); s[j-1].Point != zero && s[j].Point != zero {
			longest = max(longest, distM(s[j-1], s[j]))
		}
	}
	return longest
}

// near says without much arithmetic that a step is no jump.
func near(a, b Fix) bool {
	return math.Abs(a.Point[0]-b.Point[0]) < 1 && math.Abs(a.Point[1]-b.Point[1]) < 1
}
