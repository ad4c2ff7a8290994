package reckon

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Logs as people hand them in, with what they usually get wrong.

func TestMinutesApartFromDegrees(t *testing.T) {
	for _, c := range []struct {
		line string
		deg  float64
	}{
		{"45° 30' 100 m", 45.5},
		{"45° 30′ 100 m", 45.5},
		{"45d 30' 100 m", 45.5},
		{"045 deg 30' 100 m", 45.5},
		{`45° 30' 36" 100 m`, 45.51},
		{"45° 30'T 100 m", 45.5},
		{"45° 30 m", 45},                       // 30 m is the distance
		{"45° 30' , 45° 10' 100 m", 45 + 1/3.}, // two readings
		{"45° 30 ft", 45},
	} {
		l, err := ParseLog(strings.NewReader("north: true\n"+c.line+"\n"), "log")
		require.NoError(t, err, c.line)
		assert.InDelta(t, c.deg, l.Legs[0].BearingDeg, 1e-9, c.line)
	}
}

func TestLettersForFigures(t *testing.T) {
	for _, c := range []struct {
		line   string
		column int
	}{
		{"13O 850 m", 1},
		{"l30 850 m", 1},
		{"130 85O m", 5},
		{"130 1O00 m", 5},
	} {
		_, err := ParseLog(strings.NewReader("north: true\n"+c.line+"\n"), "log")
		var e *LogError
		require.ErrorAs(t, err, &e, c.line)
		assert.Equal(t, []int{2, c.column}, []int{e.Line, e.Column}, c.line)
		assert.Contains(t, e.Advice, "figure 0 or 1", c.line)
	}
}

// A point that may part thousands is told of once; figures that cannot be thousands
// are not.
func TestGroupedThousands(t *testing.T) {
	for _, c := range []struct {
		log  string
		told int
	}{
		{"060 1.000 m\n060 2.500 m\n", 1},
		{"060 80.40 m\n060 1080.500 m\n060 0.500 km\n", 0},
		{"bearing;distance\n60;1.000 m\n", 1},
	} {
		l, err := ParseLog(strings.NewReader("north: true\n"+c.log), "log")
		require.NoError(t, err, c.log)
		n := 0
		for _, w := range l.Warnings {
			if strings.Contains(w.Text, "decimal sign") {
				n++
				assert.Contains(t, w.Hint, "1000 m")
			}
		}
		assert.Equal(t, c.told, n, c.log)
	}
	_, err := ParseLog(strings.NewReader("bearing;distance (m)\n60;1.000,5\n"), "log")
	var e *LogError
	require.ErrorAs(t, err, &e)
	assert.Contains(t, e.Advice, "thousands without a mark")
}

func TestTablesOfSpreadsheets(t *testing.T) {
	for _, log := range []string{
		"sep=;\nBearing °M;Distance m;Notes\n60;1000;\n",
		"Bearing (M),Distance,Unit\n60,1000,m\n",
		"north: magnetic\nbearing\tdistance\tunits\n60\t1\tkm\n",
	} {
		l, err := ParseLog(strings.NewReader(log), "log")
		require.NoError(t, err, log)
		assert.Equal(t, Magnetic, l.Legs[0].North, log)
		assert.InDelta(t, 1000, l.Legs[0].WalkedM, 1e-9, log)
	}
	for _, c := range []struct {
		log    string
		line   int
		advice string
	}{
		{"sep=;\nAzimut;Entfernung\n60;1000\n", 2, "names its columns"},
		{"60;1000 m\n", 1, "names its columns"},
		{"sep=;\n060 1000\n", 2, "write a number"},
	} {
		_, err := ParseLog(strings.NewReader(c.log), "log")
		var e *LogError
		require.ErrorAs(t, err, &e, c.log)
		assert.Equal(t, c.line, e.Line, c.log)
		assert.Contains(t, e.Advice, c.advice, c.log)
	}
	_, err := ParseLog(strings.NewReader("Bearing °X;Distance m;Time\n60;1000;\n"), "log")
	assert.ErrorContains(t, err, `does not tell what holds "Bearing °X"`)
}

// A leg of no paces is a leg of no length, and nothing of it is NaN.
func TestNoPaces(t *testing.T) {
	l, err := ParseLog(strings.NewReader("north: true\npace: 116 per 100 m single\n060 0 paces\n045 100 m\n225 100 m\n"), "log")
	require.NoError(t, err)
	r, err := Run(l, Options{SigmaDistance: 0.05, SigmaBearingDeg: 3, Close: true})
	require.NoError(t, err)
	assert.InDelta(t, 0, math.Hypot(r.NorthM, r.EastM), 1e-9)
	for _, s := range r.Slips.List {
		assert.False(t, math.IsNaN(s.WalkedM), "%+v", s)
	}
}

// A log that ends where it began, and is joined to what is known on the way, ends
// there for sure: its ellipses are points, not unknown.
func TestClosedAndJoined(t *testing.T) {
	l, err := ParseLog(strings.NewReader("start: 42.55 1.55\nnorth: true\n000 400 m\nat 42.5536 1.55 ±10 m\n090 300 m\n180 400 m\n270 300 m\n"), "log")
	require.NoError(t, err)
	r, err := Run(l, Options{SigmaDistance: 0.05, SigmaBearingDeg: 3, Close: true})
	require.NoError(t, err)
	assert.Equal(t, 0.0, r.Ellipse95.MajorM)
	assert.InDelta(t, 42.55, r.End.Lat(), 1e-9)
}
