package coord

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/earth"
	"farhail/geo/geotest"
)

func TestDatumCheck(t *testing.T) {
	geotest.Check(t, "coord-datum", func(in []string) ([]any, error) {
		pos, err := ParseOn(in[0], in[1])
		return []any{pos.Point.Lat(), pos.Point.Lon(), pos.Shift}, err
	})
	geotest.Check(t, "coord-datum-grid", func(in []string) ([]any, error) {
		d, known := datumNamed(in[0])
		require.True(t, known)
		text := in[1]
		pos, err := written{text: text, plain: []rune(text), datum: d}.read()
		return []any{pos.Point.Lat(), pos.Point.Lon()}, err
	})
}

// A station on both datums: NGS NCAT's NAD83 position, as quoted in
// DotSpatial/DotSpatial issue 1553. The three parameters are right within the
// accuracy that EPSG states; read as WGS84 it would be 50 m off in degrees and
// 215 m in UTM.
func TestDatumAgainstSurvey(t *testing.T) {
	want := orb.Point{-106.7207124, 41.0876278}
	for _, text := range []string{"41.087658, -106.720118", "13N 355520.376 4549701.522"} {
		pos, err := ParseOn(text, "NAD27")
		require.NoError(t, err)
		d, _, _ := earth.Inverse(want, pos.Point)
		assert.Less(t, d, 5.)
		assert.Less(t, d, pos.DatumErrorM)
		assert.Equal(t, "NAD27", pos.Datum)
		assert.Equal(t, "EPSG:1173", pos.Shift)
	}
	degrees, _ := Parse("41.087658, -106.720118")
	d, _, _ := earth.Inverse(want, degrees.Point)
	assert.InDelta(t, 50.1, d, 0.1)
	grid, _ := Parse("13N 355520.376 4549701.522")
	d, _, _ = earth.Inverse(want, grid.Point)
	assert.InDelta(t, 214.7, d, 0.2)
}

func TestDatumSpellings(t *testing.T) {
	for _, c := range []struct{ text, datum string }{
		{"45.5, -110.5 NAD27", "NAD27"},
		{"45.5, -110.5 (NAD 27)", "NAD27"},
		{"45.5, -110.5, NAD-1927", "NAD27"},
		{"NAD27: 45.5, -110.5", "NAD27"},
		{"45.5N 110.5W North American 1927", "NAD27"},
		{"45.5N 110.5W datum NAD27", "NAD27"},
		{"45.5N 110.5W NAD27 datum", "NAD27"},
		{"45.5N 110.5W on NAD27", "NAD27"},
		{"46.5 7.5 WGS84", WGS84},
		{"46.5 7.5 WGS 84", WGS84},
		{"46.5 7.5 wgs-84", WGS84},
		{"WGS84 46.5 7.5", WGS84},
		{"EPSG:4326 46.5 7.5", WGS84},
		{"46.5 7.5 ETRS89", "ETRS89"},
		{"E 172.5 S 42", WGS84}, // no datum of that name
	} {
		pos, err := ParseOn(c.text, "")
		require.NoError(t, err, c.text)
		assert.Equal(t, c.datum, pos.Datum, c.text)
	}
	// 31S ED 50 is a square of zone 31, and ED50 a datum.
	square, err := ParseOn("31S ED50", "")
	require.NoError(t, err)
	assert.Equal(t, NotationMGRS, square.Notation)
	assert.Equal(t, WGS84, square.Datum)
}

func TestDatumRefusals(t *testing.T) {
	for _, c := range []struct{ text, datum, word, hint string }{
		{"46.5 7.5", "CH1903", "not shifted", "WGS84 first"},
		{"46.5 7.5 CH1903+", "", "not shifted", ""},
		{"46.5 7.5", "Pulkovo 1942", "not shifted", ""},
		{"46.5 7.5", "moon", "no datum known", "ED50"},
		{"46.5 7.5", "NAD27", "outside the area of NAD27", "the order"},
		{"7.5 46.5", "ED50", "outside the area of ED50", ""},
		{"45.5 -110.5 NAD27", "WGS84", "names the datum NAD27, not WGS84", "leave one"},
		{"13TDF 12345 12345", "NAD27", "letters differ", "in full"},
		{"Z 2045000 2245522", "ED50", "letters differ", ""},
		{"13N 955520 4549701", "NAD27", "no such northing", ""},
		{"45.5 NAD27", "", "a latitude and a longitude", ""},
		{"NAD27", "", "hemisphere letter", ""},
	} {
		_, err := ParseOn(c.text, c.datum)
		var e *Error
		require.ErrorAs(t, err, &e, c.text)
		assert.Contains(t, e.Message, c.word, c.text)
		assert.Contains(t, e.Hint(), c.hint, c.text)
	}
	_, err := ParseOn("45.5 -110.5 NAD27", "nad 1927")
	assert.NoError(t, err, "the same datum twice")

	_, err = Parse("45.5 -110.5 NAD27")
	var e *Error
	require.ErrorAs(t, err, &e)
	assert.Contains(t, e.Message, "not WGS84")
	assert.Contains(t, e.Hint(), "45.49991 N, 110.50081 W, give or take 20 m by EPSG:1173")
}

// Every datum's shift is within what the messages say of it, its names lead to
// it, and columns in errors count the whole text.
func TestDatumTable(t *testing.T) {
	for _, d := range datums {
		for _, name := range append(d.also, d.name) {
			got, known := datumNamed(name)
			require.True(t, known, name)
			assert.Equal(t, d.name, got.name)
			assert.NotContains(t, otherDatums, spelling(name))
		}
		if d.modern() {
			assert.LessOrEqual(t, len(d.shifts), 1)
			continue
		}
		for _, s := range d.shifts {
			p := orb.Point{(s.west + s.east) / 2, (s.south + s.north) / 2}
			q, used, ok := d.toWGS84(p)
			require.True(t, ok)
			assert.GreaterOrEqual(t, used.errorM, s.errorM)
			moved, _, _ := earth.Inverse(p, q)
			assert.Greater(t, moved, 20., d.name)
			assert.Less(t, moved, 500., d.name)
			assert.LessOrEqual(t, moved, math.Sqrt(s.x*s.x+s.y*s.y+s.z*s.z)*1.5+250, d.name)
		}
	}
	_, err := Parse("NAD83 46.5, 7.5X")
	var e *Error
	require.ErrorAs(t, err, &e)
	assert.Equal(t, strings.Index("NAD83 46.5, 7.5X", "X")+1, e.Column)
}
