// Package track holds what a receiver recorded or a planner drew: fixes, the
// segments they form and the tracks made of segments.
//
// Start with [Track.Summary] for the figures of a track, [Track.Every] for the
// places along it where people stand and [Track.Thin] for one with fewer fixes.
// Lengths are WGS84 geodesics over the
// ground (heights do not enter); nothing is interpolated across a break between
// segments, because nobody recorded what happened there.
//
// A time that is not known is the zero [time.Time], a height that is not known
// is NaN; neither is ever filled in.
package track

import (
	"math"
	"time"

	"github.com/paulmach/orb"
)

// Fix is one recorded or planned position.
type Fix struct {
	Point   orb.Point // longitude, latitude [deg], WGS84
	HeightM float64   // height above sea level as the file gives it [m], NaN = unknown
	Time    time.Time // UTC, zero = unknown
	Name    string
}

// At is a fix of which only the position is known: no height, no time.
func At(p orb.Point) Fix { return Fix{Point: p, HeightM: math.NaN()} }

// Segment is an unbroken run of fixes, in the order of the file.
type Segment []Fix

// Track is a list of segments under one name. Empty segments are kept, so that
// their numbers agree with the file's.
type Track struct {
	Name     string
	Segments []Segment
}

// Points counts the fixes of all segments.
func (t Track) Points() int {
	n := 0
	for _, s := range t.Segments {
		n += len(s)
	}
	return n
}

// Ends returns the first and the last position; ok is false for a track without any.
func (t Track) Ends() (first, last orb.Point, ok bool) {
	for _, s := range t.Segments {
		for _, f := range s {
			if !ok {
				first, ok = f.Point, true
			}
			last = f.Point
		}
	}
	return first, last, ok
}

// Bound is the smallest longitude and latitude box around the fixes; empty
// (see orb.Bound.IsEmpty) for a track without fixes. Longitudes are followed
// from fix to fix, so a track across the 180 degree line gives a narrow box
// whose eastern edge lies beyond 180.
func (t Track) Bound() orb.Bound {
	b := orb.Bound{Min: orb.Point{1, 1}, Max: orb.Point{-1, -1}}
	last, any := 0.0, false
	for _, s := range t.Segments {
		for _, f := range s {
			p := f.Point
			if !any {
				b, any = orb.Bound{Min: p, Max: p}, true
				last = p.Lon()
				continue
			}
			p[0] += 360 * math.Round((last-p.Lon())/360)
			last = p.Lon()
			b = b.Extend(p)
		}
	}
	if b.Min.Lon() < -180 {
		b.Min[0] += 360
		b.Max[0] += 360
	}
	return b
}
