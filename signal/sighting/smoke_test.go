package sighting

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"farhail/signal/air"
	"farhail/signal/source"
)

func smoke(t *rapid.T) Query {
	q := base()
	q.Ground = NoCurvature
	q.Air.BackgroundCDM2 = air.DayBackgroundCDM2
	q.Air.VisibilityM = math.Pow(10, rapid.Float64Range(2.5, 5).Draw(t, "log MOR"))
	q.Source = source.Smoke{
		FuelKGS: math.Pow(10, rapid.Float64Range(-4, 1).Draw(t, "log fuel")), Yield: rapid.Float64Range(0.001, 0.3).Draw(t, "yield"),
		WindMS: rapid.Float64Range(0, 20).Draw(t, "wind"), Stability: rapid.SampledFrom(air.Stabilities).Draw(t, "stability"),
		Column: rapid.SampledFrom(source.Columns).Draw(t, "column"), Behind: rapid.Float64Range(0.03, 1).Draw(t, "behind"),
	}
	return q
}

// More fuel shows smoke no less far, more wind no farther. Under 1 m/s a column
// in calm air is mixed in, which is another model and shows at least as far as the
// plume but for 6 % where one of them is as dense as can be and the other larger.
func TestSmokeSenses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := smoke(t)
		was := solve(t, q)
		up := rapid.Float64Range(1, 3).Draw(t, "more")
		more, windier := q, q
		s := q.Source.(source.Smoke)
		s.FuelKGS *= up
		more.Source = s
		if now := solve(t, more); now.Perceptible.DistanceM < was.Perceptible.DistanceM*(1-1e-9) || now.Noticed.DistanceM < was.Noticed.DistanceM*(1-1e-9) {
			t.Fatalf("more fuel, less distance: %+v, then %+v", was, now)
		}
		s = q.Source.(source.Smoke)
		s.WindMS *= up
		windier.Source = s
		slack := 1e-9
		if q.Source.(source.Smoke).WindMS < air.LeastWindMS {
			slack = 0.06
		}
		if now := solve(t, windier); now.Perceptible.DistanceM > was.Perceptible.DistanceM*(1+slack) || now.Noticed.DistanceM > was.Noticed.DistanceM*(1+slack) {
			t.Fatalf("more wind, more distance: %+v, then %+v", was, now)
		}
	})
}

// No fuel, no smoke from it, and smoke as bright as what is behind it are never
// seen.
func TestSmokeNever(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := smoke(t)
		for what, change := range map[string]func(*source.Smoke){
			"no fuel":  func(s *source.Smoke) { s.FuelKGS = 0 },
			"no yield": func(s *source.Smoke) { s.Yield = 0 },
			"no contrast": func(s *source.Smoke) {
				s.Column, s.Behind = source.White, 0.7
			},
		} {
			s := q.Source.(source.Smoke)
			change(&s)
			none := q
			none.Source = s
			r := solve(t, none)
			if r.Perceptible.DistanceM != 0 || r.Noticed.DistanceM != 0 {
				t.Fatalf("%s is seen: %+v", what, r)
			}
		}
	})
}

// Lookouts find the smoke of young fires to 13.4 km in poor and 20.6 km in good
// conditions (Rego and Catry, Int. J. Wildland Fire 15 (2006) 197-202). A fire
// of 100 g/s in a light wind, against dark forest and in clear air, should be
// of that order and not of another.
func TestSmokeOrder(t *testing.T) {
	q := base()
	q.Ground = NoCurvature
	q.Air.BackgroundCDM2, q.Air.VisibilityM = air.DayBackgroundCDM2, 30_000
	q.Source = source.Smoke{FuelKGS: 0.1, Yield: 0.05, WindMS: 3, Stability: "C", Column: source.White, Behind: 0.05}
	r := solve(t, q)
	assert.Greater(t, r.Perceptible.DistanceM, 10_000.0)
	assert.Less(t, r.Perceptible.DistanceM, 60_000.0)
}
