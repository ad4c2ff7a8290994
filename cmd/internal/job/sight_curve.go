package job

import (
	"fmt"
	"math"
	"slices"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/signal/air"
	"farhail/signal/observer"
	"farhail/signal/sighting"
)

// A SightCurve is how a signal shows with distance before one background, along
// a clear line.
type SightCurve struct {
	Name        string    // day, night, or what was stated
	DistanceM   []float64 // over the ground
	MarginLog10 []float64 // over what perceptible needs
	Chance      []float64 // of the whole look, or of a pass at that distance to the side; nil where it is not known
	Noticed     SightPoint
	Perceptible SightPoint
	GeographicM float64 // NaN where the earth's curve does not count
}

// A SightPoint is one distance on a curve.
type SightPoint struct {
	DistanceM   float64 // 0: never
	MarginLog10 float64
	Chance      float64 // NaN where the curve has none
}

const (
	curvePoints   = 400 // distances of a curve, beside those of its marks
	nearestCurveM = 1
)

// SightCurves returns the curves of a request for a plot: before the background
// that it states, or else before those of day and night. Terrain is left out.
func SightCurves(r SightRequest) ([]SightCurve, error) {
	r.Heights = nil
	views := r.curveViews()
	results, queries := make([]*SightResult, len(views)), make([]sighting.Query, len(views))
	farM := 0.0
	for i, v := range views {
		var err error
		if results[i], queries[i], err = v.request.judge(); err != nil {
			return nil, err
		}
		for _, m := range []float64{float64(results[i].LuminousM), float64(results[i].PerceptibleM), float64(results[i].NoticedM)} {
			if m > farM { // not NaN
				farM = m
			}
		}
	}
	if farM == 0 {
		return nil, fmt.Errorf("there is nothing to draw: the signal shows at no distance")
	}
	farM = roundUp(1.3 * farM)
	nearM := max(farM/2000, nearestCurveM)
	var curves []SightCurve
	for i, v := range views {
		c, err := v.request.curve(queries[i], results[i], nearM, farM)
		if err != nil {
			return nil, err
		}
		if c.Name = v.name; c.Name == "" {
			c.Name = results[i].Inputs.BackgroundFrom
		}
		curves = append(curves, c)
	}
	return curves, nil
}

// roundUp returns the next of 1, 1.5, 2, 3, 5, 7 times a power of ten.
func roundUp(v float64) float64 {
	decade := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{1, 1.5, 2, 3, 5, 7} {
		if v <= m*decade {
			return m * decade
		}
	}
	return 10 * decade
}

// A curveView is a request before one background.
type curveView struct {
	name    string // "": what the background is from
	request SightRequest
}

// curveViews returns the backgrounds that are drawn.
func (r SightRequest) curveViews() []curveView {
	switch {
	case !math.IsNaN(r.BackgroundCDM2):
		return []curveView{{fmt.Sprintf("before %s cd/m2", cli.Significant(r.BackgroundCDM2)), r}}
	case !r.At.IsZero() || r.BehindStated:
		return []curveView{{"", r}}
	}
	day, night := r, r
	day.BackgroundCDM2, night.BackgroundCDM2 = air.DayBackgroundCDM2, air.NightBackgroundCDM2
	if r.aloft() {
		night.BackgroundCDM2 = air.Background(nightGroundLx, air.Ground)
	}
	views := []curveView{{"day", day}, {"night", night}}
	if r.Signal.Kind == plan.Mirror {
		return views[:1]
	}
	return views
}

// curve works out the curve between two distances.
func (r SightRequest) curve(q sighting.Query, result *SightResult, nearM, farM float64) (SightCurve, error) {
	c := SightCurve{GeographicM: float64(result.GeographicM)}
	q.Ground = sighting.NoCurvature
	chance, err := r.lookChance(q, float64(result.Inputs.Looking.SpeedMS))
	if err != nil {
		return c, err
	}
	at := func(distM float64) (SightPoint, error) {
		s, err := sighting.At(q, q.AlongM(distM))
		p := SightPoint{DistanceM: distM, MarginLog10: s.MarginLog10, Chance: math.NaN()}
		if err == nil && chance != nil {
			p.Chance = chance(distM, s)
		}
		return p, err
	}
	var distances []float64
	for i := range curvePoints {
		distances = append(distances, nearM*math.Pow(farM/nearM, float64(i)/(curvePoints-1)))
	}
	for _, mark := range []struct {
		to *SightPoint
		m  float64
	}{{&c.Noticed, float64(result.NoticedM)}, {&c.Perceptible, float64(result.PerceptibleM)}} {
		if !(mark.m > 0) {
			continue
		}
		if *mark.to, err = at(mark.m); err != nil {
			return c, err
		}
		distances = append(distances, mark.m, mark.m*(1+1e-6)) // where a floor ends a chance at once
	}
	slices.Sort(distances)
	for _, m := range distances {
		p, err := at(m)
		if err != nil {
			return c, err
		}
		c.DistanceM, c.MarginLog10 = append(c.DistanceM, p.DistanceM), append(c.MarginLog10, p.MarginLog10)
		if chance != nil {
			c.Chance = append(c.Chance, p.Chance)
		}
	}
	return c, nil
}

// lookChance returns the chance that the whole look, or a pass, shows the
// signal at a distance; nil where it is not known: the model's lateral curve
// from the air is wrong in shape, that of a measured width was not measured,
// and some laws have no lobe.
func (r SightRequest) lookChance(q sighting.Query, speedMS float64) (func(distM float64, s sighting.Stimulus) float64, error) {
	switch {
	case q.Told:
		return func(_ float64, s sighting.Stimulus) float64 { return observer.Seen(s.V) }, nil
	case r.Task == TaskPass && (q.Aloft || r.Measured.given()) || !q.Observer.Law.HasLobe():
		return nil, nil
	case r.Task == TaskPass:
		p := r.passOf(q, speedMS)
		c, err := solvePass(&p)
		if err != nil {
			return nil, err
		}
		return func(distM float64, _ sighting.Stimulus) float64 { return c.Chance(distM) }, nil
	}
	glimpses := q.Search.Glimpses(q.Search.LookS)
	return func(_ float64, s sighting.Stimulus) float64 {
		return -math.Expm1(glimpses * math.Log1p(-s.ChancePerGlimpse))
	}, nil
}
