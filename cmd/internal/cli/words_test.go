package cli

import (
	"math"
	"testing"

	"farhail/geo/coord"
	"farhail/geo/earth"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWordsQuantities(t *testing.T) {
	metric, imperial := Words{}, Words{Units: Imperial}
	for _, c := range []struct {
		name           string
		write          func(Words) string
		metric, others string
	}{
		// NIST SP 811 (2008) B.8: 1 ft = 0.3048 m, 1 mi = 1609.344 m, 1 acre =
		// 4046.873 m2, 1 mi2 = 2.589988e6 m2, 1 mi/h = 1.609344 km/h.
		{"a mile", func(w Words) string { return w.Distance(1609.344) }, "1.61 km", "1.00 mi"},
		{"a thousand feet", func(w Words) string { return w.Distance(304.8) }, "305 m", "0.189 mi"},
		{"just under", func(w Words) string { return w.Distance(304.5) }, "304 m", "999 ft"},
		{"nothing", func(w Words) string { return w.Distance(0) }, "0 m", "0 ft"},
		{"unknown", func(w Words) string { return w.Distance(math.NaN()) }, "unknown", "unknown"},
		{"endless", func(w Words) string { return w.Distance(math.Inf(1)) }, "unknown", "unknown"},
		{"a height", func(w Words) string { return w.Length(1.7, 1) }, "1.7 m", "5.6 ft"},
		{"a summit", func(w Words) string { return w.Length(2942, 0) }, "2942 m", "9652 ft"},
		{"no height", func(w Words) string { return w.Length(math.NaN(), 0) }, "unknown", "unknown"},
		{"cells", func(w Words) string { return w.Sides(30, 30.48, 0) }, "30 x 30 m", "98 x 100 ft"},
		{"an acre", func(w Words) string { return w.Area(4046.873) }, "0.405 ha", "1.00 acres"},
		{"a square mile", func(w Words) string { return w.Area(2.589988e6) }, "2.59 km2", "1.00 sq mi"},
		{"no area", func(w Words) string { return w.Area(math.NaN()) }, "unknown", "unknown"},
		{"a mile an hour", func(w Words) string { return w.Speed(1.609344 / 3.6) }, "1.61 km/h", "1 mph"},
	} {
		assert.Equal(t, c.metric, c.write(metric), c.name)
		assert.Equal(t, c.others, c.write(imperial), c.name)
	}
}

func TestWordsSentence(t *testing.T) {
	text := "cells of 30 m cut summits; 1.61 km of 2.59 km2 at 4.83 km/h, give --canopy-height 15m, 64 m2 and 12 min"
	assert.Equal(t, text, Words{}.Sentence(text))
	assert.Equal(t, "cells of 98.4 ft cut summits; 1.00 mi of 1.00 sq mi at 3 mph, give --canopy-height 15m, 64 m2 and 12 min", Words{Units: Imperial}.Sentence(text))
}

// References to one place, at 33.3 N 44.4 E: GeoConvert 2.1.2 gives
// 38SMB4414084706, 38n 444140 3684706 and 33d18'00"N 44d24'00"E.
func TestWordsReference(t *testing.T) {
	p := orb.Point{44.4, 33.3}
	for _, c := range []struct {
		notation            coord.Notation
		reference, position string
	}{
		{"", "38S MB 4414 8470", "33.3000000 44.4000000   38S MB 4414 8470"},
		{coord.NotationMGRS, "38S MB 4414 8470", "38S MB 4414 8470   33.3000000 44.4000000"},
		{coord.NotationUTM, "38 north 444141 3684706", "38 north 444141 3684706   33.3000000 44.4000000"},
		{coord.NotationDecimal, "33.30000 N, 44.40000 E", "33.3000000 44.4000000   38S MB 4414 8470"},
		{coord.NotationDMS, `33°18'00.0"N 44°24'00.0"E`, `33°18'00.0"N 44°24'00.0"E   38S MB 4414 8470`},
		{coord.NotationDDM, `33°18.000'N 44°24.000'E`, `33°18.000'N 44°24.000'E   38S MB 4414 8470`},
	} {
		w := Words{Notation: c.notation}
		assert.Equal(t, c.reference, w.Reference(p), c.notation)
		assert.Equal(t, c.position, w.Position(p), c.notation)
	}
}

// What is told can be typed in again, and leads back to within the last digit.
func TestWordsReferenceReadsBack(t *testing.T) {
	for _, p := range []orb.Point{{44.4, 33.3}, {-0.001, -0.001}, {-70.25, -33.4}, {0, 88}, {170, -85}, {5.5, 60.1}, {-180, 12}} {
		for _, n := range []coord.Notation{"", coord.NotationMGRS, coord.NotationUTM, coord.NotationDecimal, coord.NotationDMS, coord.NotationDDM} {
			text := Words{Notation: n}.Reference(p)
			back, err := coord.Parse(text)
			require.NoError(t, err, "%s %q", n, text)
			assert.Less(t, earth.Distance(p, back.Point), 10.0, "%s %q", n, text)
		}
	}
}
