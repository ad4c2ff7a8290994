package job

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"farhail/cmd/internal/plan"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

// The ground that is loaded reaches as far as the map of the likelihood, and that
// far from everywhere in a start's error.
func TestGroundForTheMap(t *testing.T) {
	for _, c := range []struct{ withinM, errorM, degrees float64 }{
		{10e3, 0, viewLimitM / 111.2e3},
		{100e3, 0, 100 / 111.2},
		{100e3, 50e3, 150 / 111.2},
	} {
		r := &run{plan: &plan.Plan{Likelihood: plan.Likelihood{WithinM: c.withinM}, Starts: []plan.Start{{Radius95M: c.errorM}}}}
		b := r.widen(orb.Point{10, 0}.Bound())
		require.InEpsilon(t, c.degrees, b.Max.Lat(), 0.01)
		require.InEpsilon(t, c.degrees, b.Max.Lon()-10, 0.01)
	}
}

// A map that the terrain cuts short is told of; one within it is not.
func TestMapBeyondTheTerrain(t *testing.T) {
	for _, c := range []struct {
		within string
		told   bool
	}{{"500 m", false}, {"5 km", true}} {
		text := fmt.Sprintf(planText, "terrain: plain.asc") + "likelihood: {outside: 10 %, by: KB, within: " + c.within + ", views: [{name: v, weight: 1, by: KB, even: true}]}\n"
		files := fstest.MapFS{"plain.asc": plain(t), "plan.yaml": {Data: []byte(text)}}
		p, err := plan.Read(files, "plan.yaml")
		require.NoError(t, err)
		r, err := Run(context.Background(), files, p, Options{Parts: Chances})
		require.NoError(t, err)
		require.Equal(t, c.told, strings.Contains(textsOf(r), "the map of the likelihood ends where the terrain does"), c.within)
	}
}
