package mapfile

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"time"
)

// appendValue writes a property value as JSON: numbers with 9 significant
// digits, NaN and Inf as null, times as RFC 3339 in UTC. A type with its own
// MarshalJSON prints itself.
func appendValue(b []byte, v any) ([]byte, error) {
	switch v := v.(type) {
	case nil:
		return append(b, "null"...), nil
	case time.Time:
		if v.IsZero() {
			return append(b, "null"...), nil
		}
		return appendString(b, v.UTC().Format(time.RFC3339Nano)), nil
	case json.Number:
		if !json.Valid([]byte(v)) {
			return b, fmt.Errorf("number %q cannot be written", v)
		}
		return append(b, v...), nil
	case json.Marshaler:
		data, err := v.MarshalJSON()
		if err != nil {
			return b, err
		}
		var c bytes.Buffer
		if err := json.Compact(&c, data); err != nil {
			return b, fmt.Errorf("value of type %T: %w", v, err)
		}
		return append(b, c.Bytes()...), nil
	}
	switch r := reflect.ValueOf(v); r.Kind() {
	case reflect.String:
		return appendString(b, r.String()), nil
	case reflect.Bool:
		return strconv.AppendBool(b, r.Bool()), nil
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		return strconv.AppendInt(b, r.Int(), 10), nil
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		return strconv.AppendUint(b, r.Uint(), 10), nil
	case reflect.Float32, reflect.Float64:
		return appendNumber(b, r.Float()), nil
	case reflect.Slice, reflect.Array:
		b = append(b, '[')
		for i := range r.Len() {
			if i > 0 {
				b = append(b, ',')
			}
			var err error
			if b, err = appendValue(b, r.Index(i).Interface()); err != nil {
				return b, err
			}
		}
		return append(b, ']'), nil
	}
	return b, fmt.Errorf("value of type %T cannot be written", v)
}

// appendNumber writes 9 significant digits, without an exponent within
// [1e-6, 1e21), which is where encoding/json changes over too.
func appendNumber(b []byte, v float64) []byte {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return append(b, "null"...)
	}
	v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'e', 8, 64), 64) // cannot fail: just printed
	if v == 0 {
		return append(b, '0') // and no -0
	}
	format := byte('f')
	if a := math.Abs(v); a < 1e-6 || a >= 1e21 {
		format = 'e'
	}
	return strconv.AppendFloat(b, v, format, -1, 64)
}

// appendCoordinate writes a coordinate to 7 decimals, about 1 cm.
func appendCoordinate(b []byte, v float64) []byte {
	return strconv.AppendFloat(b, round7(v), 'f', -1, 64)
}

func round7(v float64) float64 { return round(v, 1e7) }

// appendString writes a JSON string; bytes that are not UTF-8 become U+FFFD.
func appendString(b []byte, s string) []byte {
	var c bytes.Buffer
	e := json.NewEncoder(&c)
	e.SetEscapeHTML(false)
	_ = e.Encode(s) // a string and a bytes.Buffer cannot fail
	return append(b, bytes.TrimSuffix(c.Bytes(), []byte("\n"))...)
}
