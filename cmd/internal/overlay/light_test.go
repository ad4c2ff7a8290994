package overlay

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/geo/layer"
)

func TestLightTellsLooksApart(t *testing.T) {
	at := func(hour int) *time.Time {
		v := time.Date(2026, 11, 24, hour, 0, 0, 0, time.UTC)
		return &v
	}
	r := &job.Result{Sky: []job.SkyResult{{At: at(17), Sun: job.SkySun{ElevationDeg: -4}}}}
	for hour, sun := range map[int]float64{12: 20, 22: -40} {
		s := job.Sighting{At: at(hour)}
		s.Inputs.SunElevationDeg = cli.Num(sun)
		r.Sight = append(r.Sight, s)
	}
	assert.Equal(t, Day, lightAt(r, at(12)))
	assert.Equal(t, Twilight, lightAt(r, at(17)))
	assert.Equal(t, Night, lightAt(r, at(22)))
	assert.Empty(t, lightAt(r, at(3)), "an hour that the result does not have")
	assert.Empty(t, lightAt(r, nil))

	sights := lookOf(layer.Layer{ID: Sights, Features: []layer.Feature{{}}})
	seen := lookOf(layer.Layer{ID: Seen, Features: []layer.Feature{{}}})
	by := func(k Look, light string) Look { return k.For(layer.New("", nil, layer.P("light", light))) }
	assert.NotEqual(t, by(sights, Day).DashMM, by(sights, Night).DashMM)
	assert.NotEqual(t, by(sights, Day).DashMM, by(sights, Twilight).DashMM)
	assert.NotEqual(t, by(seen, Day).Hatch, by(seen, Night).Hatch)
	assert.Equal(t, by(sights, Day).Colour, by(sights, Night).Colour, "told apart by dash, not by colour")
}
