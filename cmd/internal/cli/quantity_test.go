package cli

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestParseQuantity(t *testing.T) {
	for _, c := range []struct {
		text string
		d    Dimension
		want float64
	}{
		{"5km", Length, 5000},
		{" 5 km ", Length, 5000},
		{"-5m", Length, -5},
		{"+.5m", Length, 0.5},
		{"5.m", Length, 5},
		{"1e3m", Length, 1000},
		// International foot and yard, mile, nautical mile: NIST SP 811,
		// table B.8 (from memory), all exact.
		{"1ft", Length, 0.3048},
		{"1yd", Length, 0.9144},
		{"1mi", Length, 1609.344},
		{"1NM", Length, 1852},
		{"50cm", Length, 0.5},
		{"76mm", Length, 0.076},
		{"12ha", Surface, 120000},
		{"0.25km2", Surface, 250000},
		{"3m²", Surface, 3},
		{"36km/h", Speed, 10},
		{"1kn", Speed, 1852.0 / 3600},
		{"1mph", Speed, 0.44704},
		{"3m/s", Speed, 3},
		{"30min", Duration, 1800},
		{"1.5h", Duration, 5400},
		{"60/min", Period, 1},
		{"2Hz", Period, 0.5},
		{"1s", Period, 1},
		{"3600/h", Period, 1},
		{"-5deg", Direction, -5},
		{"3°", Direction, 3},
		{"6400mil", Direction, 360},
		{"2e-7lx", Illuminance, 2e-7},
		{"100cd", Intensity, 100},
		{"300lm", Flux, 300},
		{"0.001cd/m2", Luminance, 0.001},
		{"0.001 cd/m²", Luminance, 0.001},
		{"100kW", Power, 1e5},
		{"1MW", Power, 1e6},
		{"5%", Percent, 0.05},
		{"0.4", Number, 0.4},
		{"40%", Number, 0.4},
		{"300", Flux.Bare(), 300},
		{"300 lm", Flux.Bare(), 300},
		{"0m", Length.NotNegative(), 0},
		{"90deg", Direction.Between(-90, 90), 90},
	} {
		got, err := ParseQuantity(c.text, c.d)
		require.NoError(t, err, c.text)
		require.InDelta(t, c.want, got, 1e-12*max(1, math.Abs(c.want)), c.text)
	}
}

func TestParseQuantityRefuses(t *testing.T) {
	for _, c := range []struct {
		text          string
		d             Dimension
		message, hint string
	}{
		{"", Length, "a length is missing", "5km"},
		{"5", Length, "needs its unit", "write one of m, km"},
		{"5", Percent, "needs its unit", "%"},
		{"km", Length, "not a length", "5km"},
		{"5kg", Length, `"kg" is not a unit of length`, "write one of m, km"},
		{"5KM", Length, "not a unit", "did you mean km"},
		{"5nm", Length, "not a unit", "did you mean NM"},
		{"5 km m", Length, `"km m" is not a unit`, ""},
		{"1 000 m", Length, `"000 m" is not a unit`, ""},
		{"30m", Duration, `"m" is not a unit of time`, "min"},
		{"5,5km", Length, "a comma in a number", "decimal point"},
		{"1,000m", Length, "a comma in a number", "thousands without a mark"},
		{"NaN m", Length, "not a length", ""},
		{"nan", Number, "not a number", ""},
		{"Infm", Length, "not a length", ""},
		{"1e999m", Length, "too large", ""},
		{"1e308km", Length, "out of range", ""},
		{"0Hz", Period, "out of range", ""},
		{"0x10m", Length, "not a unit", ""},
		{"0m", Length.Positive(), "above 0m", ""},
		{"-1m", Length.NotNegative(), "at least 0m", ""},
		{"91deg", Direction.Between(-90, 90), "at most 90deg", ""},
		{"2", Number.Between(0, 1), "at most 1", ""},
		{"361deg", Direction.Positive().AtMost(360), "at most 360deg", ""},
		{strings.Repeat("1", 300) + "m", Length, "too long", ""},
	} {
		got, err := ParseQuantity(c.text, c.d)
		var q *QuantityError
		require.ErrorAs(t, err, &q, c.text)
		require.True(t, math.IsNaN(got), c.text)
		require.Contains(t, q.Message, c.message, c.text)
		require.Contains(t, q.Advice, c.hint, c.text)
		require.NotEmpty(t, q.Advice, c.text)
	}
}

func TestParseSize(t *testing.T) {
	for _, c := range []struct {
		text string
		w, h float64
	}{
		{"0.5x0.5m", 0.5, 0.5},
		{"0.5 x 1 m", 0.5, 1},
		{"50cmx1m", 0.5, 1},
		{"76×127mm", 0.076, 0.127},
		{"1e0x2e0m", 1, 2},
	} {
		w, h, err := ParseSize(c.text, Length)
		require.NoError(t, err, c.text)
		require.InDelta(t, c.w, w, 1e-12)
		require.InDelta(t, c.h, h, 1e-12)
	}
	for _, text := range []string{"", "x", "1m", "1x1", "1xm", "x1m", "1x2x3m", "1mx1", "ax1m", "-1x1m"} {
		w, h, err := ParseSize(text, Length.Positive())
		require.Error(t, err, text)
		require.True(t, math.IsNaN(w) && math.IsNaN(h), text)
	}
}

// FuzzParseQuantity: a value that is read is finite and reads back from its
// own number and first unit.
func FuzzParseQuantity(f *testing.F) {
	for _, s := range []string{"5km", "1e-7 lx", "60/min", "-3°", "0.5", "12 ha", "1,5m", "5%"} {
		f.Add(s)
	}
	all := []Dimension{Length, Surface, Speed, Duration, Period, Direction, Illuminance, Intensity, Flux, Luminance, Power, Percent, Number}
	f.Fuzz(func(t *testing.T, s string) {
		for _, d := range all {
			v, err := ParseQuantity(s, d)
			if err != nil {
				require.True(t, math.IsNaN(v))
				continue
			}
			require.False(t, math.IsNaN(v) || math.IsInf(v, 0))
			again, err := ParseQuantity(d.write(v), d)
			require.NoError(t, err, d.write(v))
			require.InDelta(t, v, again, 1e-5*math.Abs(v)) // write keeps six digits
		}
		_, _, _ = ParseSize(s, Length)
	})
}
