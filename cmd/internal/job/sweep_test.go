package job

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/track"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// fellTrack is a GPX track up and down from a corner, lanes of a length so far apart,
// at 2 km/h from a time on.
func fellTrack(eastM, northM float64, lanes int, laneM, apartM float64, from string) string {
	at, err := time.Parse(time.RFC3339, from)
	if err != nil {
		panic(err)
	}
	local := earth.NewLocal(orb.Point{-30, 40})
	var b strings.Builder
	b.WriteString(`<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>`)
	fix := func(east, north float64) {
		p := local.Inverse(eastM+east, northM+north)
		fmt.Fprintf(&b, `<trkpt lat="%.8f" lon="%.8f"><time>%s</time></trkpt>`, p.Lat(), p.Lon(), at.Format(time.RFC3339))
		at = at.Add(36 * time.Second)
	}
	for lane := range lanes {
		for step := range int(laneM/20) + 1 {
			along := float64(step) * 20
			if lane%2 == 1 {
				along = laneM - along
			}
			fix(float64(lane)*apartM, along)
		}
		for step := 1; step < int(apartM/20) && lane+1 < lanes; step++ {
			fix(float64(lane)*apartM+20*float64(step), laneM*float64((lane+1)%2))
		}
	}
	b.WriteString(`</trkseg></trk></gpx>`)
	return b.String()
}

// fellPlan is a search on the flat, without terrain, with more lines.
const fellPlan = `version: 1
as_of: 2026-06-21T18:00:00Z
weather: {visibility: 20 km}
starts:
  - {name: hut, kind: last-known, position: "40.0, -30.0", error: 200 m, time: "2026-06-20T15:00:00Z"}
traveller:
  signals:
    - {name: lamp, light: 20 cd, rated_time: 8 h, lit_from: "2026-06-20T22:00:00Z"}
    - {name: cloth, flag: 1x1 m}
    - {name: pipe, whistle: 110 dB}
    - {name: glass, mirror: 76x127mm}
looking:
  lookouts:
    - {name: knoll, position: "40.01, -30.0", from: "2026-06-20T22:00:00Z", until: "2026-06-20T23:30:00Z"}
likelihood:
  outside: 10 %%
  by: KB
  at: 2026-06-20T18:00:00Z
  within: 2 km
  cell: 100 m
  area_from: 0.3 km2
  area_to: 1.2 km2
  views:
    - {name: from the hut, weight: 1, by: KB, distances: [50 %% 700 m, 90 %% 2 km]}
%s`

const (
	oneParty = `searched:
  - name: morning
    parties: [{name: A, tracks: a.gpx, people: 3, spacing: 40 m}]
`
	twoParties = `effort:
  from: 2026-06-21T08:00:00Z
  parties:
    - {name: A, people: 3, hours: %s, position: "40.0, -30.0"}
    - {name: B, people: 2, hours: 2 h, position: "40.005, -30.0"}
`
)

// fellPlain is a plain of terrain.
func fellPlain() string {
	return "ncols 60\nnrows 60\nxllcenter -30.03\nyllcenter 39.97\ncellsize 0.001\nnodata_value -9999\n" +
		strings.Repeat(strings.Repeat("100 ", 60)+"\n", 60)
}

// fellCover is the search of oneParty on a plain of terrain, covered by a class, "" for
// bare ground.
func fellCover(t *testing.T, class string) *Sweep {
	t.Helper()
	text := fmt.Sprintf(fellPlan, oneParty) + "terrain: dem.asc\n"
	files := fstest.MapFS{
		"a.gpx":   {Data: []byte(fellTrack(-400, -400, 5, 800, 120, "2026-06-21T08:00:00Z"))},
		"dem.asc": {Data: []byte(fellPlain())},
	}
	if class != "" {
		files["land.geojson"] = &fstest.MapFile{Data: []byte(`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"natural":"` + class + `"},"geometry":{"type":"Polygon","coordinates":[[[-30.1,39.9],[-29.9,39.9],[-29.9,40.1],[-30.1,40.1],[-30.1,39.9]]]}}]}`)}
		text += "cover: land.geojson\n"
	}
	files["plan.yaml"] = &fstest.MapFile{Data: []byte(text)}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	r, err := Run(context.Background(), files, p, Options{Parts: Sweeping})
	require.NoError(t, err)
	require.NotNil(t, r.Sweep, r.LeftOut)
	return r.Sweep
}

func fellSearch(t *testing.T, more string) *Result {
	t.Helper()
	r, err := trySearch(t, more)
	require.NoError(t, err)
	require.NotNil(t, r.Sweep, r.LeftOut)
	return r
}

func trySearch(t *testing.T, more string) (*Result, error) {
	t.Helper()
	files := fstest.MapFS{
		"plan.yaml": {Data: fmt.Appendf(nil, fellPlan, more)},
		"a.gpx":     {Data: []byte(fellTrack(-400, -400, 5, 800, 120, "2026-06-21T08:00:00Z"))},
		"b.gpx":     {Data: []byte(fellTrack(200, 200, 5, 600, 120, "2026-06-21T12:00:00Z"))},
		"late.gpx":  {Data: []byte(fellTrack(200, 200, 2, 600, 120, "2026-06-21T10:00:00Z"))},
	}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	return Run(context.Background(), files, p, Options{Parts: Sweeping})
}

// whole checks that all probability is somewhere.
func whole(t *testing.T, s *Sweep) {
	t.Helper()
	sum := float64(s.OutsideAfter) + float64(s.Elsewhere)
	before := 0.0
	for _, g := range s.Segments {
		sum += float64(g.POAAfter)
		before += float64(g.POABefore)
		assert.LessOrEqual(t, float64(g.POD), 1.0)
		if !g.Measured {
			assert.LessOrEqual(t, float64(g.POD), 0.95, g.Name)
		}
	}
	require.InDelta(t, 1, sum, 1e-9)
	require.InDelta(t, 0.9, before, 1e-9)
}

func TestSweepOfOneMorning(t *testing.T) {
	s := fellSearch(t, oneParty).Sweep
	whole(t, s)
	// POS is what the map gave to the search finding them: the segments' sum.
	pos := 0.0
	for _, g := range s.Segments {
		pos += float64(g.POABefore) * float64(g.PODUncapped)
	}
	require.InDelta(t, pos, float64(s.POS), 1e-9)
	// The share outside grows by Bayes: 0.1 / (1 - POS).
	require.InDelta(t, 0.1/(1-float64(s.POS)), float64(s.OutsideAfter), 1e-9)
	require.Greater(t, float64(s.POS), 0.05)
	require.Len(t, s.History, 1)
	require.True(t, math.IsNaN(float64(s.POSAsRecorded)), "nothing was taken out")

	party := s.Operations[0].Parties[0]
	require.InDelta(t, 5*800+4*120, float64(party.LengthM), 3)
	require.InDelta(t, 3*float64(party.LengthM), float64(party.EffortM), 1e-6)
	require.InEpsilon(t, 20.0/36, float64(party.SpeedMS), 0.01)
	effort := 0.0
	for _, g := range s.Segments {
		effort += float64(g.EffortM)
		if g.EffortM > 0 {
			w := float64(party.Widths[0].SweepWidthM)
			require.InEpsilon(t, w, float64(g.SweepWidthM), 1e-6)
			require.InEpsilon(t, w*float64(g.EffortM)/float64(g.AreaM2), float64(g.Coverage), 1e-6)
			require.InDelta(t, -math.Expm1(-float64(g.Coverage)), float64(g.LawPOD), 1e-6)
		}
	}
	// A gap to the law of more than 0.1 is explained, and no other.
	explained := 0
	for _, g := range s.Segments {
		gap := math.Abs(float64(g.PODUncapped - g.LawPOD))
		require.Equal(t, gap > 0.1, g.Gap != "", "%s: %g", g.Name, gap)
		if g.Gap != "" {
			explained++
			require.Contains(t, g.Gap, "the law of random coverage")
		}
	}
	require.Positive(t, explained, "the lanes do not lie at random")
	// The ends of the outer lines turn about corners, which cuts or adds a little.
	require.InEpsilon(t, float64(party.EffortM), effort, 0.02)
}

// TestSweepOwnWidthWins: what searchers measured replaces the model, and is named.
func TestSweepOwnWidthWins(t *testing.T) {
	model := fellSearch(t, oneParty).Sweep
	for _, tc := range []struct {
		keys string
		want float64
		from string
	}{
		{"width: 60 m", 60, "your measured width"},
		{"detection_range: 30 m\n    conspicuity: high", 54, "1.8 times your measured detection range"},
	} {
		s := fellSearch(t, strings.Replace(oneParty, "    parties:", "    "+tc.keys+"\n    parties:", 1)).Sweep
		w := s.Operations[0].Parties[0].Widths[0]
		require.InDelta(t, tc.want, float64(w.SweepWidthM), 1e-9)
		require.Contains(t, w.From, tc.from)
		require.InDelta(t, float64(model.Operations[0].Parties[0].Widths[0].SweepWidthM), float64(w.ModelM), 1e-6)
		require.Less(t, float64(s.POS), float64(model.POS))
		measured := 0
		for _, g := range s.Segments {
			if g.Measured {
				measured++
				require.Equal(t, g.PODUncapped, g.POD)
			}
		}
		require.Positive(t, measured)
		whole(t, s)
	}
}

// TestSweepHistory: a second operation adds less than it would alone, an entry left
// out is undone, and the order in the plan does not matter where the times are known.
func TestSweepHistory(t *testing.T) {
	second := "  - name: noon\n    parties: [{name: B, tracks: b.gpx, people: 3, spacing: 40 m}]\n"
	again := "  - name: again\n    parties: [{name: A, tracks: a.gpx, people: 3, spacing: 40 m}]\n"
	one, two := fellSearch(t, oneParty).Sweep, fellSearch(t, oneParty+second).Sweep
	turned := fellSearch(t, "searched:\n"+second+strings.TrimPrefix(oneParty, "searched:\n")).Sweep
	require.Greater(t, float64(two.POS), float64(one.POS))
	require.InDelta(t, float64(two.POS), float64(turned.POS), 1e-9)
	require.Equal(t, "morning", turned.History[0].Name, "in the order of time")
	for i := range two.Segments {
		require.InDelta(t, float64(two.Segments[i].POAAfter), float64(turned.Segments[i].POAAfter), 1e-9)
	}
	twice := fellSearch(t, oneParty+again).Sweep
	missed := 1 - float64(one.POS)
	require.Greater(t, float64(twice.POS), float64(one.POS))
	// Who goes over the same ground again finds less than independent chances say:
	// each cell with the same POD p would leave (1-p)^2.
	independent := 0.0
	for i, m := range fellMass(t) {
		independent += m * (1 - (1-one.POD[i])*(1-one.POD[i]))
	}
	require.Less(t, float64(twice.POS), independent-0.0005)
	require.Less(t, 1-float64(twice.POS), missed)
	whole(t, two)
	whole(t, twice)
}

// fellMass is the surface before anything was searched.
func fellMass(t *testing.T) []float64 {
	return fellSearch(t, oneParty).Chance.Surface.Mass
}

func TestSweepNotSeen(t *testing.T) {
	lamp := "not_seen:\n  - {signal: lamp, %sfrom: \"2026-06-20T21:00:00Z\", until: \"2026-06-21T02:00:00Z\"}\n"
	none := fellSearch(t, fmt.Sprintf(lamp, "")).Sweep
	require.False(t, none.NotSeen[0].Used)
	require.Contains(t, none.NotSeen[0].Why, "nobody has said")
	require.Empty(t, none.History)
	require.True(t, math.IsNaN(float64(none.POS)), "no search")
	require.InDelta(t, 0.1, float64(none.OutsideAfter), 1e-12)

	some := fellSearch(t, fmt.Sprintf(lamp, "shown: 60 %, ")).Sweep
	require.True(t, some.NotSeen[0].Used)
	require.Equal(t, []string{"knoll"}, some.NotSeen[0].By)
	chance := float64(some.NotSeen[0].Chance)
	require.Greater(t, chance, 0.3, "on the flat at night a lamp of 20 cd shows over 2 km")
	// Expected: what is outside counts as not noticed.
	require.InDelta(t, 1-0.6*chance, float64(some.History[0].Expected), 1e-9)
	require.InDelta(t, 0.1/float64(some.History[0].Expected), float64(some.OutsideAfter), 1e-9)
	whole(t, some)

	sure := fellSearch(t, fmt.Sprintf(lamp, "shown: 100 %, ")).Sweep
	observed := fellSearch(t, fmt.Sprintf(lamp, "shown: 100 %, observed: true, ")).Sweep
	for i, m := range fellMass(t) {
		if m == 0 {
			continue
		}
		likelihood := sure.Surface.Mass[i] * float64(sure.History[0].Expected) / m
		require.GreaterOrEqual(t, likelihood, 0.2-1e-9, "no cell keeps less")
	}
	require.Less(t, float64(observed.History[0].Expected), float64(sure.History[0].Expected))

	dark := fellSearch(t, "not_seen:\n  - {signal: lamp, shown: 1, from: \"2026-06-20T12:00:00Z\", until: \"2026-06-20T14:00:00Z\"}\n").Sweep
	require.Contains(t, dark.NotSeen[0].Why, "did not burn")
	away := fellSearch(t, "not_seen:\n  - {signal: cloth, shown: 1, from: \"2026-06-20T12:00:00Z\", until: \"2026-06-20T14:00:00Z\"}\n").Sweep
	require.Contains(t, away.NotSeen[0].Why, "nobody is known to have looked")
	heard := fellSearch(t, "not_seen:\n  - {signal: pipe, shown: 1, from: \"2026-06-20T22:00:00Z\", until: \"2026-06-20T23:00:00Z\"}\n").Sweep
	require.Contains(t, heard.NotSeen[0].Why, "heard")
}

func TestSweepMobile(t *testing.T) {
	stays, moves := fellSearch(t, oneParty).Sweep, fellSearch(t, oneParty+"mobile: 50 %\n").Sweep
	require.Len(t, moves.History, 2)
	require.Equal(t, []string{"motion", "search"}, []string{moves.History[0].Kind, moves.History[1].Kind})
	require.Greater(t, float64(moves.History[0].OutsideShare), 0.1, "some leave the map")
	require.Less(t, float64(moves.POS), float64(stays.POS), "who moves may have left the ground that is searched")
	whole(t, moves)
}

// TestSweepEffort: the time adds up, all ways are there, and more hours find more.
func TestSweepEffort(t *testing.T) {
	last := 0.0
	for _, hours := range []string{"1 h", "2 h", "4 h", "8 h"} {
		s := fellSearch(t, oneParty+fmt.Sprintf(twoParties, hours)).Sweep
		require.NotNil(t, s.Then)
		require.Greater(t, float64(s.Then.POS), last, hours)
		require.LessOrEqual(t, float64(s.Then.POS), float64(s.Then.Bound)+1e-9)
		last = float64(s.Then.POS)
		given, err := time.ParseDuration(strings.ReplaceAll(hours, " ", ""))
		require.NoError(t, err)
		for i, p := range s.Then.Parties {
			want := []float64{given.Seconds(), 7200}[i]
			require.InDelta(t, want, float64(p.GivenS), 1e-9)
			require.InDelta(t, want, float64(p.SearchS+p.WaysS+p.UnusedS), 1e-6, p.Party)
		}
		for _, task := range s.Next {
			require.NotEmpty(t, task.Segment)
			require.InDelta(t, float64(task.SearchS)*float64(task.SpeedMS)*float64(task.People), float64(task.EffortM), 1e-6)
			require.Positive(t, float64(task.SpacingM))
			require.True(t, task.Begin.Before(*task.End))
		}
	}
}

// TestSweepDaylight: who may not be out by night is back by the end of twilight.
func TestSweepDaylight(t *testing.T) {
	night := strings.ReplaceAll(fmt.Sprintf(twoParties, "4 h"), "T08:00", "T23:00")
	s := fellSearch(t, night).Sweep
	for _, task := range s.Next {
		require.Empty(t, task.Segment)
		require.Contains(t, task.Why, "dark")
	}
	require.InDelta(t, 4*3600, float64(s.Then.Parties[0].UnusedS), 1e-9)
	// The sun sets about 19:30 by the sun there, 21:30 UTC at 30 W.
	evening := strings.ReplaceAll(fmt.Sprintf(twoParties, "4 h"), "T08:00", "T20:00")
	s = fellSearch(t, evening).Sweep
	var back time.Time
	for _, task := range s.Next {
		if task.Return != nil && task.Return.After(back) {
			back = *task.Return
		}
	}
	require.True(t, back.Before(time.Date(2026, 6, 21, 22, 10, 0, 0, time.UTC)), back)
	require.Positive(t, float64(s.Then.Parties[0].UnusedS))
	for _, task := range s.Next {
		if task.UnusedS > 0 {
			require.Contains(t, task.Why, "twilight")
		}
	}
}

// TestSweepLeavesOut: who looked for what no way tells of does not count, and the rest does.
func TestSweepLeavesOut(t *testing.T) {
	plain := fellSearch(t, oneParty).Sweep
	for name, text := range map[string]string{
		"pipe":  "heard, not seen",
		"glass": "aimed by hand",
	} {
		second := strings.NewReplacer("searched:\n", "", "morning", "again", "    parties:", "    looked_for: "+name+"\n    shown: 50 %\n    parties:").Replace(oneParty)
		r := fellSearch(t, oneParty+second)
		require.Len(t, r.Sweep.Operations, 2, name)
		require.Contains(t, r.Sweep.Operations[1].Parties[0].Why, text)
		require.InDelta(t, float64(plain.POS), float64(r.Sweep.POS), 1e-12, name)
		require.Contains(t, fmt.Sprint(r.Notes), text)
	}
	r := fellSearch(t, oneParty+strings.Replace(fmt.Sprintf(twoParties, "4 h"), "  parties:", "  looked_for: pipe\n  parties:", 1))
	require.Nil(t, r.Sweep.Then)
	require.Contains(t, strings.Join(r.LeftOut, "; "), "the next effort: pipe is heard")
}

// TestSweepClocks: a receiver whose clock cannot be right is told.
func TestSweepClocks(t *testing.T) {
	at := func(s string) time.Time {
		v, err := time.Parse(time.RFC3339, s)
		require.NoError(t, err)
		return v
	}
	w := &sweeping{run: &run{plan: &plan.Plan{AsOf: at("2026-06-21T18:00:00Z")}, result: &Result{Plan: PlanInfo{location: time.UTC}}}}
	file := func(name string, times ...string) trackFile {
		var s track.Segment
		for i, text := range times {
			f := track.At(orb.Point{-30 + 0.0001*float64(i), 40})
			f.Time = at(text)
			s = append(s, f)
		}
		return trackFile{name, []track.Track{{Segments: []track.Segment{s}}}}
	}
	op := plan.Searched{From: at("2026-06-21T08:00:00Z"), Until: at("2026-06-21T12:00:00Z")}
	for _, tc := range []struct {
		name string
		op   plan.Searched
		list []trackFile
		want []string
	}{
		{"right", op, []trackFile{file("a", "2026-06-21T08:00:00Z", "2026-06-21T09:00:00Z")}, nil},
		{"two hours on", op, []trackFile{file("a", "2026-06-21T13:01:00Z", "2026-06-21T14:00:00Z")}, []string{"off by 5 h"}},
		{"an hour back", op, []trackFile{file("a", "2026-06-21T07:02:00Z", "2026-06-21T07:50:00Z")}, []string{"off by 1 h"}},
		{"another year", op, []trackFile{file("a", "2025-06-21T08:00:00Z", "2025-06-21T09:00:00Z")}, []string{"before the operation"}},
		{"runs back", op, []trackFile{file("a", "2026-06-21T08:00:00Z", "2026-06-21T08:30:00Z", "2026-06-21T08:10:00Z")}, []string{"runs back 1 times"}},
		{"tomorrow", plan.Searched{}, []trackFile{file("a", "2026-06-22T08:00:00Z", "2026-06-22T09:00:00Z")}, []string{"later than the plan's as_of"}},
		{"two at a time", op, []trackFile{file("a", "2026-06-21T08:00:00Z", "2026-06-21T09:00:00Z"), file("b", "2026-06-21T08:30:00Z", "2026-06-21T09:30:00Z")}, []string{"a and b were recorded at the same time"}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			got := w.clocks(tc.op, tc.list)
			require.Len(t, got, len(tc.want), "%v", got)
			for i, want := range tc.want {
				require.Contains(t, got[i], want)
			}
		})
	}
}

// TestCoverageOfALength compares with sums of another program.
func TestCoverageOfALength(t *testing.T) {
	geotest.Check(t, "sweep-coverage", func(in []string) ([]any, error) {
		var v [3]float64
		for i := range v {
			var err error
			if v[i], err = strconv.ParseFloat(in[i], 64); err != nil {
				return nil, err
			}
		}
		coverage, pod, err := Coverage(v[0], v[1], v[2], in[3])
		return []any{coverage, pod}, err
	})
	require.Equal(t, []string{"random", "inverse-cube", "definite"}, SweepLaws())
}

// TestSweepAmongTrees: a wood narrows the sweep on its ground alone, and counts once.
func TestSweepAmongTrees(t *testing.T) {
	bare := fellCover(t, "")
	wood := fellCover(t, "wood")
	grass := fellCover(t, "grassland")
	require.Len(t, bare.Cells, 1)
	require.InDelta(t, float64(bare.POS), float64(grass.POS), 1e-9, "grass is below the eye")
	widths := wood.Operations[0].Parties[0].Widths
	require.Len(t, widths, 1, "all of the map is wood")
	require.Equal(t, "wood", widths[0].Ground)
	require.Less(t, float64(widths[0].SweepWidthM), 60.0)
	require.Less(t, float64(wood.POS), float64(bare.POS)/2)
	whole(t, wood)
}

// TestSweepForASignal: a search for a signal rests on how likely it was shown.
func TestSweepForASignal(t *testing.T) {
	cloth := func(keys string) *Sweep {
		return fellSearch(t, strings.Replace(oneParty, "    parties:", "    looked_for: cloth\n"+keys+"    parties:", 1)).Sweep
	}
	silent, half, all := cloth(""), cloth("    shown: 50 %\n"), cloth("    shown: 100 %\n")
	require.Zero(t, float64(silent.POS), "not used: nobody has said")
	require.InDelta(t, 0.1, float64(silent.OutsideAfter), 1e-12)
	require.Greater(t, float64(half.POS), 0.05)
	require.Greater(t, float64(all.POS), float64(half.POS))
	for _, p := range all.POD {
		require.LessOrEqual(t, p, 0.8)
	}
	for i, p := range half.POD {
		require.LessOrEqual(t, p, 0.5)
		require.LessOrEqual(t, p, all.POD[i]+1e-12)
	}
	whole(t, half)
}

// flownTrack is a GPX track of an aircraft east and west over lanes from a corner, at
// 45 m/s from a time on.
func flownTrack(eastM, northM float64, lanes int, laneM, apartM float64, from string) string {
	at, err := time.Parse(time.RFC3339, from)
	if err != nil {
		panic(err)
	}
	local := earth.NewLocal(orb.Point{-30, 40})
	var b strings.Builder
	b.WriteString(`<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>`)
	for lane := range lanes {
		for step := range int(laneM/225) + 1 {
			along := 225 * float64(step)
			if lane%2 == 1 {
				along = laneM - along
			}
			p := local.Inverse(eastM+along, northM+float64(lane)*apartM)
			fmt.Fprintf(&b, `<trkpt lat="%.8f" lon="%.8f"><time>%s</time></trkpt>`, p.Lat(), p.Lon(), at.Format(time.RFC3339))
			at = at.Add(5 * time.Second)
		}
	}
	b.WriteString(`</trkseg></trk></gpx>`)
	return b.String()
}

// TestSweepFromTheAir: an aircraft sweeps by its own altitude, speed and eyes, is not cut
// out as a vehicle, and finds nobody under trees.
func TestSweepFromTheAir(t *testing.T) {
	search := func(party, more string) *Sweep {
		files := fstest.MapFS{
			"plan.yaml": {Data: fmt.Appendf(nil, fellPlan, "searched: [{name: flight, parties: ["+party+"]}]\n"+more)},
			"dem.asc":   {Data: []byte(fellPlain())},
			"heli.gpx":  {Data: []byte(flownTrack(-1800, -800, 5, 3600, 400, "2026-06-21T08:00:00Z"))},
			"land.geojson": {Data: []byte(`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"natural":"wood"},
				"geometry":{"type":"Polygon","coordinates":[[[-30.1,40.0],[-29.9,40.0],[-29.9,40.1],[-30.1,40.1],[-30.1,40.0]]]}}]}`)},
		}
		p, err := plan.Read(files, "plan.yaml")
		require.NoError(t, err)
		r, err := Run(context.Background(), files, p, Options{Parts: Sweeping})
		require.NoError(t, err)
		require.NotNil(t, r.Sweep, r.LeftOut)
		whole(t, r.Sweep)
		return r.Sweep
	}
	air := search("{name: heli, tracks: heli.gpx, altitude: 150 m}", "")
	party := air.Operations[0].Parties[0]
	assert.Empty(t, party.Cuts)
	assert.InDelta(t, 150, float64(party.Altitude), 1e-9)
	assert.InEpsilon(t, 45, float64(party.SpeedMS), 0.1)
	assert.InEpsilon(t, 5*3600+4*400, float64(party.LengthM), 0.01)
	// A person from 150 m up in clear air: 0.8 km by the model, in plain clothes and lying
	// less; IAMSAR's 0.9 (table N-9, from memory) within the band of 1.6 and the fit.
	width := float64(party.Widths[0].SweepWidthM)
	assert.Greater(t, width, 300.0)
	assert.Less(t, width, 1450.0)
	// Over the middle, lanes 400 m apart cover W/400 of the ground: about random search.
	require.NotEmpty(t, air.Segments)
	covered := 0
	for _, g := range air.Segments {
		if g.Coverage > 0.7*cli.Num(width/400) {
			covered++
			assert.InDelta(t, float64(g.LawPOD), float64(g.PODUncapped), 0.2, g.Name)
		}
	}
	assert.Positive(t, covered)

	foot := search("{name: heli, tracks: heli.gpx}", "")
	require.NotEmpty(t, foot.Operations[0].Parties[0].Cuts, "on foot it is a vehicle")
	assert.True(t, math.IsNaN(float64(foot.Operations[0].Parties[0].Altitude)))
	slow := search("{name: heli, tracks: heli.gpx, altitude: 150 m, speed: 60 kn}", "")
	assert.Equal(t, "stated", slow.Operations[0].Parties[0].Speed)
	assert.Greater(t, float64(slow.POS), float64(air.POS))
	high := search("{name: heli, tracks: heli.gpx, altitude: 900 m}", "")
	assert.NotEqual(t, width, float64(high.Operations[0].Parties[0].Widths[0].SweepWidthM))

	wood := search("{name: heli, tracks: heli.gpx, altitude: 150 m}", "terrain: dem.asc\ncover: land.geojson\n")
	require.Len(t, wood.Operations[0].Parties[0].Widths, 2)
	under := wood.Operations[0].Parties[0].Widths[1]
	assert.Zero(t, under.SweepWidthM)
	assert.Contains(t, under.From, "from an aircraft nothing")
	assert.Less(t, float64(wood.POS), 0.7*float64(air.POS))
	north := 0
	for i := range wood.POD {
		if wood.Frame.Point(float64(i%wood.Frame.Cols), float64(i/wood.Frame.Cols)).Lat() > 40.002 {
			north++
			require.Zero(t, wood.POD[i])
		}
	}
	require.Positive(t, north)
}

// pacedTrack is one lane north at 1 km/h, and another one beside it at 4 km/h.
func pacedTrack(laneM, apartM float64, speedsKMH [2]float64) string {
	local := earth.NewLocal(orb.Point{-30, 40})
	at := time.Date(2026, 6, 21, 8, 0, 0, 0, time.UTC)
	var b strings.Builder
	b.WriteString(`<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><trk>`)
	for lane, kmh := range speedsKMH {
		b.WriteString("<trkseg>")
		for north := 0.0; north <= laneM; north += 20 {
			p := local.Inverse(apartM*(float64(lane)-0.5), north-laneM/2)
			fmt.Fprintf(&b, `<trkpt lat="%.8f" lon="%.8f"><time>%s</time></trkpt>`, p.Lat(), p.Lon(), at.Format(time.RFC3339Nano))
			at = at.Add(time.Duration(20 / (kmh / 3.6) * float64(time.Second)))
		}
		b.WriteString("</trkseg>")
	}
	b.WriteString(`</trk></gpx>`)
	return b.String()
}

// TestSweepByLeg: where a party went slowly it has seen more than where it hurried, and
// as much as parties of those speeds would; a speed that is stated, or a width that was
// measured, counts for the whole way.
func TestSweepByLeg(t *testing.T) {
	search := func(keys, more string, speeds [2]float64) *Sweep {
		files := fstest.MapFS{
			"plan.yaml": {Data: fmt.Appendf(nil, fellPlan, "searched: [{name: morning"+more+", parties: [{name: A, tracks: a.gpx"+keys+"}]}]\n")},
			"a.gpx":     {Data: []byte(pacedTrack(1200, 1600, speeds))},
		}
		p, err := plan.Read(files, "plan.yaml")
		require.NoError(t, err)
		r, err := Run(context.Background(), files, p, Options{Parts: Sweeping})
		require.NoError(t, err)
		require.NotNil(t, r.Sweep, r.LeftOut)
		return r.Sweep
	}
	beside := func(s *Sweep) (west, east float64) {
		at := func(eastM float64) float64 {
			col, row := s.Frame.Cell(earth.NewLocal(orb.Point{-30, 40}).Inverse(eastM, 0))
			return s.POD[int(math.Round(row))*s.Frame.Cols+int(math.Round(col))]
		}
		return at(-1000), at(1000)
	}
	mixed := search("", "", [2]float64{1, 4})
	party := mixed.Operations[0].Parties[0]
	assert.InEpsilon(t, 1/3.6, float64(party.SlowMS), 0.02)
	assert.InEpsilon(t, 4/3.6, float64(party.FastMS), 0.02)
	assert.InEpsilon(t, 1.6/3.6, float64(party.SpeedMS), 0.02, "length over time")
	slow, fast := beside(mixed)
	// Speeds are taken in steps of 1.25, so that each is right within 12 %.
	wantSlow, _ := beside(search("", "", [2]float64{1, 1}))
	_, wantFast := beside(search("", "", [2]float64{4, 4}))
	assert.InDelta(t, wantSlow, slow, 0.03)
	assert.InDelta(t, wantFast, fast, 0.03)
	assert.Greater(t, slow, fast+0.1)

	stated := search(", speed: 2 km/h", "", [2]float64{1, 4})
	assert.True(t, math.IsNaN(float64(stated.Operations[0].Parties[0].SlowMS)))
	a, b := beside(stated)
	assert.InDelta(t, a, b, 0.01)
	a, b = beside(search("", ", width: 400 m", [2]float64{1, 4}))
	assert.InDelta(t, a, b, 0.01, "their own width is for how they went")
}
