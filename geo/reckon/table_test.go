package reckon

import (
	"strings"
	"testing"
	"time"

	"farhail/geo/earth"

	"github.com/stretchr/testify/require"
)

// commaTable is the log of semicolonTable and textLog, as a spreadsheet may
// write it.
const commaTable = "\ufeffstart:,42.55 1.55,,,\r\n" +
	`north: magnetic,,,,
"declination: 3.2E in 2015, 0.2E a year",,,,
date,2026-11-24 Europe/Andorra,,,
pace: 116 per 100 m single,,,,
,,,,
Bearing,Distance,Time,Slope,Note
060,1000 m,10:40,,
130,850 paces,11:05:30,+12%,"crossed the ""cold"" stream, barefoot"
# a note on a row of its own
N76d00'30"E,80.40 m,,,
"350,010",300 m,,,
090T,100 m,@00:10,-7deg,to the hut
`

const semicolonTable = `sep=;
start;42.55, 1.55
north;magnetic
declination: 3,2E in 2015, 0,2E a year
date: 2026-11-24 Europe/Andorra;;;;
pace;116 per 100 m single
bearing_deg;distance (m);time;slope (%);note
060;1000;10:40;;
130;850 paces;11:05:30;+12,0;crossed the "cold" stream, barefoot
N76d00'30"E;80,40;;;
350, 010;300;;;
90,0 T;0,1 km;00:10;-7deg;to the hut
`

const textLog = `start: 42.55, 1.55
north: magnetic
declination: 3.2E in 2015, 0.2E a year
date: 2026-11-24 Europe/Andorra
pace: 116 per 100 m single
060 1000 m @10:40
130 850 paces @11:05:30 slope +12% crossed the "cold" stream, barefoot
N76d00'30"E 80.40 m
350,010 300 m
090T 100 m @00:10 slope -7deg to the hut
`

func TestTablesSayWhatTextSays(t *testing.T) {
	want := parse(t, textLog)
	for name, text := range map[string]string{
		"commas": commaTable, "semicolons": semicolonTable, "tabs": strings.ReplaceAll(semicolonTable, ";", "\t"),
		"carriage returns": strings.ReplaceAll(textLog, "\n", "\r"),
	} {
		t.Run(name, func(t *testing.T) {
			got := parse(t, text)
			require.Equal(t, want.Start, got.Start)
			require.Equal(t, want.North, got.North)
			require.Equal(t, want.Declination, got.Declination)
			require.Equal(t, want.Pace, got.Pace)
			require.True(t, want.Date.Equal(got.Date))
			require.Len(t, got.Legs, len(want.Legs))
			for i, leg := range got.Legs {
				require.True(t, want.Legs[i].Time.Equal(leg.Time), "leg %d at %v", i, leg.Time)
				leg.Line, leg.Time, leg.written = want.Legs[i].Line, want.Legs[i].Time, want.Legs[i].written
				require.Equal(t, want.Legs[i], leg)
			}
			require.Len(t, got.Warnings, 1)
			require.Contains(t, got.Warnings[0].Text, "taken as 2026-11-25 00:10")
		})
	}
}

func TestTableColumns(t *testing.T) {
	for _, tc := range []struct {
		name, text string
		want       Leg
	}{
		{"keys of the JSON output", "bearing_true_deg,distance_m\n076.5,80.4\n", Leg{Line: 2, North: True, BearingDeg: 76.5, WalkedM: 80.4}},
		{"mils, of grid north", "grid bearing (mil);distance [km]\n1600;1,5\n", Leg{Line: 2, North: Grid, BearingDeg: 90, WalkedM: 1500}},
		{"a column of paces", "pace,bearing,pace count\n1 m per double pace,090,200\n", Leg{Line: 2, BearingDeg: 90, WalkedM: 200}},
		{"single paces", "pace,bearing,single paces\n1 m per double pace,090,200\n", Leg{Line: 2, BearingDeg: 90, WalkedM: 100}},
		{"north by row", "bearing,distance,north\n090,200 m,magnetic\n", Leg{Line: 2, North: Magnetic, BearingDeg: 90, WalkedM: 200}},
		{"a quadrant in a column of a north", "bearing_magnetic_deg,distance_ft\nS36W,100\n", Leg{Line: 2, North: Magnetic, BearingDeg: 216, WalkedM: 30.48}},
		{"a unit in the cell wins", "bearing (mil),distance (m)\n090 deg,1 km\n", Leg{Line: 2, BearingDeg: 90, WalkedM: 1000}},
		{"slope in percent by the name", "slope_percent,bearing,distance\n-10,090,1 m\n", Leg{Line: 2, BearingDeg: 90, WalkedM: 1, Slope: -0.1}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			l := parse(t, tc.text)
			require.Len(t, l.Legs, 1)
			got := l.Legs[0]
			require.InDelta(t, tc.want.WalkedM, got.WalkedM, 1e-9)
			got.WalkedM, got.Paces, got.written = tc.want.WalkedM, 0, written{}
			if tc.want.North == "" {
				tc.want.North = True
			}
			require.Equal(t, tc.want, got)
		})
	}
}

func TestTableOfSeveralDays(t *testing.T) {
	l := parse(t, `date,time,bearing,distance
2026-10-24 Europe/Andorra,23:40,000,1 m
2026-10-25,03:30,000,1 m
2026-10-25 Europe/Andorra,04:00,000,1 m
,05:00,000,1 m
`)
	var got []string
	for _, leg := range l.Legs {
		got = append(got, leg.Time.Format(time.RFC3339))
	}
	// Clocks go back at 03:00 summer time on 25 October 2026.
	require.Equal(t, []string{"2026-10-24T23:40:00+02:00", "2026-10-25T03:30:00+01:00", "2026-10-25T04:00:00+01:00", "2026-10-25T05:00:00+01:00"}, got)
	require.Equal(t, 24, l.Date.Day())
}

func TestTableErrors(t *testing.T) {
	for _, tc := range []struct {
		name, text   string
		line, column int
		word, says   string
	}{
		{"no distances", "bearing,note\n060,x\n", 1, 0, "", "no column distance"},
		{"no bearings", "distance,note\n1 m,x\n", 1, 0, "", "no column bearing"},
		{"a column twice", "bearing,distance,bearing\n", 1, 18, "bearing", "second column"},
		{"north twice", "north: true\nbearing,distance,north\n", 2, 18, "north", "above the table"},
		{"no rows", "bearing,distance\n", 0, 0, "", "no legs"},
		{"no unit", "bearing,distance\n060,1000\n", 2, 5, "1000", "without a unit"},
		{"empty distance", "bearing,distance\n060,\n", 2, 0, "", "without a distance"},
		{"empty bearing", "bearing,distance\n,1 m\n", 2, 0, "", "without a bearing"},
		{"distance in the bearing", "bearing,distance\n060 1000 m,\n", 2, 5, "1000", "not part of a bearing"},
		{"note in the distance", "bearing,distance\n060,1000 m to the hut\n", 2, 12, "to", "not part of a distance"},
		{"too many cells", "bearing,distance\n060,1000 m,,x\n", 2, 13, "x", "more cells"},
		{"decimal comma among commas", "bearing,distance\n060,80,4 m\n", 2, 8, "4 m", "more cells"},
		{"decimal comma in quotation marks", "bearing,distance\n060,\"80,4 m\"\n", 2, 6, "80,4", "not a distance"},
		{"readings or decimals", "bearing;distance\n350,010;80,4 m\n", 2, 1, "350,010", "decimal comma"},
		{"open quotation mark", "bearing,distance,note\n060,1 m,\"larch\n070,1 m,\n", 2, 9, "", "not closed"},
		{"text behind a quotation mark", "bearing,distance,note\n060,1 m,\"the\" larch\n", 2, 15, "larch", "behind"},
		{"another start", "bearing,distance,start\n060,1 m,42.5 1.5\n070,1 m,42.6 1.5\n", 3, 9, "42.6 1.5", "another start"},
		{"a day back", "bearing,distance,date\n060,1 m,2026-11-24\n070,1 m,2026-11-25\n070,1 m,2026-11-23\n", 4, 9, "2026-11-23", "runs back"},
		{"north of a row", "bearing,distance,north\n060,1 m,up\n", 2, 9, "up", "not a north"},
		{"time", "bearing,distance,time\n060,1 m,25:10\n", 2, 9, "25:10", "time of day"},
		{"slope", "bearing,distance,slope\n060,1 m,12\n", 2, 9, "12", "without a unit"},
		{"header value", "declination,3.2\nbearing,distance\n060,1 m\n", 1, 13, "3.2", "E or W"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			_, err := ParseLog(strings.NewReader(tc.text), "walk.csv")
			var e *LogError
			require.ErrorAs(t, err, &e)
			require.Equal(t, []int{tc.line, tc.column}, []int{e.Line, e.Column}, err)
			require.ErrorContains(t, err, tc.says)
			if tc.word != "" {
				require.Equal(t, tc.word, e.Offending())
			}
			require.NotEmpty(t, e.Hint())
		})
	}
}

func TestTableWarns(t *testing.T) {
	l := parse(t, "north: true\nleg,bearing,distance\n1,060,300 m\n")
	require.Len(t, l.Warnings, 1)
	require.Contains(t, l.Warnings[0].Text, `the column "leg" is not read`)
	require.Equal(t, 300.0, l.Legs[0].WalkedM)
}

// TestWrittenForms reads what people write beside the plain forms.
func TestWrittenForms(t *testing.T) {
	const step = 100.0 / 116
	for _, tc := range []struct {
		line     string
		deg, m   float64
		north    North
		note     string
		warnings int
	}{
		{"060° 1000 m", 60, 1000, "", "", 0},
		{"060 ° 1000 m", 60, 1000, "", "", 0},
		{"060deg 1000m", 60, 1000, "", "", 0},
		{"060 deg 1000m", 60, 1000, "", "", 0},
		{"60.5 degrees\t1000\tm\tby the wall", 60.5, 1000, "", "by the wall", 0},
		{"060, 1000 m, crossed the stream", 60, 1000, "", "crossed the stream", 0},
		{"060, 1000m.", 60, 1000, "", "", 0},
		{"1600 mil 300 m", 90, 300, "", "", 0},
		{"1600mils 300 m", 90, 300, "", "", 0},
		{"1600 mil G 300 m", 90, 300, Grid, "", 0},
		{"0,100 mil 300 m", 2.8125, 300, "", "", 0},
		{"350, 010 300 m", 0, 300, "", "", 0},
		{"350 , 010 T 300 m", 0, 300, True, "", 0},
		{"359,1,3 300 m", 1.0, 300, "", "", 0},
		{"090 M 300 m", 90, 300, Magnetic, "", 0},
		{"090 magnetic 300 m", 90, 300, Magnetic, "", 0},
		{"back 010 300 m", 190, 300, "", "", 0},
		{"Back bearing 190T 300 m", 10, 300, True, "", 0},
		{"N76d00'E 80.40 m", 76, 80.4, "", "", 0},
		{"n76°30′e 80.40 m", 76.5, 80.4, "", "", 0},
		{"N 76 30 E 80.40 m", 76.5, 80.4, "", "", 0},
		{"N. 76° 00' 36\" E. 80.40 m", 76.01, 80.4, "", "", 0},
		{"S 36 W 1 NM", 216, 1852, "", "", 0},
		{"N 30d E T 1 m", 30, 1, True, "", 0},
		{"360 1 m", 0, 1, "", "", 0},
		{"060 1000 M", 60, 1000, "", "", 0},
		{"060 1 KM", 60, 1000, "", "", 0},
		{"060 1000 FT. to the wall", 60, 304.8, "", "to the wall", 0},
		{"060 200 yards", 60, 182.88, "", "", 0},
		{"060 2 miles", 60, 3218.688, "", "", 0},
		{"060 300 metres", 60, 300, "", "", 0},
		{"060 320 Paces", 60, 320 * step, "", "", 0},
		{"060 320 steps", 60, 320 * step, "", "", 0},
		{"060 160 double paces", 60, 320 * step, "", "", 0},
		{"060 300 m 14:05 at the hut", 60, 300, "", "14:05 at the hut", 1},
		{"060 300 m at the hut @14:05", 60, 300, "", "at the hut @14:05", 1},
		{"060 300 m +12% up", 60, 300, "", "+12% up", 1},
	} {
		t.Run(tc.line, func(t *testing.T) {
			l := parse(t, "north: grid\npace: 116 per 100 m single\n"+tc.line+"\n")
			leg := l.Legs[0]
			require.InDelta(t, 0, earth.Wrap180(tc.deg-leg.BearingDeg), 1e-9)
			require.InDelta(t, tc.m, leg.WalkedM, 1e-9)
			if tc.north == "" {
				tc.north = Grid
			}
			require.Equal(t, tc.north, leg.North)
			require.Equal(t, tc.note, leg.Note)
			require.Len(t, l.Warnings, tc.warnings)
		})
	}
}

// TestPaceForms reads the forms of the pace, all of one length.
func TestPaceForms(t *testing.T) {
	for _, form := range []string{
		"125 per 100 m single", "125 single paces per 100 m", "125 per 100m single paces",
		"0.8 m per step", "80 cm per single pace", "1.6 m per double pace", "62.5 per 100 m double", "62.5\tdouble per 0.1 km",
	} {
		l := parse(t, "north: true\npace: "+form+"\n060 1 m\n")
		require.InDelta(t, 0.8, l.Pace.StepM, 1e-9, form)
	}
}

// TestDeclinationForms reads the forms of the declination, by the letters'
// sign: east is plus. The first two are those of the fault list.
func TestDeclinationForms(t *testing.T) {
	for form, deg := range map[string]float64{
		"8W": -8, "12 E": 12, "3.2° East": 3.2, "3d12'W": -3.2, "3 12 w": -3.2, "3°12′00″E": 3.2, "0": 0, "0.5 west in 2020": -0.5,
	} {
		l := parse(t, "north: magnetic\ndeclination: "+form+"\n060 1 m\n")
		require.InDelta(t, deg, l.Declination.Deg, 1e-12, form)
	}
	// A map's yearly change in minutes, from 2015 to the middle of 2026.
	l := parse(t, "north: magnetic\ndeclination: 3.2E in 2015, 12'E a year\ndate: 2026-07-02\n060 1 m\n")
	require.InDelta(t, 3.2+0.2*11.5, l.Declination.At(l.Date), 1e-3)
}

// TestTimesRunOn follows a night over midnight and over the clocks going forward.
func TestTimesRunOn(t *testing.T) {
	l := parse(t, `north: true
date: 2026-03-28 Europe/Andorra
000 1 m @2340
000 1 m @01:59
000 1 m @03:00
000 1 m @23:59:59
000 1 m @00:00
`)
	var got []string
	for _, leg := range l.Legs {
		got = append(got, leg.Time.Format(time.RFC3339))
	}
	require.Equal(t, []string{
		"2026-03-28T23:40:00+01:00", "2026-03-29T01:59:00+01:00", "2026-03-29T03:00:00+02:00", "2026-03-29T23:59:59+02:00", "2026-03-30T00:00:00+02:00",
	}, got)
	require.Len(t, l.Warnings, 2, "each midnight is told")
}
