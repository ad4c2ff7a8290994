package observer

import "math"

// ICAOPointLx returns the illuminance [lx] that an alert pilot who knows where
// to look needs, against a background [cd/m2]: log E = 0.57 log B +
// 0.05 (log B)^2 - 6.66 (ICAO Doc 9328, Manual of Runway Visual Range
// Observing and Reporting Practices, 3rd ed. 2005, chapter 6; from memory,
// checked against the steps of Annex 3, attachment D). It is stated for about
// 1 to 30 000 cd/m2. Below, where the curve passes it, 2e-7 lx is returned:
// the value of nautical practice for a dark background.
func ICAOPointLx(backgroundCDM2 float64) float64 {
	l := math.Log10(max(backgroundCDM2, icaoDarkCDM2))
	return max(math.Pow(10, 0.57*l+0.05*l*l-6.66), NauticalNightLx)
}

// icaoDarkCDM2 keeps ICAO's parabola from turning up again at dark
// backgrounds: below 1 cd/m2 the curve is not stated.
const icaoDarkCDM2 = 0.85

// NauticalNightLx is the illuminance [lx] that is taken for a light seen
// reliably against a dark background (CIE International Lighting Vocabulary
// and IES: 0.2 microlux, or 0.686 sea-mile candela).
const NauticalNightLx = 2e-7

// IALAPointLx returns the illuminance [lx] that a mariner needs for reliable
// sight, against a background [cd/m2]: 0.242e-6 (1 + sqrt(0.4 B))^2 (IALA
// Recommendation E-200-2, 2008; from memory, it meets IALA's printed 2e-7 at
// night and 1e-3 lx by day).
func IALAPointLx(backgroundCDM2 float64) float64 {
	s := 1 + math.Sqrt(0.4*max(backgroundCDM2, 0))
	return 0.242e-6 * s * s
}

// WMOPointLx returns the illuminance [lx] at which lights are taken to vanish
// at night: 10^-7.5 in full darkness, 10^-6.7 by moonlight, 10^-6 in twilight
// or among lights (WMO-No. 8, Guide to Instruments and Methods of Observation,
// visibility chapter; from memory, its table of 100 cd is met to rounding).
// The guide does not say at which background [cd/m2] one becomes the next;
// here at 0.003 and at 0.03, own choice.
func WMOPointLx(backgroundCDM2 float64) float64 {
	switch {
	case backgroundCDM2 < 0.003:
		return math.Pow(10, -7.5)
	case backgroundCDM2 < 0.03:
		return math.Pow(10, -6.7)
	}
	return 1e-6
}
