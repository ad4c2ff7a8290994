package prob_test

import (
	"context"
	"math"
	"testing"

	"farhail/geo/prob"

	"github.com/stretchr/testify/require"
)

// People who are simulated to wander are found where a surface of wanderers said
// they are likelier than one of another law does, and a surface without knowledge
// tells nothing: mean rank scores over 400 of them, half the map slow. The region
// of 90 % holds nine in ten.
func TestRankScoreOfSimulatedWalkers(t *testing.T) {
	f, centre := about(121, 100)
	speed := make([]float32, f.Cols*f.Rows)
	for i := range speed {
		speed[i] = 1
		if i%f.Cols < 55 {
			speed[i] = 0.3
		}
	}
	k := prob.Walkers{From: centre, SpeedMS: speed, Seconds: 4 * 3600, StepS: 120, Straight: 0.7, Seed: 1, Count: 40_000}
	told, err := prob.Wander(context.Background(), f, k)
	require.NoError(t, err)
	// Cells of many walkers each, so that the draw is not what is scored.
	smooth := prob.CoarsenMean(f, told.Mass(f), 4)
	coarse, _ := prob.Coarse(f, 31*31)
	wander, err := prob.FromWeights(coarse, smooth, 0)
	require.NoError(t, err)
	law, err := prob.Distances(coarse, centre, prob.Lognormal{Mu: math.Log(2500), Sigma: 0.5})
	require.NoError(t, err)
	rings, err := prob.FromWeights(coarse, law.Mass(coarse), 0)
	require.NoError(t, err)
	even, err := prob.FromWeights(coarse, prob.Even(coarse, nil).Mass(coarse), 0)
	require.NoError(t, err)

	k.Seed, k.Count = 77, 400
	ends, err := prob.Wander(context.Background(), f, k)
	require.NoError(t, err)
	region := wander.Region(0.9)
	density := wander.DensityKM2()
	var byWander, byRings, byEven, inside, n float64
	for i, m := range ends.Mass(f) {
		found := math.Round(m * 400)
		if found == 0 {
			continue
		}
		col, row := (i%f.Cols)/4, (i/f.Cols)/4
		n += found
		byWander += found * wander.RankScore(col, row)
		byRings += found * rings.RankScore(col, row)
		byEven += found * even.RankScore(col, row)
		if density[row*coarse.Cols+col] >= region.Least {
			inside += found
		}
	}
	t.Logf("mean rank score of %.0f finds: wanderers %.3f, distances %.3f, nothing known %.3f; %.1f %% within the 90 %% region", n, byWander/n, byRings/n, byEven/n, 100*inside/n)
	require.Greater(t, byWander/n, byRings/n+0.01)
	require.Greater(t, byRings/n, 0.3)
	require.InDelta(t, 0, byEven/n, 1e-9)
	require.InDelta(t, 0.9, inside/n, 0.05) // three deviations of 400 draws
}
