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

// The tables of sounds, smoke, mirrors and plants come out of the command: the check
// files that the packages are held to, by way of sight --json.

// midband returns the exact middle of a third octave, ten to the decade from 1 kHz.
func midband(k float64) string { return fmt.Sprintf("%.6fHz", 1000*math.Pow(10, k/10)) }

func TestSightOfAbsorption(t *testing.T) {
	for _, table := range []string{"air-absorption", "air-absorption-octave"} {
		geotest.Check(t, table, func(in []string) ([]any, error) {
			x := geotest.Numbers(t, in)
			return told(t, fmt.Sprintf("--whistle 115dB --tone %s --temperature %gC --humidity %g%%", midband(x[2]), x[0], x[1]), "absorption_db_per_km"), nil
		})
	}
}

func TestSightOfFoliage(t *testing.T) {
	geotest.Check(t, "air-foliage", func(in []string) ([]any, error) {
		whistle := "--whistle 115dB --to 500m --tone " + in[0] + "Hz"
		open := told(t, whistle, "level_db")[0].(float64)
		behind := told(t, whistle+" --foliage "+in[1]+"m", "level_db")[0].(float64)
		return []any{open - behind}, nil
	})
}

func TestSightOfPlants(t *testing.T) {
	geotest.Check(t, "air-plants", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		flags := fmt.Sprintf("--light 100cd --to %gm", x[4])
		if x[0] != 0 {
			flags += fmt.Sprintf(" --stems %g/ha", x[0])
		}
		if x[1] != 0 {
			flags += fmt.Sprintf(" --stem-width %gm", x[1])
		}
		if x[2] != 0 {
			flags += fmt.Sprintf(" --leaf-area %g", x[2])
		}
		if x[3] != 0 {
			flags += fmt.Sprintf(" --canopy-height %gm", x[3])
		}
		if code, _, msg := farhail(append([]string{"sight"}, strings.Fields(flags)...)...); code != cli.ExitDone {
			// The command names the flag where the package names the value.
			return nil, fmt.Errorf("%s", strings.NewReplacer("stem-width", "stem width", "canopy-height", "canopy height").Replace(msg))
		}
		return told(t, flags, "inputs.looking.clear_line_m", "clear_line_chance"), nil
	})
}

func TestSightOfMirrors(t *testing.T) {
	geotest.Check(t, "source-mirror", func(in []string) ([]any, error) {
		return told(t, fmt.Sprintf("--mirror 76x127mm --sun %s/%s --mirror-target %s/%s", in[0], in[1], in[2], in[3]),
			"mirror.turn_deg", "mirror.cos_incidence", "mirror.normal_az_deg", "mirror.normal_el_deg"), nil
	})
	// By the inverse square law alone: the light that 24 miles leave of a mirror that
	// throws back all.
	const mile = 1609.344
	mirror := "--mirror 51x76mm --sun 180/60 --mirror-target 180/60 --visibility 1e9km --flat --mirror-reflectivity "
	lx := told(t, mirror+fmt.Sprintf("1 --to %.3fm", 24*mile), "illuminance_lx")[0]
	geotest.Check(t, "source-mirror-field", func(in []string) ([]any, error) {
		m := told(t, mirror+fmt.Sprintf("%s --threshold %glx", in[0], lx), "perceptible_m")
		return []any{m[0].(float64) / mile}, nil
	})
}

// smokeAt returns what sight tells of a plume at a distance.
func smokeAt(t *testing.T, flags string, distM float64) map[string]float64 {
	t.Helper()
	code, out, msg := farhail(append([]string{"sight", "--json"}, strings.Fields(flags)...)...)
	require.Equal(t, cli.ExitDone, code, msg)
	var result struct {
		Smoke struct {
			Plume []map[string]float64 `json:"plume"`
		} `json:"smoke"`
	}
	require.NoError(t, json.Unmarshal([]byte(out), &result))
	for _, at := range result.Smoke.Plume {
		if at["distance_m"] == distM {
			return at
		}
	}
	t.Fatalf("%s: no plume at %g m", flags, distM)
	return nil
}

func TestSightOfSmoke(t *testing.T) {
	geotest.Check(t, "air-spread", func(in []string) ([]any, error) {
		at := smokeAt(t, "--smoke 10g/s --stability "+in[0], geotest.Numbers(t, in[1:])[0])
		return []any{at["side_m"], at["up_m"]}, nil
	})
	// Rows of air-plume-rise in neutral air; the stable ones there are of a final rise
	// that such small fires do not reach.
	for _, row := range [][4]float64{{70, 1, 1000, 14.897}, {70, 3, 1000, 4.966}, {70, 3, 20, 3.344}, {700, 3, 2000, 27.924}} {
		// Of the 13 MJ of a kilogram of wood 0.7 rise with the smoke.
		at := smokeAt(t, fmt.Sprintf("--smoke %.9gg/s --wind %gm/s --stability D", row[0]/(13*0.7), row[1]), row[2])
		require.InEpsilon(t, row[3], at["rise_m"], 2e-3)
	}
	geotest.Check(t, "source-smoke", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in[2:])
		at := smokeAt(t, fmt.Sprintf("--column %s --stability %s --smoke %gg/s --smoke-yield %g --wind %gm/s", in[0], in[1], x[0], x[1], x[3]), x[2])
		// The table's plume is spread by the air alone; depth goes as one over the spread.
		return []any{at["optical_depth"] * at["spread_m"] / at["up_m"]}, nil
	})
}
