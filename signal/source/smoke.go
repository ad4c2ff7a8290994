package source

import (
	"fmt"
	"math"
	"slices"

	"farhail/signal/air"
)

// Column is the colour of smoke.
type Column string

// Columns of smoke: white from smouldering, damp or green fuel, dark from
// flames.
const (
	White Column = "white"
	Dark  Column = "dark"
)

// Columns lists the colours of smoke, the usual first.
var Columns = []Column{White, Dark}

// A tint is what a colour of smoke means for the eye.
type tint struct {
	factor     float64 // luminance factor of smoke that nothing is seen through
	extinction float64 // of light, by a kilogram of smoke [m2/kg]
	yield      float64 // smoke from fuel where none is stated
	source     string  // of the extinction
}

// tints hold for visible light. White smoke in the sun has a luminance factor
// of 0.6 to 0.8, soot hardly any (own choice, from memory). Extinction: flaming
// fuel 8.7 m2/g (Mulholland and Croarkin, Fire Mater. 24 (2000) 227-230, 29
// fuels, 633 nm), smouldering 4.4 (Seader and Einhorn 1976); smoke of forest
// fires 3.5 to 5. Yields: wood in flames 0.015 (red oak; SFPE Handbook), wood
// that smoulders 0.03 to 0.17 there and 0.015 to 0.03 in the open, of which 0.05
// is the geometric middle (own choice). All from memory.
var tints = map[Column]tint{
	White: {factor: 0.7, extinction: 4500, yield: 0.05, source: "smouldering wood, Seader and Einhorn 1976: 4.4 m2/g; forest fires 3.5 to 5"},
	Dark:  {factor: 0.05, extinction: 8700, yield: 0.015, source: "flaming fuels, Mulholland and Croarkin 2000: 8.7 m2/g"},
}

// UsualYield returns the smoke [kg] that a kilogram of fuel is taken to give
// where nothing is stated: 0.05 for white smoke, 0.015 for dark; NaN for a
// colour that is not known.
func UsualYield(c Column) float64 {
	if t, ok := tints[c]; ok {
		return t.yield
	}
	return math.NaN()
}

const (
	// woodHeatJKG is the effective heat of burning wood [J/kg], 12 to 13 MJ/kg in
	// flames (SFPE Handbook), of which convectiveShare rises with the smoke; the
	// rest is radiated (NUREG-1805: 0.30).
	woodHeatJKG     = 13e6
	convectiveShare = 0.7
	// columnM is the length of column that the eye is taken to judge [m],
	// downwind from the fire: where the spread is known, and no more. Own choice.
	columnM = 100
	// riseSpread turns a plume's rise into the standard deviation that its own
	// heat gives it (Pasquill 1976, as in ISC3, equation 1-31; from memory).
	riseSpread = 1 / 3.5
)

// A Smoke is the smoke of a fire by day, drifting with the wind and seen from
// its side. FuelKGS of 0 gives no smoke; all other fields are required.
//
// The plume rises by Briggs ([air.Stability.PlumeRiseM]) and spreads by
// Gaussian curves ([air.Stability.Spread]) and its own heat. Its first 100 m
// count, as an area of even darkness: a line of sight through the middle has
// the optical depth K m Y / (sqrt(2 pi) s u), with mass extinction K, fuel rate
// m, yield Y, vertical standard deviation s and wind u, over a height of
// sqrt(2 pi) s, so that no smoke is lost. In calm air, under the 0.3 m/s at which
// smoke begins to drift, it is a straight column instead (NFPA 92's flow and
// width); between that and 1 m/s the two are mixed.
//
// The curves rest on stacks and open country; a small fire is outside of
// their trials, and yields spread by a factor 5: within a factor 2 of the
// distance where the eye ends it, less where the air does.
type Smoke struct {
	FuelKGS   float64 // fuel burnt [kg/s]
	Yield     float64 // smoke from fuel, by mass, 0 to 1
	WindMS    float64 // [m/s], from 0
	Stability air.Stability
	Column    Column
	Behind    float64 // luminance factor of what is behind it, > 0
	FromM     float64 // ground hides the smoke that is lower than this above its fire [m]
}

// Kind returns [KindSmoke].
func (s Smoke) Kind() Kind { return KindSmoke }

// String describes the smoke.
func (s Smoke) String() string {
	return fmt.Sprintf("%s smoke of %.4g g/s fuel, wind %.3g m/s, stability %s", s.Column, s.FuelKGS*1000, s.WindMS, s.Stability)
}

// Check returns an error that names the first impossible value.
func (s Smoke) Check() error {
	switch {
	case !(s.FuelKGS >= 0) || math.IsInf(s.FuelKGS, 1):
		return fmt.Errorf("smoke: fuel rate %g g/s is not a number from 0 up", s.FuelKGS*1000)
	case !(s.Yield >= 0 && s.Yield <= 1):
		return fmt.Errorf("smoke: yield %g is outside 0 to 1", s.Yield)
	case !(s.WindMS >= 0) || math.IsInf(s.WindMS, 1):
		return fmt.Errorf("smoke: wind %g m/s is not a number from 0 up", s.WindMS)
	case !s.Stability.Known():
		return fmt.Errorf("smoke: stability %q is not one of A to F", s.Stability)
	case !slices.Contains(Columns, s.Column):
		return fmt.Errorf("smoke: column %q is neither white nor dark", s.Column)
	case !(s.Behind > 0 && s.Behind <= maxReflectance):
		return fmt.Errorf("smoke: reflectance behind it, %g, is outside 0 to %g", s.Behind, maxReflectance)
	case !(s.FromM >= 0):
		return fmt.Errorf("smoke: hidden to %g m, which is not a number from 0 up", s.FromM)
	}
	return nil
}

// RiseM returns how high above its fire the smoke drifts [m], at the end of the
// length that counts: what to add to the fire's height for the horizon.
func (s Smoke) RiseM() float64 {
	calm := s.calm()
	if calm == 0 {
		return s.riseM(columnM)
	}
	return calm*s.columnM() + (1-calm)*s.riseM(columnM)
}

// TopM returns how high above its fire the smoke shows [m]: the upper edge of
// what counts.
func (s Smoke) TopM() float64 {
	bent := s.riseM(columnM) + math.Sqrt(2*math.Pi)/2*s.upM(columnM)
	return max(bent*(1-s.calm()), s.columnM()*s.calm())
}

func (s Smoke) riseM(distM float64) float64 {
	return s.Stability.PlumeRiseM(s.flux(), s.WindMS, distM)
}

// risingW is the heat that rises with the smoke [W].
func (s Smoke) risingW() float64 { return s.FuelKGS * woodHeatJKG * convectiveShare }

func (s Smoke) flux() float64 { return air.BuoyancyFlux(s.risingW()) }

// OpticalDepth returns the optical depth along a level line from the side
// through the middle of the smoke that has drifted the given distance [m].
func (s Smoke) OpticalDepth(distM float64) float64 {
	return s.depth(s.upM(distM))
}

// upM returns the vertical standard deviation [m], by the air and by the
// plume's own heat.
func (s Smoke) upM(distM float64) float64 {
	_, up := s.Stability.Spread(distM)
	return math.Hypot(up, riseSpread*s.riseM(distM))
}

// depth returns the optical depth of smoke with a vertical standard deviation
// [m].
func (s Smoke) depth(upM float64) float64 {
	u := max(s.WindMS, air.LeastWindMS)
	return tints[s.Column].extinction * s.FuelKGS * s.Yield / (math.Sqrt(2*math.Pi) * upM * u)
}

// FullContrast returns the contrast of smoke that nothing is seen through, in
// the light of its background.
func (s Smoke) FullContrast() float64 {
	return (tints[s.Column].factor - s.Behind) / s.Behind
}

// through returns the contrast that an optical depth leaves of a full
// contrast: c (1 - e^-depth).
func through(full, depth float64) float64 { return full * -math.Expm1(-depth) }

// Toward returns the area of the smoke that no ground hides, and its mean
// contrast. Where the wind leaves less than a quarter of what would show in 1 m/s
// it is what holds the smoke back.
func (s Smoke) Toward(View) Appearance {
	look := s.shown()
	if s.WindMS > 2*air.LeastWindMS {
		lull := s
		lull.WindMS = air.LeastWindMS
		if all := lull.shown(); look.AreaM2*math.Abs(look.Contrast) < 0.25*all.AreaM2*math.Abs(all.Contrast) {
			look.HeldBy = Wind
		}
	}
	return look
}

// shown returns the smoke's area and contrast: of the plume, of the column in
// calm air, or between.
func (s Smoke) shown() Appearance {
	calm := s.calm()
	var sum patches
	if calm < 1 {
		s.plume(&sum, 1-calm)
	}
	if calm > 0 {
		s.column(&sum, calm)
	}
	return sum.appearance()
}

// plume adds up the smoke that drifts, a metre at a time.
func (s Smoke) plume(sum *patches, weight float64) {
	full := s.FullContrast()
	for i := range int(columnM) {
		x := float64(i) + 0.5
		up := s.upM(x)
		tall := math.Sqrt(2*math.Pi) * up
		sum.add(weight*tall*s.above(s.riseM(x)-tall/2, s.riseM(x)+tall/2), weight*tall, through(full, s.depth(up)))
	}
}

// above returns the share of an upright stretch [m] that is not hidden.
func (s Smoke) above(lowM, highM float64) float64 {
	if s.FromM == 0 {
		return 1
	}
	return min(max((highM-s.FromM)/(highM-lowM), 0), 1)
}

// patches adds up pieces of smoke.
type patches struct{ areaM2, byContrast, wholeM2 float64 }

func (p *patches) add(areaM2, wholeM2, contrast float64) {
	p.areaM2 += areaM2
	p.byContrast += areaM2 * contrast
	p.wholeM2 += wholeM2
}

// appearance returns the sum; smoke that is hidden whole keeps its area and has
// no contrast.
func (p patches) appearance() Appearance {
	if p.areaM2 == 0 {
		return Appearance{AreaM2: p.wholeM2}
	}
	return Appearance{AreaM2: p.areaM2, Contrast: p.byContrast / p.areaM2}
}

// Factors lists what the smoke's appearance rests on.
func (s Smoke) Factors() []Factor {
	t := tints[s.Column]
	list := []Factor{
		{Name: "smoke from fuel", Value: s.Yield, Source: "as given, or own choice: 0.05 white, 0.015 dark; real fires spread by a factor 5"},
		{Name: "mass extinction", Value: t.extinction / 1000, Unit: "m2/g", Source: t.source},
	}
	calm := s.calm()
	if calm > 0 {
		list = append(list, s.columnFactors()...)
	}
	if calm < 1 {
		list = append(list,
			Factor{Name: "wind", Value: max(s.WindMS, air.LeastWindMS), Unit: "m/s", Source: "as given or own choice, 1 m/s at least for a plume"},
			Factor{Name: "plume rise", Value: s.riseM(columnM), Unit: "m", Source: "Briggs, as in EPA ISC3; 13 MJ/kg, 0.7 of it rising"},
			Factor{Name: "optical depth 100 m downwind", Value: s.OpticalDepth(columnM), Source: "Gaussian plume, Briggs's curves for open country"})
	}
	list = append(list, Factor{Name: "contrast of dense smoke", Value: s.FullContrast(), Source: "own choice: luminance factor 0.7 white, 0.05 dark"})
	if s.FromM > 0 {
		list = append(list, Factor{Name: "smoke hidden by the ground up to", Value: s.FromM, Unit: "m", Source: "the line over the terrain to the fire's place; the drift is left out"})
	}
	return list
}
