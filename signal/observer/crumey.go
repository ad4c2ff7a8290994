package observer

import "math"

// CrumeyFloorCDM2 is the darkest background of Crumey's law [cd/m2]; below it
// the eye's own noise rules and the threshold stays as it is there.
const CrumeyFloorCDM2 = 1e-5

// The constants of Crumey, "Human contrast threshold and astronomical
// visibility", MNRAS 442 (2014) 2600-2619, for x = B^(-1/4), B in cd/m2,
// areas in steradians. They fit the laboratory data of Blackwell (1946) and
// of Knoll, Tousey and Hulburt (1946) to about 30 %. One public copy prints
// other b and areas in square minutes of arc; it does not join the branches
// of equations 35-38 and is wrong.
var (
	crumeyA = [5]float64{5.949e-8, -2.389e-7, 2.459e-7, 4.120e-4, -4.225e-4} // (25), (28)
	crumeyB = [5]float64{9.606e-6, -4.112e-5, 5.019e-5, 4.837e-3, -4.884e-3} // (39), (40)
)

// crumeyRoot evaluates sqrt(c1 x^2 + c2 x + c3) + c4 x + c5, the form that
// equations 25 and 39 share.
func crumeyRoot(c [5]float64, x float64) float64 {
	return math.Sqrt((c[0]*x+c[1])*x+c[2]) + c[3]*x + c[4]
}

// CrumeyRiccoSR returns R [sr]: the threshold contrast of a small area is R
// divided by its solid angle (Crumey 2014, equations 25 and 28). Backgrounds
// [cd/m2] below [CrumeyFloorCDM2] count as that.
func CrumeyRiccoSR(backgroundCDM2 float64) float64 {
	r := crumeyRoot(crumeyA, crumeyX(backgroundCDM2))
	return r * r
}

// CrumeyLargeContrast returns the threshold contrast of a very large area
// (Crumey 2014, equations 39 and 40).
func CrumeyLargeContrast(backgroundCDM2 float64) float64 {
	return crumeyRoot(crumeyB, crumeyX(backgroundCDM2))
}

// CrumeyPointLx returns the illuminance [lx] at which half of all looks show a
// point of light of known place against a background [cd/m2], in the
// laboratory (F = 1): R B (Crumey 2014, equation 34). The printed fit dips by
// 3 % between 0.0216 and 0.065 cd/m2; the threshold returned never falls as the
// background rises, by keeping the highest value of the darker side.
func CrumeyPointLx(backgroundCDM2 float64) float64 {
	b := max(backgroundCDM2, CrumeyFloorCDM2)
	e := CrumeyRiccoSR(b) * b
	if b > crumeyDipFrom && e < crumeyDipLx {
		return crumeyDipLx
	}
	return e
}

// crumeyDipFrom is where R B has its local maximum [cd/m2], to more digits than
// the flat top needs, and crumeyDipLx is that maximum [lx].
const crumeyDipFrom = 0.0215673186518

var crumeyDipLx = CrumeyRiccoSR(crumeyDipFrom) * crumeyDipFrom

// CrumeyContrast returns the luminance contrast at which half of all looks
// show a disc of known place that fills the given solid angle [sr] against a
// background [cd/m2], in the laboratory (F = 1; Crumey 2014, equations 41 to
// 44). The data are of targets brighter than their background; darker ones
// are taken by the size of their contrast and are a little easier to see. The
// result falls steadily to [CrumeyLargeContrast] as the area grows.
func CrumeyContrast(backgroundCDM2, solidAngleSR float64) float64 {
	return crumeyAt(backgroundCDM2)(solidAngleSR)
}

// crumeyAt returns [CrumeyContrast] for one background, what depends on that
// alone being worked out once.
func crumeyAt(backgroundCDM2 float64) func(solidAngleSR float64) float64 {
	q := crumeyQ(backgroundCDM2)
	large := CrumeyLargeContrast(backgroundCDM2)
	even := CrumeyRiccoSR(backgroundCDM2) / large // where both terms are equal
	return func(solidAngleSR float64) float64 {
		// (41), whose powers are by exp and log, three times as fast as math.Pow.
		return large * math.Exp(math.Log1p(math.Exp(q*math.Log(even/solidAngleSR)))/q)
	}
}

// crumeyQ is the exponent that joins small and large areas, equations 42-44.
func crumeyQ(backgroundCDM2 float64) float64 {
	switch {
	case backgroundCDM2 < 0.193:
		return 0.6
	case backgroundCDM2 <= 3.40:
		return 0.8861 + 0.4*math.Log10(backgroundCDM2)
	}
	return 1.146 - 0.0885*math.Log10(backgroundCDM2)
}

// crumeyX is B^(-1/4), with the floor applied.
func crumeyX(backgroundCDM2 float64) float64 {
	return math.Pow(max(backgroundCDM2, CrumeyFloorCDM2), -0.25)
}
