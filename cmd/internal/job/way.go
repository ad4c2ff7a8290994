package job

import (
	"math"
	"strconv"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/geo/earth"
	"farhail/geo/track"
)

// A WayLeg is a part of a way, straight from a point that has a name, or from a bend,
// to the next.
type WayLeg struct {
	From        string    `json:"from"` // "" without a name
	To          string    `json:"to"`
	FromAt      LatLon    `json:"from_at"`
	ToAt        LatLon    `json:"to_at"`
	TrueDeg     cli.Angle `json:"bearing_true_deg"`     // straight
	MagneticDeg cli.Angle `json:"bearing_magnetic_deg"` // on the day; null where that or the model is not known
	LengthM     cli.Len   `json:"length_m"`             // along the way
}

// wayLegsMost is the most legs that the way of a party without named points is cut
// into, which fit its page. Own choice.
const wayLegsMost = 8

// bends returns the points between which legs go: those with names, or where only the
// ends have any at most so many bends, and how far the way leaves them [m], NaN for
// names.
func bends(fixes []track.Fix, most int) (ends []int, offM float64) {
	numbered := make(track.Segment, len(fixes))
	for i, f := range fixes {
		numbered[i] = track.At(f.Point)
		numbered[i].Name = strconv.Itoa(i)
		if i == 0 || i == len(fixes)-1 || f.Name != "" {
			ends = append(ends, i)
		}
	}
	if len(ends) > 2 || len(fixes) < 2 {
		return ends, math.NaN()
	}
	thin, off := track.Track{Segments: []track.Segment{numbered}}.Thin(most + 1)
	ends = nil
	for _, f := range thin.Segments[0] {
		i, _ := strconv.Atoi(f.Name) // written above
		ends = append(ends, i)
	}
	return ends, off
}

// wayLeg returns the leg from one fix to another, at a time that its declination is of.
func wayLeg(from, to track.Fix, lengthM float64, at time.Time) WayLeg {
	_, course, _ := earth.Inverse(from.Point, to.Point)
	north := math.NaN()
	if d, err := declination(from.Point, at); err == nil && !at.IsZero() {
		north = float64(course.Magnetic(d))
	}
	return WayLeg{
		From: from.Name, To: to.Name, FromAt: latLon(from.Point), ToAt: latLon(to.Point),
		TrueDeg: cli.Angle(course), MagneticDeg: cli.Angle(north), LengthM: cli.Len(lengthM),
	}
}

// wayLegs cuts tracks into legs, one after the other.
func wayLegs(tracks []track.Track, at time.Time) []WayLeg {
	var fixes []track.Fix
	var along []float64
	for _, t := range tracks {
		for _, s := range t.WithoutJumps().Segments {
			for i, f := range s {
				m := 0.0
				if n := len(along); n > 0 {
					m = along[n-1]
				}
				if i > 0 {
					m += earth.Distance(s[i-1].Point, f.Point)
				}
				fixes, along = append(fixes, f), append(along, m)
			}
		}
	}
	list := []WayLeg{}
	ends, _ := bends(fixes, wayLegsMost)
	for i := 1; i < len(ends); i++ {
		list = append(list, wayLeg(fixes[ends[i-1]], fixes[ends[i]], along[ends[i]]-along[ends[i-1]], at))
	}
	return list
}
