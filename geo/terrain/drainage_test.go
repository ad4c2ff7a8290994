package terrain_test

import (
	"math"
	"testing"

	"farhail/geo/grid"
	"farhail/geo/terrain"

	"github.com/stretchr/testify/require"
)

// A valley that falls to the south between two ridges: its floor carries the
// water, its crests would carry it upside down.
func valley() *grid.Heights {
	f := grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 400_000, Y0: 4_700_000, DX: 50, DY: 50, Cols: 41, Rows: 60}
	h := &grid.Heights{Frame: f, Z: make([]float32, f.Cols*f.Rows)}
	for i := range h.Z {
		col, row := i%f.Cols, i/f.Cols
		across := math.Abs(float64(col) - 20)
		if across > 15 {
			across = 30 - across // beyond the crest the ground falls again
		}
		h.Z[i] = float32(500 + 20*across - 2*float64(row))
	}
	return h
}

func TestStreamsAndRidges(t *testing.T) {
	h := valley()
	streams, ridges := terrain.Streams(h, 0.2e6), terrain.Ridges(h, 0.05e6)
	for row := 20; row < 55; row++ {
		for col := 2; col < 39; col++ {
			i := row*h.Cols + col
			require.Equal(t, col == 20, streams[i], "stream at %d, %d", col, row)
		}
	}
	// Upside down the crests drain north, gathering from the south.
	for row := 5; row < 30; row++ {
		require.True(t, ridges[row*h.Cols+5], "west crest, row %d", row)
		require.True(t, ridges[row*h.Cols+35], "east crest, row %d", row)
		require.False(t, ridges[row*h.Cols+20])
		require.False(t, ridges[row*h.Cols+12])
	}
}

// All of the ground drains over the edge: nothing is lost in a hollow, and a
// hollow passes on what comes into it.
func TestHollowsPassWaterOn(t *testing.T) {
	h := valley()
	for row := 28; row <= 32; row++ {
		for col := 18; col <= 22; col++ {
			h.Z[row*h.Cols+col] -= 80
		}
	}
	streams := terrain.Streams(h, 0.2e6)
	for row := 40; row < 55; row++ {
		require.True(t, streams[row*h.Cols+20], "below the hollow, row %d", row)
	}
	flat := &grid.Heights{Frame: h.Frame, Z: make([]float32, len(h.Z))}
	flat.Z[30*flat.Cols+20] = float32(math.NaN())
	some := 0
	for i, s := range terrain.Streams(flat, h.AreaM2(0)) {
		if s {
			some++
		}
		require.Equal(t, i != 30*flat.Cols+20, s, "every cell drains itself")
	}
	require.Equal(t, len(flat.Z)-1, some)
}
