package los_test

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"farhail/geo/geotest"
	"farhail/geo/grid"
	"farhail/geo/los"
	"farhail/geo/terrain"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The reference sets were made with R = 6 378 137 m, a curvature coefficient
// c = 1 - k, and grid lengths.
func referenceOptions(c float64) los.Options {
	return los.Options{Refraction: 1 - c, EarthRadiusM: 6378137, GridLengths: true}
}

func sharedTerrain(t testing.TB, name string) *grid.Heights {
	t.Helper()
	dir := filepath.Join(geotest.Shared(t), "data", "dem")
	got, err := terrain.Load(os.DirFS(dir), []string{name}, orb.Bound{})
	require.NoError(t, err)
	return &got.Heights
}

// TestSightLines compares 450 sight lines over real ground with the answers of
// a brute-force program that samples the bilinear surface finely. 33 lines
// within half a metre of the limit depend on the definition and are left out.
func TestSightLines(t *testing.T) {
	h := sharedTerrain(t, "bigtujunga-utm11.tif")
	f, err := os.Open(filepath.Join(geotest.Shared(t), "data", "reference", "viewshed", "los-pairs-bigtujunga.csv"))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	used, seen := 0, 0
	for _, row := range rows[1:] {
		number := func(name string) float64 {
			v, err := strconv.ParseFloat(row[column[name]], 64)
			require.NoError(t, err)
			return v
		}
		if math.Abs(number("clearance_m")) <= 0.5 {
			continue
		}
		used++
		col, r := h.CellXY(number("obs_x"), number("obs_y"))
		// The eye stands at a cell centre; the file rounds it to a millimetre.
		eye := los.Station{Col: math.Round(col), Row: math.Round(r), HeightM: number("obs_height_m")}
		target := los.Station{Col: number("tgt_col"), Row: number("tgt_row"), HeightM: number("tgt_height_m")}
		got := los.Line(h, eye, target, referenceOptions(number("curv_coeff")))
		want := los.Hidden
		if number("visible") == 1 {
			want = los.Seen
			seen++
		}
		assert.Equal(t, want, got.State, "%v: clearance %.3f, listed %.3f", row, got.ClearanceM, number("clearance_m"))
		assert.InDelta(t, number("distance_m"), got.DistanceM, 0.006, "printed to a centimetre")
	}
	assert.Equal(t, 417, used)
	assert.Greater(t, seen, 50)
	assert.Less(t, seen, 367)
}

// TestSeenAreas compares five seen areas of real ground with the exact counts
// of two independent programs by the same definition, and with the rasters of
// GRASS r.viewshed, which treats the ground near the eye otherwise.
func TestSeenAreas(t *testing.T) {
	if testing.Short() {
		t.Skip("seconds of sight lines")
	}
	h := sharedTerrain(t, "bigtujunga-utm11.tif")
	dir := filepath.Join(geotest.Shared(t), "data")
	raw, err := os.ReadFile(filepath.Join(dir, "REFERENCE.json"))
	require.NoError(t, err)
	var ref struct {
		Viewshed struct {
			Cases map[string]struct {
				Obs            [2]float64
				Oz, Tz, Cc, Md float64
				ExactE1        int `json:"exact_e1"`
				Grass          int
			}
		}
	}
	require.NoError(t, json.Unmarshal(raw, &ref))
	require.Len(t, ref.Viewshed.Cases, 5)
	for name, c := range ref.Viewshed.Cases {
		t.Run(name, func(t *testing.T) {
			col, row := h.CellXY(c.Obs[0], c.Obs[1])
			radius := c.Md
			if radius == 0 {
				radius = math.Inf(1)
			}
			got, err := los.SeenArea(context.Background(), h, los.Station{Col: col, Row: row, HeightM: c.Oz}, c.Tz, radius, referenceOptions(c.Cc))
			require.NoError(t, err)
			t.Logf("seen %d, exact %d, GRASS %d", got.Seen, c.ExactE1, c.Grass)
			assert.InDelta(t, c.ExactE1, got.Seen, 0.003*float64(c.ExactE1))
			assert.Zero(t, got.Unknown)
			assert.InDelta(t, float64(got.Seen)*900, got.AreaM2, 1e-3, "cells of 30 m by grid lengths")

			grass, err := terrain.Load(os.DirFS(filepath.Join(dir, "reference", "viewshed")), []string{"grass-" + name + ".tif"}, orb.Bound{})
			require.NoError(t, err)
			require.Equal(t, [2]int{h.Cols, h.Rows}, [2]int{grass.Cols, grass.Rows})
			require.InDelta(t, h.X0, grass.X0, 1e-6)
			require.InDelta(t, h.Y0, grass.Y0, 1e-6)
			both, either := 0, 0
			for r := range h.Rows {
				for col := range h.Cols {
					ours := false
					if r >= got.Row0 && r < got.Row0+got.Frame.Rows && col >= got.Col0 && col < got.Col0+got.Frame.Cols {
						ours = got.State[(r-got.Row0)*got.Frame.Cols+col-got.Col0] == los.Seen
					}
					theirs := grass.At(col, r) == 1
					if ours && theirs {
						both++
					}
					if ours || theirs {
						either++
					}
				}
			}
			iou := float64(both) / float64(either)
			t.Logf("seen by both / by either: %.4f", iou)
			assert.GreaterOrEqual(t, iou, 0.95)
		})
	}
}
