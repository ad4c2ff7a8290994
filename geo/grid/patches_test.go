package grid_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"testing"

	"farhail/geo/earth"
	"farhail/geo/grid"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/require"
)

// Every patch is a valid polygon of as much ground as its cells, two patches
// share borders and no ground, and all of them are the whole.
func TestPatchesCoverWhatTheirCellsCover(t *testing.T) {
	frame := grid.Frame{X0: 1.5, Y0: 42.5, DX: 0.001, DY: 0.001, Cols: 14, Rows: 11}
	for seed := range uint64(200) {
		r := rand.New(rand.NewPCG(seed, 1))
		labels := make([]int32, frame.Cols*frame.Rows)
		for i := range labels {
			labels[i] = int32(r.IntN(4)) - 1
			if i > 0 && r.IntN(3) > 0 {
				labels[i] = labels[i-1]
			}
		}
		cells := map[int32]int{}
		for _, l := range labels {
			cells[l]++
		}
		cell := frame.DX * frame.DY
		var shapes []geom.Geometry
		for l, patch := range grid.Patches(frame, labels) {
			shape := toGeom(t, patch)
			require.NoError(t, shape.Validate(), "seed %d label %d", seed, l)
			require.InDelta(t, float64(cells[int32(l)])*cell, shape.Area(), 1e-12, "seed %d label %d", seed, l)
			shapes = append(shapes, shape)
		}
		for i := range shapes {
			for j := range i {
				both, err := geom.Intersection(shapes[i], shapes[j])
				require.NoError(t, err)
				require.InDelta(t, 0, both.Area(), 1e-12, "seed %d", seed)
			}
		}
	}
}

func TestPatchesOfOneCell(t *testing.T) {
	frame := grid.Frame{X0: 0, Y0: 0, DX: 2, DY: 1, Cols: 3, Rows: 3}
	labels := []int32{0, 0, 0, 0, 1, 0, 0, 0, 0}
	p := grid.Patches(frame, labels)
	require.Equal(t, orb.MultiPolygon{{{{3, -0.5}, {1, -0.5}, {1, -1.5}, {3, -1.5}, {3, -0.5}}}}, p[1])
	require.Len(t, p[0], 1)
	require.Len(t, p[0][0], 2, "a hole")
	require.Equal(t, p[1][0][0].Orientation(), orb.CCW)
	require.Equal(t, p[0][0][1].Orientation(), orb.CW)
}

func TestPatchesOfProjectedGrids(t *testing.T) {
	frame := grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 380_000, Y0: 4_700_000, DX: 100, DY: 100, Cols: 2, Rows: 2}
	p := grid.Patches(frame, []int32{0, 0, 0, 0})
	require.InDelta(t, 4e4/0.99978/0.99978, earth.AreaM2(p[0][0][0]), 20)
}

func toGeom(t *testing.T, m orb.MultiPolygon) geom.Geometry {
	t.Helper()
	var b bytes.Buffer
	b.WriteString("MULTIPOLYGON(")
	for i, p := range m {
		if i > 0 {
			b.WriteString(",")
		}
		b.WriteString("(")
		for j, ring := range p {
			if j > 0 {
				b.WriteString(",")
			}
			b.WriteString("(")
			for k, q := range ring {
				if k > 0 {
					b.WriteString(",")
				}
				fmt.Fprintf(&b, "%.9f %.9f", q[0], q[1])
			}
			b.WriteString(")")
		}
		b.WriteString(")")
	}
	b.WriteString(")")
	if len(m) == 0 {
		b.Reset()
		b.WriteString("MULTIPOLYGON EMPTY")
	}
	g, err := geom.UnmarshalWKT(b.String(), geom.NoValidate{})
	require.NoError(t, err)
	return g
}
