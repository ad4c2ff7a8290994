package job

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"farhail/geo/grid"
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

// FuzzReadAreas: whatever file a group hands in is a fault with a hint, or a map that is
// a surface.
func FuzzReadAreas(f *testing.F) {
	square := `{"type":"Polygon","coordinates":[[[-30,40],[-29.99,40],[-29.99,40.01],[-30,40.01],[-30,40]]]}`
	f.Add(square)
	f.Add(`{"type":"Feature","properties":{"name":"a","share":0.4},"geometry":` + square + `}`)
	f.Add(`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"share":"40 %"},"geometry":` + square + `},{"type":"Feature","properties":{"share":1e-9},"geometry":` + square + `}]}`)
	f.Add(`{"type":"Feature","properties":{"share":[1]},"geometry":` + square + `}`)
	frame := grid.Frame{X0: -30, Y0: 40.02, DX: 0.001, DY: 0.001, Cols: 20, Rows: 20}
	f.Fuzz(func(t *testing.T, text string) {
		s := &scoring{run: &run{fsys: fstest.MapFS{"a.geojson": {Data: []byte(text)}}, result: &Result{}}, w: &sweeping{frame: frame}, out: &DrillScore{}}
		if err := s.readAreas(DrillPapers{Areas: "a.geojson"}); err != nil {
			var e *mapfile.Error
			require.True(t, errors.As(err, &e), "%v", err)
			return
		}
		require.NotNil(t, s.areas)
		require.Positive(t, s.out.Areas)
		sum := 0.0
		for _, m := range s.areas.Mass {
			require.GreaterOrEqual(t, m, 0.0)
			sum += m
		}
		require.InDelta(t, 1, sum, 1e-9)
		if r := s.areas.RankScore(3, 4); !math.IsNaN(r) {
			require.True(t, r >= -1 && r <= 1)
		}
	})
}

// FuzzReadAnswer: a file that is read as an answer holds somewhere to score and is read
// alike once it is written again.
func FuzzReadAnswer(f *testing.F) {
	f.Add(`{"form": 1, "begins": "2026-06-20T09:00:00Z", "ends": "2026-06-20T10:00:00Z", "hidden": [{"name": "a", "lat": 40, "lon": -30, "shows": ["flag"]}]}`)
	f.Add(`{"form": 1, "seed": 18446744073709551615, "begins": "2026-06-20T09:00:00+02:00", "ends": "2026-06-21T10:00:00Z", "hidden": [{"lat": 1e-300, "lon": 180}]}`)
	f.Add(`{"form": 1, "hidden": [{"lat": 91}]}`)
	f.Add("null")
	f.Fuzz(func(t *testing.T, text string) {
		d, err := ReadAnswer(strings.NewReader(text), "answer.json")
		if err != nil {
			var e *mapfile.Error
			require.True(t, errors.As(err, &e), "%v", err)
			return
		}
		require.NotEmpty(t, d.Hidden)
		require.True(t, d.Ends.After(d.Begins))
		again, err := json.Marshal(d)
		require.NoError(t, err)
		back, err := ReadAnswer(strings.NewReader(string(again)), "answer.json")
		require.NoError(t, err)
		require.Equal(t, d.Seed, back.Seed)
		require.Len(t, back.Hidden, len(d.Hidden))
		for i, h := range d.Hidden {
			require.InDelta(t, float64(h.Lat), float64(back.Hidden[i].Lat), 1e-9)
			require.InDelta(t, float64(h.Lon), float64(back.Hidden[i].Lon), 1e-9)
		}
	})
}
