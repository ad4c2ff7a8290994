package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"farhail/cmd/internal/cli"
	"farhail/geo/geotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const andorraLikelihood = `
likelihood:
  outside: 10 %%
  by: KB
  at: 2026-11-24 18:00
  within: 6 km
  views:
    - name: on along their course
      weight: 50 %%
      by: KB
      from: the log
      log: true
      course: 20 deg
      gone: 1500 m
      reach: true
    - name: how far others went
      weight: 30 %%
      by: TR
      from: our own cases
      distances: [25 %% 600 m, 50 %% 1.2 km, 90 %% 5 km]
      smooth: true
      near:
        - {file: %[1]s/data/gpx/andorra-gr11.gpx, times: 4, width: 80 m, from: a witness on the trail}
    - name: lost
      weight: 20 %%
      by: AM
      wander: 3 h
`

// Over real ground: the shares sum to one, the search areas are what a party can
// search and together are the map, the regions hold what they say.
func TestChanceOverAndorra(t *testing.T) {
	if testing.Short() {
		t.Skip("a map of real ground")
	}
	shared := geotest.Shared(t)
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "plan.yaml"), fmt.Appendf(nil, andorraPlan+andorraLikelihood, shared), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "log.txt"), []byte(andorraLog), 0o600))
	var got struct {
		Cells        int
		CellEastM    float64 `json:"cell_east_m"`
		Sum          float64
		OutsideShare float64 `json:"outside_share"`
		EntropyBits  float64 `json:"entropy_bits"`
		RankScore    float64 `json:"rank_score"`
		Regions      []struct {
			Share  float64
			AreaM2 float64 `json:"area_m2"`
		}
		Views []struct {
			Name        string
			Weight      float64
			EntropyBits float64 `json:"entropy_bits"`
			RankScore   float64 `json:"rank_score"`
		}
		SearchAreas []struct {
			AreaM2 float64 `json:"area_m2"`
			Share  float64
		} `json:"search_areas"`
	}
	var stdout, stderr bytes.Buffer
	tif := filepath.Join(dir, "chance.tif")
	code := run(context.Background(), []string{"chance", filepath.Join(dir, "plan.yaml"), "-o", tif, "--json", "--found", "42.575, 1.577"}, strings.NewReader(""), &stdout, &stderr)
	require.Equal(t, cli.ExitDone, code, "stderr: %s", stderr.String())
	require.NoError(t, json.Unmarshal(stdout.Bytes(), &got))

	assert.Greater(t, got.Cells, 10_000)
	assert.InDelta(t, 1, got.Sum+got.OutsideShare, 1e-9) // as printed, with nine figures
	assert.Equal(t, 0.1, got.OutsideShare)
	assert.Less(t, got.EntropyBits, math.Log2(float64(got.Cells)))
	require.Len(t, got.Regions, 2)
	assert.Less(t, got.Regions[0].AreaM2, got.Regions[1].AreaM2)
	require.Len(t, got.Views, 3)
	assert.InDelta(t, 0.5, got.Views[0].Weight, 1e-9)
	assert.Greater(t, got.RankScore, 0.8, "near the end of the log and up the valley")
	share, area := 0.0, 0.0
	for _, a := range got.SearchAreas {
		share += a.Share
		area += a.AreaM2
		assert.GreaterOrEqual(t, a.AreaM2, 0.1e6)
		assert.Less(t, a.AreaM2, 1.1e6)
	}
	assert.InDelta(t, 0.9, share, 1e-6)
	assert.Greater(t, len(got.SearchAreas), 100)
	t.Logf("%d cells, %d areas, entropy %.2f bits, 50 %% in %.1f km2, 90 %% in %.1f km2, rank score %.2f", got.Cells, len(got.SearchAreas), got.EntropyBits, got.Regions[0].AreaM2/1e6, got.Regions[1].AreaM2/1e6, got.RankScore)

	data, err := os.ReadFile(tif)
	require.NoError(t, err)
	require.Equal(t, "II*", string(data[:3]))
	stdout.Reset()
	require.Equal(t, cli.ExitInput, run(context.Background(), []string{"see", "--terrain", tif, "--from", "42.56, 1.57"}, strings.NewReader(""), &stdout, &stderr), "a likelihood is no ground")

	geojson := filepath.Join(dir, "chance.geojson")
	require.Equal(t, cli.ExitDone, run(context.Background(), []string{"chance", filepath.Join(dir, "plan.yaml"), "-o", geojson}, strings.NewReader(""), &stdout, &stderr))
	assert.Contains(t, stdout.String(), "WHERE THEY ARE LIKELY TO BE")
	layers := map[string]int{}
	for _, f := range readGeoJSON(t, geojson).Features {
		layers[f.Properties["layer"].(string)]++
	}
	assert.Equal(t, 2, layers["likely"])
	assert.Equal(t, len(got.SearchAreas), layers["search-area"])
}

// Cells are as small as they can be and no smaller than asked for.
func TestChanceCells(t *testing.T) {
	if testing.Short() {
		t.Skip("a map of real ground")
	}
	shared := geotest.Shared(t)
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "log.txt"), []byte(andorraLog), 0o600))
	var stdout, stderr bytes.Buffer
	for cell, want := range map[string][2]float64{"50 m": {60, 100}, "150 m": {150, 210}} {
		text := fmt.Sprintf(andorraPlan+andorraLikelihood, shared)
		text = strings.Replace(text, "  within: 6 km\n", "  within: 6 km\n  cell: "+cell+"\n", 1)
		require.NoError(t, os.WriteFile(filepath.Join(dir, "plan.yaml"), []byte(text), 0o600))
		stdout.Reset()
		require.Equal(t, cli.ExitDone, run(context.Background(), []string{"chance", filepath.Join(dir, "plan.yaml"), "--json"}, strings.NewReader(""), &stdout, &stderr), stderr.String())
		var got struct {
			CellEastM  float64 `json:"cell_east_m"`
			CellNorthM float64 `json:"cell_north_m"`
		}
		require.NoError(t, json.Unmarshal(stdout.Bytes(), &got))
		least := min(got.CellEastM, got.CellNorthM)
		assert.GreaterOrEqual(t, least, want[0], cell)
		assert.Less(t, least, want[1], cell)
	}
}
