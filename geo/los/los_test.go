package los_test

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"
	"time"

	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/grid"
	"farhail/geo/los"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// straight is light without curvature or refraction, on grid lengths: answers
// follow from similar triangles.
var straight = los.Options{Refraction: 1, GridLengths: true}

// metric puts a surface on a UTM grid with its middle on the central meridian.
func metric(s geotest.Surface, n int, cellM float64) *grid.Heights {
	half := float64(n-1) / 2 * cellM
	return &grid.Heights{
		Frame: grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 500000 - half, Y0: 4700000 + half, DX: cellM, DY: cellM, Cols: n, Rows: n},
		Z:     s.Cells(n, n, cellM),
	}
}

// degrees puts the same cells on longitude and latitude near 42.5 N, at 3
// arc-seconds.
func degrees(s geotest.Surface, n int) *grid.Heights {
	const d = 1.0 / 1200
	return &grid.Heights{Frame: grid.Frame{X0: 1.2, Y0: 42.7, DX: d, DY: d, Cols: n, Rows: n}, Z: s.Cells(n, n, 80)}
}

// TestWall: the eye h above a plain at distance a before a wall H high; a
// target D away must rise to h + (H - h) D / a (similar triangles).
func TestWall(t *testing.T) {
	const n, cell = 201, 10
	h := metric(geotest.Wall(0, 0, 50), n, cell)
	eye := los.Station{Col: 60, Row: 100, HeightM: 2}
	const a = 40 * cell
	cases := []struct {
		name    string
		target  los.Station
		need    float64
		state   los.State
		blocked float64
	}{
		{"before the wall", los.Station{Col: 99, Row: 100}, 0, los.Seen, math.NaN()},
		{"the wall's foot on its own crest", los.Station{Col: 100, Row: 100}, 0, los.Seen, math.NaN()},
		{"behind it, on the ground", los.Station{Col: 140, Row: 100}, 2 + 48*2, los.Hidden, a},
		{"behind it, just too low", los.Station{Col: 140, Row: 100, HeightM: 97.99}, 98, los.Hidden, a},
		{"behind it, level with the line", los.Station{Col: 140, Row: 100, HeightM: 98}, 98, los.Seen, math.NaN()},
		{"within a tie", los.Station{Col: 140, Row: 100, HeightM: 98 - 0.9e-4}, 98, los.Seen, math.NaN()},
		{"beyond a tie", los.Station{Col: 140, Row: 100, HeightM: 98 - 1.1e-4}, 98, los.Hidden, a},
		{"aslant", los.Station{Col: 140, Row: 180}, 98, los.Hidden, a * math.Sqrt2},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got := los.Line(h, eye, c.target, straight)
			assert.Equal(t, c.state, got.State)
			assert.InDelta(t, c.need, got.NeedM, 1e-9)
			if math.IsNaN(c.blocked) {
				assert.True(t, math.IsNaN(got.BlockedAtM))
				assert.GreaterOrEqual(t, got.ClearanceM, -1e-4)
			} else {
				// The first crossing that blocks is the last before the wall that
				// rises above the line: the wall's slope begins one cell before.
				assert.InDelta(t, c.blocked, got.BlockedAtM, cell*math.Sqrt2+1e-9)
				assert.Less(t, got.ClearanceM, 0.0)
			}
			e, err := los.NewEye(h, eye, straight)
			require.NoError(t, err)
			assert.Equal(t, c.state, e.State(c.target))
		})
	}
	// The gap at the wall for a target 99 m up: the line is at 2 + 97/2 = 50.5.
	assert.InDelta(t, 0.5, los.Line(h, eye, los.Station{Col: 140, Row: 100, HeightM: 99}, straight).ClearanceM, 1e-9)
}

// TestFlatHorizon: over a level plain the ground is seen as far as
// sqrt(2 R h / (1 - k)), and a target as far as both horizons together.
func TestFlatHorizon(t *testing.T) {
	const n = 801
	h := metric(geotest.Plane(0, 0, 0), n, 30)
	for _, k := range []float64{0, 0.13, 0.25} {
		o := los.Options{Refraction: k, GridLengths: true}
		for _, c := range []struct{ eye, target float64 }{{1.7, 0}, {5, 0}, {2, 2}, {10, 3}} {
			want := earth.HorizonM(c.eye, k, earth.MeanRadiusM) + earth.HorizonM(c.target, k, earth.MeanRadiusM)
			// Ground is looked at every 30 m, and 0.1 mm of height is sqrt(1e-4
			// 2 R/(1-k)), below 40 m, of distance for a target on the ground.
			e, err := los.NewEye(h, los.Station{Col: 0, Row: 400, HeightM: c.eye}, o)
			require.NoError(t, err)
			farthest := 0.0
			for col := 1; col < n; col++ {
				if e.State(los.Station{Col: float64(col), Row: 400, HeightM: c.target}) == los.Seen {
					farthest = float64(col) * 30
				}
			}
			assert.InDelta(t, want, farthest, 30+42, "k %g, eye %g, target %g", k, c.eye, c.target)
		}
	}
}

// TestFlatDisc counts the cells of a level plain that an eye 1.7 m up sees, as
// two programs by the same definition and the same 0.1 mm counted them: 89,645
// of 30 m cells with R = 6 378 137 m and a curvature coefficient 0.85714.
func TestFlatDisc(t *testing.T) {
	h := metric(geotest.Plane(0, 0, 0), 1000, 30)
	got, err := los.SeenArea(context.Background(), h, los.Station{Col: 500, Row: 500, HeightM: 1.7}, 0, 6500, referenceOptions(0.85714))
	require.NoError(t, err)
	assert.InDelta(t, 89645, got.Seen, 5)
	disc := math.Pi * 2 * 6378137 * 1.7 / 0.85714
	assert.InDelta(t, disc, got.AreaM2, 0.017*disc, "0.1 mm widen the disc by 1.5 %%")
}

// TestEverythingSeen: surfaces that hide nothing from their middle, whatever
// the direction. The tilted plane is one tie at every crossing.
func TestEverythingSeen(t *testing.T) {
	for name, c := range map[string]struct {
		s   geotest.Surface
		eye float64
	}{
		"tilted plane, eye on the ground": {geotest.Plane(500, 0.5, -0.25), 0},
		"cone from its summit":            {geotest.Cone(2000, 0.5), 1.7},
		"bowl from its bottom":            {geotest.Bowl(3000), 1.7},
	} {
		t.Run(name, func(t *testing.T) {
			h := metric(c.s, 81, 32)
			got, err := los.SeenArea(context.Background(), h, los.Station{Col: 40, Row: 40, HeightM: c.eye}, 0, math.Inf(1), straight)
			require.NoError(t, err)
			assert.Equal(t, 81*81, got.Cells)
			assert.Equal(t, got.Cells, got.Seen)
			assert.InDelta(t, 81*81*32*32, got.AreaM2, 1e-6)
		})
	}
}

// TestNeighbours: the eight cells around the eye are seen, however deep.
func TestNeighbours(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	h := metric(geotest.Plane(0, 0, 0), 3, 30)
	for range 200 {
		for i := range h.Z {
			h.Z[i] = float32(rng.Float64() * 3000)
		}
		got, err := los.SeenArea(context.Background(), h, los.Station{Col: 1, Row: 1, HeightM: 1.7}, 0, math.Inf(1), los.DefaultOptions())
		require.NoError(t, err)
		assert.Equal(t, 9, got.Seen)
	}
}

// oracle answers one line by another way than the package: it collects the
// places of all crossings along the line as fractions of it, samples the
// bilinear surface there, and compares elevation angles. It is slow, and takes
// one straight piece only.
func oracle(h *grid.Heights, eye, target los.Station, east, north, q float64) (needM, clearanceM float64) {
	dc, dr := target.Col-eye.Col, target.Row-eye.Row
	length := math.Sqrt(dc*dc*east*east + dr*dr*north*north)
	var at []float64
	for k := -1; k <= max(h.Cols, h.Rows); k++ {
		for _, axis := range [2][2]float64{{eye.Col, dc}, {eye.Row, dr}} {
			if axis[1] != 0 {
				if f := (float64(k) - axis[0]) / axis[1]; f > 1e-9 && f < 1-1e-9 {
					at = append(at, f)
				}
			}
		}
	}
	z0 := h.SampleCell(eye.Col, eye.Row) + eye.HeightM
	z1 := h.SampleCell(target.Col, target.Row)
	angle := math.Inf(-1)
	clearanceM = math.Inf(1)
	for _, f := range at {
		z := h.SampleCell(eye.Col+f*dc, eye.Row+f*dr) - q*math.Pow(f*length, 2)
		angle = math.Max(angle, math.Atan2(z-z0, f*length))
		line := z0 + f*(z1+target.HeightM-q*length*length-z0)
		clearanceM = math.Min(clearanceM, line-z)
	}
	needM = z0 + math.Tan(angle)*length - (z1 - q*length*length)
	return math.Max(needM, 0), clearanceM
}

// grounds are rough terrains of both kinds, with the ground lengths that a
// line between two stations has.
func grounds() map[string]struct {
	h *grid.Heights
	o los.Options
	m func(a, b los.Station) (east, north float64)
} {
	type ground = struct {
		h *grid.Heights
		o los.Options
		m func(a, b los.Station) (east, north float64)
	}
	utm, geographic := metric(geotest.Rough(7, 400), 161, 30), degrees(geotest.Rough(8, 400), 161)
	return map[string]ground{
		"grid lengths": {utm, los.Options{Refraction: 0.2, GridLengths: true}, func(_, _ los.Station) (float64, float64) { return 30, 30 }},
		// On the central meridian the scale is 0.9996.
		"ground lengths": {utm, los.DefaultOptions(), func(_, _ los.Station) (float64, float64) { return 30 / 0.9996, 30 / 0.9996 }},
		"longitude and latitude": {geographic, los.DefaultOptions(), func(a, b los.Station) (float64, float64) {
			e, n := earth.MetresPerDegree(geographic.Y0 - (a.Row+b.Row)/2*geographic.DY)
			return e * geographic.DX, n * geographic.DY
		}},
	}
}

func randomStation(rng *rand.Rand, h *grid.Heights) los.Station {
	s := los.Station{Col: rng.Float64() * float64(h.Cols-1), Row: rng.Float64() * float64(h.Rows-1), HeightM: rng.Float64() * 20}
	switch rng.IntN(4) {
	case 0: // cell centres, where crossings of rows and columns coincide
		s.Col, s.Row = math.Round(s.Col), math.Round(s.Row)
	case 1: // on a grid line
		s.Col = math.Round(s.Col)
	}
	return s
}

func TestAgainstOracle(t *testing.T) {
	for name, g := range grounds() {
		t.Run(name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(3, 4))
			seen := 0
			for range 3000 {
				a, b := randomStation(rng, g.h), randomStation(rng, g.h)
				east, north := g.m(a, b)
				need, clearance := oracle(g.h, a, b, east, north, earth.DropM(1, g.o.Refraction, earth.MeanRadiusM))
				got := los.Line(g.h, a, b, g.o)
				// 1e-8 is the part of a length that the scale on the central
				// meridian differs by 2.4 km away from it.
				require.InDelta(t, need, got.NeedM, 1e-6+1e-7*need, "%+v to %+v", a, b)
				if !math.IsInf(clearance, 1) {
					require.InDelta(t, clearance, got.ClearanceM, 1e-5, "%+v to %+v", a, b)
				}
				if math.Abs(need-b.HeightM) > 1e-3 {
					require.Equal(t, need <= b.HeightM, got.State == los.Seen, "%+v to %+v", a, b)
				}
				e, err := los.NewEye(g.h, a, g.o)
				require.NoError(t, err)
				require.Equal(t, got.State, e.State(b), "%+v to %+v", a, b)
				if got.State == los.Seen {
					seen++
				}
			}
			assert.Greater(t, seen, 100)
			assert.Less(t, seen, 2900)
		})
	}
}

// TestSymmetry: who sees is seen. The tie of 0.1 mm lies at the target, so
// lines that near to the limit are left out.
func TestSymmetry(t *testing.T) {
	for name, g := range grounds() {
		t.Run(name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(5, 6))
			used := 0
			for range 3000 {
				a, b := randomStation(rng, g.h), randomStation(rng, g.h)
				there, back := los.Line(g.h, a, b, g.o), los.Line(g.h, b, a, g.o)
				require.InDelta(t, there.DistanceM, back.DistanceM, 1e-6)
				if !math.IsNaN(there.ClearanceM) {
					require.InDelta(t, there.ClearanceM, back.ClearanceM, 1e-6)
				}
				if math.Abs(there.ClearanceM) > 1e-3 {
					used++
					require.Equal(t, there.State, back.State, "%+v and %+v", a, b)
				}
			}
			assert.Greater(t, used, 2500)
		})
	}
}

// TestHigherSeesMore: raising eye or target never hides.
func TestHigherSeesMore(t *testing.T) {
	g := grounds()["longitude and latitude"]
	rng := rand.New(rand.NewPCG(9, 9))
	for range 2000 {
		a, b := randomStation(rng, g.h), randomStation(rng, g.h)
		low := los.Line(g.h, a, b, g.o)
		up := b
		up.HeightM += 5
		if low.State == los.Seen {
			require.Equal(t, los.Seen, los.Line(g.h, a, up, g.o).State)
		}
		up.HeightM = low.NeedM
		require.Equal(t, los.Seen, los.Line(g.h, a, up, g.o).State, "at the height it needs")
	}
}

func TestVoids(t *testing.T) {
	nan := float32(math.NaN())
	flat := func() *grid.Heights { return metric(geotest.Plane(100, 0, 0), 21, 30) }
	eye, target := los.Station{Col: 2, Row: 10, HeightM: 2}, los.Station{Col: 18, Row: 10, HeightM: 2}
	cases := []struct {
		name  string
		set   func(h *grid.Heights)
		want  los.State
		voids int
	}{
		{"none", func(*grid.Heights) {}, los.Seen, 0},
		{"under the line", func(h *grid.Heights) { h.Row(10)[8] = nan }, los.Unknown, 1},
		{"beside the line, without weight", func(h *grid.Heights) { h.Row(9)[8], h.Row(11)[8] = nan, nan }, los.Seen, 0},
		{"under the line, known ground before it blocks", func(h *grid.Heights) { h.Row(10)[8], h.Row(10)[5] = nan, 200 }, los.Hidden, 1},
		{"under the line, known ground behind it blocks", func(h *grid.Heights) { h.Row(10)[8], h.Row(10)[15] = nan, 200 }, los.Hidden, 1},
		{"under the target", func(h *grid.Heights) { h.Row(10)[18] = nan }, los.Unknown, 0},
		{"behind the target", func(h *grid.Heights) { h.Row(10)[19] = nan }, los.Seen, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			h := flat()
			c.set(h)
			got := los.Line(h, eye, target, straight)
			assert.Equal(t, c.want, got.State)
			assert.Equal(t, c.voids, got.Voids)
			unknown := c.want == los.Unknown
			assert.Equal(t, unknown, math.IsNaN(got.ClearanceM), "clearance %g m", got.ClearanceM)
			assert.Equal(t, unknown, math.IsNaN(got.NeedM), "need %g m", got.NeedM)
			e, err := los.NewEye(h, eye, straight)
			require.NoError(t, err)
			assert.Equal(t, c.want, e.State(target))
		})
	}
	h := flat()
	h.Row(10)[2] = nan
	assert.Equal(t, los.Unknown, los.Line(h, eye, target, straight).State)
	_, err := los.SeenArea(context.Background(), h, eye, 2, math.Inf(1), straight)
	require.ErrorIs(t, err, los.ErrNoGround)
}

func TestRefused(t *testing.T) {
	h := metric(geotest.Plane(0, 0, 0), 11, 30)
	in := los.Station{Col: 5, Row: 5, HeightM: 2}
	for name, s := range map[string]los.Station{
		"west":          {Col: -1, Row: 5},
		"south":         {Col: 5, Row: 10.1},
		"not a number":  {Col: math.NaN(), Row: 5},
		"height is NaN": {Col: 5, Row: 5, HeightM: math.NaN()},
	} {
		for _, got := range []los.Sight{los.Line(h, s, in, straight), los.Line(h, in, s, straight)} {
			assert.Equal(t, los.Unknown, got.State, name)
			assert.True(t, math.IsNaN(got.NeedM), name)
		}
		e, err := los.NewEye(h, in, straight)
		require.NoError(t, err)
		assert.Equal(t, los.Unknown, e.State(s), name)
		_, err = los.NewEye(h, s, straight)
		require.ErrorIs(t, err, los.ErrNoGround, name)
	}
	for _, o := range []los.Options{{EarthRadiusM: -1}, {Refraction: math.NaN()}, {EarthRadiusM: math.NaN()}, {Refraction: math.Inf(1)}} {
		_, err := los.NewEye(h, in, o)
		require.ErrorIs(t, err, los.ErrOptions)
	}
	for _, radius := range []float64{0, -1, math.NaN()} {
		_, err := los.SeenArea(context.Background(), h, in, 0, radius, straight)
		require.ErrorIs(t, err, los.ErrOptions)
	}
	// The zero options mean the mean radius and straight rays.
	e, err := los.NewEye(h, in, los.Options{})
	require.NoError(t, err)
	assert.Equal(t, los.Seen, e.State(in))
}

// TestArea compares the seen area with a line to every cell, with voids, a
// radius and an eye between cell centres.
func TestArea(t *testing.T) {
	for name, g := range grounds() {
		t.Run(name, func(t *testing.T) {
			h := *g.h
			h.Z = append([]float32(nil), g.h.Z...)
			for row := 74; row < 79; row++ {
				for col := 74; col < 79; col++ {
					h.Row(row)[col] = float32(math.NaN())
				}
			}
			eye := los.Station{Col: 71.3, Row: 80.6, HeightM: 8}
			const target, radius = 3, 2000
			got, err := los.SeenArea(context.Background(), &h, eye, target, radius, g.o)
			require.NoError(t, err)
			cells, seen, unknown, area := 0, 0, 0, 0.0
			for row := range h.Rows {
				for col := range h.Cols {
					line := los.Line(&h, eye, los.Station{Col: float64(col), Row: float64(row), HeightM: target}, g.o)
					want := line.State
					switch {
					case row == 81 && col == 71:
						want = los.Seen
					case line.DistanceM > radius:
						want = los.Beyond
					}
					state := los.Beyond
					if r, c := row-got.Row0, col-got.Col0; r >= 0 && r < got.Frame.Rows && c >= 0 && c < got.Frame.Cols {
						state = got.State[r*got.Frame.Cols+c]
						// The window's frame names the same place.
						assert.InDelta(t, 0, h.Point(float64(col), float64(row))[0]-got.Frame.Point(float64(c), float64(r))[0], 1e-9)
					}
					require.Equal(t, want, state, "column %d, row %d", col, row)
					switch state {
					case los.Beyond:
						continue
					case los.Seen:
						seen++
						if g.o.GridLengths {
							area += 900
						} else {
							area += h.AreaM2(row)
						}
					case los.Unknown:
						unknown++
					}
					cells++
				}
			}
			assert.Equal(t, [3]int{cells, seen, unknown}, [3]int{got.Cells, got.Seen, got.Unknown})
			assert.InDelta(t, area, got.AreaM2, 1e-6*area)
			assert.Positive(t, unknown)
			assert.Positive(t, seen)
			assert.Less(t, got.Frame.Cols, h.Cols, "only the radius is kept")

			needed, err := los.NeededArea(context.Background(), &h, eye, target, radius, g.o)
			require.NoError(t, err)
			for i, need := range needed.NeedM {
				line := los.Line(&h, eye, los.Station{Col: float64(i%got.Frame.Cols + got.Col0), Row: float64(i/got.Frame.Cols + got.Row0), HeightM: target}, g.o)
				want := line.NeedM
				switch {
				case got.State[i] == los.Seen && i == (81-got.Row0)*got.Frame.Cols+71-got.Col0:
					want = 0
				case got.State[i] == los.Beyond || line.Voids > 0:
					want = math.NaN()
				}
				if math.IsNaN(want) {
					require.True(t, math.IsNaN(float64(need)), "cell %d", i)
					continue
				}
				require.InDelta(t, want, need, 1e-5+1e-7*want, "cell %d", i)
			}
			needed.NeedM, needed.BlockedBy = nil, nil
			assert.Equal(t, got, needed, "the same states both ways")

			old := runtime.GOMAXPROCS(1)
			alone, err := los.SeenArea(context.Background(), &h, eye, target, radius, g.o)
			runtime.GOMAXPROCS(old)
			require.NoError(t, err)
			assert.Equal(t, got, alone, "any number of processors")
		})
	}
}

func TestAreaStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	h := metric(geotest.Rough(1, 200), 101, 30)
	_, err := los.SeenArea(ctx, h, los.Station{Col: 50, Row: 50, HeightM: 2}, 0, math.Inf(1), los.DefaultOptions())
	require.ErrorIs(t, err, context.Canceled)
	_, err = los.NeededArea(ctx, h, los.Station{Col: 50, Row: 50, HeightM: 2}, 0, math.Inf(1), los.DefaultOptions())
	require.ErrorIs(t, err, context.Canceled)
}

// TestAreaStopsMidway: a search that is under way ends within a row of cells, of
// 1001 that take a minute in all.
func TestAreaStopsMidway(t *testing.T) {
	h := metric(geotest.Plane(0, 0, 0), 1001, 30)
	ctx, cancel := context.WithCancel(context.Background())
	time.AfterFunc(20*time.Millisecond, cancel)
	_, err := los.SeenArea(ctx, h, los.Station{Col: 0, Row: 0, HeightM: 9000}, 0, math.Inf(1), los.DefaultOptions())
	require.ErrorIs(t, err, context.Canceled)
}

func TestStateNames(t *testing.T) {
	assert.Equal(t, []string{"beyond", "seen", "hidden", "unknown"},
		[]string{los.Beyond.String(), los.Seen.String(), los.Hidden.String(), los.Unknown.String()})
}

func BenchmarkSeenArea(b *testing.B) {
	h := metric(geotest.Rough(7, 400), 1000, 30)
	for b.Loop() {
		_, err := los.SeenArea(context.Background(), h, los.Station{Col: 500, Row: 500, HeightM: 1.7}, 0, math.Inf(1), los.DefaultOptions())
		require.NoError(b, err)
	}
}

func BenchmarkState(b *testing.B) {
	g := grounds()["longitude and latitude"]
	e, err := los.NewEye(g.h, los.Station{Col: 80.5, Row: 80.2, HeightM: 1.7}, g.o)
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		e.State(los.Station{Col: 10, Row: 33, HeightM: 1.5})
	}
}
