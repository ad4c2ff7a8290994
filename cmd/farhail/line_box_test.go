package main

import (
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
)

// TestLineBox: the box around a line is the short way round the earth, whichever end
// comes first.
func TestLineBox(t *testing.T) {
	east, west := orb.Point{179.9, 10}, orb.Point{-179.9, 10.1}
	for _, ends := range [][2]orb.Point{{east, west}, {west, east}, {{1, 10}, {1.2, 10.1}}} {
		box := lineBox(ends[0], ends[1])
		assert.InDelta(t, 0.2+2*(0.02+0.02*0.2236), box.Max.Lon()-box.Min.Lon(), 1e-4, "%v", ends)
		assert.True(t, box.Contains(ends[0]), "%v", ends)
	}
}
