package sighting

import (
	"farhail/signal/observer"
	"farhail/signal/source"
)

// The provisional purposes, own choice: see Solve.
const (
	// perceptibleChance of one look is what "perceptible" asks for.
	perceptibleChance = 0.9
	// faintestLx is the least illuminance that a plan may count on [lx].
	faintestLx = 1e-8
	// noticedStep is the step that nautical practice takes for a light whose
	// background holds a few other lights, used here for an unknown place.
	noticedStep = 10
)

// A purpose is the threshold that a signal must pass, with its reasons.
type purpose struct {
	lx       float64                            // for a point of light
	contrast func(solidAngleSR float64) float64 // for an area
	factors  []source.Factor
}

// perceptible is the purpose of an observer who is told where to look.
func (q Query) perceptible(point bool) purpose {
	o, b := q.Observer, q.Air.BackgroundCDM2
	switch {
	case point && o.FixedLx > 0:
		return purpose{lx: o.FixedLx, factors: []source.Factor{
			{Name: "fixed threshold", Value: o.FixedLx, Unit: "lx", Source: "as given"}}}
	case !point && o.FixedContrast > 0:
		return purpose{contrast: func(float64) float64 { return o.FixedContrast }, factors: []source.Factor{
			{Name: "fixed contrast threshold", Value: o.FixedContrast, Source: "as given"}}}
	}
	v := observer.VisibilityRatio(perceptibleChance)
	chain := []source.Factor{
		{Name: "field factor F", Value: o.F(), Source: "Crumey 2014: 1.4 to 2.4 in practice"},
		{Name: "visibility ratio V", Value: v, Source: "provisional: nine looks in ten by 1 - 2^(-V^2.5)"},
	}
	if !point {
		large := observer.CrumeyLargeContrast(b)
		return purpose{
			contrast: func(w float64) float64 { return v * o.Contrast(b, w) },
			factors: append([]source.Factor{
				{Name: "laboratory contrast of a large area", Value: large, Source: "Crumey 2014, equation 39"}}, chain...),
		}
	}
	lab := observer.CrumeyPointLx(b)
	return purpose{
		lx: max(v*o.PointLx(b), faintestLx),
		factors: append(append([]source.Factor{
			{Name: "laboratory threshold", Value: lab, Unit: "lx", Source: "Crumey 2014, equation 34"}}, chain...),
			source.Factor{Name: "least illuminance", Value: faintestLx, Unit: "lx", Source: "provisional: own choice"}),
	}
}

// noticed is the purpose of an observer who is not told where to look.
func (q Query) noticed(point bool) purpose {
	if !point {
		free := q
		free.Observer.FixedContrast = 0
		p := free.perceptible(point)
		return purpose{
			contrast: func(w float64) float64 { return noticedStep * p.contrast(w) },
			factors: append(p.factors, source.Factor{
				Name: "unknown place", Value: noticedStep, Source: "provisional: own choice"}),
		}
	}
	iala := observer.IALAPointLx(q.Air.BackgroundCDM2)
	return purpose{
		lx: noticedStep * iala,
		factors: []source.Factor{
			{Name: "IALA curve", Value: iala, Unit: "lx", Source: "IALA E-200-2"},
			{Name: "unknown place", Value: noticedStep, Source: "provisional: own choice, the IALA step for minor background lights"},
		},
	}
}
