package source

import (
	"math"

	"farhail/signal/air"
)

const (
	// airKGM3 is the density of the air that smoke is mixed into [kg/m3].
	airKGM3 = 1.2
	// columnSteps is how many pieces a column is cut into.
	columnSteps = 100
)

// calm returns how far the smoke is a column in calm air: 1 up to the wind at
// which smoke begins to drift, 0 from the lightest that a plume is reckoned with,
// by a straight line between (own choice, so that no wind makes a step). A fire
// that burns nothing has no column.
func (s Smoke) calm() float64 {
	if s.FuelKGS == 0 {
		return 0
	}
	return min(max((air.LeastWindMS-s.WindMS)/(air.LeastWindMS-air.DriftMS), 0), 1)
}

// columnM returns how much of the column in calm air counts [m]: as much as has
// the area of the plume in 1 m/s, and 100 m at the least, up to its top (own
// choice: what counts of a smoke is about the same in any wind).
func (s Smoke) columnM() float64 {
	s.WindMS, s.FromM = air.LeastWindMS, 0
	var plume patches
	s.plume(&plume, 1)
	return min(s.Stability.ColumnTopM(s.flux()), max(columnM, 2*math.Sqrt(plume.wholeM2)))
}

// ColumnDepth returns the optical depth along a level line through the middle of
// the column in calm air, at a height above the fire [m]: K c d with the smoke c
// evenly mixed over the width d (NFPA 92: [air.ColumnFlow]).
func (s Smoke) ColumnDepth(heightM float64) float64 {
	width, flow := air.ColumnFlow(s.risingW(), heightM)
	return tints[s.Column].extinction * s.FuelKGS * s.Yield / flow * airKGM3 * width
}

// column adds up the column in calm air. The mean line through a round column is
// pi/4 of its width, so that no smoke is lost.
func (s Smoke) column(sum *patches, weight float64) {
	full, step := s.FullContrast(), s.columnM()/columnSteps
	for i := range columnSteps {
		z := (float64(i) + 0.5) * step
		width, _ := air.ColumnFlow(s.risingW(), z)
		area := weight * width * step
		sum.add(area*s.above(z-step/2, z+step/2), area, through(full, math.Pi/4*s.ColumnDepth(z)))
	}
}

// columnFactors lists what the column rests on.
func (s Smoke) columnFactors() []Factor {
	return []Factor{
		{Name: "share of a column in calm air", Value: s.calm(), Source: "own choice: all under 0.3 m/s, where smoke begins to drift (Beaufort 1), none from 1 m/s on"},
		{Name: "height of the column that counts", Value: s.columnM(), Unit: "m", Source: "own choice: 100 m, or more for the area of the plume in 1 m/s; in stable air up to its top (Briggs 1969)"},
		{Name: "optical depth half way up", Value: s.ColumnDepth(s.columnM() / 2), Source: "flow and width of a fire's plume by NFPA 92"},
	}
}
