package job

import (
	"math"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/los"
	"farhail/signal/air"
	"farhail/signal/sighting"
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
	}
	list = append(list, fireCautions()...)
	if r.WindMS < air.LeastWindMS {
		list = append(list, "in calm air the column stands; its first puffs, gusts and a lid of warm air above are not modelled")
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

// topM returns the height above the ground that a line to the signal is drawn to
// [m]: of smoke the top, since it is sighted at any height along it.
func (r SightRequest) topM(q sighting.Query) float64 {
	if s, ok := q.Source.(source.Smoke); ok {
		return r.Signal.HeightM + s.TopM()
	}
	return r.signalM()
}

// hideFoot takes the part of a smoke that the ground hides out of the query:
// what is lower than the height that the line needs at the fire's place. Where
// the drift carries the smoke is left out.
func (r SightRequest) hideFoot(line los.Sight, q *sighting.Query) {
	s, ok := q.Source.(source.Smoke)
	if !ok || line.State == los.Unknown || !(line.NeedM > r.Signal.HeightM) {
		return
	}
	s.FromM = line.NeedM - r.Signal.HeightM
	q.Source = s
}

// A SmokeAt is smoke that the wind has carried some way from its fire.
type SmokeAt struct {
	DistanceM    cli.Len `json:"distance_m"`
	RiseM        cli.Len `json:"rise_m"`   // of its middle above the fire
	SideM        cli.Len `json:"side_m"`   // standard deviations across the wind
	UpM          cli.Len `json:"up_m"`     // and upward, by the air alone,
	SpreadUpM    cli.Len `json:"spread_m"` // and upward with what its own heat adds
	OpticalDepth cli.Num `json:"optical_depth"`
}

// plume returns the smoke at distances downwind; only its first 100 m count.
func plume(s source.Smoke) []SmokeAt {
	list := []SmokeAt{}
	if s.WindMS < air.LeastWindMS {
		return list
	}
	for _, distM := range []float64{20, 50, 100, 200, 300, 500, 1000, 2000} {
		d := s.Drift(distM)
		list = append(list, SmokeAt{cli.Len(distM), cli.Len(d.RiseM), cli.Len(d.SideM), cli.Len(d.UpM), cli.Len(d.ThickM), cli.Num(d.OpticalDepth)})
	}
	return list
}
