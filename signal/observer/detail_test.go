package observer_test

import (
	"math"
	"testing"

	"farhail/geo/geotest"
	"farhail/signal/observer"

	"github.com/stretchr/testify/require"
)

func TestDetailsByJohnson(t *testing.T) {
	geotest.Check(t, "observer-johnson", func(in []string) ([]any, error) {
		return []any{observer.Detail(in[1]).DetailM(geotest.Numbers(t, in[:1])[0])}, nil
	})
	require.True(t, math.IsNaN(observer.Detail("naming").DetailM(1)))
	// A minute of arc: 0.2909 m at a kilometre.
	require.InDelta(t, 1000, observer.ResolvedM(0.290888, 1), 0.01)
}
