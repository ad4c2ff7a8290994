package job

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Over several hours a question about likely cells has one answer, worth the mean of what
// the same sites are worth in each hour alone.
func TestLikelyCellsOverHours(t *testing.T) {
	for _, ask := range []string{
		"{question: lookouts, signal: flag, count: 1, candidates: [{name: before, position: 0.016 -29.987}]}",
		"{question: attract, signal: flag, count: 1, candidates: [{name: before, position: 0.016 -29.987}]}",
		"{question: relay, signal: flag, count: 1, base: before, candidates: [{name: before, position: 0.016 -29.987}]}",
	} {
		at := func(hours string) *Result {
			text, found := placeHead, false
			for _, line := range strings.Split(placeHead, "\n") {
				if strings.HasPrefix(line, "hours:") {
					text, found = strings.Replace(text, line, "hours: "+hours, 1), true
				}
			}
			require.True(t, found)
			r, _ := placeText(t, text+"placement: "+ask+"\n", nil)
			return r
		}
		const noon, dusk = "2026-03-01 13:00", "2026-03-01 19:45"
		both, day, late := at("["+noon+", "+dusk+"]"), at(noon), at(dusk)
		require.Len(t, both.Place, 1, ask)
		over := both.Place[0].OverHours
		require.Len(t, over, 2, ask)
		a, b := float64(day.Place[0].Covered), float64(late.Place[0].Covered)
		require.Greater(t, math.Abs(a-b), 0.02*b, "the hours differ: %s", ask)
		assert.InDelta(t, a, float64(over[0].Covered), 1e-6, ask)
		assert.InDelta(t, b, float64(over[1].Covered), 1e-6, ask)
		assert.InDelta(t, (a+b)/2, float64(both.Place[0].Covered), 1e-6, ask)
		assert.Contains(t, strings.Join(both.Place[0].RestsOn, "; "), "2 hours of the plan", ask)
	}
}
