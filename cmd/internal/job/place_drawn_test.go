package job

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"farhail/signal/sighting"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What no error of the ground can hide is worth the same with the ground drawn: the mean
// over the same draws, and its tenths those of the distances alone.
func TestDrawnGroundThatHidesNothing(t *testing.T) {
	head := strings.Replace(placeHead, "    - {name: flag,", "    - {name: mast, flag: 1x1 m, reflectance: 0.4, on: 0.05, height: 150 m}\n    - {name: flag,", 1)
	ask := "placement: {signal: %s, candidates: [{name: a, position: 0.016 -29.9965}], count: 1}\n"
	r := placeAlone(t, head+westLookout+fmt.Sprintf(ask, "flag"))
	on := placeAlone(t, head+westLookout+fmt.Sprintf(ask, "mast"))
	d := on.Place[0].Drawn
	require.NotNil(t, d)
	assert.Equal(t, sighting.Draws, d.Draws)
	assert.InDelta(t, float64(on.Place[0].Covered), float64(d.Mean), 1e-6)
	assert.LessOrEqual(t, d.Low, d.Mid)
	assert.LessOrEqual(t, d.Mid, d.High)
	assert.Less(t, float64(d.Low), float64(d.High))
	// On the plain errors of 5 m within 300 m lie across many a line of 166 m between
	// 1.7 m and 1.5 m: a good part is hidden, and the rest seen as before.
	low := r.Place[0].Drawn
	require.NotNil(t, low)
	assert.Less(t, float64(low.Mean), 0.95*float64(r.Place[0].Covered))
	assert.Greater(t, float64(low.Mean), 0.2*float64(r.Place[0].Covered))
}

// A lookout's watch over drawn ground is a share of the whole, the same each time.
func TestDrawnGroundOfLookouts(t *testing.T) {
	r, _ := placePlan(t, "placement: {question: lookouts, count: 1, candidates: [{name: before, position: 0.016 -29.987}]}\n", nil)
	p := r.Place[0]
	require.NotNil(t, p.Drawn)
	assert.LessOrEqual(t, float64(p.Drawn.High), float64(p.Total)*(1+1e-9))
	assert.Positive(t, float64(p.Drawn.Low))
	assert.False(t, math.IsNaN(float64(p.Drawn.Mean)))
	again, _ := placePlan(t, "placement: {question: lookouts, count: 1, candidates: [{name: before, position: 0.016 -29.987}]}\n", nil)
	assert.Equal(t, p.Drawn, again.Place[0].Drawn, "the same draws")
}
