package walk

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"farhail/geo/geotest"
	"farhail/geo/grid"

	"github.com/stretchr/testify/require"
)

// formulaGround is the ground that r.walk was run on: heights by column and row.
var formulaGround = map[string]func(c, r float64) float64{
	"waves": func(c, r float64) float64 { return 100 * math.Sin(c/17) * math.Cos(r/23) },
	"cone":  func(c, r float64) float64 { return -8 * math.Hypot(c-200, r-200) },
	"tilt":  func(c, r float64) float64 { return 3*c - 5*r },
}

// 16 moves over the grid's own lengths give the times of GRASS r.walk -k to
// 1e-5, and so as many cells within a time.
func TestAsGRASS(t *testing.T) {
	const n = 401
	fields := map[string]*Field{}
	for name, height := range formulaGround {
		h := &grid.Heights{Frame: level(n, n, 30).Frame, Z: make([]float32, n*n)}
		for i := range h.Z {
			h.Z[i] = float32(height(float64(i%n), float64(i/n)))
		}
		f, err := Reach(background, h, Options{Rule: rule(t, "langmuir-per-metre"), Neighbours: 16, EndHeights: true, GridLengths: true, Starts: middle(h), MaxSeconds: 1e6})
		require.NoError(t, err)
		fields[name] = f
		geotest.Check(t, "walk-grid-"+name, func(in []string) ([]any, error) {
			v := geotest.Numbers(t, in[1:])
			return []any{float64(fields[in[0]].Seconds[int(v[1])*n+int(v[0])])}, nil
		})
	}
	geotest.Check(t, "walk-grid-within", func(in []string) ([]any, error) {
		f, limit := fields[in[0]], geotest.Numbers(t, in[1:])[0]
		within := 0
		for _, s := range f.Seconds {
			if float64(s) <= limit {
				within++
			}
		}
		return []any{within}, nil
	})
}

// Heights at equal steps of a way, of which Naismith's rule makes minutes.
func TestNaismithCases(t *testing.T) {
	r := rule(t, "naismith-langmuir")
	geotest.Check(t, "walk-naismith-cases", func(in []string) ([]any, error) {
		heights := geotest.Numbers(t, strings.Fields(in[0]))
		lengthM, err := strconv.ParseFloat(in[1], 64)
		if err != nil {
			return nil, err
		}
		if len(heights) == 1 {
			return []any{lengthM * r.MapPace(0) / 60}, nil
		}
		stepM, minutes := lengthM/float64(len(heights)-1), 0.0
		for i := 1; i < len(heights); i++ {
			minutes += stepM * r.MapPace((heights[i]-heights[i-1])/stepM) / 60
		}
		return []any{minutes}, nil
	})
}
