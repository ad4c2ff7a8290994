package grid

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func utmFrame(cols, rows int, dx, dy float64) Frame {
	return Frame{CRS: CRS{Zone: 31}, X0: 500000, Y0: 4700000, DX: dx, DY: dy, Cols: cols, Rows: rows}
}

// TestErrorFieldStatistics: mean, standard deviation and variogram over many
// draws, at the first and the last cells as in the middle, along rows, columns
// and across.
func TestErrorFieldStatistics(t *testing.T) {
	const cols, rows, sd, rangeM = 60, 50, 4.0, 300.0
	f := utmFrame(cols, rows, 30, 20)
	e, err := NewErrorField(f, sd, rangeM, nil)
	require.NoError(t, err)
	lags := [][2]int{{1, 0}, {0, 1}, {2, 0}, {5, 0}, {10, 0}, {0, 5}, {0, 15}, {3, 4}, {30, 30}}
	draws := 1500
	if testing.Short() {
		draws = 400
	}
	sum, squares, n := 0.0, 0.0, 0.0
	corner := [4]float64{}
	half := make([]float64, len(lags))
	out := make([]float32, cols*rows)
	at := func(c, r int) float64 { return float64(out[r*cols+c]) }
	for i := range draws {
		require.NoError(t, e.Draw(t.Context(), rand.New(rand.NewPCG(3, uint64(i))), out))
		for _, v := range out {
			sum += float64(v)
			squares += float64(v) * float64(v)
			n++
		}
		for k, v := range [4]float64{at(0, 0), at(cols-1, 0), at(1, rows-1), at(cols-1, 1)} {
			corner[k] += v * v / float64(draws)
		}
		for k, l := range lags {
			pairs, s := 0.0, 0.0
			for r := 0; r+l[1] < rows; r += 7 {
				for c := 0; c+l[0] < cols; c += 7 {
					d := at(c, r) - at(c+l[0], r+l[1])
					s += d * d / 2
					pairs++
				}
			}
			half[k] += s / pairs / float64(draws)
		}
	}
	// Bounds of some four standard errors of as many draws.
	wide := 4 * math.Sqrt(2/float64(draws))
	assert.InDelta(t, 0, sum/n, 4*sd/math.Sqrt(float64(draws)*8))
	assert.InEpsilon(t, sd*sd, squares/n, wide/2)
	for k, v := range corner {
		assert.InEpsilon(t, sd*sd, v, wide, "corner %d", k)
	}
	b := rangeM / rangeScale
	rho := func(m float64) float64 { return (1 + m/b) * math.Exp(-m/b) }
	assert.InDelta(t, 0.05, rho(rangeM), 1e-6)
	for k, l := range lags {
		want := rho(30*float64(l[0])) * rho(20*float64(l[1]))
		assert.InDelta(t, want, e.Correlation(l[0], l[1]), 0.03, "lag %v", l)
		assert.InEpsilon(t, sd*sd*(1-e.Correlation(l[0], l[1])), half[k], wide, "variogram at lag %v", l)
	}
}

// TestErrorFieldKnown: no error at measured cells, little beside them, all of it
// far off; the same draw gives the same field.
func TestErrorFieldKnown(t *testing.T) {
	f := utmFrame(80, 70, 30, 30)
	known := []int{35*80 + 40, 35*80 + 41, 10*80 + 5, 10*80 + 5, 69*80 + 79}
	e, err := NewErrorField(f, 5, 200, known)
	require.NoError(t, err)
	out, again := make([]float32, 80*70), make([]float32, 80*70)
	beside, far := 0.0, 0.0
	const draws = 300
	for i := range draws {
		require.NoError(t, e.Draw(t.Context(), rand.New(rand.NewPCG(9, uint64(i))), out))
		for _, k := range known {
			require.Zero(t, out[k])
		}
		b, a := float64(out[36*80+40]), float64(out[60*80+10])
		beside, far = beside+b*b/draws, far+a*a/draws
	}
	require.NoError(t, e.Draw(t.Context(), rand.New(rand.NewPCG(9, draws-1)), again))
	assert.Equal(t, out, again)
	assert.InEpsilon(t, 25, far, 0.35)
	// Simple kriging variance beside two known cells, by hand of their correlations.
	r, r2 := e.Correlation(0, 1), e.Correlation(1, 1)
	c := e.Correlation(1, 0)
	w1, w2 := (r-c*r2)/(1-c*c), (r2-c*r)/(1-c*c)
	assert.InEpsilon(t, 25*(1-w1*r-w2*r2), beside, 0.35)
}

func TestErrorFieldRefused(t *testing.T) {
	f := utmFrame(5, 5, 30, 30)
	for _, c := range []struct {
		sd, scale float64
		known     []int
	}{{-1, 300, nil}, {math.NaN(), 300, nil}, {math.Inf(1), 300, nil}, {5, 0, nil}, {5, math.Inf(1), nil}, {5, 300, []int{25}}, {5, 300, []int{-1}}, {5, 300, make([]int, 601)}} {
		_, err := NewErrorField(f, c.sd, c.scale, c.known)
		require.ErrorIs(t, err, ErrField)
	}
	e, err := NewErrorField(f, 5, 300, nil)
	require.NoError(t, err)
	ended, end := context.WithCancel(t.Context())
	end()
	require.ErrorIs(t, e.Draw(ended, rand.New(rand.NewPCG(1, 1)), make([]float32, 25)), context.Canceled)
}

func BenchmarkErrorField1M(b *testing.B) {
	e, err := NewErrorField(utmFrame(1000, 1000, 30, 30), 5, 300, nil)
	require.NoError(b, err)
	out := make([]float32, 1_000_000)
	rng := rand.New(rand.NewPCG(1, 1))
	for b.Loop() {
		require.NoError(b, e.Draw(b.Context(), rng, out))
	}
}
