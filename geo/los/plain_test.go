package los

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"farhail/geo/grid"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// plainStates decides every cell of an area by its own sight line, one crossing
// after the other: what the sweep must equal.
func plainStates(e *Eye, a *Area, targetM, radiusM float64) []State {
	out := make([]State, len(a.State))
	eachRow(a.Frame.Rows, func(i int) {
		var buf [maxLegs]leg
		for j := range a.Frame.Cols {
			c, r := float64(a.Col0+j), float64(a.Row0+i)
			legs := e.legs(buf[:0], c, r)
			z := e.stands.At(a.Col0+j, a.Row0+i)
			s := &out[i*a.Frame.Cols+j]
			switch {
			case math.Abs(c-e.col) <= 0.5 && math.Abs(r-e.row) <= 0.5:
				*s = Seen
			case legs[len(legs)-1].to > radiusM:
			case z != z:
				*s = Unknown
			default:
				*s = e.state(legs, z+targetM)
			}
		}
	})
	return out
}

// requirePlain fails where a seen area differs from the plain way in any cell
// and returns the share of cells seen.
func requirePlain(t require.TestingT, h *grid.Heights, eye Station, targetM, radiusM float64, o Options) float64 {
	got, err := SeenArea(context.Background(), h, eye, targetM, radiusM, o)
	require.NoError(t, err)
	e, err := NewEye(h, eye, o)
	require.NoError(t, err)
	want := plainStates(e, got, targetM, radiusM)
	wrong, first := 0, ""
	for i, s := range want {
		if got.State[i] != s {
			if wrong == 0 {
				col, row := got.Col0+i%got.Frame.Cols, got.Row0+i/got.Frame.Cols
				line := e.Sight(Station{Col: float64(col), Row: float64(row), HeightM: targetM})
				first = fmt.Sprintf("column %d, row %d: %s, plainly %s; %+v", col, row, got.State[i], s, line)
			}
			wrong++
		}
	}
	require.Zero(t, wrong, "eye %+v: %s", eye, first)
	return float64(got.Seen) / float64(max(got.Cells, 1))
}

// requireNeeds compares needed heights and what blocks with all crossings of
// each cell's line.
func requireNeeds(t require.TestingT, h *grid.Heights, eye Station, targetM, radiusM float64, o Options) {
	got, err := NeededArea(context.Background(), h, eye, targetM, radiusM, o)
	require.NoError(t, err)
	e, err := NewEye(h, eye, o)
	require.NoError(t, err)
	want := plainStates(e, got, targetM, radiusM)
	require.Equal(t, want, got.State)
	for i, state := range want {
		col, row := float64(got.Col0+i%got.Frame.Cols), float64(got.Row0+i/got.Frame.Cols)
		line := e.Sight(Station{Col: col, Row: row, HeightM: targetM})
		need := float64(got.NeedM[i])
		switch {
		case math.Abs(col-e.col) <= 0.5 && math.Abs(row-e.row) <= 0.5:
			require.Zero(t, need)
		case state == Beyond || state == Unknown || line.Voids > 0:
			require.True(t, math.IsNaN(need), "column %g, row %g: %s, %g", col, row, state, need)
		default:
			require.InDelta(t, line.NeedM, need, 1e-3+1e-6*line.NeedM, "column %g, row %g", col, row)
		}
		if state != Hidden {
			require.EqualValues(t, -1, got.BlockedBy[i])
			continue
		}
		require.True(t, beside(e, col, row, int(got.BlockedBy[i])), "column %g, row %g: cell %d", col, row, got.BlockedBy[i])
	}
}

// beside reports whether a cell is the nearest to a steepest crossing of a line.
func beside(e *Eye, col, row float64, cell int) bool {
	steepest, found := math.Inf(-1), false
	for _, l := range e.legs(nil, col, row) {
		for _, a := range l.axes(e.h.Cols) {
			for i := a.first; i <= a.last; i++ {
				s := float64(i) - a.from
				b := a.across + s*a.rate
				z := exact(e.h.Z, i*a.stride+int(b)*a.acrossStride, a.acrossStride, b-math.Floor(b))
				d := l.from + s*a.metres
				slope := (z-e.z)/d - e.q*d
				if slope > steepest {
					steepest, found = slope, false
				}
				if slope == steepest {
					n := i*a.stride + int(b+0.5)*a.acrossStride
					found = found || n == cell
				}
			}
		}
	}
	return found
}

// requireSets compares seen sets with single sight lines.
func requireSets(t require.TestingT, h *grid.Heights, eyes, targets []Station, radiusM float64, o Options) {
	got, err := SeenSets(context.Background(), h, eyes, targets, radiusM, o)
	require.NoError(t, err)
	for i, at := range eyes {
		e, err := NewEye(h, at, o)
		if err != nil {
			require.Equal(t, len(targets), got[i].Unknown.Count())
			continue
		}
		for j, target := range targets {
			want := e.Sight(target)
			if want.DistanceM > radiusM && h.Inside(target.Col, target.Row) {
				want.State = Hidden
			}
			require.Equal(t, want.State == Seen, got[i].Seen.Has(j), "eye %+v, target %+v", at, target)
			require.Equal(t, want.State == Unknown, got[i].Unknown.Has(j), "eye %+v, target %+v", at, target)
		}
	}
}

// hills are random heights of a roughness, with voids in some of the cells.
func hills(rng *rand.Rand, cols, rows int, stepM, voids float64) []float32 {
	z := make([]float32, cols*rows)
	type wave struct{ kx, ky, p, a float64 }
	waves := make([]wave, 12)
	for i := range waves {
		l := 3 * math.Pow(40, rng.Float64())
		s, c := math.Sincos(2 * math.Pi * rng.Float64())
		waves[i] = wave{c * 2 * math.Pi / l, s * 2 * math.Pi / l, 6 * rng.Float64(), stepM * l / 6}
	}
	for i := range z {
		x, y := float64(i%cols), float64(i/cols)
		v := 500 + stepM*rng.Float64()
		for _, w := range waves {
			v += w.a * math.Sin(w.kx*x+w.ky*y+w.p)
		}
		z[i] = float32(v)
		if rng.Float64() < voids {
			z[i] = float32(math.NaN())
		}
	}
	return z
}

// canopies are patches of a canopy over random ground, some of unknown height.
func canopies(rng *rand.Rand, h *grid.Heights, highM float64) []float32 {
	screen := make([]float32, len(h.Z))
	copy(screen, h.Z)
	for range 1 + rng.IntN(8) {
		col, row, size := rng.IntN(h.Cols), rng.IntN(h.Rows), 1+rng.IntN(12)
		add := float32(highM * rng.Float64())
		if rng.IntN(8) == 0 {
			add = float32(math.NaN())
		}
		for r := row; r < min(row+size, h.Rows); r++ {
			for c := col; c < min(col+size, h.Cols); c++ {
				screen[r*h.Cols+c] = h.Z[r*h.Cols+c] + add
			}
		}
	}
	return screen
}

// frames of every kind: projected with one scale and wide, longitude and
// latitude where lines are straight and where they are chains.
func frames(cols, rows int) map[string]grid.Frame {
	return map[string]grid.Frame{
		"30 m":       {CRS: grid.CRS{Zone: 31}, X0: 480000, Y0: 4700000, DX: 30, DY: 30, Cols: cols, Rows: rows},
		"oblong":     {CRS: grid.CRS{Zone: 19, South: true}, X0: 480000, Y0: 6300000, DX: 20, DY: 50, Cols: cols, Rows: rows},
		"wide":       {CRS: grid.CRS{Zone: 31}, X0: 300000, Y0: 4900000, DX: 2000, DY: 2000, Cols: cols, Rows: rows},
		"arc second": {X0: 1, Y0: 43, DX: 1. / 3600, DY: 1. / 3600, Cols: cols, Rows: rows},
		"60 N":       {X0: 179.9, Y0: 60.5, DX: 1. / 1800, DY: 1. / 3600, Cols: cols, Rows: rows},
		"chains":     {X0: 1, Y0: 61, DX: 1. / 60, DY: 1. / 120, Cols: cols, Rows: rows},
		"far chains": {X0: -75, Y0: -30, DX: 1. / 10, DY: 1. / 10, Cols: cols, Rows: rows},
	}
}

// TestSweepIsPlain: random ground, eyes, heights, radii and voids in frames of
// every kind; no cell may differ.
func TestSweepIsPlain(t *testing.T) {
	for name, f := range frames(60, 50) {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
				f := f
				f.Cols, f.Rows = rapid.IntRange(1, 90).Draw(t, "columns"), rapid.IntRange(1, 90).Draw(t, "rows")
				step := rapid.SampledFrom([]float64{0, 0.01, 1, 10, 100}).Draw(t, "step") * f.DX
				if f.CRS.LonLat() {
					step *= 1e5
				}
				step /= 30
				h := &grid.Heights{Frame: f, Z: hills(rng, f.Cols, f.Rows, step, rapid.SampledFrom([]float64{0, 0, 0.01, 0.2}).Draw(t, "voids"))}
				eye := Station{Col: rng.Float64() * float64(f.Cols-1), Row: rng.Float64() * float64(f.Rows-1)}
				place := rapid.IntRange(0, 3).Draw(t, "place")
				switch place {
				case 0:
					eye.Col, eye.Row = math.Round(eye.Col), math.Round(eye.Row)
				case 1:
					eye.Col = math.Round(eye.Col)
				case 2:
					// Beside a centre by less than what counts as it, or little more.
					beside := rapid.SampledFrom([]float64{1e-12, 1e-10, 1.1e-9, 1e-8, 0.9e-6, 1.1e-6, 1e-5}).Draw(t, "beside")
					eye.Row = math.Round(eye.Row)
					eye.Col = min(max(math.Round(eye.Col)+beside*float64(1-2*rng.IntN(2)), 0), float64(f.Cols-1))
				}
				if math.IsNaN(h.SampleCell(eye.Col, eye.Row)) {
					return
				}
				eye.HeightM = rapid.SampledFrom([]float64{0, 1.7, 10, 300, -1}).Draw(t, "eye")
				target := rapid.SampledFrom([]float64{0, 2, 10, -1}).Draw(t, "target")
				radius := math.Inf(1)
				if rapid.Bool().Draw(t, "clipped") {
					m, _ := f.Metres(f.Rows / 2)
					radius = m * (1 + 40*rng.Float64())
				}
				o := DefaultOptions()
				o.Refraction = rapid.SampledFrom([]float64{0.13, 0, 1, 1.5}).Draw(t, "k")
				o.GridLengths = rapid.Bool().Draw(t, "grid lengths")
				if rapid.Bool().Draw(t, "screen") {
					o.Screen = canopies(rng, h, step*40)
				}
				requirePlain(t, h, eye, target, radius, o)
				requireNeeds(t, h, eye, target, radius, o)
				stations := []Station{eye, {Col: -1}}
				for range 20 {
					stations = append(stations, Station{Col: rng.Float64() * float64(f.Cols-1), Row: rng.Float64() * float64(f.Rows-1), HeightM: target})
				}
				requireSets(t, h, stations[:5], stations, radius, o)
			})
		})
	}
}

// TestAnyProcessors: the number of processors does not change an answer.
func TestAnyProcessors(t *testing.T) {
	f := frames(150, 120)["chains"]
	h := &grid.Heights{Frame: f, Z: hills(rand.New(rand.NewPCG(1, 2)), f.Cols, f.Rows, 200, 0.001)}
	eye := Station{Col: 40.3, Row: 71.9, HeightM: 400}
	want, err := SeenArea(context.Background(), h, eye, 2, math.Inf(1), DefaultOptions())
	require.NoError(t, err)
	for _, n := range []int{1, 3, 16} {
		old := runtime.GOMAXPROCS(n)
		got, err := SeenArea(context.Background(), h, eye, 2, math.Inf(1), DefaultOptions())
		runtime.GOMAXPROCS(old)
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
}

// TestMemory: a seen area takes at most half of the heights' memory besides
// them, needed heights at most two and a half times it.
func TestMemory(t *testing.T) {
	f := frames(500, 500)["30 m"]
	h := &grid.Heights{Frame: f, Z: hills(rand.New(rand.NewPCG(1, 2)), f.Cols, f.Rows, 5, 0)}
	heights := 4 * float64(len(h.Z))
	for _, c := range []struct {
		most float64
		look func(context.Context, *grid.Heights, Station, float64, float64, Options) (*Area, error)
	}{{0.5, SeenArea}, {2.5, NeededArea}} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := c.look(context.Background(), h, Station{Col: 250, Row: 250, HeightM: 20}, 0, math.Inf(1), DefaultOptions())
		runtime.ReadMemStats(&after)
		require.NoError(t, err)
		require.LessOrEqual(t, float64(after.TotalAlloc-before.TotalAlloc), c.most*heights)
	}
}

// TestBesideCentre: an eye beside a centre by rounding, buried or on the ground,
// with cells of no height next to it. All ways agree, and with the eye on the
// centre.
func TestBesideCentre(t *testing.T) {
	f := frames(41, 41)["30 m"]
	rng := rand.New(rand.NewPCG(8, 8))
	for _, voids := range []float64{0, 0.15} {
		h := &grid.Heights{Frame: f, Z: hills(rng, f.Cols, f.Rows, 1, voids)}
		h.Z[20*41+20] = 520
		for _, off := range []float64{1e-12, 1e-10, 1e-9, 5e-7} {
			for _, heightM := range []float64{-1, 0, 1.7} {
				eye := Station{Col: 20 + off, Row: 20 - off, HeightM: heightM}
				requirePlain(t, h, eye, 0, math.Inf(1), DefaultOptions())
				requireNeeds(t, h, eye, 2, math.Inf(1), DefaultOptions())
				beside, err := SeenArea(t.Context(), h, eye, 2, math.Inf(1), DefaultOptions())
				require.NoError(t, err)
				on, err := SeenArea(t.Context(), h, Station{Col: 20, Row: 20, HeightM: heightM}, 2, math.Inf(1), DefaultOptions())
				require.NoError(t, err)
				require.Equal(t, on.State, beside.State)
			}
		}
	}
}

// TestNoWeight: a height whose neighbour without one has no weight counts, in
// the plain way as in the others: the known wall hides.
func TestNoWeight(t *testing.T) {
	f := frames(12, 12)["30 m"]
	h := &grid.Heights{Frame: f, Z: make([]float32, 144)}
	h.Z[5*12+5], h.Z[4*12+5] = 50, float32(math.NaN())
	// Crosses column 5 half of what is nothing above row 5.
	eye, target := Station{Col: 1, Row: 5, HeightM: 2}, Station{Col: 9, Row: 5 - 1e-9, HeightM: 2}
	e, err := NewEye(h, eye, DefaultOptions())
	require.NoError(t, err)
	require.Equal(t, Hidden, e.Sight(target).State)
	require.Equal(t, Hidden, e.State(target))
}
