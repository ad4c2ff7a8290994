package cli

import (
	"encoding/json"
	"math"
	"strconv"
)

// The number kinds of the JSON output. NaN and infinities are written as null,
// and zero never carries a sign.
type (
	// Num is any number, written with 9 significant digits.
	Num float64
	// Deg is a latitude or longitude in degrees, written with 9 decimals.
	Deg float64
	// Len is a length or a grid coordinate in metres, written with 9
	// significant digits but at least 4 decimals.
	Len float64
	// Area is an area in square metres, written with 9 significant digits but
	// at least 1 decimal.
	Area float64
	// Angle is a direction in degrees, written with 9 decimals in [0,360)
	// after rounding.
	Angle float64
)

// MarshalJSON writes the number as its kind says.
func (v Num) MarshalJSON() ([]byte, error) { return marshal(significant(float64(v), 0)) }

// MarshalJSON writes the number as its kind says.
func (v Deg) MarshalJSON() ([]byte, error) { return marshal(decimals(float64(v), 9)) }

// MarshalJSON writes the number as its kind says.
func (v Len) MarshalJSON() ([]byte, error) { return marshal(significant(float64(v), 4)) }

// MarshalJSON writes the number as its kind says.
func (v Area) MarshalJSON() ([]byte, error) { return marshal(significant(float64(v), 1)) }

// MarshalJSON writes the number as its kind says.
func (v Angle) MarshalJSON() ([]byte, error) {
	d := math.Mod(float64(v), 360)
	if d < 0 {
		d += 360
	}
	if d = decimals(d, 9); d >= 360 {
		d = 0
	}
	return marshal(d)
}

func marshal(v float64) ([]byte, error) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return []byte("null"), nil
	}
	if v == 0 {
		v = 0 // drops the sign of -0
	}
	return json.Marshal(v)
}

// significant rounds to 9 significant digits, or to that many decimals where
// this keeps more.
func significant(v float64, atLeast int) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	n := 8 - int(math.Floor(math.Log10(math.Abs(v))))
	if n >= 0 && n <= atLeast || n < 0 && atLeast > 0 {
		return decimals(v, atLeast)
	}
	return reread(strconv.FormatFloat(v, 'e', 8, 64))
}

// decimals rounds to n decimals.
func decimals(v float64, n int) float64 {
	return reread(strconv.FormatFloat(v, 'f', n, 64))
}

// reread takes a number back from its rounded text. Formatting rounds the
// exact binary value, where multiplying and dividing would add an error.
func reread(s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		panic("cli: " + err.Error()) // FormatFloat writes what ParseFloat reads
	}
	return v
}
