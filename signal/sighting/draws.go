package sighting

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"farhail/signal/source"
)

// A Spread is how uncertain the inputs of a query are: standard deviations,
// plain or of the logarithm to base 10. Begin with [UsualSpread].
type Spread struct {
	VisibilityLog10 float64
	MedianLog10     float64 // of the median observer's threshold
	PersonLog10     float64 // of one person's and one day's threshold about it
	StrengthLog10   float64 // of the intensity of a light, or the contrast of an area
	Refraction      float64
	EyeM            float64 // of the eye's height [m]
}

// UsualSpread returns the spread for a kind of signal: visibility judged by
// eye to 30 %; the laboratory laws' own 0.10 and the 0.29 of people and days,
// own choice from the factor 3 by which published thresholds differ; a flame
// within a factor 5, other lights and contrasts within 20 % (own choice);
// refraction 0 to 0.25 over day and night.
func UsualSpread(k source.Kind) Spread {
	s := Spread{VisibilityLog10: 0.11, MedianLog10: 0.10, PersonLog10: 0.29, StrengthLog10: 0.08, Refraction: 0.06, EyeM: 0.05}
	if k == source.KindFire {
		s.StrengthLog10 = math.Log10(5) / 2
	}
	return s
}

// A Band is a result's 10 %, 50 % and 90 % points.
type Band struct{ Low, Mid, High float64 }

// Bands are what the draws of a query come to.
type Bands struct{ Noticed, Perceptible Band } // [m]

// Draws is how many joint samples of the inputs are taken, one of which is
// drawn for all of them at once.
const Draws = 64

// Bands returns how far the two distances may be off because of the inputs: 64
// joint draws at points of low discrepancy, fixed by the seed, one dimension an
// input. A threshold that is given is not drawn. The same query and seed give
// the same bands, and all queries with that seed see the same draws.
func (q Query) Bands(s Spread, seed uint64) (Bands, error) {
	if err := q.Check(); err != nil {
		return Bands{}, err
	}
	noticed, perceptible := make([]float64, 0, Draws), make([]float64, 0, Draws)
	for _, d := range q.draws(s, seed) {
		r, err := Solve(d)
		if err != nil {
			return Bands{}, err
		}
		noticed, perceptible = append(noticed, r.Noticed.DistanceM), append(perceptible, r.Perceptible.DistanceM)
	}
	return Bands{Noticed: band(noticed), Perceptible: band(perceptible)}, nil
}

// A LineDraw is what one joint draw changes about sight lines over the ground.
type LineDraw struct {
	Refraction float64 // added to the coefficient k
	EyeM       float64 // added to the eye's height [m]
}

// Lines returns what the joint draws of [Query.Bands] and [Query.Looks] with that seed
// change about sight lines: draw by draw the same as in those.
func (s Spread) Lines(seed uint64) []LineDraw {
	list := make([]LineDraw, 0, Draws)
	for _, z := range normalPoints(Draws, seed) {
		list = append(list, LineDraw{Refraction: s.Refraction * z[4], EyeM: s.EyeM * z[5]})
	}
	return list
}

// draws returns the joint draws of a query.
func (q Query) draws(s Spread, seed uint64) []Query {
	point := q.Source.Toward(q.View).Point()
	given := point && q.Observer.FixedLx > 0 || !point && q.Observer.FixedContrast > 0
	list := make([]Query, 0, Draws)
	lines := s.Lines(seed)
	for i, z := range normalPoints(Draws, seed) {
		d := q
		d.Air.VisibilityM *= math.Pow(10, s.VisibilityLog10*z[0])
		if !given {
			d.OffsetLog10 += s.MedianLog10*z[1] + s.PersonLog10*z[2]
		}
		d.Source = scaled{q.Source, math.Pow(10, s.StrengthLog10*z[3])}
		d.Air.Refraction = min(max(q.Air.Refraction+lines[i].Refraction, -0.9), 0.9)
		d.EyeM = max(0, q.EyeM+lines[i].EyeM)
		list = append(list, d)
	}
	return list
}

// band returns the three points; NaN where a value is not known.
func band(v []float64) Band {
	slices.Sort(v)
	if math.IsNaN(v[0]) {
		return Band{math.NaN(), math.NaN(), math.NaN()}
	}
	at := func(share float64) float64 {
		x := share * float64(len(v)-1)
		i := int(x)
		return v[i] + (v[i+1]-v[i])*(x-float64(i))
	}
	return Band{at(0.1), at(0.5), at(0.9)}
}

// drawn is the number of inputs that are drawn.
const drawn = 6

// normalPoints returns n points of low discrepancy, each coordinate normal
// with mean 0 and deviation 1: the additive sequence with steps g^-1, g^-2, ...
// where g^(d+1) = g + 1 (Roberts 2018, "The unreasonable effectiveness of
// quasirandom sequences"), of which each coordinate takes its rank, so that
// every n-th part of every input is drawn once.
func normalPoints(n int, seed uint64) [][drawn]float64 {
	g := 2.0
	for range 64 {
		g = math.Pow(1+g, 1.0/(drawn+1))
	}
	r := rand.New(rand.NewPCG(seed, 0))
	points := make([][drawn]float64, n)
	step := 1.0
	for j := range drawn {
		step /= g
		start := r.Float64()
		within := 0.25 + 0.5*r.Float64() // of the part that is drawn
		place := func(i int) float64 {
			_, u := math.Modf(start + float64(i)*step)
			return u
		}
		order := make([]int, n)
		for i := range order {
			order[i] = i
		}
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(place(a), place(b)) })
		for rank, i := range order {
			u := (float64(rank) + within) / float64(n)
			points[i][j] = math.Sqrt2 * math.Erfinv(2*u-1)
		}
	}
	return points
}

// scaled is a source whose strength differs by a factor from what was stated.
type scaled struct {
	source.Source
	by float64
}

// Toward returns the appearance with its intensity or contrast scaled; no
// contrast is below that of black.
func (s scaled) Toward(v source.View) source.Appearance {
	a := s.Source.Toward(v)
	a.IntensityCD *= s.by
	a.Contrast = max(a.Contrast*s.by, -1)
	return a
}
