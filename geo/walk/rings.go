package walk

import (
	"farhail/geo/earth"
	"farhail/geo/grid"

	"github.com/paulmach/orb"
)

// A Walker is somebody whose speed is a multiple of a rule's.
type Walker struct {
	Name   string
	Factor float64 // > 0
}

// Walkers returns the three that rings are drawn for: slow, usual and fast at
// 0.6, 1.0 and 1.4 times the rule's speed. Own choice; no source gives figures.
func Walkers() []Walker {
	return []Walker{{"slow", 0.6}, {"usual", 1.0}, {"fast", 1.4}}
}

// A Ring is where a walker can have come by a time.
type Ring struct {
	AfterS    float64 // [s]
	By        string  // the walker's name
	Shape     orb.MultiPolygon
	AreaM2    float64 // ground area of the cells reached [m²]
	FarthestM float64 // greatest distance of the outline from the planning point [m]
	Open      bool    // the ring ends at the terrain's edge or at no data, not where the walker does
}

// Rings returns the rings of a field, for each time [s] one for each walker.
//
// A walker with factor k has at t walked what the rule's walker has at k·t, so
// one field, made with factor 1 and all delays 0, serves for all of them. Its
// MaxSeconds must be [RingSeconds] or more. All walkers keep the stops, counted
// from the field's zero.
func Rings(f *Field, from orb.Point, afterS []float64, walkers []Walker, stops []Stop) []Ring {
	rings := make([]Ring, 0, len(afterS)*len(walkers))
	for _, after := range afterS {
		for _, w := range walkers {
			r := f.Ring(w.Factor*Walked(after, stops), from)
			r.AfterS, r.By = after, w.Name
			rings = append(rings, r)
		}
	}
	return rings
}

// RingSeconds returns the MaxSeconds with which a field serves for [Rings]: the
// fastest walker's last time, and a little more, because an outline lies between
// cells reached before and after its time.
func RingSeconds(afterS []float64, walkers []Walker) float64 {
	var most float64
	for _, after := range afterS {
		for _, w := range walkers {
			most = max(most, after*w.Factor)
		}
	}
	return 1.02*most + 300
}

// Ring returns where the field is at most at that time [s], with no walker's
// name. from is the point that the farthest distance is measured from.
func (f *Field) Ring(seconds float64, from orb.Point) Ring {
	r := Ring{AfterS: seconds, Open: f.Open(seconds), Shape: grid.Outline(f.Frame, f.Seconds, seconds)}
	for row := range f.Rows {
		n := 0
		for _, s := range f.Seconds[row*f.Cols : (row+1)*f.Cols] {
			if float64(s) <= seconds {
				n++
			}
		}
		if n > 0 {
			r.AreaM2 += float64(n) * f.AreaM2(row)
		}
	}
	for _, polygon := range r.Shape {
		for _, p := range polygon[0] {
			d, _, _ := earth.Inverse(from, p)
			r.FarthestM = max(r.FarthestM, d)
		}
	}
	return r
}
