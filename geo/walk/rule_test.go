package walk

import (
	"errors"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"farhail/geo/geotest"

	"github.com/stretchr/testify/require"
)

// named parses a rule and a number from a check file's row.
func named(in []string) (Rule, float64, error) {
	r, ok := Named(in[0])
	if !ok {
		return Rule{}, 0, errors.New("no such rule")
	}
	x, err := strconv.ParseFloat(in[1], 64)
	return r, x, err
}

func TestTobler(t *testing.T) {
	geotest.Check(t, "walk-tobler", func(in []string) ([]any, error) {
		r, deg, err := named(in)
		slope := math.Tan(deg * math.Pi / 180)
		return []any{r.Speed(slope) * 3.6, r.Pace(slope)}, err
	})
}

func TestRules(t *testing.T) {
	for _, name := range []string{"walk-rules", "walk-rules-more"} {
		geotest.Check(t, name, func(in []string) ([]any, error) {
			r, slope, err := named(in)
			if err != nil {
				return nil, err
			}
			return []any{r.Speed(slope) * 3.6}, nil
		})
	}
}

// Whole ways, walked as printed: a flat part, a climb and a descent.
func TestWays(t *testing.T) {
	for _, name := range []string{"walk-ways", "walk-seconds"} {
		geotest.Check(t, name, func(in []string) ([]any, error) {
			r, _, err := named([]string{in[0], "0"})
			if err != nil {
				return nil, err
			}
			var minutes float64
			for i := 1; i < len(in); i += 2 {
				length, err1 := strconv.ParseFloat(in[i], 64)
				rise, err2 := strconv.ParseFloat(in[i+1], 64)
				if err := errors.Join(err1, err2); err != nil {
					return nil, err
				}
				if length > 0 {
					minutes += length * r.MapPace(rise/length) / 60
				}
			}
			return []any{minutes}, nil
		})
	}
}

// Where zigzags begin to win, and what they win.
func TestZigzag(t *testing.T) {
	geotest.Check(t, "walk-zigzag", func(in []string) ([]any, error) {
		r, slope, err := named(in)
		if err != nil {
			return nil, err
		}
		pace := r.ZigzagPace(slope)
		turn := slope
		for i := 1; i <= 2000; i++ {
			// The steepest slope that is walked straight on the way to this one.
			if s := slope * float64(i) / 2000; r.MapPace(s) > r.ZigzagPace(s)*(1+1e-9) {
				turn = s
				break
			}
		}
		return []any{3.6 / pace, turn}, nil
	})
}

// The table of the search keeps to the exact function, its convex floor below.
func TestPacer(t *testing.T) {
	for _, r := range Rules() {
		p := newPacer(r, true)
		for s := -2.0; s <= 2; s += 0.0137 {
			exact := r.ZigzagPace(s)
			if r.Name != "naismith-langmuir" { // it jumps at 5 degrees
				require.InEpsilon(t, exact, p.at(s), 2e-5, "%s at %g", r.Name, s)
			}
			require.LessOrEqual(t, p.atLeast(s), p.at(s)*(1+1e-12), "%s at %g", r.Name, s)
		}
		require.True(t, math.IsNaN(p.at(math.NaN())))
	}
}

// What holds for every rule: a source, a name in small letters, a speed that a
// walker has, the fastest going on a gentle descent, NaN for NaN.
func TestEveryRule(t *testing.T) {
	require.True(t, slices.IsSortedFunc(Rules(), func(a, b Rule) int { return strings.Compare(a.Name, b.Name) }))
	for _, r := range Rules() {
		t.Run(r.Name, func(t *testing.T) {
			require.Regexp(t, `^[a-z]+(-[a-z0-9]+)*$`, r.Name)
			require.Regexp(t, `(19|20)[0-9]{2}`, r.Source)
			require.NotEmpty(t, r.About)
			require.NotEmpty(t, r.Validity)
			require.LessOrEqual(t, r.Speed(0), r.OnTrail().Speed(0))
			require.Contains(t, []DistanceKind{MapDistance, SlopeDistance}, r.DistanceKind)
			require.Contains(t, Names(), r.Name)
			best := math.Inf(-1)
			var at float64
			for s := -3.0; s <= 3; s += 0.001 {
				v := r.Speed(s)
				require.GreaterOrEqual(t, v, FloorMS)
				// The uncapped rule is there for comparison only, and says so.
				require.True(t, v <= 7/3.6 || strings.Contains(r.Validity, "comparison only"), "faster than walking at %g", s)
				require.Equal(t, r.Floored(s), v == FloorMS)
				if v > best {
					best, at = v, s
				}
			}
			require.InDelta(t, best, r.Top(), 1e-6)
			require.LessOrEqual(t, at, 0.0)
			require.GreaterOrEqual(t, at, -0.2126, "steeper than Langmuir's gentle descent, 12 degrees")
			require.True(t, math.IsNaN(r.Speed(math.NaN())))
		})
	}
}

// The floor acts on ground too steep to walk only: Tobler's function reaches it
// at ln(6/3.6/0.02)/3.5 from -5 %.
func TestFloor(t *testing.T) {
	r, _ := Named("tobler")
	reach := math.Log(6/3.6/FloorMS) / 3.5
	require.InDelta(t, 1.2637, reach, 1e-4)
	for _, sign := range []float64{-1, 1} {
		require.False(t, r.Floored(sign*(reach-1e-6)-0.05))
		require.True(t, r.Floored(sign*(reach+1e-6)-0.05))
	}
}

func TestMapPace(t *testing.T) {
	tobler, _ := Named("tobler")
	// 1 km at +10 %: 16.905 min on the map, 16.989 along the slope; from the
	// formula with sqrt(1 + 0.1²).
	require.InDelta(t, 16.905, tobler.MapPace(0.1)*1000/60, 5e-4)
	tobler.DistanceKind = SlopeDistance
	require.InDelta(t, 16.989, tobler.MapPace(0.1)*1000/60, 5e-4)
}

func TestNoSuchRule(t *testing.T) {
	_, ok := Named("nobody")
	require.False(t, ok)
}
