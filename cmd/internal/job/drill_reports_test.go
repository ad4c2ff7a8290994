package job

import (
	"errors"
	"strings"
	"testing"
	"time"

	"farhail/geo/mapfile"

	"github.com/stretchr/testify/require"
)

func TestReadReports(t *testing.T) {
	zone := time.FixedZone("", -3600)
	begins := time.Date(2026, 11, 28, 20, 0, 0, 0, zone)
	list, err := ReadReports(strings.NewReader("\ufeffWho,time,Position,what\n"+
		"Ann B,21:10,\"46.0075, -20.0116\",walker\n"+
		"Ann B,01:05:30,46.0080 -20.0110\n"+
		"C,2026-11-28T21:00:00Z,46.0080 -20.0110,\n"+
		",,46 -20,\n"), "r.csv", begins)
	require.NoError(t, err)
	require.Len(t, list, 4)
	require.Equal(t, []any{"Ann B", "walker", 2, begins.Add(70 * time.Minute)}, []any{list[0].Who, list[0].What, list[0].Line, list[0].At})
	require.InDelta(t, -20.0116, list[0].Point.Lon(), 1e-12)
	require.Equal(t, begins.Add(5*time.Hour+5*time.Minute+30*time.Second), list[1].At, "after midnight")
	require.True(t, list[2].At.Equal(begins))
	require.True(t, list[3].At.IsZero())

	list, err = ReadReports(strings.NewReader("lat,lon,time\n46.0075,-20.0116,20:30\n"), "r.csv", begins)
	require.NoError(t, err)
	require.InDelta(t, 46.0075, list[0].Point.Lat(), 1e-12)

	for text, want := range map[string]struct {
		line, column int
		text         string
	}{
		"":                                       {1, 1, "does not name the columns"},
		"who,what\n":                             {1, 1, "does not name the columns"},
		"time,position\n10:00,nowhere\n":         {2, 7, "no position"},
		"time,position\n25:00,46 -20\n":          {2, 1, "no time"},
		"time,position\n10:00,46 -20\n10:00\n":   {3, 1, "no position"},
		"time,position\n\"10:00,46 -20\n":        {0, 0, "quote"},
		"time,position,who\n10:00,46 -20,\xff\n": {2, 14, "UTF-8"},
	} {
		_, err := ReadReports(strings.NewReader(text), "r.csv", begins)
		var e *mapfile.Error
		require.True(t, errors.As(err, &e), text)
		require.Contains(t, e.Text, want.text, text)
		if want.line > 0 {
			require.Equal(t, []int{want.line, want.column}, []int{e.Line, e.Column}, text)
		}
	}
	_, err = ReadReports(strings.NewReader("time,position\n"+strings.Repeat("10:00,46 -20\n", maxReportsBytes/10)), "r.csv", begins)
	require.ErrorIs(t, err, mapfile.ErrTooLarge)
}

func FuzzReadReports(f *testing.F) {
	f.Add("who,time,position,what\nA,10:00,46 -20,x\n")
	f.Add("lat,lon,time\n1,2,2026-11-28T21:00:00Z\n")
	f.Add("time,position\n\"")
	begins := time.Date(2026, 11, 28, 9, 0, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, text string) {
		list, err := ReadReports(strings.NewReader(text), "r.csv", begins)
		if err != nil {
			var e *mapfile.Error
			require.True(t, errors.As(err, &e), "%v", err)
			return
		}
		for _, r := range list {
			require.True(t, r.Point.Lat() >= -90 && r.Point.Lat() <= 90)
			require.Positive(t, r.Line)
		}
	})
}
