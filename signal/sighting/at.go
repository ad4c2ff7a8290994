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

// At returns the stimulus at a distance [m], which must be above 0.
func At(q Query, distM float64) (Stimulus, error) {
	if err := q.Check(); err != nil {
		return Stimulus{}, err
	}
	if !(distM > 0) || math.IsInf(distM, 1) {
		return Stimulus{}, fmt.Errorf("sighting: distance %g m is not a positive length", distM)
	}
	look := q.Source.Toward(q.View)
	nan := math.NaN()
	s := Stimulus{IlluminanceLx: nan, ApparentContrast: nan, ThresholdLx: nan, ThresholdContrast: nan, Hidden: q.hidden(look, distM)}
	w := q.watch(look)
	s.V = w.V(distM)
	σ := q.Air.Extinction()
	var ratio float64
	if look.Point() {
		s.IlluminanceLx = IlluminanceLx(look.IntensityCD, distM, σ)
		s.ThresholdLx = q.perceptibleLx()
		ratio = s.IlluminanceLx / s.ThresholdLx
	} else {
		s.ApparentContrast = ApparentContrast(look.Contrast, distM, σ)
		s.ThresholdContrast = perceptibleV * w.view(distM, distM, observer.ClutterKnown).needed(0)
		ratio = s.V / perceptibleV
	}
	s.MarginLog10 = nan
	if s.Hidden == "" {
		s.ChancePerGlimpse = w.GlimpseChance(distM)
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
	case q.Ground == LineBlocked:
		return Terrain
	case q.Ground == LineUnknown:
		return Edge
	case q.Ground == RoundEarth && distM > q.geographicM():
		return Horizon
	}
	return ""
}
