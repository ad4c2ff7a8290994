package job

import (
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

// Hours writes a time [s] for people, with three significant digits.
func Hours(s float64) string {
	switch {
	case math.IsNaN(s) || math.IsInf(s, 0):
		return "unknown"
	case s < 600:
		return Significant(s) + " s"
	case s < 2*3600:
		return Significant(s/60) + " min"
	}
	return Significant(s/3600) + " h"
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
