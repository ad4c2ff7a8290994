package air_test

import (
	"strconv"
	"testing"

	"farhail/geo/geotest"
	"farhail/signal/air"

	"github.com/stretchr/testify/require"
)

func TestBeaufort(t *testing.T) {
	geotest.Check(t, "air-beaufort", func(in []string) ([]any, error) {
		return []any{strconv.Itoa(air.Beaufort(geotest.Numbers(t, in)[0]))}, nil
	})
	require.Equal(t, -1, air.Beaufort(-1))
	require.Zero(t, air.Streams(0))
	require.Equal(t, 1.0, air.Streams(20))
	require.InDelta(t, 0.5, air.Streams(air.StreamMS/2), 1e-12)
}
