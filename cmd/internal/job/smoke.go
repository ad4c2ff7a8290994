package job

import (
	"math"

	"farhail/cmd/internal/plan"
	"farhail/signal/air"
	"farhail/signal/source"
)

// smokeOf returns the smoke of a signal in a wind [m/s]. What is not given is
// the usual: the yield of its colour, and the ground behind it.
func smokeOf(s plan.Signal, windMS float64, behind air.Behind) source.Smoke {
	smoke := source.Smoke{
		FuelKGS: s.FuelKGS, Yield: s.SmokeYield, WindMS: windMS,
		Stability: air.Stability(s.Stability), Column: source.Column(s.Column), Behind: s.BackgroundReflectance,
	}
	if math.IsNaN(smoke.Yield) {
		smoke.Yield = source.UsualYield(smoke.Column)
	}
	if math.IsNaN(smoke.Behind) {
		smoke.Behind = air.Factor(behind)
	}
	return smoke
}

// standsM returns how high above the ground a signal shows [m]: smoke from where
// it drifts.
func standsM(s plan.Signal, windMS float64) float64 {
	if s.Kind != plan.Smoke {
		return s.HeightM
	}
	return s.HeightM + smokeOf(s, windMS, air.Ground).RiseM()
}

// standsM returns how high above the ground a signal of the plan shows [m].
func (r *run) standsM(s plan.Signal) float64 { return standsM(s, r.plan.Weather.WindMS) }

// darkCDM2 is the background from which on it is day for smoke: that of ground
// at the end of civil twilight, 3.4 lx, rounded [cd/m2].
const darkCDM2 = 0.1

// smokeCautions are what the reader of a smoke's distance must know.
func (r SightRequest) smokeCautions(backgroundCDM2 float64) []string {
	if r.Signal.Kind != plan.Smoke {
		return nil
	}
	list := []string{
		"smoke is reckoned by formulas for chimneys: a small fire is outside of their trials, and its smoke spreads by a factor 5",
		"obey fire bans: signal fires have become wildfires; burn no rubber or plastic",
	}
	if r.WindMS < air.LeastWindMS {
		list = append(list, "a wind under 1 m/s is taken as 1 m/s: in calm air the column stands, and shows at least as far")
	}
	if backgroundCDM2 < darkCDM2 {
		list = append(list, "smoke is a signal of the day: in the dark few will see it, and the flame shows farther")
	}
	return list
}

// SmokeColumns lists the colours of smoke, the usual first.
func SmokeColumns() []string {
	var list []string
	for _, c := range source.Columns {
		list = append(list, string(c))
	}
	return list
}

// Stabilities lists the classes of how the air mixes, from the least stable.
func Stabilities() []string {
	var list []string
	for _, c := range air.Stabilities {
		list = append(list, string(c))
	}
	return list
}
