package air

import "math"

// columnTop is the constant of the top of a plume in still, stable air, 5.0 F^(1/4)
// s^(-3/8): Briggs 1969 (from memory). Morton, Taylor and Turner's 3.79 for a
// flux that is pi times as large is 5.05, NFPA 92's 5.54 in its units 5.05 too;
// EPA takes 4.0, Hanna, Briggs and Hosker 1982 take 5.3.
const columnTop = 5.0

// ColumnTopM returns how high a column of smoke rises in calm air [m] for a
// buoyancy flux [m4/s3], to 20 % between authors. In the classes A to D nothing
// holds it back and the answer is +Inf; NaN for a class that is not known.
func (c Stability) ColumnTopM(flux float64) float64 {
	if !c.Known() {
		return math.NaN()
	}
	gradient, stable := stableGradient[c]
	if !stable {
		return math.Inf(1)
	}
	s := gravity / plumeAirK * gradient
	return columnTop * math.Pow(flux, 0.25) * math.Pow(s, -0.375)
}

// ColumnFlow returns the width [m] of the column above a fire in calm air and
// the mass of air that it carries up [kg/s], at a height above the fire [m], for
// the heat that rises with it [W]. The width is half the height, the flow
// 0.071 Q^(1/3) z^(5/3) + 0.0018 Q with Q in kW (NFPA 92, above the flame; from
// memory). Both hold for a fire that is small beside its column.
func ColumnFlow(convectiveW, heightM float64) (widthM, flowKGS float64) {
	q := convectiveW / 1000
	return heightM / 2, 0.071*math.Cbrt(q)*math.Pow(heightM, 5.0/3) + 0.0018*q
}
