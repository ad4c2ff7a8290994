package prob

import (
	"errors"
	"fmt"
	"math"
)

// ErrNotSaid says that nobody has said how likely it was that a signal was shown,
// so that not having seen it says nothing.
var ErrNotSaid = errors.New("prob: it is not said how likely the signal was shown")

// Weigh returns what the surface becomes by evidence: the share of each cell, and
// that of the outside, is multiplied by the chance of the evidence if the person is
// there, in [0, 1], and the whole is made 1 again (Bayes). expected is the chance that
// the surface gave the evidence, the sum before that. Evidence that is impossible
// everywhere is ErrEmpty.
func (s *Surface) Weigh(likelihood []float64, outside float64) (after *Surface, expected float64, err error) {
	if len(likelihood) != len(s.Mass) {
		return nil, math.NaN(), fmt.Errorf("prob: %d likelihoods for %d cells", len(likelihood), len(s.Mass))
	}
	if !(outside >= 0 && outside <= 1) {
		return nil, math.NaN(), fmt.Errorf("prob: likelihood %g outside of the map is not from 0 to 1", outside)
	}
	mass := make([]float64, len(s.Mass))
	for i, l := range likelihood {
		if !(l >= 0 && l <= 1) {
			return nil, math.NaN(), fmt.Errorf("prob: likelihood %g of cell %d is not from 0 to 1", l, i)
		}
		mass[i] = s.Mass[i] * l
	}
	expected = sum(mass) + s.Outside*outside
	if !(expected > 0) {
		return nil, expected, ErrEmpty
	}
	for i := range mass {
		mass[i] /= expected
	}
	return &Surface{Frame: s.Frame, Mass: mass, Outside: s.Outside * outside / expected}, expected, nil
}

// An Input is a piece of evidence, or of time, that changes a surface: [Search],
// [NotSeen], [Motion].
type Input interface {
	// apply returns the surface after the input, and the chance that the surface gave
	// to what happened.
	apply(s *Surface) (after *Surface, expected float64, err error)
}

// Search is a search that found nothing.
type Search struct {
	// POD is by cell the chance that the search detects the person if they are there,
	// in [0, 1]. The outside is not searched.
	POD []float64
}

func (q Search) apply(s *Surface) (*Surface, float64, error) {
	if len(q.POD) != len(s.Mass) {
		return nil, math.NaN(), fmt.Errorf("prob: %d chances of detection for %d cells", len(q.POD), len(s.Mass))
	}
	missed := make([]float64, len(q.POD))
	for i, p := range q.POD {
		if !(p >= 0 && p <= 1) {
			return nil, math.NaN(), fmt.Errorf("prob: chance of detection %g of cell %d is not from 0 to 1", p, i)
		}
		missed[i] = 1 - p
	}
	return s.Weigh(missed, 1)
}

// LeastLikelihood is the lowest likelihood that not having seen a signal gives a
// cell, unless it was observed: the lamp may have failed, its owner have slept, the
// haze have lain just there. Own choice.
const LeastLikelihood = 0.2

// NotSeen is a signal that nobody saw who looked: evidence against the places from
// which they would have seen it.
type NotSeen struct {
	// Shown is the chance that the signal was shown then, by somebody able to, in the
	// clear, in [0, 1]. It has no default: NaN is ErrNotSaid.
	Shown float64
	// Noticed is by cell the chance that somebody of those who looked would have
	// noticed it, had it been shown there: over the hours in which it burnt and they
	// looked, with their misses in common counted as such, in [0, 1].
	Noticed []float64
	// Outside is the same for a person outside of the map, commonly 0.
	Outside float64
	// Observed tells that Shown and the air rest on observation (a lamp seen
	// elsewhere that night, the haze measured), so that no least likelihood is kept.
	Observed bool
}

// Likelihood returns the chance that nobody sees the signal if the person is in
// each cell, 1 - Shown x Noticed, and outside.
func (n NotSeen) Likelihood() (cells []float64, outside float64, err error) {
	if math.IsNaN(n.Shown) {
		return nil, math.NaN(), ErrNotSaid
	}
	if !(n.Shown >= 0 && n.Shown <= 1) || !(n.Outside >= 0 && n.Outside <= 1) {
		return nil, math.NaN(), fmt.Errorf("prob: chances %g that the signal was shown and %g that it is noticed outside are not both from 0 to 1", n.Shown, n.Outside)
	}
	cells = make([]float64, len(n.Noticed))
	for i, p := range n.Noticed {
		if !(p >= 0 && p <= 1) {
			return nil, math.NaN(), fmt.Errorf("prob: chance %g of being noticed in cell %d is not from 0 to 1", p, i)
		}
		cells[i] = n.likelihood(p)
	}
	return cells, n.likelihood(n.Outside), nil
}

func (n NotSeen) likelihood(noticed float64) float64 {
	l := 1 - n.Shown*noticed
	if !n.Observed {
		l = max(l, LeastLikelihood)
	}
	return l
}

func (n NotSeen) apply(s *Surface) (*Surface, float64, error) {
	cells, outside, err := n.Likelihood()
	if err != nil {
		return nil, math.NaN(), err
	}
	return s.Weigh(cells, outside)
}
