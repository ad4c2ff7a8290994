package walk

import "math"

// womenFactor is the speed of women over that of men in Irmischer & Clarke 2018.
const womenFactor = 0.95

// tobler is the hiking function of Tobler 1993, 6·exp(-3.5·|s + 0.05|) km/h.
func tobler(slope float64) float64 {
	return 6 * math.Exp(-3.5*math.Abs(slope+0.05)) / 3.6
}

// marquezPerez is the function of Márquez-Pérez et al. 2017,
// 4.8·exp(-5.3·|0.7·s + 0.03|) km/h.
func marquezPerez(slope float64) float64 {
	return 4.8 * math.Exp(-5.3*math.Abs(0.7*slope+0.03)) / 3.6
}

// irmischerClarkeOn is the speed on paths of Irmischer & Clarke 2018 [m/s], S
// the signed slope in percent: 0.11 + exp(-(S + 5)²/(2·30²)). (Read in two
// packages' manuals; some code drops the sign of S and with it the faster
// descent.)
func irmischerClarkeOn(slope float64) float64 {
	s := 100*slope + 5
	return 0.11 + math.Exp(-s*s/(2*30*30))
}

// irmischerClarkeOff is their speed off paths,
// 0.11 + 0.67·exp(-(S + 2)²/(2·30²)).
func irmischerClarkeOff(slope float64) float64 {
	s := 100*slope + 2
	return 0.11 + 0.67*math.Exp(-s*s/(2*30*30))
}

// rees is the rule of Rees 2004: 1/v = 0.75 + 0.09·|s| + 14.6·s² s/m.
func rees(slope float64) float64 {
	return 1 / (0.75 + 0.09*math.Abs(slope) + 14.6*slope*slope)
}

// davey is the law of Davey, Hayes & Norman 1994, 1.40·exp(-2.8·|a|) m/s with
// the slope's angle a in radians.
func davey(slope float64) float64 {
	return 1.40 * math.Exp(-2.8*math.Abs(math.Atan(slope)))
}

// campbellP5 is the 5th percentile of Campbell et al. 2019, table S1, θ the
// slope in degrees: c/(π·b·(1 + ((θ - a)/b)²)) + d + e·θ m/s. Beyond 30 degrees,
// where the table ends, the linear term would in the end rule; the speed there
// is that at 30 degrees made less in proportion to the slope (own choice), so
// that height is won at one rate.
func campbellP5(slope float64) float64 {
	const (
		a, b, c, d, e = -1.527, 14.041, 36.813, 0.320, -0.00273
		steepest      = 0.5773502691896258 // tan 30°
	)
	s := math.Max(-steepest, math.Min(steepest, slope))
	θ := math.Atan(s) * 180 / math.Pi
	x := (θ - a) / b
	v := c/(math.Pi*b*(1+x*x)) + d + e*θ
	if over := math.Abs(slope) / steepest; over > 1 {
		v /= over
	}
	return v
}

// Seconds a metre and the slope of the break, as the manual of r.walk prints
// them: 5 km/h, an hour for 600 m up, 10 minutes for 300 m down.
const (
	levelSM   = 0.72
	upSM      = 6.0
	downSM    = 1.9998
	downBreak = -0.2125
)

// langmuirPerMetre is 1/(0.72 + 6·s) uphill, 1/(0.72 + 1.9998·s) down to the
// break, 1/(0.72 - 1.9998·s) below it, m/s.
func langmuirPerMetre(slope float64) float64 {
	switch {
	case slope >= 0:
		return 1 / (levelSM + upSM*slope)
	case slope < downBreak:
		return 1 / (levelSM - downSM*slope)
	}
	return 1 / (levelSM + downSM*slope)
}

// naismithLangmuir is Naismith's rule with Langmuir's corrections between 5 and
// 12 degrees of descent and below it, capped at 6 km/h (own choice: the top of
// Tobler's function).
func naismithLangmuir(slope float64) float64 {
	const (
		gentle  = -0.08748866352592401 // -tan 5°
		steep   = -0.21255656167002213 // -tan 12°
		fastest = 6 / 3.6
	)
	pace := levelSM
	switch {
	case slope > 0:
		pace += upSM * slope
	case slope < steep:
		pace -= 2 * slope
	case slope <= gentle:
		pace += 2 * slope
	}
	if slope != slope {
		return math.NaN()
	}
	return math.Min(fastest, 1/pace)
}
