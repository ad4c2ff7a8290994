package job

import (
	"math"
	"testing"

	"farhail/signal/sweep"

	"github.com/stretchr/testify/require"
)

// TestStepsFollowTheWay: a way in steps goes through all its corners, is as long as it
// was, and leaves the way that it was made of as it is.
func TestStepsFollowTheWay(t *testing.T) {
	corners := []sweep.Point{{EastM: 0, NorthM: 0}, {EastM: 100, NorthM: 0}, {EastM: 100, NorthM: 70}, {EastM: 90, NorthM: 70}}
	side := sweep.Side{Points: append([]sweep.Point{}, corners...), Of: []int{0, 1, 2}}
	walked := inSteps(3, side, []float64{1, 2, 3}, 25)
	require.Equal(t, corners, side.Points)
	require.Len(t, walked.points, 1+4+3+1)
	require.Equal(t, []float64{1, 1, 1, 1, 2, 2, 2, 3}, walked.speeds)
	length := 0.0
	for i := 1; i < len(walked.points); i++ {
		a, b := walked.points[i-1], walked.points[i]
		step := math.Hypot(b.EastM-a.EastM, b.NorthM-a.NorthM)
		require.Positive(t, step)
		require.LessOrEqual(t, step, 25.0)
		length += step
	}
	require.InDelta(t, 180, length, 1e-9)
	for _, c := range corners {
		require.Contains(t, walked.points, c)
	}
}
