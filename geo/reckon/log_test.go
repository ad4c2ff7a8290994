package reckon

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // logs name IANA zones

	"farhail/geo/earth"

	"github.com/stretchr/testify/require"
)

// whole has every form that a log may have.
const whole = "\ufeff# from the car park\r\n" + `start: 42.55, 1.55
north: magnetic
declination: 3.2E in 2015, 0.2E a year
date: 2026-11-24 Europe/Andorra
pace: 116 per 100 m single

060 1000 m @10:40
130 850 paces slope +12% @11:05:30 crossed the stream # cold
N76d00'E 80.40 m
350,010 300 m
045 320 single paces
045 160 double paces
S 36 W 0.3km
350, 010 1000ft slope of scree
090T 100 m slope -7deg @00:10   to the hut
`

func parse(t *testing.T, text string) *Log {
	t.Helper()
	l, err := ParseLog(strings.NewReader(text), "walk.log")
	require.NoError(t, err)
	return l
}

func TestParseLog(t *testing.T) {
	l := parse(t, whole)
	require.Equal(t, "walk.log", l.Name)
	require.InDelta(t, 42.55, l.Start.Lat(), 1e-12)
	require.InDelta(t, 1.55, l.Start.Lon(), 1e-12)
	require.Equal(t, Magnetic, l.North)
	require.Equal(t, Declination{3.2, 2015, 0.2}, *l.Declination)
	require.InDelta(t, 100.0/116, l.Pace.Metres(), 1e-12)
	require.Equal(t, "single", l.Pace.String())
	at := func(day, hour, minute, second int) time.Time {
		return time.Date(2026, 11, day, hour, minute, second, 0, l.Date.Location())
	}
	require.Equal(t, "2026-11-24T12:00:00+01:00", l.Date.Format(time.RFC3339))
	step := 100.0 / 116
	want := []Leg{
		{Line: 8, North: Magnetic, BearingDeg: 60, WalkedM: 1000, Time: at(24, 10, 40, 0)},
		{Line: 9, North: Magnetic, BearingDeg: 130, WalkedM: 850 * step, Slope: 0.12, Time: at(24, 11, 5, 30), Note: "crossed the stream cold"},
		{Line: 10, North: Magnetic, BearingDeg: 76, WalkedM: 80.4},
		{Line: 11, North: Magnetic, BearingDeg: 0, WalkedM: 300},
		{Line: 12, North: Magnetic, BearingDeg: 45, WalkedM: 320 * step},
		{Line: 13, North: Magnetic, BearingDeg: 45, WalkedM: 320 * step},
		{Line: 14, North: Magnetic, BearingDeg: 216, WalkedM: 300},
		{Line: 15, North: Magnetic, BearingDeg: 0, WalkedM: 304.8, Note: "slope of scree"},
		{Line: 16, North: True, BearingDeg: 90, WalkedM: 100, Slope: -math.Tan(7 * math.Pi / 180), Time: at(25, 0, 10, 0), Note: "to the hut"},
	}
	require.Len(t, l.Legs, len(want))
	for i, w := range want {
		got := l.Legs[i]
		require.InDelta(t, 0, earth.Wrap180(w.BearingDeg-got.BearingDeg), 1e-9)
		require.InDelta(t, w.WalkedM, got.WalkedM, 1e-9)
		require.InDelta(t, w.Slope, got.Slope, 1e-12)
		require.True(t, w.Time.Equal(got.Time), "leg %d: %v", i, got.Time)
		w.BearingDeg, w.WalkedM, w.Slope, w.Time = got.BearingDeg, got.WalkedM, got.Slope, got.Time
		w.Paces, w.written = got.Paces, got.written
		require.Equal(t, w, got)
	}
	require.Len(t, l.Warnings, 1)
	require.Contains(t, l.Warnings[0].Text, "taken as 2026-11-25 00:10")
}

func TestLogErrors(t *testing.T) {
	for _, tc := range []struct {
		name, text   string
		line, column int
		word, says   string
	}{
		{"empty", "", 0, 0, "", "no legs"},
		{"notes only", "# nothing\n", 0, 0, "", "no legs"},
		{"no distance", "060\n", 1, 0, "", "without a distance"},
		{"no unit", "north: true\n060 1000\n", 2, 5, "1000", "without a unit"},
		{"wrong unit", "060 1000 crossed\n", 1, 5, "1000", `"crossed"`},
		{"no number", "060 far\n", 1, 5, "far", "not a distance"},
		{"endless", "060 1e300 m\n", 1, 5, "1e300", "e300"},
		{"too far", "060 200 km\n", 1, 5, "200", "200 km"},
		{"bare paces", "060 850 paces\n", 1, 5, "850", "kind"},
		{"paces of no length", "060 850 single paces\n", 1, 5, "850", "how long"},
		{"kind behind", "pace: 116 per 100 m single\n060 850 paces double\n", 2, 15, "double", "before the word"},
		{"pace kind", "pace: 116 per 100 m\n060 1 m\n", 1, 7, "116 per 100 m", "kind"},
		{"pace length", "pace: 116 per 100 km single\n", 1, 7, "116 per 100 km single", "step"},
		{"bearing", "  north-west 100 m\n", 1, 3, "north-west", "bearing"},
		{"beyond 360", "400 100 m\n", 1, 1, "400", "360"},
		{"negative", "-10 100 m\n", 1, 1, "-10", "bearing"},
		{"opposed", "\u00a0090,270 100 m\n", 1, 2, "090,270", "opposite"},
		{"readings of two norths", "350M,010T 100 m\n", 1, 1, "350M,010T", "norths"},
		{"minutes", "N76d60'E 100 m\n", 1, 1, "N76d60'E", "bearing"},
		{"time", "060 100 m @25:00\n", 1, 11, "@25:00", "time of day"},
		{"slope unit", "060 100 m slope 12\n", 1, 17, "12", "unit"},
		{"slope", "060 100 m slope +-12%\n", 1, 17, "+-12%", "slope"},
		{"steep", "060 100 m slope 85deg\n", 1, 17, "85deg", "walked"},
		{"header", "tempo: 4 km/h\n", 1, 1, "tempo", "no header"},
		{"header twice", "north: true\nnorth: grid\n", 2, 1, "north", "second"},
		{"header late", "060 1 m\nnorth: grid\n", 2, 1, "north", "after the first leg"},
		{"header empty", "north:\n", 1, 1, "north", "no value"},
		{"north", "north: up\n", 1, 8, "up", "not a north"},
		{"start", "start: 46,5 7,5\n", 1, 8, "", "start"},
		{"declination letter", "declination: 3.2\n", 1, 14, "3.2", "E or W"},
		{"declination size", "declination: 200E\n", 1, 14, "200E", "180"},
		{"declination year", "declination: 3E in June\n", 1, 14, "3E in June", "year"},
		{"declination change", "declination: 3E, 0.2E a year\n", 1, 14, "3E, 0.2E a year", "year of the declination"},
		{"declination rate", "declination: 3E in 2015, 0.2 a year\n", 1, 14, "3E in 2015, 0.2 a year", "yearly"},
		{"date", "date: 24.11.2026\n", 1, 7, "24.11.2026", "calendar"},
		{"date of no calendar", "date: 2026-02-30\n", 1, 7, "2026-02-30", "calendar"},
		{"zone", "date: 2026-11-24 CET\n", 1, 18, "CET", "abbreviations"},
		{"zone name", "date: 2026-11-24 Europe/Atlantis\n", 1, 18, "Europe/Atlantis", "no time zone"},
		{"time that is not", "date: 2026-03-29 Europe/Andorra\n060 1 m @02:30\n", 2, 9, "@02:30", "does not exist"},
		{"time that is twice", "date: 2026-10-25 Europe/Andorra\n060 1 m @02:30\n", 2, 9, "@02:30", "twice"},
		{"north forgotten", "declination: 3E\n060 1 m\n", 2, 0, "", "which north"},
		{"not text", "060 1 m\n\xff\xfe\n", 2, 1, "", "plain text"},
		{"a zero byte", "060 1 m \x00\n", 1, 9, "", "plain text"},
		{"Windows-1252 degree", "north: true\n060\xb0 1 m\n", 2, 4, "", "byte B0 is not UTF-8 (in Windows-1252 it is °)"},
		{"UTF-16", "\xff\xfen\x00", 1, 0, "", "UTF-16"},
		{"mils without unit", "1066 300 m\n", 1, 1, "1066", "360"},
		{"too many mils", "6500 mil 300 m\n", 1, 1, "6500mil", "360"},
		{"a point of the compass", "NE 300 m\n", 1, 1, "NE", "point of the compass"},
		{"north alone", "N 300 m\n", 1, 1, "N", "point of the compass"},
		{"back of nothing", "back\n", 1, 0, "", "without a bearing"},
		{"slash", "350/010 300 m\n", 1, 1, "350/010", "not a bearing"},
		{"bearing behind", "1000 m 060\n", 1, 1, "1000", "360"},
		{"thousands", "060 1 000 m\n", 1, 5, "1", `"000"`},
		{"decimal comma", "060 80,4 m\n", 1, 5, "80,4", "not a distance"},
		{"too many gons", "401gon 5 m\n", 1, 1, "401gon", "360"},
		{"grads", "100grad 5 m\n", 1, 1, "100grad", "not a bearing"},
		{"signed declination", "declination: -3.2\n", 1, 14, "-3.2", "sign"},
		{"unknown words before a colon", "pace count: 116\n", 1, 1, "pace count", "no header"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			_, err := ParseLog(strings.NewReader(tc.text), "walk.log")
			var e *LogError
			require.ErrorAs(t, err, &e)
			file, line, column := e.Where()
			require.Equal(t, []any{"walk.log", tc.line, tc.column}, []any{file, line, column})
			require.ErrorContains(t, err, tc.says)
			if tc.word != "" {
				require.Equal(t, tc.word, e.Offending())
			}
			require.NotEmpty(t, e.Hint())
			place := "walk.log:"
			if line > 0 {
				place = fmt.Sprintf("walk.log:%d:", line)
			}
			require.True(t, strings.HasPrefix(err.Error(), place), err.Error())
		})
	}
}

func TestLogWarnings(t *testing.T) {
	for text, says := range map[string]string{
		"060 100 m\n":                                                         "taken as true",
		"north: true\n060 100 m @10:00\n":                                     "without a date",
		"north: true\ndate: 2026-11-24\n060 100 m @10:00\n":                   "taken as UTC",
		"north: true\n060,5 100 m\n":                                          "readings 060,5 differ",
		"north: true\ndate: 2026-11-24 UTC\n060 1 m @10:00\n060 1 m @09:00\n": "2026-11-25 09:00",
	} {
		l := parse(t, text)
		require.Len(t, l.Warnings, 1, text)
		require.Contains(t, l.Warnings[0].Text, says)
		require.Positive(t, l.Warnings[0].Line)
	}
}

func TestLogTooLong(t *testing.T) {
	_, err := ParseLog(strings.NewReader(strings.Repeat("060 1 m\n", MaxLogBytes/8+1)), "walk.log")
	require.ErrorContains(t, err, "longer than")
}

type broken struct{}

func (broken) Read([]byte) (int, error) { return 0, errors.New("disk gone") }

func TestLogUnreadable(t *testing.T) {
	_, err := ParseLog(broken{}, "walk.log")
	require.ErrorContains(t, err, "reading walk.log: disk gone")
}

// render writes a log back in plain forms: degrees, metres, percent.
func render(l *Log) string {
	var b strings.Builder
	if l.Placed() {
		fmt.Fprintf(&b, "start: %.9f, %.9f\n", l.Start.Lat(), l.Start.Lon())
	}
	fmt.Fprintf(&b, "north: %s\n", l.North)
	if l.Pace != nil {
		fmt.Fprintf(&b, "pace: %.12f m per %s pace\n", l.Pace.Metres(), l.Pace)
	}
	for _, leg := range l.Legs {
		if leg.Lost() {
			fmt.Fprintf(&b, "break %.9f m slope %+.12f%% # %s\n", leg.WalkedM, 100*leg.Slope, leg.Note)
			continue
		}
		fmt.Fprintf(&b, "%.9f%s %.9f m slope %+.12f%% # %s\n", leg.BearingDeg, strings.ToUpper(string(leg.North[:1])), leg.WalkedM, 100*leg.Slope, leg.Note)
	}
	return b.String()
}

func requireRoundTrip(t *testing.T, l *Log) {
	t.Helper()
	text := render(l)
	again, err := ParseLog(strings.NewReader(text), l.Name)
	require.NoError(t, err, text)
	require.Equal(t, l.North, again.North)
	require.Equal(t, l.Placed(), again.Placed())
	require.Len(t, again.Legs, len(l.Legs))
	for i, leg := range l.Legs {
		got := again.Legs[i]
		require.Equal(t, leg.Lost(), got.Lost())
		if !leg.Lost() {
			require.InDelta(t, 0, earth.Wrap180(leg.BearingDeg-got.BearingDeg), 1e-8)
		}
		require.InDelta(t, leg.WalkedM, got.WalkedM, 1e-8)
		require.InDelta(t, leg.Slope, got.Slope, 1e-12)
		require.Equal(t, leg.North, got.North)
		require.Equal(t, leg.Note, got.Note)
	}
}

func TestLogRoundTrip(t *testing.T) {
	requireRoundTrip(t, parse(t, whole))
	requireRoundTrip(t, parse(t, traverse))
}

func FuzzParseLog(f *testing.F) {
	for _, s := range []string{whole, traverse, "060 1000\n", "pace: 30 in per step\n010 5 paces\n", "N 76 E 3 m", "350 , 010 3 m", "start: 31T CH 8 8\n1 1 m",
		"declination: 12d30'W in 2015.5, 0.1W per year\n060M 1 m", "date: 2026-10-25 Europe/Andorra\n1 1 m @02:30", "060 3 m slope", "060 3 m @", "°'\" 5 m",
		"back 1066 mil M, 1070 3 m @1405 +5%", "N 76 00 30 E 5 steps", commaTable, semicolonTable, "bearing,distance_m\n\"1\"\"\",2", "sep=;\nbearing;distance\n1,5;2,5 m", everyForm, everyFormTable,
		"compass: none, turn 40deg per 25 m\n0 5 m\n", "0 5 m\nbreak 300 m\nbreak 20 min at 3 km/h\n", "bearing,distance_m\nbreak,300\n5,5", "sigma-distance: 4%\nscale-bias: 1 %\nsigma-bearing: 40mil\n0 5 m"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		l, err := ParseLog(strings.NewReader(text), "fuzz")
		if err != nil {
			var e *LogError
			require.ErrorAs(t, err, &e)
			require.LessOrEqual(t, e.Line, strings.Count(text, "\n")+strings.Count(text, "\r")+1)
			return
		}
		for _, leg := range l.Legs {
			require.True(t, leg.BearingDeg >= 0 && leg.BearingDeg < 360 || leg.Lost())
			require.True(t, leg.WalkedM >= 0 && leg.WalkedM <= maxLegM)
			require.False(t, math.IsNaN(leg.Slope))
		}
		requireRoundTrip(t, l)
		if _, err := Run(l, practised()); err != nil {
			var e *LogError
			require.ErrorAs(t, err, &e)
		}
	})
}
