package earth

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"farhail/geo/geotest"
)

func TestDropCheck(t *testing.T) {
	geotest.Check(t, "earth-drop", func(in []string) ([]any, error) {
		v, err := geotest.Floats(in)
		if err != nil {
			return nil, err
		}
		return []any{DropM(v[0], v[1], 6371000)}, nil
	})
}

func TestHorizonCheck(t *testing.T) {
	const foot, nauticalMile = 0.3048, 1852.0
	geotest.Check(t, "earth-horizon", func(in []string) ([]any, error) {
		v, err := geotest.Floats(in)
		if err != nil {
			return nil, err
		}
		k, r := 1-0.8279, 3440.1*nauticalMile // Bowditch's constants
		return []any{(HorizonM(v[0]*foot, k, r) + HorizonM(v[1]*foot, k, r)) / nauticalMile}, nil
	})
}

func TestHorizonInvertsDrop(t *testing.T) {
	for _, k := range []float64{-0.2, 0, DefaultRefraction, 0.25} {
		for _, h := range []float64{0, 0.5, 1.7, 300, 4000} {
			assert.InDelta(t, h, DropM(HorizonM(h, k, MeanRadiusM), k, MeanRadiusM), 1e-9)
		}
	}
	assert.True(t, math.IsInf(HorizonM(1, 1, MeanRadiusM), 1))
	assert.True(t, math.IsNaN(HorizonM(-1, 0.13, MeanRadiusM)))
	assert.True(t, math.IsNaN(HorizonM(1, 1.1, MeanRadiusM)))
}

// The parabola against the circle: the bounds that DropM's comment states.
func TestDropAgainstCircle(t *testing.T) {
	circle := func(d float64) float64 { return MeanRadiusM/math.Cos(d/MeanRadiusM) - MeanRadiusM }
	assert.InDelta(t, circle(18e3), DropM(18e3, 0, MeanRadiusM), 0.001)
	assert.InDelta(t, 7, circle(300e3)-DropM(300e3, 0, MeanRadiusM), 0.5)
}
