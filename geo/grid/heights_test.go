package grid

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
)

func small() *Heights {
	nan := float32(math.NaN())
	return &Heights{
		Frame: Frame{X0: 10, Y0: 50, DX: 0.1, DY: 0.1, Cols: 4, Rows: 3},
		Z: []float32{
			0, 10, 20, 30,
			100, 110, nan, 130,
			200, 210, 220, 230,
		},
	}
}

func TestSampleCell(t *testing.T) {
	h := small()
	nan := math.NaN()
	cases := []struct {
		name     string
		col, row float64
		want     float64
	}{
		{"a centre", 1, 1, 110},
		{"north-west corner", 0, 0, 0},
		{"south-east corner", 3, 2, 230},
		{"middle of four", 0.5, 0.5, (0 + 10 + 100 + 110) / 4.0},
		{"along a row", 1.25, 0, 12.5},
		{"along a column", 0, 1.75, 175},
		{"between", 0.2, 1.6, 2 + 160},
		{"on the void", 2, 1, nan},
		{"a little of the void", 1.001, 1, nan},
		{"the void in one corner", 1.5, 0.5, nan},
		{"beside the void, its weight 0", 2, 0, 20},
		{"beside the void, its weight rounding", 1 + 1e-9, 1, 110},
		{"beside the void, from the other side", 3 - 1e-9, 1, 130},
		{"row below the void, rounding", 2, 2 - 1e-9, 220},
		{"past the edge by rounding", -1e-9, 2 + 1e-9, 200},
		{"past the west edge", -0.01, 1, nan},
		{"past the south edge", 1, 2.01, nan},
		{"not a number", nan, 1, nan},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got := h.SampleCell(c.col, c.row)
			if math.IsNaN(c.want) {
				assert.True(t, math.IsNaN(got), "got %g", got)
				return
			}
			assert.InDelta(t, c.want, got, 1e-5)
		})
	}
}

func TestSampleAndRows(t *testing.T) {
	h := small()
	assert.InDelta(t, 55, h.Sample(orb.Point{10.05, 49.95}), 1e-9)
	assert.InDelta(t, 55, h.Sample(orb.Point{370.05, 49.95}), 1e-9, "any turn")
	assert.Equal(t, 130.0, h.At(3, 1))
	assert.Equal(t, []float32{200, 210, 220, 230}, h.Row(2))
	assert.Panics(t, func() { h.At(4, 1) }, "not the next row")
	one := &Heights{Frame: Frame{X0: 1, Y0: 1, DX: 1, DY: 1, Cols: 1, Rows: 1}, Z: []float32{7}}
	assert.Equal(t, 7.0, one.SampleCell(0, 0))
}

func TestRange(t *testing.T) {
	nan := float32(math.NaN())
	low, high := (&Heights{Z: []float32{nan, 3, -2.5, nan, 7}}).Range()
	assert.Equal(t, -2.5, low)
	assert.Equal(t, 7.0, high)
	for _, z := range [][]float32{nil, {nan, nan}} {
		low, high := (&Heights{Z: z}).Range()
		assert.True(t, math.IsNaN(low) && math.IsNaN(high), "no height at all")
	}
}
