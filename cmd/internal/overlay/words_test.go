package overlay

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
)

func TestBearing(t *testing.T) {
	for _, c := range []struct {
		deg  float64
		want string
	}{{0, "000"}, {359.6, "000"}, {7.4, "007"}, {180.5, "181"}, {math.NaN(), "---"}} {
		assert.Equal(t, c.want, bearing(c.deg))
	}
}

func TestMoment(t *testing.T) {
	at := time.Date(2026, 3, 1, 7, 5, 0, 0, time.FixedZone("", 3600))
	assert.Equal(t, "01 MAR 2026 07:05 +01:00", moment(&at))
	assert.Equal(t, "time not given", moment(nil))
}

func TestASCII(t *testing.T) {
	assert.Equal(t, "Piz Uter, Alp \"d'Err\" - 5?", ascii("Piz Ütér, Alp “d’Err” – 5€"))
	assert.Equal(t, "a b", ascii("a\tb"))
}

func TestWrap(t *testing.T) {
	long := strings.Repeat("x", 200)
	for _, text := range []string{"", "short", strings.Repeat("some words ", 40), long, "a " + long + " b"} {
		lines := wrap("- ", text)
		assert.NotEmpty(t, lines)
		joined := ""
		for i, l := range lines {
			assert.LessOrEqual(t, len(l), columns)
			if i > 0 {
				assert.True(t, strings.HasPrefix(l, "  "), "%q", l)
			}
			joined += strings.ReplaceAll(strings.TrimPrefix(l, "- "), " ", "")
		}
		if text != "" {
			assert.Equal(t, strings.ReplaceAll(text, " ", ""), strings.TrimPrefix(joined, "-"), "nothing is lost")
		}
	}
}

func TestGridReference(t *testing.T) {
	// GeoConvert 2.1.2: 33.3 44.4 -> 38SMB4414084706 at 1 m.
	assert.Equal(t, "38S MB 4414 8470", gridReference(orb.Point{44.4, 33.3}))
	assert.Regexp(t, `^Z [A-Z]{2} \d{4} \d{4}$`, gridReference(orb.Point{0, 88}), "polar references have no zone number")
}
