package job

import (
	"context"
	"fmt"
	"testing"
	"testing/fstest"

	"farhail/cmd/internal/plan"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// smokePlan runs a plan of a great light and of a smoke 300 m to the west of a wall
// that stands 50 m over the plain.
func smokePlan(t *testing.T, smoke string) []Sighting {
	t.Helper()
	text := fmt.Sprintf(`version: 1
as_of: 2026-03-01T10:00:00Z
terrain: dem.asc
weather: {wind: 1 m/s}
hours: [2026-03-01T12:00:00Z]
starts:
  - {name: hut, kind: last-known, position: 0.016 -29.9865, error: 50 m, time: 2026-03-01T09:00:00Z}
traveller:
  signals:
    - {name: lamp, light: 1000000 cd, height: 1 m}
    - {name: smoke, smoke: %s, height: 0 m}
`, smoke)
	files := fstest.MapFS{"plan.yaml": {Data: []byte(text)}, "dem.asc": plain(t)}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	r, err := Run(context.Background(), files, p, Options{})
	require.NoError(t, err)
	require.Len(t, r.Sight, 2)
	return r.Sight
}

// TestSmokeOverTheWall: the ground hides a light on it and not the smoke, which is sighted
// at any height along it; a smoke that does not rise over the wall stays behind it.
func TestSmokeOverTheWall(t *testing.T) {
	sights := smokePlan(t, "100 g/s")
	lamp, smoke := sights[0], sights[1]
	// The wall and what is west of it are 61 of 120 columns, about 6.6 km2.
	const cellM2 = 30.06 * 29.86
	westM2 := 61 * 120 * cellM2
	assert.LessOrEqual(t, float64(lamp.SeenAreaM2), westM2)
	assert.Greater(t, float64(lamp.SeenAreaM2), 0.9*westM2)
	assert.Greater(t, float64(smoke.Smoke.TopM), 80.0)
	assert.Greater(t, float64(smoke.SeenAreaM2), 1.1*westM2)

	low := smokePlan(t, "0.2 g/s")[1]
	require.Less(t, float64(low.Smoke.TopM), 50.0)
	assert.LessOrEqual(t, float64(low.SeenAreaM2), westM2)
}

// TestSmokeLevels: the less of a smoke shows, the less far it does.
func TestSmokeLevels(t *testing.T) {
	p, err := plan.Read(fstest.MapFS{"plan.yaml": {Data: []byte(`version: 1
as_of: 2026-03-01T10:00:00Z
hours: [2026-03-01T12:00:00Z]
starts:
  - {name: hut, kind: last-known, position: 0.016 -29.9865, error: 50 m, time: 2026-03-01T09:00:00Z}
traveller:
  signals:
    - {name: smoke, smoke: 10 g/s, height: 3 m}
    - {name: flag, flag: 1x1 m}
`)}}, "plan.yaml")
	require.NoError(t, err)
	r := &run{plan: p, result: &Result{}, seers: []seer{{eyeM: 1.7}}}
	levels, err := r.levelsOf(p.Traveller.Signals[0], p.Hours[0].Time, 0)
	require.NoError(t, err)
	require.Len(t, levels, smokeLevels)
	assert.EqualValues(t, 3, levels[0].heightM)
	for i := 1; i < len(levels); i++ {
		assert.Greater(t, levels[i].heightM, levels[i-1].heightM)
		assert.LessOrEqual(t, levels[i].noticedM, levels[i-1].noticedM)
		assert.Less(t, levels[i].perceptibleM, levels[i-1].perceptibleM)
		assert.Positive(t, levels[i].perceptibleM)
	}
	levels, err = r.levelsOf(p.Traveller.Signals[1], p.Hours[0].Time, 0)
	require.NoError(t, err)
	assert.Nil(t, levels)
}
