package job

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/plan"
)

// TestCompass: the declination is that of geo/magnetic, which has its own check against
// the model's published values; here its day, its place and its yearly change.
func TestCompass(t *testing.T) {
	ran := func(text string) *Result {
		fsys := fstest.MapFS{"plan.yaml": {Data: []byte(text)}}
		p, err := plan.Read(fsys, "plan.yaml")
		require.NoError(t, err)
		r, err := Run(t.Context(), fsys, p, Options{})
		require.NoError(t, err)
		return r
	}
	const head = "version: 1\nstarts: [{name: a, kind: planning, position: 46.0 -20.0, error: 100 m, time: 2026-11-24T10:00:00Z}]\n"
	r := ran(head + "as_of: 2026-11-24T19:00:00Z\n")
	c := r.Compass
	require.NotNil(t, c)
	want, err := declination(r.Starts[0].Point, *c.Date)
	require.NoError(t, err)
	assert.InDelta(t, want, float64(c.DeclinationDeg), 1e-9)
	assert.InDelta(t, 46, float64(c.Lat), 1e-6)
	next := c.Date.AddDate(1, 0, 0)
	later, err := declination(r.Starts[0].Point, next)
	require.NoError(t, err)
	assert.InDelta(t, later-want, float64(c.YearlyDeg), 0.01, "the model is nearly straight over a year")
	assert.Positive(t, float64(c.DeclinationErrorDeg))

	late := ran(head + "as_of: 2040-01-01T00:00:00Z\n").Compass
	require.NotNil(t, late)
	assert.NotEmpty(t, late.Why, "the model has ended")
	assert.Nil(t, ran("version: 1\nas_of: 2026-11-24T19:00:00Z\n").Compass, "nowhere")
}
