package job

import (
	"testing"

	"farhail/geo/grid"

	"github.com/stretchr/testify/require"
)

// TestEqualGroundIsOutlinedWhole: cells that are equal but for rounding at the limit of a
// region are all in it, one area without stripes, and their area is told.
func TestEqualGroundIsOutlinedWhole(t *testing.T) {
	f := grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 400000, Y0: 4700000, DX: 100, DY: 100, Cols: 40, Rows: 30}
	density := make([]float64, f.Cols*f.Rows)
	for row := 5; row < 25; row++ {
		for col := 5; col < 35; col++ {
			density[row*f.Cols+col] = 0.25 * (1 - float64(row%3)*1e-15) // as sums round, row by row
		}
	}
	density[12*f.Cols+12] = 4
	shape, area := denser(f, density, 0.25)
	require.Len(t, shape, 1)
	require.Len(t, shape[0], 1, "no holes")
	want := 0.0
	for row := 5; row < 25; row++ {
		want += 30 * f.AreaM2(row)
	}
	require.InEpsilon(t, want, float64(area), 1e-12)
	shape, area = denser(f, density, 0.25*(1+1e-8))
	require.Len(t, shape, 1, "what is thinner by more than rounding is not in it")
	require.InEpsilon(t, f.AreaM2(12), float64(area), 1e-12)
}
