package los

import (
	"context"
	"encoding/binary"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"farhail/geo/geotest"
	"farhail/geo/grid"
	"farhail/geo/terrain"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

const benchCells = 3601

// benchGrounds are the grids of 13 million cells; "arc-second", the last, is of
// the shared data, the others are made.
var benchGrounds = []string{"fractal", "bowl", "bowl-noise", "flat", "arc-second"}

// fractal is rough ground of 30 m cells: random phases, amplitudes that fall as
// the wave number to the power -1.85, no waves above 8 km, heights 300 to
// 1800 m.
var fractal = sync.OnceValue(func() *grid.Heights {
	const n = 4096
	rng := rand.New(rand.NewPCG(20240601, 0))
	f := make([]complex128, n*n)
	for r := range n {
		for c := range n {
			k := math.Hypot(float64((r+n/2)%n-n/2), float64((c+n/2)%n-n/2)) // waves over n cells
			if k < n*30./8000 {
				continue
			}
			f[r*n+c] = cmplx.Rect(math.Pow(k, -1.85), 2*math.Pi*rng.Float64())
		}
	}
	eachRow(n, func(i int) { fourier(f[i*n : (i+1)*n]) })
	eachRow(n, func(i int) {
		column := make([]complex128, n)
		for r := range n {
			column[r] = f[r*n+i]
		}
		fourier(column)
		for r := range n {
			f[r*n+i] = column[r]
		}
	})
	lo, hi := math.Inf(1), math.Inf(-1)
	for r := range benchCells {
		for _, v := range f[r*n : r*n+benchCells] {
			lo, hi = min(lo, real(v)), max(hi, real(v))
		}
	}
	return surface(func(r, c int) float64 { return 300 + 1500*(real(f[r*n+c])-lo)/(hi-lo) })
})

// fourier transforms in place (Cooley and Tukey 1965, radix 2).
func fourier(x []complex128) {
	for i, j := 1, 0; i < len(x); i++ {
		bit := len(x) >> 1
		for ; j&bit != 0; bit >>= 1 {
			j ^= bit
		}
		if j ^= bit; i < j {
			x[i], x[j] = x[j], x[i]
		}
	}
	for size := 2; size <= len(x); size *= 2 {
		step := cmplx.Rect(1, -2*math.Pi/float64(size))
		for start := 0; start < len(x); start += size {
			w := complex(1, 0)
			for k := start; k < start+size/2; k++ {
				a, b := x[k], w*x[k+size/2]
				x[k], x[k+size/2] = a+b, a-b
				w *= step
			}
		}
	}
}

// surface is 13 million cells of 30 m.
func surface(height func(r, c int) float64) *grid.Heights {
	h := &grid.Heights{Frame: grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 446000, Y0: 4754000, DX: 30, DY: 30, Cols: benchCells, Rows: benchCells},
		Z: make([]float32, benchCells*benchCells)}
	eachRow(benchCells, func(r int) {
		for c := range benchCells {
			h.Z[r*benchCells+c] = float32(height(r, c))
		}
	})
	return h
}

// bowl is seen as a whole from its middle.
func bowl(noiseM float64) *grid.Heights {
	const middle = benchCells / 2
	return surface(func(r, c int) float64 {
		x, y := float64(c-middle)*30, float64(r-middle)*30
		rng := rand.New(rand.NewPCG(uint64(r), uint64(c)))
		return (x*x+y*y)/4e6 + noiseM*rng.Float64()
	})
}

// benchGround is what the comparisons with other programs run on: by name, as
// .ci/bench asks for them.
func benchGround(tb testing.TB, name string) *grid.Heights {
	if dir := os.Getenv("FARHAIL_BENCH_GROUND"); dir != "" && name != "arc-second" {
		if raw, err := os.ReadFile(filepath.Join(dir, name+".raw")); err == nil {
			return surface(func(r, c int) float64 {
				return float64(math.Float32frombits(binary.LittleEndian.Uint32(raw[4*(r*benchCells+c):])))
			})
		}
	}
	switch name {
	case "fractal":
		return fractal()
	case "bowl":
		return bowl(0)
	case "bowl-noise":
		return bowl(20)
	case "flat":
		return surface(func(int, int) float64 { return 100 })
	}
	dir := filepath.Join(geotest.Shared(tb), "data", "dem")
	got, err := terrain.Load(os.DirFS(dir), []string{"bench-N42E001-1s-resampled.tif"}, orb.Bound{})
	require.NoError(tb, err)
	return &got.Heights
}

// cpuSeconds is the time that all processors have spent on this process, 0 where the
// system does not tell. On a machine that others use it says more than a clock.
var cpuSeconds = func() float64 { return 0 }

func BenchmarkSeenArea13M(b *testing.B) {
	for _, name := range benchGrounds {
		b.Run(name, func(b *testing.B) {
			h := benchGround(b, name)
			eye := Station{Col: benchCells / 2, Row: benchCells / 2, HeightM: 1.7}
			b.ReportAllocs()
			seen := 0
			start := cpuSeconds()
			for b.Loop() {
				a, err := SeenArea(context.Background(), h, eye, 0, math.Inf(1), DefaultOptions())
				require.NoError(b, err)
				seen = a.Seen
			}
			b.ReportMetric((cpuSeconds()-start)/float64(b.N), "cpu-s/op")
			b.ReportMetric(float64(seen), "seen")
		})
	}
}

// TestBenchGround writes the grids of the benchmarks as raw 32-bit heights, row
// by row from the north-west, into the folder FARHAIL_BENCH_GROUND, for .ci/bench
// to give to another program.
func TestBenchGround(t *testing.T) {
	dir := os.Getenv("FARHAIL_BENCH_GROUND")
	if dir == "" {
		t.Skip("FARHAIL_BENCH_GROUND is not set")
	}
	for _, name := range benchGrounds {
		h := benchGround(t, name)
		f, err := os.Create(filepath.Join(dir, name+".raw"))
		require.NoError(t, err)
		require.NoError(t, binary.Write(f, binary.LittleEndian, h.Z))
		require.NoError(t, f.Close())
	}
}

// BenchmarkObservers takes 1000 places on the fractal, 5 km each, as plans with
// many candidates do. Every 20th is decided in the plain way too, in turn, so
// that the ratio is that of the same minutes on the same machine.
func BenchmarkObservers(b *testing.B) {
	const radius = 5000
	h := fractal()
	margin := int(radius/h.DX) + 1
	rng := rand.New(rand.NewPCG(7, 0))
	places := make([]Station, 1000)
	for i := range places {
		places[i] = Station{Col: float64(margin + rng.IntN(h.Cols-2*margin)), Row: float64(margin + rng.IntN(h.Rows-2*margin)), HeightM: 1.7}
	}
	o := DefaultOptions()
	var fast, plain time.Duration
	seen, fasts, plains := 0, 0, 0
	for b.Loop() {
		for i, at := range places {
			start := time.Now()
			a, err := SeenArea(context.Background(), h, at, 0, radius, o)
			fast += time.Since(start)
			fasts++
			require.NoError(b, err)
			seen += a.Seen
			if i%20 != 0 {
				continue
			}
			e, err := NewEye(h, at, o)
			require.NoError(b, err)
			start = time.Now()
			states := plainStates(e, e.window(radius), 0, radius)
			plain += time.Since(start)
			plains++
			require.Equal(b, states, a.State)
		}
	}
	perFast, perPlain := fast.Seconds()/float64(fasts), plain.Seconds()/float64(plains)
	b.ReportMetric(1e3*perFast, "ms/observer")
	b.ReportMetric(1e3*perPlain, "ms/plain-observer")
	b.ReportMetric(perPlain/perFast, "times-faster")
	b.ReportMetric(float64(seen)/float64(fasts), "seen/observer")
}

// BenchmarkNeededArea and BenchmarkSeenSets: the other answers, on a million
// cells and on 50 eyes of 2000 targets.
func BenchmarkNeededArea(b *testing.B) {
	h := fractal()
	for b.Loop() {
		_, err := NeededArea(context.Background(), h, Station{Col: 1800, Row: 1800, HeightM: 1.7}, 0, 15000, DefaultOptions())
		require.NoError(b, err)
	}
}

func BenchmarkSeenSets(b *testing.B) {
	h := fractal()
	rng := rand.New(rand.NewPCG(8, 0))
	eyes, targets := make([]Station, 50), make([]Station, 2000)
	for i := range eyes {
		eyes[i] = Station{Col: 1600 + 400*rng.Float64(), Row: 1600 + 400*rng.Float64(), HeightM: 1.7}
	}
	for i := range targets {
		targets[i] = Station{Col: 1600 + float64(i)/5, Row: 1800 + 100*math.Sin(float64(i)/300), HeightM: 1.6}
	}
	for b.Loop() {
		_, err := SeenSets(context.Background(), h, eyes, targets, 10000, DefaultOptions())
		require.NoError(b, err)
	}
}
