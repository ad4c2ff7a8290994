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

func TestDuration(t *testing.T) {
	for _, c := range []struct {
		s    float64
		want string
	}{
		{0, "0 min"}, {0.2, "0.2 s"}, {45, "45 s"}, {60, "1 min"}, {89, "89 s"}, {119.6, "2 min"}, {354, "6 min"},
		{3600, "1 h"}, {3599, "1 h"}, {5400, "1 h 30"}, {86400, "24 h"}, {math.NaN(), "unknown"}, {math.Inf(1), "unknown"},
	} {
		assert.Equal(t, c.want, Duration(c.s), "%g", c.s)
	}
}
