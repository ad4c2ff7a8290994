package terrain

import (
	"math"
	"os"
	"strings"
	"testing"

	"farhail/geo/geotest"
	"farhail/geo/grid"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// holed makes a terrain of a surface with voids where a picture has dots; its
// cells are not square.
func holed(s geotest.Surface, picture ...string) (t *Terrain, whole []float32) {
	t = &Terrain{Heights: grid.Heights{Frame: grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 500000, Y0: 4700000, DX: 30, DY: 50, Cols: len(picture[0]), Rows: len(picture)}}}
	for row, line := range picture {
		for col, c := range line {
			z := float32(s(30*float64(col), -50*float64(row)))
			whole = append(whole, z)
			if c == '.' {
				z = nan32
			}
			t.Z = append(t.Z, z)
		}
	}
	t.measure()
	return t, whole
}

func TestFillVoids(t *testing.T) {
	picture := []string{
		"########.",
		"#.###..#.",
		"##.##..##",
		"#########",
		"#####.###",
		"###...###",
		"#####.###",
		".########",
	}
	plane := geotest.Plane(800, 0.3, -0.2)
	got, whole := holed(plane, picture...)
	require.Equal(t, 14, got.Info.Voids)
	f := got.FillVoids(4)
	// Two cells by a corner, a square of four, and five that are too many; at the
	// edge one hole of two cells and one of one.
	assert.Equal(t, 6, f.Cells)
	require.Len(t, f.Holes, 2)
	assert.Equal(t, [2]int{2, 4}, [2]int{f.Holes[0].Cells, f.Holes[1].Cells})
	assert.Len(t, f.Left, 3)
	assert.Equal(t, got.Point(5.5, 1.5), f.Largest().Middle)
	assert.Equal(t, [2]int{8, 64}, [2]int{got.Info.Voids, got.Info.Known})
	note := strings.Join(got.Info.Notes, "; ")
	assert.Contains(t, note, "6 cells without a height were filled from around them, in 2 holes, the largest of 4 at 42.4")
	assert.Contains(t, note, "3 larger or open ones were left")
	for row, line := range picture {
		for col, c := range line {
			z := float64(got.Row(row)[col])
			if left := c == '.' && (row > 3 || col == 8); left {
				assert.True(t, math.IsNaN(z), "column %d, row %d", col, row)
			} else {
				assert.InDelta(t, float64(whole[row*9+col]), z, 1e-3, "a plane is continued, column %d, row %d", col, row)
			}
		}
	}
	// The next size takes the last one inside.
	f = got.FillVoids(5)
	assert.Equal(t, 5, f.Cells)
	assert.Equal(t, 3, got.Info.Voids, "the three at the edge are left")
	assert.Zero(t, got.FillVoids(100).Cells)
	before := len(got.Info.Notes)
	assert.Equal(t, Filled{}, got.FillVoids(0))
	assert.Len(t, got.Info.Notes, before)
}

// TestFillVoidsBetween: no filled height leaves the range of the rim, and the
// heights meet the membrane's equation.
func TestFillVoidsBetween(t *testing.T) {
	picture := make([]string, 40)
	for i := range picture {
		picture[i] = strings.Repeat("#", 40)
		if i > 8 && i < 33 {
			picture[i] = strings.Repeat("#", 5+i%3) + strings.Repeat(".", 25) + strings.Repeat("#", 10-i%3)
		}
	}
	got, whole := holed(geotest.Rough(3, 400), picture...)
	f := got.FillVoids(10000)
	require.Equal(t, 24*25, f.Cells)
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, z := range whole {
		if picture[i/40][i%40] == '#' {
			lo, hi = min(lo, float64(z)), max(hi, float64(z))
		}
	}
	for i, z := range got.Z {
		if picture[i/40][i%40] == '#' {
			require.Equal(t, whole[i], z)
			continue
		}
		require.True(t, float64(z) >= lo && float64(z) <= hi)
		ew := (float64(got.Z[i-1]) - 2*float64(z) + float64(got.Z[i+1])) / (30 * 30)
		ns := (float64(got.Z[i-40]) - 2*float64(z) + float64(got.Z[i+40])) / (50 * 50)
		require.InDelta(t, 0, (ew+ns)*30*30, 1e-3)
	}
}

// TestFillVoidsError punches square holes into real mountains, at 3 arc-seconds,
// and compares what fills them with what was there.
func TestFillVoidsError(t *testing.T) {
	dir, _ := sharedDEM(t)
	ground, err := Load(os.DirFS(dir), []string{"N42E001.hgt.zip"}, everything)
	require.NoError(t, err)
	for side, want := range map[int]float64{3: 13, 7: 27, 15: 53} {
		sum, n := 0.0, 0.0
		work := &Terrain{Heights: grid.Heights{Frame: ground.Frame, Z: append([]float32(nil), ground.Z...)}}
		for row := 40; row < 1160; row += 40 {
			for col := 40; col < 1160; col += 40 {
				for y := range side {
					for x := range side {
						work.Z[(row+y)*work.Cols+col+x] = nan32
					}
				}
			}
		}
		work.measure()
		filled := work.FillVoids(side * side)
		require.Greater(t, len(filled.Holes), 600)
		for i, z := range work.Z {
			if d := float64(z - ground.Z[i]); d == d {
				if punched := (i/work.Cols)%40 < side && i%work.Cols%40 < side; punched && i/work.Cols >= 40 && i%work.Cols >= 40 {
					sum += d * d
					n++
				}
			}
		}
		t.Logf("%d by %d cells: %.1f m", side, side, math.Sqrt(sum/n))
		assert.InEpsilon(t, want, math.Sqrt(sum/n), 0.1, "as FillVoids tells")
	}
}
