package mapfile

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// highest is the largest height, up or down, that a file may hold [m]: beyond
// the deepest trench and above every mountain and airliner. What lies outside
// is a no-data mark (-32768, 99999) or a slip.
const highest = 12000

// parseNumber reads a decimal number, with an exponent where a writer left one.
// White space around it is legal. Hexadecimal, digit separators, NaN and Inf,
// all of which strconv would take, are not numbers of a map file.
func parseNumber(s string) (float64, bool) {
	s = strings.Trim(s, " \t\r\n")
	digit := false
	for i := range len(s) {
		switch c := s[i]; {
		case c >= '0' && c <= '9':
			digit = true
		case strings.IndexByte("+-.eE", c) >= 0:
		default:
			return 0, false
		}
	}
	if !digit {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, false
	}
	return v + 0, true // + 0: no negative zero
}

// parseDegrees reads a latitude or longitude; reason says why it cannot be
// used.
func parseDegrees(what, s string, limit float64) (v float64, reason, hint string) {
	if strings.Trim(s, " \t\r\n") == "" {
		return 0, what + " empty", ""
	}
	v, ok := parseNumber(s)
	if !ok {
		if strings.ContainsRune(s, ',') {
			hint = "write a point, not a comma, before the decimals"
		}
		return 0, what + " cannot be read", hint
	}
	if math.Abs(v) > limit {
		return 0, fmt.Sprintf("%s beyond %g", what, limit), ""
	}
	return v, "", ""
}
