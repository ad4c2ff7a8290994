package track

import (
	"math"
	"time"

	"farhail/geo/earth"
)

// LengthM is the geodesic length of the segment over the ground [m]; 0 for
// fewer than two fixes.
func (s Segment) LengthM() float64 {
	sum := 0.0
	for i := 1; i < len(s); i++ {
		sum += distM(s[i-1], s[i])
	}
	return sum
}

func distM(a, b Fix) float64 { return earth.Distance(a.Point, b.Point) }

// Summary holds the figures of one or more tracks. What no fix tells is NaN or
// the zero time.
type Summary struct {
	Points, Segments, EmptySegments int
	Jumps                           int // of the points, those where nobody can have been; see [Track.Jumps]
	Times, Heights                  int // fixes with a time, with a height, less the jumps

	LengthM float64 // inside segments, past the jumps [m]
	GapM    float64 // from the end of each segment to the start of the next of the same track [m]

	First, Last time.Time // earliest and latest, wherever they stand in the file
	ElapsedS    float64   // from First to Last [s]
	RecordedS   float64   // sum over segments of their earliest to latest time [s]
	MeanSpeedMS float64   // length between first and last timed fix of each segment, over RecordedS [m/s]

	MinHeightM, MaxHeightM float64
	AscentM, DescentM      float64 // raw sums of the steps between known heights, no smoothing [m]
}

// Summary returns the figures of the track.
func (t Track) Summary() Summary { return Summarise(t) }

// Summarise returns the figures of several tracks together.
func Summarise(tracks ...Track) Summary {
	nan := math.NaN()
	sum := Summary{ElapsedS: nan, RecordedS: nan, MeanSpeedMS: nan, MinHeightM: nan, MaxHeightM: nan, AscentM: nan, DescentM: nan}
	timedM := 0.0
	for _, t := range tracks {
		var last *Fix
		for _, s := range t.Segments {
			sum.Segments++
			if len(s) == 0 {
				sum.EmptySegments++
			}
			sum.Points += len(s)
		}
		track := t.WithoutJumps()
		sum.Jumps += t.Points() - track.Points()
		for _, s := range track.Segments {
			if len(s) == 0 {
				continue
			}
			if last != nil {
				sum.GapM += distM(*last, s[0])
			}
			last = &s[len(s)-1]
			lengthM := s.LengthM()
			sum.LengthM += lengthM
			sum.heights(s)
			timedM += sum.times(s, lengthM)
		}
	}
	if sum.Times > 0 {
		sum.ElapsedS = sum.Last.Sub(sum.First).Seconds()
	}
	if sum.RecordedS > 0 {
		sum.MeanSpeedMS = timedM / sum.RecordedS
	}
	return sum
}

func (sum *Summary) heights(s Segment) {
	last := math.NaN()
	for _, f := range s {
		h := f.HeightM
		if math.IsNaN(h) {
			continue
		}
		if sum.Heights == 0 {
			sum.MinHeightM, sum.MaxHeightM, sum.AscentM, sum.DescentM = h, h, 0, 0
		}
		sum.Heights++
		sum.MinHeightM, sum.MaxHeightM = min(sum.MinHeightM, h), max(sum.MaxHeightM, h)
		if h > last { // false for the first, where last is NaN
			sum.AscentM += h - last
		} else if h < last {
			sum.DescentM += last - h
		}
		last = h
	}
}

// times adds the clock of a segment and returns the length between its first
// and last timed fix.
func (sum *Summary) times(s Segment, lengthM float64) (timedM float64) {
	from, to := -1, -1
	var first, last time.Time
	for i, f := range s {
		if f.Time.IsZero() {
			continue
		}
		sum.Times++
		if from < 0 {
			from, first, last = i, f.Time, f.Time
		}
		to = i
		if f.Time.Before(first) {
			first = f.Time
		}
		if f.Time.After(last) {
			last = f.Time
		}
	}
	if from < 0 {
		return 0
	}
	if sum.First.IsZero() || first.Before(sum.First) {
		sum.First = first
	}
	if last.After(sum.Last) {
		sum.Last = last
	}
	if math.IsNaN(sum.RecordedS) {
		sum.RecordedS = 0
	}
	sum.RecordedS += last.Sub(first).Seconds()
	if from == 0 && to == len(s)-1 {
		return lengthM // it is measured already
	}
	return s[from : to+1].LengthM()
}
