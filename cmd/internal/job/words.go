package job

import (
	"fmt"
	"math"
	"strconv"
)

// Distance writes a length [m] for people, with three significant digits: in
// metres below 1 km, from there in kilometres.
func Distance(m float64) string {
	switch {
	case math.IsNaN(m) || math.IsInf(m, 0):
		return "unknown"
	case m < 999.5:
		return Significant(m) + " m"
	}
	return Significant(m/1000) + " km"
}

// Duration writes a span of time [s] for people, in whole minutes; below two of
// them in seconds.
func Duration(s float64) string {
	if math.IsNaN(s) || math.IsInf(s, 0) {
		return "unknown"
	}
	minutes := int(math.Round(s / 60))
	switch h, m := minutes/60, minutes%60; {
	case s > 0 && s < 119.5 && math.Abs(s-60) >= 0.5:
		return fmt.Sprintf("%.3g s", s)
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	default:
		return fmt.Sprintf("%d h %02d", h, m)
	}
}

// Significant writes a number with three significant digits, without exponent,
// and with no more than three decimals.
func Significant(v float64) string {
	if v == 0 {
		return "0"
	}
	// Rounding first: 999.96 is a number of four figures.
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 2, 64), 64)
	if err != nil {
		return "unknown"
	}
	digits := 2 - int(math.Floor(math.Log10(math.Abs(rounded))))
	return strconv.FormatFloat(rounded, 'f', min(max(digits, 0), 3), 64)
}
