package terrain

import (
	"math"
	"strings"
	"testing"

	"farhail/geo/geotest"
	"farhail/geo/grid"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// mountain is a cone of 2000 m whose summit lies in a corner of cells, so that a
// grid cuts it; the cells are of a number of metres.
func mountain(cellM float64) *Terrain {
	n := int(6000/cellM) / 2 * 2
	t := &Terrain{Heights: grid.Heights{Frame: grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 500000, Y0: 4700000, DX: cellM, DY: cellM, Cols: n, Rows: n}}}
	t.Z = geotest.Cone(2000, 0.5).Cells(n, n, cellM)
	t.measure()
	return t
}

// TestBurn: a cut summit gains its height.
func TestBurn(t *testing.T) {
	got := mountain(100)
	middle := float64(got.Cols-1) / 2
	summit := got.Point(middle+0.1, middle-0.2)
	cut := 2000 - 0.5*math.Hypot(50, 50)
	require.InDelta(t, cut, got.Info.MaxM, 0.01)
	got.Z[5*got.Cols+7] = nan32
	got.measure()
	require.True(t, got.CutSummit(summit))
	list := got.Burn([]SpotHeight{
		{"low", got.Point(middle+0.2, middle-0.2), 1990},
		{"summit", summit, 2000},
		{"lower again", summit, 1999},
		{"in a void", got.Point(7, 5), 300},
		{"far off", orb.Point{9, 40}, 100},
		{"without a height", got.Point(9, 9), nan},
		{"in feet", got.Point(20, 20), 3937},
	})
	var set []string
	for _, b := range list {
		if b.Set {
			set = append(set, b.Name)
		}
	}
	assert.Equal(t, []string{"summit", "in a void", "in feet"}, set)
	assert.Equal(t, 2000.0, got.At(int(middle+0.6), int(middle+0.3)))
	assert.InDelta(t, 2000-cut, list[1].DifferM, 0.01)
	assert.True(t, math.IsNaN(list[3].DifferM))
	assert.Equal(t, -1, list[4].Col)
	assert.Equal(t, 300.0, got.At(7, 5))
	assert.Equal(t, [2]int{0, len(got.Z)}, [2]int{got.Info.Voids, got.Info.Known})
	assert.Equal(t, 3937.0, got.Info.MaxM)
	cell := func(i int) int { return list[i].Row*got.Cols + list[i].Col }
	assert.Equal(t, []int{cell(3), cell(6), cell(1)}, got.Measured(), "in the order of rows")
	assert.False(t, got.CutSummit(summit), "measured")
	notes := strings.Join(got.Info.Notes, "; ")
	assert.Contains(t, notes, "3 of 7 measured heights were set")
	assert.Contains(t, notes, `"in feet" of 3937 m differs from the terrain by +`)

	assert.Empty(t, got.Burn(nil))
	before := len(got.Info.Notes)
	got.Burn([]SpotHeight{{"far off", orb.Point{9, 40}, 100}})
	assert.Equal(t, "none of 1 measured heights lies in the terrain", got.Info.Notes[before])
}

func TestCutSummit(t *testing.T) {
	coarse, fine := mountain(90), mountain(40)
	middle := func(t *Terrain) (float64, float64) { return float64(t.Cols-1) / 2, float64(t.Rows-1) / 2 }
	assert.True(t, coarse.CutSummit(coarse.Point(middle(coarse))))
	c, r := middle(coarse)
	assert.True(t, coarse.CutSummit(coarse.Point(c+1, r-0.4)), "a cell beside it, as maps and grids differ")
	assert.False(t, coarse.CutSummit(coarse.Point(c+5, r)), "on the flank")
	assert.False(t, coarse.CutSummit(orb.Point{9, 40}), "outside")
	assert.False(t, fine.CutSummit(fine.Point(middle(fine))), "fine cells cut little")
	slope := mountain(90)
	for i := range slope.Z {
		slope.Z[i] = float32(10 * (i % slope.Cols))
	}
	assert.False(t, slope.CutSummit(slope.Point(float64(slope.Cols-1), 9)), "the highest cell of a slope, at the grid's edge")
	flat := mountain(90)
	for i := range flat.Z {
		flat.Z[i] = 500
	}
	assert.False(t, flat.CutSummit(flat.Point(middle(flat))), "a plain")
	for i := range flat.Z {
		flat.Z[i] = nan32
	}
	assert.False(t, flat.CutSummit(flat.Point(middle(flat))), "no data")
}
