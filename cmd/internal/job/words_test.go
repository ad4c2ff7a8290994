package job

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestDistance(t *testing.T) {
	for _, c := range []struct {
		m    float64
		want string
	}{
		{0, "0 m"}, {0.4, "0.400 m"}, {37.68, "37.7 m"}, {999.4, "999 m"}, {999.6, "1.00 km"}, {12345, "12.3 km"},
		{345678, "346 km"}, {math.NaN(), "unknown"}, {math.Inf(1), "unknown"},
	} {
		assert.Equal(t, c.want, Distance(c.m))
	}
}
