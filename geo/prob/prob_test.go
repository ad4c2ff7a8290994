package prob_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/grid"
	"farhail/geo/prob"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

// about is a frame of square cells around a position in the open Atlantic.
func about(cells int, cellM float64) (grid.Frame, orb.Point) {
	centre := orb.Point{-30, 40}
	east, north := earth.MetresPerDegree(centre.Lat())
	f := grid.Frame{DX: cellM / east, DY: cellM / north, Cols: cells, Rows: cells}
	f.X0 = centre.Lon() - float64(cells-1)/2*f.DX
	f.Y0 = centre.Lat() + float64(cells-1)/2*f.DY
	return f, centre
}

func TestRankScore(t *testing.T) {
	geotest.Check(t, "prob-score", func(in []string) ([]any, error) {
		v := geotest.Numbers(t, in)
		n, above, equal := int(v[0]), int(v[1]), int(v[2])
		// One row: all cells have the same area.
		f := grid.Frame{X0: 0, Y0: 0, DX: 1e-3, DY: 1e-3, Cols: n, Rows: 1}
		mass := make([]float64, n)
		for i := range mass {
			switch {
			case i < above:
				mass[i] = 3
			case i < above+equal:
				mass[i] = 2
			default:
				mass[i] = 1
			}
		}
		s, err := prob.FromWeights(f, mass, 0.1)
		if err != nil {
			return nil, err
		}
		return []any{s.RankScore(above, 0)}, nil
	})
}

// A flat map tells nothing wherever the find is, however the cells differ in
// size; a find outside is not scored.
func TestRankScoreWeighsByArea(t *testing.T) {
	f := grid.Frame{X0: 0, Y0: 80, DX: 0.5, DY: 0.5, Cols: 7, Rows: 60}
	flat, err := prob.FromWeights(f, prob.Even(f, nil).Mass(f), 0.2)
	require.NoError(t, err)
	require.InDelta(t, 0, flat.RankScore(3, 50), 1e-12)
	require.True(t, math.IsNaN(flat.RankScore(7, 0)))
	// All likelihood in the north's small cells: by area it is a good map, by count not.
	w := prob.Even(f, nil)
	for i := range 30 * 7 {
		w.Density[i] = 9
	}
	s, err := prob.FromWeights(f, w.Mass(f), 0)
	require.NoError(t, err)
	var north, all float64
	for row := range f.Rows {
		all += f.AreaM2(row)
		if row < 30 {
			north += f.AreaM2(row)
		}
	}
	require.InDelta(t, (0.5-north/2/all)/0.5, s.RankScore(0, 0), 1e-9)
}

// Several people's shares of the same areas are averaged: each a view, of one
// weight.
func TestConsensus(t *testing.T) {
	f, _ := about(10, 100)
	north := make([]bool, 100)
	for i := range 37 {
		north[i] = true
	}
	geotest.Check(t, "prob-consensus", func(in []string) ([]any, error) {
		var views []prob.View
		for _, percent := range geotest.Numbers(t, in) {
			w, err := prob.Areas(f, []prob.Area{{Name: "north", Inside: north, Share: percent / 100}})
			if err != nil {
				return nil, err
			}
			views = append(views, prob.View{Weights: w, Weight: 1})
		}
		s, err := prob.Average(f, 0, views)
		if err != nil {
			return nil, err
		}
		held := 0.0
		for i, m := range s.Mass {
			if north[i] {
				held += m
			}
		}
		return []any{held * 100}, nil
	})
}

// update is what a surface becomes after a search that found nothing.
func update(s *prob.Surface, pod []float64) (*prob.Surface, error) {
	after, _, err := prob.History{Start: s, Inputs: []prob.Entry{{Input: prob.Search{POD: pod}}}}.Replay()
	return after, err
}

func TestUpdate(t *testing.T) {
	geotest.Check(t, "prob-update", func(in []string) ([]any, error) {
		v := geotest.Numbers(t, in)
		f := grid.Frame{DX: 1e-3, DY: 1e-3, Cols: 3, Rows: 1}
		rest := 1 - v[0] - v[2]
		s := &prob.Surface{Frame: f, Mass: []float64{v[0], v[2], rest / 2}, Outside: rest / 2}
		after, err := update(s, []float64{v[1], 0, 0})
		if err != nil {
			return nil, err
		}
		require.InDelta(t, 1, after.Sum()+after.Outside, 1e-15)
		return []any{after.Mass[0], after.Mass[1]}, nil
	})
}

// Searching twice is searching once with both chances, in any order.
func TestUpdatesJoin(t *testing.T) {
	f, _ := about(9, 100)
	r := rand.New(rand.NewPCG(1, 2))
	mass, a, b, both := make([]float64, 81), make([]float64, 81), make([]float64, 81), make([]float64, 81)
	for i := range mass {
		mass[i], a[i], b[i] = r.Float64(), r.Float64(), r.Float64()
		both[i] = 1 - (1-a[i])*(1-b[i])
	}
	s, err := prob.FromWeights(f, mass, 0.15)
	require.NoError(t, err)
	one, err := update(s, a)
	require.NoError(t, err)
	ab, err := update(one, b)
	require.NoError(t, err)
	at, err := update(s, both)
	require.NoError(t, err)
	require.InDelta(t, at.Outside, ab.Outside, 1e-14)
	require.InDeltaSlice(t, at.Mass, ab.Mass, 1e-14)
	require.Greater(t, at.Outside, s.Outside)
	_, err = update(s, []float64{2})
	require.Error(t, err)
}

func TestTableOfDistances(t *testing.T) {
	uk := prob.Table{{Share: 0.2, DistM: 300}, {Share: 0.5, DistM: 1200}, {Share: 0.8, DistM: 5000}, {Share: 0.9, DistM: 9500}}
	require.NoError(t, uk.Check())
	geotest.Check(t, "prob-ring", func(in []string) ([]any, error) {
		return []any{uk.DensityM2(geotest.Numbers(t, in)[0]*1000) * 1e6}, nil
	})
	for _, q := range uk {
		require.InDelta(t, q.Share, uk.Share(q.DistM), 1e-12)
	}
	require.InDelta(t, 1200, prob.Median(uk), 1e-6)
	for name, bad := range map[string]prob.Table{
		"without rows":    {},
		"not above":       {{Share: 0.5, DistM: 1000}, {Share: 0.4, DistM: 2000}},
		"outside 0 to 1":  {{Share: 1.5, DistM: 10}},
		"within the 50 m": {{Share: 0.1, DistM: 0}, {Share: 0.4, DistM: 20}},
	} {
		require.ErrorContains(t, bad.Check(), name)
	}
	for _, p := range prob.PublishedTables() {
		require.NoError(t, p.Table.Check(), p.Name)
		require.NotEmpty(t, p.Source)
	}
}

func TestLognormal(t *testing.T) {
	law := prob.Lognormal{Mu: 0.2283 + math.Log(1000), Sigma: 1.6209}
	geotest.Check(t, "prob-lognormal", func(in []string) ([]any, error) {
		return []any{law.Share(geotest.Numbers(t, in)[0] * 1000)}, nil
	})
	// A law comes back from its own quantiles.
	var table prob.Table
	for _, km := range []float64{0.3, 1, 2, 5, 12} {
		table = append(table, prob.Quantile{Share: law.Share(km * 1000), DistM: km * 1000})
	}
	fit, err := prob.FitLognormal(table)
	require.NoError(t, err)
	require.InDelta(t, law.Mu, fit.Mu, 1e-9)
	require.InDelta(t, law.Sigma, fit.Sigma, 1e-9)
	// The density is that of the shares.
	with := prob.Lognormal{Mu: 7, Sigma: 1.1, AtPoint: 0.1}
	for _, r := range []float64{20, 49, 51, 300, 2500} {
		const h = 1e-3
		require.InEpsilon(t, (with.Share(r+h)-with.Share(r-h))/(2*h)/(2*math.Pi*r), with.DensityM2(r), 1e-5, "at %g m", r)
	}
}

// Views of distance and of position hold the probability that they state: what
// is on the map and what is beyond it.
func TestViewsHoldTheirProbability(t *testing.T) {
	f, centre := about(201, 50) // 10 km square
	law := prob.Table{{Share: 0.1, DistM: 0}, {Share: 0.5, DistM: 800}, {Share: 0.9, DistM: 4000}}
	w, err := prob.Distances(f, centre, law)
	require.NoError(t, err)
	require.InDelta(t, 0.1, w.Beyond, 0.002, "what the table leaves")
	s, err := prob.FromWeights(f, w.Mass(f), 0)
	require.NoError(t, err)
	within := func(m float64) (held float64) {
		local := earth.NewLocal(centre)
		for i, p := range s.Mass {
			e, n, err := local.Forward(f.Point(float64(i%f.Cols), float64(i/f.Cols)))
			require.NoError(t, err)
			if math.Hypot(e, n) <= m {
				held += p
			}
		}
		return held * 0.9
	}
	require.InDelta(t, 0.5, within(800), 0.01)
	require.InDelta(t, 0.1, within(75), 0.02)

	for _, sd := range []float64{1, 20, 300} {
		n, err := prob.Normal(f, centre, earth.Covariance{NN: sd * sd, EE: 4 * sd * sd, NE: sd * sd})
		require.NoError(t, err)
		require.InDelta(t, 0, n.Beyond, 0.01, "sd %g", sd)
	}
	// 95 % of it lies within the ellipse of 95 %.
	cov := earth.Covariance{NN: 90_000, EE: 250_000, NE: 60_000}
	n, err := prob.Normal(f, centre, cov)
	require.NoError(t, err)
	surface, err := prob.FromWeights(f, n.Mass(f), 0)
	require.NoError(t, err)
	e := cov.Ellipse(0.95)
	require.InEpsilon(t, math.Pi*e.MajorM*e.MinorM, surface.Region(0.95).AreaM2, 0.01)
}

func TestCarried(t *testing.T) {
	_, from := about(3, 100)
	to, c, err := prob.Carried(from, earth.Covariance{NN: 100, EE: 100}, prob.Carry{Bearing: earth.NewTrue(90), DistM: 1000, SDDistM: 100, SDBearDeg: 10})
	require.NoError(t, err)
	d, bearing, _ := earth.Inverse(from, to)
	require.InDelta(t, 1000, d, 1e-6)
	require.InDelta(t, 90, float64(bearing), 1e-6)
	require.InDelta(t, 100+1e4, c.EE, 1e-6)
	require.InDelta(t, 100+math.Pow(1000*10*math.Pi/180, 2), c.NN, 1e-6)
	// Against draws of the exact law.
	r := rand.New(rand.NewPCG(3, 3))
	var nn, mean float64
	const draws = 200_000
	for range draws {
		turn := 10 * math.Pi / 180 * r.NormFloat64()
		n := (1000 + 100*r.NormFloat64()) * math.Sin(turn)
		nn += n * n
		mean += n
	}
	require.InEpsilon(t, c.NN-100, nn/draws-math.Pow(mean/draws, 2), 0.04)
	_, _, err = prob.Carried(from, c, prob.Carry{Bearing: 0, DistM: 5, SDBearDeg: 60})
	require.ErrorContains(t, err, "wander")
}

func TestTowardIsAShareOfTheCircle(t *testing.T) {
	f, centre := about(101, 100)
	for _, sd := range []float64{10, 45, 180} {
		w, err := prob.Toward(f, centre, earth.NewTrue(300), sd)
		require.NoError(t, err)
		// The mean over a circle is 1: nothing is gained by a direction but shape.
		total, n := 0.0, 0.0
		for a := range 3600 {
			sin, cos := math.Sincos(float64(a) / 10 * math.Pi / 180)
			col, row := int(math.Round(50+45*sin)), int(math.Round(50-45*cos))
			total += w.Density[row*f.Cols+col]
			n++
		}
		require.InDelta(t, 1, total/n, 0.02, "sd %g", sd)
		require.Greater(t, w.Density[(50-20)*f.Cols+50-35], w.Density[(50+20)*f.Cols+50+35])
	}
}

func TestSoftReach(t *testing.T) {
	f := grid.Frame{DX: 1e-3, DY: 1e-3, Cols: 4, Rows: 1}
	w, err := prob.Soft(f, []float32{0, 1800, 3600, float32(math.NaN())}, 3600, 0.2)
	require.NoError(t, err)
	require.Equal(t, 1.0, w.Density[0])
	require.InDelta(t, 0.99973, w.Density[1], 1e-5) // Phi(ln 2 / 0.2)
	require.InDelta(t, 0.5, w.Density[2], 1e-12)
	require.Zero(t, w.Density[3])
}

func TestDistanceToAgainstEveryPair(t *testing.T) {
	f := grid.Frame{X0: 10, Y0: 60, DX: 0.002, DY: 0.001, Cols: 31, Rows: 23}
	r := rand.New(rand.NewPCG(5, 5))
	marked := make([]bool, f.Cols*f.Rows)
	for i := range marked {
		marked[i] = r.IntN(60) == 0
	}
	got := prob.DistanceTo(f, marked)
	for i := range got {
		row := i / f.Cols
		e, n := f.Metres(row)
		best := math.Inf(1)
		for j, m := range marked {
			if m {
				best = min(best, math.Hypot(float64(i%f.Cols-j%f.Cols)*e, float64(row-j/f.Cols)*n))
			}
		}
		require.InEpsilon(t, 1+best, 1+float64(got[i]), 1e-6, "cell %d", i)
	}
	none := prob.DistanceTo(f, make([]bool, len(marked)))
	require.True(t, math.IsInf(float64(none[7]), 1))
	near, err := prob.Near(f, none, 5, 100)
	require.NoError(t, err)
	require.Equal(t, 1.0, near.Density[3], "no line, no pull")
}

func TestAreas(t *testing.T) {
	f, _ := about(10, 100)
	a := make([]bool, 100)
	for i := range 20 {
		a[i] = true
	}
	w, err := prob.Areas(f, []prob.Area{{Name: "north", Inside: a, Share: 0.7}})
	require.NoError(t, err)
	s, err := prob.FromWeights(f, w.Mass(f), 0.1)
	require.NoError(t, err)
	north := 0.0
	for i := range 20 {
		north += s.Mass[i]
	}
	require.InDelta(t, 0.7*0.9, north, 1e-12)
	_, err = prob.Areas(f, []prob.Area{{Name: "north", Inside: a, Share: 0.7}, {Name: "again", Inside: a, Share: 0.7}})
	require.ErrorContains(t, err, "more than 1")
	_, err = prob.Areas(f, []prob.Area{{Name: "off the map", Inside: make([]bool, 100), Share: 0.2}})
	require.ErrorContains(t, err, "no cell")
}

func TestAverageAndProduct(t *testing.T) {
	f, centre := about(61, 100)
	a, err := prob.Normal(f, centre, earth.Covariance{NN: 1e6, EE: 1e6})
	require.NoError(t, err)
	a.Evidence = "the log"
	b, err := prob.Distances(f, centre, prob.Lognormal{Mu: 7, Sigma: 0.6})
	require.NoError(t, err)
	b.Evidence = "other cases"
	s, err := prob.Average(f, 0.05, []prob.View{{Weights: a, Weight: 30}, {Weights: b, Weight: 70}})
	require.NoError(t, err)
	require.InDelta(t, 1, s.Sum()+s.Outside, 1e-12)
	require.Equal(t, 0.05, s.Outside)
	require.InDelta(t, 0.3*a.Beyond+0.7*b.Beyond, prob.BeyondShare([]prob.View{{Weights: a, Weight: 30}, {Weights: b, Weight: 70}}), 1e-12)
	_, err = prob.Average(f, 0.05, []prob.View{{Weights: a}})
	require.ErrorIs(t, err, prob.ErrNoView)

	p, err := prob.Multiply(f, "both", a, b)
	require.NoError(t, err)
	require.Empty(t, p.Warnings)
	require.Less(t, p.EntropyBits, p.PartsBits[0], "what two state independently is surer")
	same := b
	same.Evidence = "the log"
	p, err = prob.Multiply(f, "both", a, same)
	require.NoError(t, err)
	require.Len(t, p.Warnings, 1)
	require.Contains(t, p.Warnings[0], "counts it twice")
	// Two views that nearly contradict each other leave a sliver: flagged.
	far := centre
	far[0] += 0.015
	c, err := prob.Normal(f, far, earth.Covariance{NN: 40_000, EE: 40_000})
	require.NoError(t, err)
	c.Evidence = "a witness"
	p, err = prob.Multiply(f, "both", a, c)
	require.NoError(t, err)
	require.Contains(t, p.Warnings[0], "-fold")
	_, err = prob.Multiply(f, "both", prob.Even(f, nil), prob.Weights{Name: "nowhere", Evidence: "x", Density: make([]float64, 61*61)})
	require.ErrorIs(t, err, prob.ErrEmpty)
}

func TestEntropyOfEvenSurface(t *testing.T) {
	f := grid.Frame{DX: 1e-3, DY: 1e-3, Cols: 256, Rows: 1}
	s, err := prob.FromWeights(f, prob.Even(f, nil).Mass(f), 0)
	require.NoError(t, err)
	require.InDelta(t, 8, s.EntropyBits(), 1e-12)
	r := s.Region(0.5)
	require.Equal(t, 128, r.Cells)
	require.InDelta(t, 128*f.AreaM2(0), r.AreaM2, 1e-6)
	half, err := prob.FromWeights(f, prob.Even(f, nil).Mass(f), 0.5)
	require.NoError(t, err)
	require.True(t, math.IsNaN(half.Region(0.9).AreaM2), "the map holds only half")
	for _, bad := range []float64{-0.1, 1, math.NaN()} {
		_, err := prob.FromWeights(f, prob.Even(f, nil).Mass(f), bad)
		require.Error(t, err)
	}
}

// meanSquareM2 is the mean square of the distance covered in n steps of one length
// [m2] by a walk whose turns have a mean cosine c, the same to both sides:
// l^2 (n + 2 c/(1-c) (n - (1 - c^n)/(1-c))) (Kareiva and Shigesada 1983, Oecologia 56,
// 234-238).
func meanSquareM2(n int, stepM, c float64) float64 {
	k := float64(n)
	return stepM * stepM * (k + 2*c/(1-c)*(k-(1-math.Pow(c, k))/(1-c)))
}

// Walks over even ground spread as the check file's values say: long steps from
// the middle of small cells.
func TestMeanSquareOfAWalk(t *testing.T) {
	f, centre := about(201, 100)
	speed := make([]float32, f.Cols*f.Rows)
	for i := range speed {
		speed[i] = 1
	}
	local := earth.NewLocal(centre)
	geotest.Check(t, "prob-walk", func(in []string) ([]any, error) {
		v := geotest.Numbers(t, in)
		const stepM = 700
		w, err := prob.Wander(context.Background(), f, prob.Walkers{From: centre, SpeedMS: speed, Seconds: v[0] * stepM, StepS: stepM, Straight: v[1], PaceSpread: 1e-9, Count: 40_000, Seed: 4})
		if err != nil {
			return nil, err
		}
		square := 0.0
		for i, m := range w.Mass(f) {
			if m > 0 {
				e, n, err := local.Forward(f.Point(float64(i%f.Cols), float64(i/f.Cols)))
				require.NoError(t, err)
				square += m * (e*e + n*n)
			}
		}
		return []any{square / (stepM * stepM)}, nil
	})
}

// On even ground the walkers' spread is that of the formula, and the same on any
// run.
func TestWanderOnEvenGround(t *testing.T) {
	f, centre := about(161, 50)
	speed := make([]float32, f.Cols*f.Rows)
	for i := range speed {
		speed[i] = 1
	}
	for _, c := range []float64{0, 0.8} {
		k := prob.Walkers{From: centre, SpeedMS: speed, Seconds: 1800, StepS: 60, Straight: c, PaceSpread: 1e-9, Seed: 4}
		w, err := prob.Wander(context.Background(), f, k)
		require.NoError(t, err)
		again, err := prob.Wander(context.Background(), f, k)
		require.NoError(t, err)
		require.Equal(t, w.Density, again.Density)
		local := earth.NewLocal(centre)
		square := 0.0
		for i, m := range w.Mass(f) {
			e, n, err := local.Forward(f.Point(float64(i%f.Cols), float64(i/f.Cols)))
			require.NoError(t, err)
			square += m * (e*e + n*n)
		}
		require.InEpsilon(t, meanSquareM2(30, 60, c), square, 0.04, "mean cosine %g", c)
		require.Zero(t, w.Beyond)
	}
}

func TestWanderersDoNotCrossWhereNobodyWalks(t *testing.T) {
	f, centre := about(41, 50)
	speed := make([]float32, f.Cols*f.Rows)
	for i := range speed {
		if i%f.Cols != 24 {
			speed[i] = 1
		}
	}
	w, err := prob.Wander(context.Background(), f, prob.Walkers{From: centre, SpeedMS: speed, Seconds: 3600, StepS: 30, Seed: 1, Count: 5000})
	require.NoError(t, err)
	west := 0.0
	for i, m := range w.Mass(f) {
		if i%f.Cols >= 24 {
			require.Zero(t, m)
		} else {
			west += m
		}
	}
	require.InDelta(t, 1, west+w.Beyond, 1e-9)
	require.Positive(t, w.Beyond)
}

func TestCoarse(t *testing.T) {
	f, _ := about(10, 100)
	c, k := prob.Coarse(f, 9)
	require.Equal(t, 4, k)
	require.Equal(t, 3, c.Cols)
	v := make([]float64, 100)
	for i := range v {
		v[i] = 2
	}
	for _, m := range prob.CoarsenMean(f, v, k) {
		require.Equal(t, 2.0, m)
	}
	// The first coarse cell covers the first 4 by 4.
	require.InDelta(t, f.X0+1.5*f.DX, c.X0, 1e-12)
	same, k := prob.Coarse(f, 100)
	require.Equal(t, 1, k)
	require.Equal(t, f, same)
}
