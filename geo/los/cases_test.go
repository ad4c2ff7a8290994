package los

import (
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"farhail/geo/geotest"
	"farhail/geo/grid"
	"farhail/geo/terrain"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// made puts a height function on a frame.
func made(f grid.Frame, height func(c, r float64) float64) *grid.Heights {
	h := &grid.Heights{Frame: f, Z: make([]float32, f.Cols*f.Rows)}
	for i := range h.Z {
		h.Z[i] = float32(height(float64(i%f.Cols), float64(i/f.Cols)))
	}
	return h
}

// TestCases compares every cell of larger grounds, each hard in its own way, with
// the plain way. The share seen says that a case is what it claims to be.
func TestCases(t *testing.T) {
	if testing.Short() {
		t.Skip("seconds of sight lines")
	}
	const n = 401
	f := frames(n, n)
	noise := rand.New(rand.NewPCG(3, 3))
	away := func(c, r float64) float64 { return math.Hypot(c-200, r-200) }
	middle := Station{Col: 200, Row: 200, HeightM: 1.7}
	cases := []struct {
		name         string
		h            *grid.Heights
		eye          Station
		target       float64
		radius       float64
		least, most  float64 // of the share seen
		refractionOf float64
	}{
		{"flat", made(f["30 m"], func(_, _ float64) float64 { return 7 }), middle, 0, math.Inf(1), 0.4, 0.8, 0.13},
		{"flat, straight rays", made(f["30 m"], func(_, _ float64) float64 { return 7 }), middle, 0, math.Inf(1), 1, 1, 1},
		{"tilted, eye on the ground: all are ties", made(f["30 m"], func(c, r float64) float64 { return c/4 - r/8 }), Station{Col: 200, Row: 200}, 0, math.Inf(1), 0, 1, 1},
		{"bowl", made(f["30 m"], func(c, r float64) float64 { return away(c, r) * away(c, r) / 400 }), middle, 0, math.Inf(1), 1, 1, 0.13},
		{"bowl, eye between cells", made(f["30 m"], func(c, r float64) float64 { return away(c, r) * away(c, r) / 400 }), Station{Col: 203.4, Row: 190.7, HeightM: 1.7}, 0, math.Inf(1), 0.9, 1, 0.13},
		{"bowl with noise", made(f["30 m"], func(c, r float64) float64 { return away(c, r)*away(c, r)/400 + 5*noise.Float64() }), middle, 2, math.Inf(1), 0.3, 0.95, 0.13},
		{"cliffs", made(f["oblong"], func(c, r float64) float64 {
			return 200 * math.Floor(away(c, r)/37) * math.Mod(math.Floor(c/53)+math.Floor(r/41), 2)
		}), middle, 10, math.Inf(1), 0.01, 0.6, 0.13},
		{"cone, from its foot", made(f["30 m"], func(c, r float64) float64 { return max(0, 900-9*away(c, r)) }), Station{Col: 60, Row: 320, HeightM: 1.7}, 2, math.Inf(1), 0.1, 0.7, 0.13},
		{"near field: a hummock beside the eye", made(f["30 m"], func(c, r float64) float64 {
			return 2.2*math.Exp(-((c-201)*(c-201)+(r-201)*(r-201))/2) + 0.02*away(c, r)
		}), middle, 0, math.Inf(1), 0.01, 0.9, 0.13},
		{"voids", &grid.Heights{Frame: f["30 m"], Z: hills(noise, n, n, 8, 0.002)}, Station{Col: 199.5, Row: 200, HeightM: 60}, 2, 5000, 0.005, 0.6, 0.13},
		{"rough, arc second", &grid.Heights{Frame: f["arc second"], Z: hills(noise, n, n, 6, 0)}, Station{Col: 120, Row: 300, HeightM: 30}, 0, math.Inf(1), 0.005, 0.6, 0.13},
		{"rough, wide", &grid.Heights{Frame: f["wide"], Z: hills(noise, n, n, 8, 0)}, Station{Col: 120, Row: 300, HeightM: 500}, 10, 300e3, 0.0005, 0.6, 0.13},
		{"rough chains", &grid.Heights{Frame: f["chains"], Z: hills(noise, n, n, 8, 0.001)}, Station{Col: 200.2, Row: 199.1, HeightM: 2000}, 500, math.Inf(1), 0.0005, 0.9, 0.13},
	}
	for i, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			o := DefaultOptions()
			o.Refraction = c.refractionOf
			share := requirePlain(t, c.h, c.eye, c.target, c.radius, o)
			t.Logf("%.1f %% seen", 100*share)
			assert.GreaterOrEqual(t, share, c.least)
			assert.LessOrEqual(t, share, c.most)
			requireSomeNeeds(t, c.h, c.eye, c.target, c.radius, o)
			// Places to look from and cells that matter, as placement has them.
			rng := rand.New(rand.NewPCG(12, uint64(i)))
			eyes, cells := []Station{c.eye}, []Station{}
			for range 6 {
				eyes = append(eyes, Station{Col: 400 * rng.Float64(), Row: 400 * rng.Float64(), HeightM: c.eye.HeightM})
			}
			for cell := rng.IntN(150); cell < n*n; cell += 1 + rng.IntN(150) {
				cells = append(cells, Station{Col: float64(cell % n), Row: float64(cell / n), HeightM: c.target})
			}
			requireSets(t, c.h, eyes, cells, c.radius, o)
			requireCells(t, c.h, eyes[:3], c.target, c.radius, o)
		})
	}
}

// requireSomeNeeds compares some of the needed heights with all crossings of each
// cell's line: within 1e-6 of them and 1 mm.
func requireSomeNeeds(t *testing.T, h *grid.Heights, eye Station, targetM, radiusM float64, o Options) {
	t.Helper()
	got, err := NeededArea(t.Context(), h, eye, targetM, radiusM, o)
	require.NoError(t, err)
	e, err := NewEye(h, eye, o)
	require.NoError(t, err)
	compared := 0
	for i := 0; i < len(got.State); i += 17 {
		line := e.Sight(Station{Col: float64(got.Col0 + i%got.Frame.Cols), Row: float64(got.Row0 + i/got.Frame.Cols), HeightM: targetM})
		if got.State[i] == Beyond || got.State[i] == Unknown || line.Voids > 0 {
			continue
		}
		compared++
		require.InDelta(t, line.NeedM, got.NeedM[i], 1e-3+1e-6*line.NeedM, "cell %d", i)
	}
	require.Greater(t, compared, 100)
}

// requireCells compares the bits of cells, dense and sparse, with those of single
// targets.
func requireCells(t *testing.T, h *grid.Heights, eyes []Station, targetM, radiusM float64, o Options) {
	t.Helper()
	for _, step := range []int{3, 203} {
		var cells []int
		var targets []Station
		for cell := step / 2; cell < len(h.Z); cell += step {
			cells = append(cells, cell)
			targets = append(targets, Station{Col: float64(cell % h.Cols), Row: float64(cell / h.Cols), HeightM: targetM})
		}
		for range 2 { // sorted, and not
			got, err := SeenCells(t.Context(), h, eyes, cells, targetM, radiusM, o)
			require.NoError(t, err)
			want, err := SeenSets(t.Context(), h, eyes, targets, radiusM, o)
			require.NoError(t, err)
			require.Equal(t, want, got)
			slices.Reverse(cells)
			slices.Reverse(targets)
		}
	}
}

// TestLongLines: 50 km at 60 N on arc-second cells, where nearly all lines are
// chains, and most are settled by interpolated ones. Rows are 1 arc-second apart,
// columns 2, as tiles there are. A strip of the terrain is enough.
func TestLongLines(t *testing.T) {
	if testing.Short() {
		t.Skip("seconds of sight lines")
	}
	f := grid.Frame{X0: 10, Y0: 60.5, DX: 2. / 3600, DY: 1. / 3600, Cols: 1800, Rows: 160}
	h := &grid.Heights{Frame: f, Z: hills(rand.New(rand.NewPCG(6, 0)), f.Cols, f.Rows, 4, 0)}
	for _, eye := range []Station{{Col: 3, Row: 5, HeightM: 90}, {Col: 900, Row: 81, HeightM: 200}} {
		share := requirePlain(t, h, eye, 20, math.Inf(1), DefaultOptions())
		t.Logf("%.1f %% seen", 100*share)
		assert.Greater(t, share, 0.001)
		e, err := NewEye(h, eye, DefaultOptions())
		require.NoError(t, err)
		c, err := newChain(t.Context(), e, e.window(math.Inf(1)))
		require.NoError(t, err)
		require.NotNil(t, c)
		chains, interpolated, worst := 0, 0, 0.0
		for row := 0; row < f.Rows; row += 7 {
			for col := 0; col < f.Cols; col += 3 {
				if c.straight(col, row) {
					continue
				}
				chains++
				got, ok := c.legs(nil, col, row)
				if !ok {
					continue
				}
				interpolated++
				want := e.legs(nil, float64(col), float64(row))
				require.Len(t, got, len(want))
				for i := range want {
					worst = max(worst, math.Abs(got[i].col1-want[i].col1), math.Abs(got[i].row1-want[i].row1))
					require.InDelta(t, want[i].to, got[i].to, 3*c.off*c.cellM+1e-7*want[i].to)
				}
			}
		}
		t.Logf("%d chains, %d interpolated, joints off by %.1e cells, bound %.1e", chains, interpolated, worst, c.off)
		assert.Greater(t, interpolated, chains*9/10)
		assert.LessOrEqual(t, worst, c.off)
	}
}

// TestRealGround: windows of real terrain, longitude and latitude and UTM.
func TestRealGround(t *testing.T) {
	dir := filepath.Join(geotest.Shared(t), "data", "dem")
	if testing.Short() {
		t.Skip("seconds of sight lines")
	}
	for _, c := range []struct {
		file    string
		share   Station // of the columns and rows
		radius  float64
		targets []float64
	}{
		{"bigtujunga-utm11.tif", Station{Col: 0.3, Row: 0.6, HeightM: 1.7}, 9e3, []float64{0, 2, 10}},
		{"N42E001.hgt.zip", Station{Col: 0.52, Row: 0.47, HeightM: 1.7}, 12e3, []float64{0, 2, 10}},
		{"N49W124.tif", Station{Col: 0.4, Row: 0.5, HeightM: 1.7}, 10e3, []float64{2}},
		{"S33W071.tif", Station{Col: 0.7, Row: 0.31, HeightM: 1.7}, 12e3, []float64{2}},
		{"jacksboro-fault.tif", Station{Col: 0.5, Row: 0.5, HeightM: 1.7}, math.Inf(1), []float64{0, 10}},
		// Chains of two and three legs.
		{"bench-N42E001-1s-resampled.tif", Station{Col: 0.02, Row: 0.5, HeightM: 1.7}, 4e3, []float64{2}},
	} {
		t.Run(c.file, func(t *testing.T) {
			got, err := terrain.Load(os.DirFS(dir), []string{c.file}, orb.Bound{})
			require.NoError(t, err)
			h := &got.Heights
			eye := c.share
			eye.Col, eye.Row = eye.Col*float64(h.Cols-1), eye.Row*float64(h.Rows-1)
			// The highest cell around: much is seen from there.
			best := math.Inf(-1)
			at := eye
			for r := int(eye.Row) - 20; r <= int(eye.Row)+20; r++ {
				for col := int(eye.Col) - 20; col <= int(eye.Col)+20; col++ {
					if z := h.At(col, r); z > best {
						best, at.Col, at.Row = z, float64(col), float64(r)
					}
				}
			}
			for _, target := range c.targets {
				share := requirePlain(t, h, at, target, c.radius, DefaultOptions())
				t.Logf("target %g m: %.2f %% seen", target, 100*share)
				assert.Positive(t, share)
			}
		})
	}
}
