package reckon

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// everyForm is a log with a line of every form, everyFormTable the same as a table.
const everyForm = `start: 42.55 1.55 ±5 m
north: magnetic
declination: 3.2E
convergence: 1.1W
date: 2026-11-24 Europe/Andorra
calibrate: 116 single over 100 m, 118, 115
pace snow: 150 per 100 m single
calibrate uphill: 130 single over 100 m, 136
speed: 4 km/h
sigma-distance: 4%
sigma-bearing: 2.5deg
scale-bias: 2%
bearing-bias: 1deg
mark church: 42.56 1.55 ±10 m
mark spire: 42.55 1.57
060 1000 m @10:40
130.5 850 paces @10:58 slope +12% crossed the stream
200gon 300 paces snow
1600 mil 120 double paces uphill
S20d30'W T 250 ft
back 045G 0.3 km
350,010 20 min
015 20 min at 3 km/h
080 400 m declination 4.1E convergence 2W
at church ±20 m the porch
on 42.55 1.55 to 42.56 1.56 ±15 m
resection church 275M, spire 190M ±2deg
100 200 yd slope -7deg
break
at 42.57 1.56 ±30 m
010 0.1 mi
`

const everyFormTable = `start;42.55 1.55 ±5 m
north;magnetic
declination;3,2E
convergence;1,1W
date;2026-11-24 Europe/Andorra
calibrate;116 single over 100 m;118;115
pace snow;150 per 100 m single
calibrate uphill;130 single over 100 m;136
speed;4 km/h
sigma-distance;4%
sigma-bearing;2,5deg
scale-bias;2%
bearing-bias;1deg
mark church;42.56 1.55 ±10 m
mark spire;42.55 1.57
bearing;distance;condition;time;slope;declination;convergence;note
060;1000 m;;10:40
130,5;850 paces;;10:58;+12%;;;crossed the stream
200gon;300 paces;snow
1600 mil;120 double paces;uphill
S20d30'W T;250 ft
back 045G;0,3 km
350, 010;20 min
015;20 min at 3 km/h
080;400 m;;;;4,1E;2W
at church ±20 m;;;;;;;the porch
on 42.55 1.55 to 42.56 1.56 ±15 m
resection church 275M, spire 190M ±2deg
100;200 yd;;;-7deg
break
at 42.57 1.56 ±30 m
010;0,1 mi
`

// What every form means, and a table says the same as the text.
func TestEveryForm(t *testing.T) {
	l, table := parse(t, everyForm), parse(t, everyFormTable)
	step := 3 / (1.16 + 1.18 + 1.15)
	for i, want := range []struct {
		north      North
		deg, walk  float64
		pace, note string
	}{
		{Magnetic, 60, 1000, "", ""},
		{Magnetic, 130.5, 850 * step, "", "crossed the stream"},
		{Magnetic, 180, 200, "snow", ""},
		{Magnetic, 90, 240 * 2 / (1.30 + 1.36), "uphill", ""},
		{True, 200.5, 76.2, "", ""},
		{Grid, 225, 300, "", ""},
		{Magnetic, 0, 4000.0 / 3, "", ""},
		{Magnetic, 15, 1000, "", ""},
		{Magnetic, 80, 400, "", ""},
		{Magnetic, 100, 182.88, "", ""},
		{Magnetic, 10, 160.9344, "", ""},
	} {
		leg := l.Legs[i]
		require.Equal(t, want.north, leg.North, i)
		require.InDelta(t, want.deg, leg.BearingDeg, 1e-9, i)
		require.InDelta(t, want.walk, leg.WalkedM, 1e-6, i)
		require.Equal(t, want.pace, leg.Condition, i)
		require.Equal(t, want.note, leg.Note, i)
	}
	require.InDelta(t, math.Tan(-7*math.Pi/180), l.Legs[9].Slope, 1e-12)
	require.InDelta(t, 4.1, l.Legs[8].Declination.Deg, 1e-12)
	require.InDelta(t, -2, *l.Legs[8].Convergence, 1e-12)
	require.Len(t, l.Known, 5)
	require.True(t, l.Known[4].Break)
	require.Equal(t, Errors{0.04, 2.5, 0.02, 1}, l.Errors)

	require.Len(t, table.Legs, len(l.Legs))
	for i := range l.Legs {
		a, b := l.Legs[i], table.Legs[i]
		a.Line, b.Line = 0, 0
		a.written, b.written = written{}, written{}
		if a.Declination != nil { // its year is NaN, which equals nothing
			require.Equal(t, a.Declination.Deg, b.Declination.Deg)
			a.Declination, b.Declination = nil, nil
		}
		require.Equal(t, a, b, "leg %d", i)
	}
	for i := range l.Known {
		a, b := l.Known[i], table.Known[i]
		a.Line, b.Line = 0, 0
		require.Equal(t, a, b, "known %d", i)
	}
	a, err := Run(l, practised())
	require.NoError(t, err)
	b, err := Run(table, practised())
	require.NoError(t, err)
	require.Equal(t, a.End, b.End)
	require.Equal(t, a.Covariance, b.Covariance)
	require.Equal(t, 4, a.Fit.DOF-1, "two of the church, one of the line, two bearings")
	require.Len(t, a.Back, len(l.Legs)+1)
}

// A leg as it was written, for people to find it again.
func TestWritten(t *testing.T) {
	l := parse(t, everyForm)
	var list []string
	for _, i := range []int{0, 1, 2, 4, 5, 6} {
		list = append(list, l.Legs[i].Written())
	}
	require.Equal(t, "060 1000 m, 130.5 850 paces, 200gon 300 paces, S20d30'WT 76.2 m, back 045G 300 m, 000 1333 m", strings.Join(list, ", "))
}
