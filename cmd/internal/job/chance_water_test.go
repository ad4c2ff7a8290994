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

// TestWaterIsNotSearched: a lake of the cover lies in no search area that is cut, what the
// surface has in it is told and kept.
func TestWaterIsNotSearched(t *testing.T) {
	chance := func(more string) *Chance {
		files := fstest.MapFS{
			"plan.yaml": {Data: fmt.Appendf(nil, fellPlan, "terrain: dem.asc\n"+more)},
			"dem.asc":   {Data: []byte(fellPlain())},
			"land.geojson": {Data: []byte(`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"natural":"water"},
				"geometry":{"type":"Polygon","coordinates":[[[-30.005,40.002],[-29.995,40.002],[-29.995,40.010],[-30.005,40.010],[-30.005,40.002]]]}}]}`)},
		}
		p, err := plan.Read(files, "plan.yaml")
		require.NoError(t, err)
		r, err := Run(context.Background(), files, p, Options{Parts: Sweeping})
		require.NoError(t, err)
		require.NotNil(t, r.Chance, r.LeftOut)
		return r.Chance
	}
	dry, wet := chance(""), chance("cover: land.geojson\n")
	assert.Zero(t, dry.WaterM2)
	assert.Zero(t, dry.Elsewhere)
	// 0.01 by 0.008 degrees at 40 N: 854 by 888 m, by cells of 171 by 222 m.
	assert.InEpsilon(t, 854*888, float64(wet.WaterM2), 0.3)
	assert.Greater(t, float64(wet.WaterShare), 0.03)
	assert.InDelta(t, float64(wet.WaterShare), float64(wet.Elsewhere), 1e-9)
	areas := func(c *Chance) (m2, share float64) {
		for _, a := range c.SearchAreas {
			m2, share = m2+float64(a.AreaM2), share+float64(a.Share)
		}
		return m2, share
	}
	dryM2, _ := areas(dry)
	wetM2, shares := areas(wet)
	assert.InEpsilon(t, dryM2, wetM2+float64(wet.WaterM2), 1e-6)
	assert.InDelta(t, 0.9, shares+float64(wet.Elsewhere), 1e-9)
}
