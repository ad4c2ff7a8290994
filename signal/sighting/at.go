package sighting

import (
	"fmt"
	"math"

	"farhail/signal/observer"
	"farhail/signal/source"
)

// A Stimulus is what reaches the eye at one distance along a clear line.
type Stimulus struct {
	IlluminanceLx     float64 // from a point of light [lx]; NaN for an area
	ApparentContrast  float64 // of an area, with its sign; NaN for a point
	ThresholdLx       float64 // what perceptible asks of a point [lx]; NaN for an area
	ThresholdContrast float64 // what perceptible asks of an area of this size; NaN for a point
	V                 float64 // visibility ratio, looking straight at it along a clear line
	ChancePerGlimpse  float64 // of the search; 0 where the line is hidden
	MarginLog10       float64 // log10 of stimulus over threshold; NaN where the signal shows nothing or the line is hidden
	Hidden            Limit   // what hides the signal at this distance; "" when nothing does
}

// At returns the stimulus at a distance along the line of sight [m], which must
// be above 0, and no less than an eye aloft is above the signal.
func At(q Query, distM float64) (Stimulus, error) {
	if err := q.Check(); err != nil {
		return Stimulus{}, err
	}
	if !(distM > 0) || math.IsInf(distM, 1) {
		return Stimulus{}, fmt.Errorf("sighting: distance %g m is not a positive length", distM)
	}
	if distM < q.aboveM() {
		return Stimulus{}, fmt.Errorf("sighting: an eye %g m above the signal is not %g m from it", q.aboveM(), distM)
	}
	if q.looksDown() {
		q.View.ElevationDeg = q.elevationDeg(distM)
	}
	look := q.Source.Toward(q.View)
	q = q.meets(look)
	nan := math.NaN()
	s := Stimulus{IlluminanceLx: nan, ApparentContrast: nan, ThresholdLx: nan, ThresholdContrast: nan, Hidden: q.hidden(look, distM)}
	w := q.watch(look)
	s.V = w.V(distM)
	σ := q.extinction()
	var ratio float64
	if look.Point() {
		s.IlluminanceLx = pointLx(look, distM, distM, σ)
		s.ThresholdLx = q.perceptibleLx()
		ratio = s.IlluminanceLx / s.ThresholdLx
	} else {
		s.ApparentContrast = w.apparentContrast(distM)
		s.ThresholdContrast = q.perceptibleV() * w.view(distM, distM, observer.ClutterKnown).needed(0)
		ratio = s.V / q.perceptibleV()
	}
	s.MarginLog10 = nan
	if s.Hidden == "" {
		s.ChancePerGlimpse = w.GlimpseChance(distM)
		if !q.Observer.Law.HasLobe() {
			s.ChancePerGlimpse = nan
		}
		if ratio > 0 {
			s.MarginLog10 = math.Log10(ratio)
		}
	}
	return s, nil
}

// hidden returns what stands in the way at a distance, apart from air and eye.
func (q Query) hidden(look source.Appearance, distM float64) Limit {
	switch {
	case look.Absent != "":
		return Limit(look.Absent)
	case q.Air.CloudBetween(q.EyeM, q.SignalM):
		return Cloud
	case q.Ground == LineBlocked:
		return Terrain
	case q.Ground == LineUnknown:
		return Edge
	case q.Ground == RoundEarth && distM > q.geographicM():
		return Horizon
	}
	return ""
}
