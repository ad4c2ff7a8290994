package prob_test

import (
	"context"
	"math/rand/v2"
	"testing"

	"farhail/geo/grid"
	"farhail/geo/prob"

	"github.com/stretchr/testify/require"
)

func TestSplitMakesPartsAPartyCanSearch(t *testing.T) {
	f, _ := about(200, 30) // 36 km2
	r := rand.New(rand.NewPCG(9, 9))
	line, out := make([]bool, 200*200), make([]bool, 200*200)
	for i := range line {
		col, row := i%200, i/200
		line[i] = col == 40 || row == 90 || col == 150
		out[i] = col > 170 && row < 30 || r.IntN(400) == 0 // a lake, and ponds of a cell
	}
	parts, err := prob.Split(context.Background(), f, prob.Parts{Line: line, Out: out})
	require.NoError(t, err)
	areas := map[int32]float64{}
	for i, p := range parts {
		lake := i%200 > 170 && i/200 < 30
		require.Equal(t, lake, p < 0, "cell %d: the lake alone is out, ponds under 1 ha are in", i)
		if p >= 0 {
			areas[p] += f.AreaM2(i / 200)
		}
	}
	for p, a := range areas {
		require.GreaterOrEqual(t, a, 0.1e6, "part %d", p)
		require.LessOrEqual(t, a, 1.0e6, "part %d", p)
		require.Less(t, int(p), len(areas))
	}
	// Connected by sides, and no hole in the shape of its patch under 1 ha.
	for p, patch := range grid.Patches(f, parts) {
		require.Len(t, patch, 1, "part %d is in one piece", p)
	}
	// Borders follow the lines: far more of the line cells lie at a border than of others.
	at := func(i int) bool {
		for _, d := range []int{1, -1, 200, -200} {
			if j := i + d; j >= 0 && j < len(parts) && parts[j] != parts[i] {
				return true
			}
		}
		return false
	}
	var lines, onLine, others, onOther float64
	for i := range parts {
		if parts[i] < 0 {
			continue
		}
		if line[i] {
			lines++
			if at(i) {
				onLine++
			}
		} else {
			others++
			if at(i) {
				onOther++
			}
		}
	}
	require.Greater(t, onLine/lines, 3*onOther/others)
	t.Logf("%d parts; %.0f %% of the lines at a border, %.0f %% of other ground", len(areas), 100*onLine/lines, 100*onOther/others)

	again, err := prob.Split(context.Background(), f, prob.Parts{Line: line, Out: out})
	require.NoError(t, err)
	require.Equal(t, parts, again)
}

func TestSplitRefusesWhatCannotBe(t *testing.T) {
	f, _ := about(5, 30)
	_, err := prob.Split(context.Background(), f, prob.Parts{LeastM2: 1, MostM2: 1.5})
	require.ErrorContains(t, err, "twice")
	_, err = prob.Split(context.Background(), f, prob.Parts{Out: make([]bool, 3)})
	require.ErrorContains(t, err, "another size")
	// A map smaller than the least is one part.
	parts, err := prob.Split(context.Background(), f, prob.Parts{})
	require.NoError(t, err)
	for _, p := range parts {
		require.Zero(t, p)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = prob.Split(ctx, f, prob.Parts{})
	require.ErrorIs(t, err, context.Canceled)
}
