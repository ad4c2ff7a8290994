package sweep

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The sums against dice: the day and each watcher draw an offset of the threshold,
// each leg then shows the target or not. Predicted chances of detection agree with
// what is found within 0.03 in every tenth of them, with 4000 draws and more in each.
func TestSimulatedDetections(t *testing.T) {
	p := passing(t, solve(t, forest(0.4, 12)))
	r := rand.New(rand.NewPCG(12, 12))
	var ways []Way
	for watcher := range 4 {
		for range 3 {
			way := Way{Passing: p, Watcher: watcher}
			for range 4 {
				way.Points = append(way.Points, Point{120 * r.Float64(), 120 * r.Float64()})
			}
			ways = append(ways, way)
		}
	}
	var at []Point
	for range 400 {
		at = append(at, Point{200*r.Float64() - 40, 200*r.Float64() - 40})
	}
	predicted := search(t, Operation{Ways: ways}, at)
	var cells [10][]int
	for cell, pod := range predicted {
		tenth := min(int(10*pod), 9)
		cells[tenth] = append(cells[tenth], cell)
	}
	const draws = 6000
	for tenth, list := range cells {
		require.NotEmpty(t, list, "tenth %d", tenth)
		sum, found := 0.0, 0.0
		for _, cell := range list {
			legs := hazardsByLeg(ways, at[cell])
			for range draws/len(list) + 1 {
				sum += predicted[cell]
				if seen(r, legs) {
					found++
				}
			}
		}
		all := float64(len(list) * (draws/len(list) + 1))
		assert.InDelta(t, sum/all, found/all, 0.03, "tenth %d", tenth)
	}
}

// hazardsByLeg returns the hazards of every leg, by watcher.
func hazardsByLeg(ways []Way, at Point) map[int][][offsets]float64 {
	by := map[int][][offsets]float64{}
	for _, w := range ways {
		for i := 1; i < len(w.Points); i++ {
			dir, l := w.Points[i-1].toward(w.Points[i])
			dx, dy := at.EastM-w.Points[i-1].EastM, at.NorthM-w.Points[i-1].NorthM
			along, across := dx*dir.EastM+dy*dir.NorthM, dx*dir.NorthM-dy*dir.EastM
			var h [offsets]float64
			w.Passing.add(&h, level(math.Abs(across), along, along-l), 1)
			by[w.Watcher] = append(by[w.Watcher], h)
		}
	}
	return by
}

// seen rolls the dice once.
func seen(r *rand.Rand, legs map[int][][offsets]float64) bool {
	day := sharedSD * r.NormFloat64()
	for watcher := range len(legs) {
		x := min(max((day+ownSD*r.NormFloat64())/offsetStep+offsetEach, 0), offsets-1.001)
		i, part := int(x), x-math.Floor(x)
		for _, h := range legs[watcher] {
			if r.Float64() < -math.Expm1(-(h[i]*(1-part) + h[i+1]*part)) {
				return true
			}
		}
	}
	return false
}
