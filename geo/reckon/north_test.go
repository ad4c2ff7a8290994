package reckon

import (
	"math"
	"strings"
	"testing"

	"farhail/geo/earth"

	"github.com/stretchr/testify/require"
)

// TestBearingsOfLogs: east is plus, readings are averaged round the circle, and
// legs by their vectors. Angles worked out by hand, the means with vector sums.
func TestBearingsOfLogs(t *testing.T) {
	for _, tc := range []struct {
		log string
		deg float64 // true bearing from start to end
	}{
		{"north: magnetic\ndeclination: 15E\n350 100 m\n", 5},
		{"north: magnetic\ndeclination: 12 E\n078 100 m\n", 90},
		{"north: magnetic\ndeclination: 8W\n098 100 m\n", 90},
		{"north: magnetic\ndeclination: 3.2E in 2015, 0.2E a year\ndate: 2026-01-01\n090 100 m\n", 95.4},
		{"north: true\n350,10 100 m\n", 0},
		{"north: true\n359,1,3 100 m\n", 1},
		{"north: true\n345,15,20 100 m\n", 6.79},
		{"north: true\n350 300 m\n010 100 m\n", 354.96},
		{"north: true\n360 100 m\n", 0},
		{"north: true\nback 010 100 m\n", 190},
		{"north: true\n6400 mil 100 m\n", 0},
	} {
		r, err := Run(parse(t, tc.log), Options{})
		require.NoError(t, err)
		got := math.Atan2(r.EastM, r.NorthM) * 180 / math.Pi
		require.InDelta(t, 0, earth.Wrap180(got-tc.deg), 0.005, tc.log)
	}
	_, err := Run(parse(t, "north: magnetic\n350 100 m\n"), Options{})
	require.ErrorIs(t, err, ErrNoDeclination, "never silently 0")
	_, err = ParseLog(strings.NewReader("north: true\n90,270 100 m\n"), "log")
	require.ErrorIs(t, err, earth.ErrOpposed)
}
