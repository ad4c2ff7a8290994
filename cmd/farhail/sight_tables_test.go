package main

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/cli"
	"farhail/geo/geotest"
)

// told runs sight --json and returns some of its numbers; keys of parts are joined
// by a dot. What is null is NaN.
func told(t testing.TB, flags string, keys ...string) []any {
	t.Helper()
	code, out, msg := farhail(append([]string{"sight", "--json"}, strings.Fields(flags)...)...)
	require.Equal(t, cli.ExitDone, code, "%s: %s%s", flags, out, msg)
	var result map[string]any
	require.NoError(t, json.Unmarshal([]byte(out), &result))
	var list []any
	for _, key := range keys {
		var v any = result
		for _, part := range strings.Split(key, ".") {
			m, ok := v.(map[string]any)
			require.True(t, ok, "%s: no %s", flags, key)
			v, ok = m[part]
			require.True(t, ok, "%s: no %s", flags, key)
		}
		number, ok := v.(float64)
		if !ok {
			number = math.NaN()
		}
		list = append(list, number)
	}
	return list
}

// The published tables of lights come out of the command: what a light of a rule
// gives, how far it is seen by the threshold of the rule, and what a flash is worth.

func TestSightOfNavigationLights(t *testing.T) {
	// The air of the rule leaves 0.8 of the light after a nautical mile.
	const nm = 1852
	mor := nm * math.Log(20) / -math.Log(0.8)
	geotest.Check(t, "sighting-colreg", func(in []string) ([]any, error) {
		lit := told(t, fmt.Sprintf("--standard colreg-%snm --threshold 2e-7lx --visibility %.3fm --flat", in[0], mor), "perceptible_m", "lamp.peak_cd")
		// The intensity that the range needs, by what the command gives at that range.
		rangeM := geotest.Numbers(t, in)[0] * nm
		at := told(t, fmt.Sprintf("--light 1cd --visibility %.3fm --flat --to %.3fm", mor, rangeM), "illuminance_lx")
		require.InEpsilon(t, rangeM, lit[0], 0.025) // 0.9 cd for 0.86
		require.InEpsilon(t, 2e-7/at[0].(float64), lit[1], 0.05)
		return lit[1:], nil
	})
}

func TestSightOfNominalRange(t *testing.T) {
	geotest.Check(t, "sighting-nominal", func(in []string) ([]any, error) {
		m := told(t, fmt.Sprintf("--light %scd --threshold %slx --visibility 10NM --flat", in[0], in[1]), "perceptible_m")
		return []any{m[0].(float64) / 1852}, nil
	})
}

func TestSightOfMeteorologicalLights(t *testing.T) {
	geotest.Check(t, "sighting-wmo", func(in []string) ([]any, error) {
		return told(t, fmt.Sprintf("--light 100cd --threshold %slx --visibility %sm --flat", in[1], in[0]), "perceptible_m"), nil
	})
}

func TestSightOfFlashes(t *testing.T) {
	geotest.Check(t, "source-flash", func(in []string) ([]any, error) {
		train := ""
		if in[3] != "1" {
			train = fmt.Sprintf(" --pulses %s --gap %ss", in[3], in[4])
		}
		return told(t, fmt.Sprintf("--light 1cd --flash-law %s --pulse-shape %s --flash %ss --every 9s%s", in[0], in[1], in[2], train), "effective_cd"), nil
	})
	geotest.Check(t, "source-light", func(in []string) ([]any, error) {
		return told(t, fmt.Sprintf("--light %scd --flash %ss", in[0], in[1]), "effective_cd"), nil
	})
	// Blondel and Rey's own example: a flash of 0.21 s made twice as long is worth a
	// third more.
	short, long := told(t, "--light 1cd --flash 0.21s --flash-constant 0.21s", "effective_cd"), told(t, "--light 1cd --flash 0.42s --flash-constant 0.21s", "effective_cd")
	require.InEpsilon(t, 4.0/3, long[0].(float64)/short[0].(float64), 1e-8)
}

func TestSightOfBeams(t *testing.T) {
	geotest.Check(t, "source-beam", func(in []string) ([]any, error) {
		return told(t, fmt.Sprintf("--lumens %s --beam %sdeg", in[0], in[1]), "effective_cd"), nil
	})
	geotest.Check(t, "source-fl1", func(in []string) ([]any, error) {
		// At the beam distance a quarter of a lux is left in clear air.
		lx := told(t, fmt.Sprintf("--beam-distance %sm --to %sm --visibility 1e9km", in[0], in[0]), "illuminance_lx")
		require.InEpsilon(t, 0.25, lx[0], 1e-6)
		return told(t, fmt.Sprintf("--standard fl1-%sm", in[0]), "effective_cd"), nil
	})
}

func TestSightOfStandardLights(t *testing.T) {
	geotest.Check(t, "source-standards-lsa", func(in []string) ([]any, error) {
		return told(t, "--standard "+in[0], "effective_cd", "lamp.lasts_s"), nil
	})
	geotest.Check(t, "source-standards-aviation", func(in []string) ([]any, error) {
		if in[1] == "0" {
			return told(t, "--standard "+in[0], "effective_cd"), nil
		}
		// The eye is west of the light, on its level: 270 degrees and the angle.
		off := 270 + geotest.Numbers(t, in[1:])[0]
		return told(t, fmt.Sprintf("--standard %s --flat --eye-height 1.5m --beam-azimuth %gdeg --from 0.0N,1.00E --toward 0.0N,1.01E", in[0], off), "effective_cd"), nil
	})
}
