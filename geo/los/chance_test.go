package los

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"farhail/geo/grid"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// below is the share of a normal distribution below x standard deviations.
func below(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }

// TestChanceExact: without errors a cell is seen always or never, as SeenArea has
// it; what no-data leaves open stays open.
func TestChanceExact(t *testing.T) {
	for _, name := range []string{"30 m", "wide", "60 N", "chains"} {
		f := frames(50, 40)[name]
		h := &grid.Heights{Frame: f, Z: hills(rand.New(rand.NewPCG(4, 4)), f.Cols, f.Rows, f.DX/20, 0.01)}
		h.Z[20*50+25] = 700
		eye := Station{Col: 25, Row: 20, HeightM: 2}
		m, _ := f.Metres(20)
		want, err := SeenArea(t.Context(), h, eye, 2, 18*m, DefaultOptions())
		require.NoError(t, err)
		got, err := ChanceArea(t.Context(), h, []Station{eye}, 2, 18*m, DefaultOptions(), Errors{}, 1, 3)
		require.NoError(t, err)
		require.Equal(t, want.Frame, got.Frame)
		assert.Equal(t, [2]int{want.Cells, want.Unknown}, [2]int{got.Cells, got.Unknown})
		assert.InEpsilon(t, want.AreaM2, got.AreaM2, 1e-9)
		assert.InDelta(t, 0, got.AreaSD, 1e-6*want.AreaM2)
		for i, s := range want.State {
			switch p := float64(got.P[i]); s {
			case Seen:
				require.Equal(t, 1.0, p)
			case Hidden:
				require.Equal(t, 0.0, p)
			default:
				require.True(t, math.IsNaN(p))
			}
		}
	}
}

// TestChanceOfOneLine: three cells in a row, and the normal distribution of the gap
// over the middle one: its variance by hand from the variogram.
func TestChanceOfOneLine(t *testing.T) {
	const n, sd, rangeM = 1500, 5.0, 150.0
	f := grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 500000, Y0: 4700000, DX: 30, DY: 30, Cols: 3, Rows: 1}
	h := &grid.Heights{Frame: f, Z: []float32{100, 103, 100}}
	o := Options{Refraction: 1} // no curvature
	field, err := grid.NewErrorField(f, sd, rangeM, nil)
	require.NoError(t, err)
	// Gap of the line from 102 to 101 m over 103 m: (e0 + e2) / 2 - e1 - 1.5.
	r1, r2 := field.Correlation(1, 0), field.Correlation(2, 0)
	spread := sd * math.Sqrt(1.5+r2/2-2*r1)
	got, err := ChanceArea(t.Context(), h, []Station{{HeightM: 2}}, 1, math.Inf(1), o, Errors{HeightM: sd, RangeM: rangeM}, 11, n)
	require.NoError(t, err)
	want := below(-1.5 / spread)
	assert.InDelta(t, want, got.P[2], 4*math.Sqrt(want*(1-want)/n))
	assert.Equal(t, float32(1), got.P[1], "the cells around the eye are seen")

	// The eye's height alone: it needs 2 m above 103 from 2 m: 5 m by twice the rise.
	got, err = ChanceArea(t.Context(), h, []Station{{HeightM: 5.2}}, 1, math.Inf(1), o, Errors{EyeM: 0.5}, 12, n)
	require.NoError(t, err)
	want = below((5.2 - 5 + 2*tieM) / 0.5)
	assert.InDelta(t, want, got.P[2], 4*math.Sqrt(want*(1-want)/n))

	// All heights measured: no doubt is left.
	got, err = ChanceArea(t.Context(), h, []Station{{HeightM: 2}}, 1, math.Inf(1), o, Errors{HeightM: sd, RangeM: rangeM, Known: []int{0, 1, 2}}, 11, 50)
	require.NoError(t, err)
	assert.Equal(t, []float32{1, 1, 0}, got.P)

	// Refraction: 19 km of sea.
	sea := &grid.Heights{Frame: f, Z: make([]float32, 3)}
	sea.DX = 9500
	e := Errors{Refraction: 0.05}
	got, err = ChanceArea(t.Context(), sea, []Station{{HeightM: 10}}, 2.4, math.Inf(1), Options{Refraction: 0.13}, e, 13, n)
	require.NoError(t, err)
	// Seen where the chord clears the middle: (10 + 2.4 + tie) / 2 >= q D² / 4.
	eye, err := NewEye(sea, Station{HeightM: 10}, Options{})
	require.NoError(t, err)
	d := eye.legs(nil, 2, 0)[0].to
	most := 1 - (12.4+2*tieM)/2*4/(d*d)/eye.q
	want = below((0.13 - most) / 0.05)
	require.InDelta(t, 0.5, want, 0.45, "k from %.3f on", most)
	assert.InDelta(t, want, got.P[2], 4*math.Sqrt(want*(1-want)/n))
}

// TestChancePlainly draws by hand, one realisation after the other, with two
// watchers and a screen, and finds the same counts on any number of processors.
func TestChancePlainly(t *testing.T) {
	const n, seed = 12, 77
	f := frames(40, 30)["30 m"]
	rng := rand.New(rand.NewPCG(6, 6))
	h := &grid.Heights{Frame: f, Z: hills(rng, f.Cols, f.Rows, 2, 0.01)}
	h.Z[15*40+10], h.Z[12*40+30] = 600, 590
	o := DefaultOptions()
	o.Screen = canopies(rng, h, 10)
	eyes := []Station{{Col: 10, Row: 15, HeightM: 3}, {Col: 30, Row: 12, HeightM: 1}}
	e := Errors{HeightM: 4, RangeM: 200, EyeM: 0.3, Refraction: 0.04, Known: []int{15*40 + 10}}
	got, err := ChanceArea(t.Context(), h, eyes, 2, math.Inf(1), o, e, seed, n)
	require.NoError(t, err)

	field, err := grid.NewErrorField(f, e.HeightM, e.RangeM, e.Known)
	require.NoError(t, err)
	seen, open := make([]int, len(h.Z)), make([]bool, len(h.Z))
	off := make([]float32, len(h.Z))
	for i := range n {
		rng := rand.New(rand.NewPCG(seed, uint64(i)))
		o := o
		o.Refraction += e.Refraction * rng.NormFloat64()
		heights := []float64{eyes[0].HeightM + e.EyeM*rng.NormFloat64(), eyes[1].HeightM + e.EyeM*rng.NormFloat64()}
		require.NoError(t, field.Draw(t.Context(), rng, off))
		ground := &grid.Heights{Frame: f, Z: append([]float32(nil), h.Z...)}
		o.Screen = append([]float32(nil), o.Screen...)
		for j := range off {
			ground.Z[j] += off[j]
			o.Screen[j] += off[j]
		}
		states := make([]State, len(h.Z))
		for k, at := range eyes {
			at.HeightM = max(heights[k], 0)
			eye, err := NewEye(ground, at, o)
			require.NoError(t, err)
			for j, s := range plainStates(eye, eye.window(math.Inf(1)), 2, math.Inf(1)) {
				if s == Seen || s == Unknown && states[j] != Seen || states[j] == Beyond {
					states[j] = s
				}
			}
		}
		for j, s := range states {
			if s == Seen {
				seen[j]++
			}
			open[j] = open[j] || s == Unknown
		}
	}
	between := 0
	for j := range seen {
		if open[j] {
			require.True(t, math.IsNaN(float64(got.P[j])))
			continue
		}
		require.Equal(t, float32(float64(seen[j])/n), got.P[j], "cell %d", j)
		if seen[j] > 0 && seen[j] < n {
			between++
		}
	}
	assert.Greater(t, between, 100)
	assert.Positive(t, got.AreaSD)
	for _, cores := range []int{1, 3} {
		old := runtime.GOMAXPROCS(cores)
		again, err := ChanceArea(t.Context(), h, eyes, 2, math.Inf(1), o, e, seed, n)
		runtime.GOMAXPROCS(old)
		require.NoError(t, err)
		for i := range got.P {
			require.Equal(t, math.Float32bits(got.P[i]), math.Float32bits(again.P[i]))
		}
		assert.Equal(t, got.AreaM2, again.AreaM2)
		assert.Equal(t, got.AreaSD, again.AreaSD)
	}
}

func TestChancePlusMinus(t *testing.T) {
	c := Chance{Realisations: 100, P: []float32{0, 0.5, 1, float32(math.NaN())}}
	got := c.PlusMinus()
	// Beta(1, 101) and Beta(51, 51).
	assert.InDelta(t, 0.00971, got[0], 1e-5)
	assert.InDelta(t, 0.04927, got[1], 1e-5)
	assert.Equal(t, got[0], got[2])
	assert.True(t, math.IsNaN(float64(got[3])))
}

func TestChanceRefused(t *testing.T) {
	f := frames(9, 9)["30 m"]
	h := &grid.Heights{Frame: f, Z: make([]float32, 81)}
	eyes := []Station{{Col: 4, Row: 4}}
	look := func(ctx context.Context, eyes []Station, e Errors, n int) error {
		_, err := ChanceArea(ctx, h, eyes, 0, 1000, DefaultOptions(), e, 1, n)
		return err
	}
	require.NoError(t, look(t.Context(), eyes, Errors{}, 1))
	require.ErrorIs(t, look(t.Context(), nil, Errors{}, 1), ErrOptions)
	require.ErrorIs(t, look(t.Context(), eyes, Errors{}, 0), ErrOptions)
	require.ErrorIs(t, look(t.Context(), eyes, Errors{}, 1<<16), ErrOptions)
	require.ErrorIs(t, look(t.Context(), eyes, Errors{EyeM: -1}, 1), ErrOptions)
	require.ErrorIs(t, look(t.Context(), eyes, Errors{Refraction: math.NaN()}, 1), ErrOptions)
	require.ErrorIs(t, look(t.Context(), eyes, Errors{HeightM: 3}, 1), grid.ErrField)
	require.ErrorIs(t, look(t.Context(), []Station{{Col: -3}}, Errors{}, 1), ErrNoGround)
	ended, end := context.WithCancel(t.Context())
	end()
	require.ErrorIs(t, look(ended, eyes, Errors{HeightM: 3, RangeM: 100}, 5), context.Canceled)
	require.ErrorIs(t, look(ended, eyes, Errors{}, 5), context.Canceled)
	_, err := SeenArea(ended, h, eyes[0], 0, 1000, DefaultOptions())
	require.ErrorIs(t, err, context.Canceled)
	_, err = NeededArea(ended, h, eyes[0], 0, 1000, DefaultOptions())
	require.ErrorIs(t, err, context.Canceled)
	_, err = SeenSets(ended, h, eyes, eyes, 1000, DefaultOptions())
	require.ErrorIs(t, err, context.Canceled)
	for _, cells := range [][]int{{1}, {1, 2, 3, 4, 5, 6, 7, 8, 9, 10}} {
		_, err = SeenCells(ended, h, eyes, cells, 0, 1000, DefaultOptions())
		require.ErrorIs(t, err, context.Canceled)
	}
	_, err = SeenCells(t.Context(), h, eyes, []int{81}, 0, 1000, DefaultOptions())
	require.ErrorIs(t, err, ErrOptions)
	_, err = SeenCells(t.Context(), h, eyes, []int{1}, 0, 0, DefaultOptions())
	require.ErrorIs(t, err, ErrOptions)
	off, err := SeenCells(t.Context(), h, []Station{{Col: -5}}, []int{1, 2}, 0, 1000, DefaultOptions())
	require.NoError(t, err)
	require.Equal(t, 2, off[0].Unknown.Count())
}

// BenchmarkChance1M100 is 100 realisations of a million cells of rough ground.
func BenchmarkChance1M100(b *testing.B) {
	h := crop(fractal(), 1000)
	for b.Loop() {
		_, err := ChanceArea(b.Context(), h, []Station{{Col: 500, Row: 500, HeightM: 1.7}}, 0, math.Inf(1), DefaultOptions(),
			Errors{HeightM: 5, RangeM: 300, EyeM: 0.1, Refraction: 0.05}, 1, 100)
		require.NoError(b, err)
	}
}

// crop is the middle of a grid, that many cells wide and high.
func crop(big *grid.Heights, n int) *grid.Heights {
	h := &grid.Heights{Frame: big.Frame}
	h.Cols, h.Rows = n, n
	for row := range n {
		first := (big.Cols - n) / 2
		h.Z = append(h.Z, big.Row(row + (big.Rows-n)/2)[first:first+n]...)
	}
	return h
}
