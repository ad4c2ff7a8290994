package main

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestSeeRasters: what the rasters of see hold, read by another program: the wall
// four columns off hides the cells behind it, chances and their standard errors,
// slopes and light of the wall's flanks.
func TestSeeRasters(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	require.NoError(t, os.WriteFile(at("wall.asc"), []byte(wallASC), 0o600))
	look := func(args ...string) map[string]any {
		return runVerb(t, append([]string{"see", "--terrain", at("wall.asc")}, args...)...)
	}
	eye := []string{"--from", "42.5N 1.5E", "--eye-height", "2m", "--refraction", "1"}

	look(append(eye, "--witness", "-o", at("blocked.tif"))...)
	got := readGeoTIFF(t, at("blocked.tif"))
	east, _ := got.Metres(1)
	for col := range 9 {
		if col <= 4 {
			assert.True(t, math.IsNaN(got.At(col, 1)), "column %d is seen", col)
		} else {
			assert.InDelta(t, 4*east, got.At(col, 1), 0.01, "column %d", col)
		}
	}

	answer := look(append(eye, "--target-height", "62m", "--chance", "400", "-o", at("chance.tif"), "--plus-minus", at("error.tif"))...)
	chance, errors := readGeoTIFF(t, at("chance.tif")), readGeoTIFF(t, at("error.tif"))
	assert.Equal(t, 1.0, chance.At(1, 1))
	// 62 m are just what is needed there by the bare figures.
	assert.InDelta(t, 0.5, chance.At(5, 1), 0.1)
	assert.Less(t, chance.At(6, 1), chance.At(5, 1))
	p := chance.At(5, 1)
	assert.InDelta(t, math.Sqrt(p*(1-p)/400), errors.At(5, 1), 2e-4)
	assert.Positive(t, errors.At(1, 1))
	assert.InDelta(t, errors.At(5, 1), answer["chance"].(map[string]any)["plus_minus_most"], 2e-3)

	look("--slope", "percent", "-o", at("slope.tif"))
	slope := readGeoTIFF(t, at("slope.tif"))
	assert.InDelta(t, 100*50/(2*east), slope.At(3, 1), 0.01)
	assert.True(t, math.IsNaN(slope.At(3, 0)), "the edge")
	look("--hillshade", "-o", at("shade.tif"))
	shade := readGeoTIFF(t, at("shade.tif"))
	assert.InDelta(t, math.Sqrt(0.5), shade.At(1, 1), 1e-4, "level ground")
	assert.Greater(t, shade.At(3, 1), shade.At(5, 1), "lit from the west")
}
