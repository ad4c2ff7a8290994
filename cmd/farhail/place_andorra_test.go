package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/cli"
	"farhail/geo/geotest"
)

// andorraPlaces asks on real ground, with real cover: cells of 90 m, on which no cliff
// can be checked.
const andorraPlaces = `version: 1
example: true
as_of: 2026-11-24 19:00
zone: Europe/Andorra
terrain: %[1]s/data/dem/N42E001.hgt.zip
cover: [%[1]s/data/landcover/andorra-landcover.geojson, %[1]s/data/landcover/andorra-waterways.geojson]
hours: 2026-11-24 21:00
starts:
  - {name: hut, kind: last-known, position: 42.5555 1.5711, error: 100 m, time: 2026-11-24 14:00}
traveller:
  signals: [{name: lamp, light: 20 cd}]
likelihood:
  outside: 10 %%
  by: KB
  within: 4 km
  views: [{name: far, weight: 1, by: KB, distances: [50 %% 1 km, 90 %% 3 km]}]
placement:
  - {question: lookouts, count: 2, among: [ridges, knolls], max_slope: 30 deg}
  - {question: attract, count: 2, spacing: 800 m, among: [clearings, grid], shows: {name: beacon, light: 2000 cd, height: 4 m}, %[2]s}
`

func TestAndorraPlaces(t *testing.T) {
	if testing.Short() {
		t.Skip("real terrain; the full run does it")
	}
	shared := geotest.Shared(t)
	type placed struct {
		Places []struct {
			Question              string
			Covered, Bound, Total float64
			Candidates            int
			Sites                 []struct {
				SeenShare     float64 `json:"seen_share"`
				CrossingShare float64 `json:"crossing_share"`
				Cover         string
			}
			Crossing *struct {
				Checked     bool    `json:"cliffs_checked"`
				LimitDeg    float64 `json:"limit_deg"`
				WaterCells  int     `json:"water_cells"`
				SteepCells  int     `json:"steep_cells"`
				NotProposed int     `json:"not_proposed"`
			}
		}
	}
	ask := func(word string) (placed, string) {
		file := filepath.Join(t.TempDir(), "plan.yaml")
		require.NoError(t, os.WriteFile(file, fmt.Appendf(nil, andorraPlaces, shared, word), 0o600))
		var stdout, stderr bytes.Buffer
		code := run(context.Background(), []string{"place", file, "--json"}, strings.NewReader(""), &stdout, &stderr)
		require.Equal(t, cli.ExitDone, code, "stderr: %s", stderr.String())
		var p placed
		require.NoError(t, json.Unmarshal(stdout.Bytes(), &p))
		return p, stderr.String()
	}
	p, told := ask("forced: false")
	require.Len(t, p.Places, 1, "lookouts alone: nobody has seen the ground")
	assert.Contains(t, told, "cannot show cliffs")
	lookouts := p.Places[0]
	require.Len(t, lookouts.Sites, 2)
	assert.LessOrEqual(t, lookouts.Covered, lookouts.Bound*(1+1e-9))
	assert.LessOrEqual(t, lookouts.Bound, lookouts.Total*(1+1e-9))
	for _, s := range lookouts.Sites {
		assert.NotEmpty(t, s.Cover)
	}

	p, _ = ask("ground_seen_by: KB")
	require.Len(t, p.Places, 2)
	a := p.Places[1]
	assert.False(t, a.Crossing.Checked)
	assert.InDelta(t, 30, a.Crossing.LimitDeg, 0)
	assert.Positive(t, a.Crossing.WaterCells, "the Valira")
	assert.Positive(t, a.Crossing.SteepCells)
	assert.Positive(t, a.Crossing.NotProposed)
	for _, s := range a.Sites {
		assert.LessOrEqual(t, s.CrossingShare, 0.1)
	}
	assert.LessOrEqual(t, a.Covered, a.Bound*(1+1e-9))
}
