package prob_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/grid"
	"farhail/geo/prob"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

// row is a surface of cells of one size along the equator.
func row(t *testing.T, masses []float64) *prob.Surface {
	t.Helper()
	s, err := prob.FromWeights(grid.Frame{DX: 1e-3, DY: 1e-3, Cols: len(masses), Rows: 1}, masses, 0)
	require.NoError(t, err)
	return s
}

// small is a frame of one cell of a metre at a place.
func small(at orb.Point) grid.Frame {
	east, north := earth.MetresPerDegree(at.Lat())
	return grid.Frame{X0: at.Lon(), Y0: at.Lat(), DX: 1 / east, DY: 1 / north, Cols: 1, Rows: 1}
}

// The laws against those of another program.
func TestLawsAsSciPy(t *testing.T) {
	_, centre := about(3, 100)
	geotest.Check(t, "prob-lognormal-scipy", func(in []string) ([]any, error) {
		v := geotest.Numbers(t, in)
		law := prob.Lognormal{Mu: v[0], Sigma: v[1]}
		return []any{law.Share(v[2]), law.DensityM2(v[2])}, law.Check()
	})
	geotest.Check(t, "prob-direction-scipy", func(in []string) ([]any, error) {
		v := geotest.Numbers(t, in)
		at, _ := earth.Direct(centre, earth.NewTrue(v[2]), 5000)
		w, err := prob.Toward(small(at), centre, earth.NewTrue(v[0]), v[1])
		return []any{w.Density[0]}, err
	})
	geotest.Check(t, "prob-normal-scipy", func(in []string) ([]any, error) {
		v := geotest.Numbers(t, in)
		w, err := prob.Normal(small(earth.NewLocal(centre).Inverse(v[4], v[3])), centre, earth.Covariance{NN: v[0], NE: v[1], EE: v[2]})
		return []any{w.Density[0]}, err
	})
	geotest.Check(t, "prob-reach-scipy", func(in []string) ([]any, error) {
		v := geotest.Numbers(t, in)
		w, err := prob.Soft(small(centre), []float32{float32(v[1])}, v[0], v[2])
		return []any{w.Density[0]}, err
	})
	geotest.Check(t, "prob-fit-scipy", func(in []string) ([]any, error) {
		v := geotest.Numbers(t, in)
		var table prob.Table
		for i := 0; i < len(v); i += 2 {
			table = append(table, prob.Quantile{Share: v[i], DistM: v[i+1]})
		}
		law, err := prob.FitLognormal(table)
		return []any{law.Mu, law.Sigma}, err
	})
}

// What is told of a surface, against another program.
func TestSurfaceAsSciPy(t *testing.T) {
	geotest.Check(t, "prob-entropy-scipy", func(in []string) ([]any, error) {
		return []any{row(t, geotest.Numbers(t, in)).EntropyBits()}, nil
	})
	geotest.Check(t, "prob-score-scipy", func(in []string) ([]any, error) {
		cell := geotest.Numbers(t, in[:1])[0]
		return []any{row(t, geotest.Numbers(t, strings.Fields(in[1]))).RankScore(int(cell), 0)}, nil
	})
	// The region of a round error is a disc.
	f, centre := about(401, 10)
	const sd = 300
	w, err := prob.Normal(f, centre, earth.Covariance{NN: sd * sd, EE: sd * sd})
	require.NoError(t, err)
	s, err := prob.FromWeights(f, w.Mass(f), 0)
	require.NoError(t, err)
	geotest.Check(t, "prob-ellipse-scipy", func(in []string) ([]any, error) {
		return []any{math.Sqrt(s.Region(geotest.Numbers(t, in)[0]).AreaM2/math.Pi) / sd}, nil
	})
	marked := make([]bool, 15*12)
	for _, cell := range [][2]int{{3, 2}, {12, 9}, {1, 6}} {
		marked[cell[1]*15+cell[0]] = true
	}
	// Where the grid's scale is next to 1.
	d := prob.DistanceTo(grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 320_000, Y0: 4_700_000, DX: 30, DY: 30, Cols: 15, Rows: 12}, marked)
	geotest.Check(t, "prob-distance-scipy", func(in []string) ([]any, error) {
		v := geotest.Numbers(t, in)
		return []any{float64(d[int(v[1])*15+int(v[0])])}, nil
	})
}

// The tables of distances that can be named hold the rows that were read.
func TestPublishedTables(t *testing.T) {
	for file, name := range map[string]string{"prob-dementia-uk": "dementia-uk", "prob-dementia-women": "dementia-women-on-foot"} {
		p, ok := prob.PublishedTable(name)
		require.True(t, ok)
		geotest.Check(t, file, func(in []string) ([]any, error) {
			share := geotest.Numbers(t, in)[0] / 100
			for _, q := range p.Table {
				if q.Share == share {
					return []any{q.DistM / 1000}, nil
				}
			}
			return nil, fmt.Errorf("%s has no row of %g", name, share)
		})
	}
}
