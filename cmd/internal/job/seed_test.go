package job

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/plan"
)

// The seed of a plan reaches the draws behind its sightings, and those of sight
// alone with that seed are the same.
func TestSeedOfAPlan(t *testing.T) {
	run := func(seed string) (*Result, string) {
		text := strings.Replace(fmt.Sprintf(planText, seed), "looking:\n", "", 1)
		text, _, _ = strings.Cut(text, "  lookouts:")
		files := fstest.MapFS{"plan.yaml": &fstest.MapFile{Data: []byte(text)}}
		p, err := plan.Read(files, "plan.yaml")
		require.NoError(t, err)
		r, err := Run(context.Background(), files, p, Options{Parts: Sights})
		require.NoError(t, err)
		r.Plan.Hash = "" // of another text
		bytes, err := json.Marshal(r)
		require.NoError(t, err)
		return r, string(bytes)
	}
	seven, bytes := run("seed: 7")
	_, again := run("seed: 7")
	assert.Equal(t, bytes, again)
	eight, other := run("seed: 8")
	assert.NotEqual(t, bytes, other)
	usual, _ := run("")
	for i, s := range seven.Sight {
		o := eight.Sight[i]
		assert.Equal(t, s.NoticedM, o.NoticedM, "the result itself is not drawn")
		if s.NoticedM == 0 {
			continue
		}
		assert.EqualValues(t, 7, s.Inputs.Draws.Seed)
		assert.EqualValues(t, plan.DefaultSeed, usual.Sight[i].Inputs.Draws.Seed)
		assert.NotEqual(t, s.Low.NoticedM, o.Low.NoticedM)
		assert.InEpsilon(t, float64(s.Low.NoticedM), float64(o.Low.NoticedM), 0.12, "as exact as 64 draws are")
		assert.InEpsilon(t, float64(s.High.NoticedM), float64(o.High.NoticedM), 0.12)
		require.NotNil(t, s.Help)
	}
}
