package cli

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// TestNumbers holds the contract: 9 significant digits, positions 9 decimals,
// lengths at least 4 decimals, areas at least 1, null for unknown, never -0.
func TestNumbers(t *testing.T) {
	for _, c := range []struct {
		v    any
		want string
	}{
		{Num(1.0 / 3), "0.333333333"},
		{Num(2.0 / 3e7), "6.66666667e-8"},
		{Num(123456789.4), "123456789"},
		{Num(1234567894), "1234567890"},
		{Num(math.MaxFloat64), "1.79769313e+308"},
		{Num(math.NaN()), "null"},
		{Num(math.Inf(-1)), "null"},
		{Num(math.Copysign(0, -1)), "0"},
		{Deg(42.12345678949), "42.123456789"},
		{Deg(-1e-10), "0"},
		{Deg(179.9999999999), "180"},
		{Len(444140.543216), "444140.5432"},
		{Len(4441405.43216), "4441405.4322"},
		{Len(3684706.36), "3684706.36"},
		{Len(12.3456789012), "12.3456789"},
		{Len(0.000012345678912), "0.0000123456789"},
		{Len(math.Copysign(0, -1)), "0"},
		{Len(math.NaN()), "null"},
		{Area(123456789012.34), "123456789012.3"},
		{Area(2.5), "2.5"},
		{Angle(-90), "270"},
		{Angle(359.9999999999), "0"},
		{Angle(-1e-12), "0"},
		{Angle(720.25), "0.25"},
		{Angle(math.NaN()), "null"},
	} {
		got, err := json.Marshal(c.v)
		require.NoError(t, err)
		require.Equal(t, c.want, string(got), "%T %v", c.v, c.v)
	}
}

func TestNumbersKeepWhatTheyPromise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64().Draw(t, "v")
		back := func(x any) float64 {
			text, err := json.Marshal(x)
			require.NoError(t, err)
			var f float64
			require.NoError(t, json.Unmarshal(text, &f))
			require.False(t, f == 0 && math.Signbit(f))
			return f
		}
		// Half a unit of the ninth digit, and of what float64 itself keeps.
		require.InDelta(t, v, back(Num(v)), 5.1e-9*math.Abs(v))
		require.InDelta(t, v, back(Len(v)), min(5.1e-5+1e-15*math.Abs(v), 5.1e-9*math.Abs(v)))
		require.InDelta(t, v, back(Area(v)), 5.1e-9*math.Abs(v))
		a := back(Angle(v))
		require.True(t, a >= 0 && a < 360)
	})
}
