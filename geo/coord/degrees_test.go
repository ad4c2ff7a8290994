package coord

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/earth"
)

// Formats of angles, worked out by hand: sixty is carried, the sign survives
// degrees of 0, and the last meridian is 180 and not 360.
func TestWriteDegrees(t *testing.T) {
	for _, c := range []struct {
		lat, lon          float64
		decimal, dms, ddm string
	}{
		{46.9999999, 7.5, "47.00000 N, 7.50000 E", `47°00'00.0"N 7°30'00.0"E`, `47°00.000'N 7°30.000'E`},
		{-1e-5, 1e-5, "0.00001 S, 0.00001 E", `0°00'00.0"S 0°00'00.0"E`, `0°00.001'S 0°00.001'E`},
		{41.99999444, -0.5, "41.99999 N, 0.50000 W", `42°00'00.0"N 0°30'00.0"W`, `42°00.000'N 0°30.000'W`},
		{46 + 31/60. + 12.5/3600, -7.25, "46.52014 N, 7.25000 W", `46°31'12.5"N 7°15'00.0"W`, `46°31.208'N 7°15.000'W`},
		{math.Copysign(0, -1), math.Copysign(0, -1), "0.00000 N, 0.00000 E", `0°00'00.0"N 0°00'00.0"E`, `0°00.000'N 0°00.000'E`},
		{90, 179.99999999, "90.00000 N, 180.00000 E", `90°00'00.0"N 180°00'00.0"E`, `90°00.000'N 180°00.000'E`},
		{-90, -180, "90.00000 S, 180.00000 W", `90°00'00.0"S 180°00'00.0"W`, `90°00.000'S 180°00.000'W`},
		{10, 190, "10.00000 N, 170.00000 W", `10°00'00.0"N 170°00'00.0"W`, `10°00.000'N 170°00.000'W`},
		{10, 359.9999999999, "10.00000 N, 0.00000 W", `10°00'00.0"N 0°00'00.0"W`, `10°00.000'N 0°00.000'W`},
	} {
		p := orb.Point{c.lon, c.lat}
		assert.Equal(t, c.decimal, Decimal(p))
		assert.Equal(t, c.dms, DMS(p))
		assert.Equal(t, c.ddm, DDM(p))
	}
	for _, p := range []orb.Point{{0, 91}, {math.NaN(), 0}, {0, math.NaN()}, {math.Inf(1), 0}} {
		assert.Empty(t, Decimal(p)+DMS(p)+DDM(p)+MGRS(p, 5))
	}
}

// What is written reads back within half of its last figure, everywhere.
func TestDegreesRoundTrip(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for range 3000 {
		p := anywhere(rng)
		for text, withinDeg := range map[string]float64{Decimal(p): 0.5e-5, DMS(p): 0.05 / 3600, DDM(p): 0.0005 / 60} {
			got, err := Parse(text)
			require.NoError(t, err)
			require.InDelta(t, p.Lat(), got.Point.Lat(), withinDeg+1e-12, text)
			require.InDelta(t, 0, earth.Wrap180(got.Point.Lon()-p.Lon()), withinDeg+1e-12, text)
		}
	}
}

func anywhere(rng *rand.Rand) orb.Point {
	return orb.Point{rng.Float64()*360 - 180, math.Asin(2*rng.Float64()-1) * 180 / math.Pi}
}
