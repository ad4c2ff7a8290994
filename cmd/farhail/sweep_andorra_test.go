package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/mapfile"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// andorraSearch goes on from andorraPlan: log, rings, likelihood, three parties' tracks,
// a lamp that was not seen, the next effort.
const andorraSearch = `likelihood:
  outside: 10 %%
  by: KB
  at: 2026-11-24 20:00
  within: 5 km
  search_party: {people: 4, spacing: 40 m, speed: 2 km/h, hours: 3 h}
  views:
    - {name: on from the log, weight: 60 %%, by: KB, from: the log, log: true, course: 330 deg, gone: 800 m, reach: true}
    - {name: how far others went, weight: 40 %%, by: TR, from: our cases, distances: [50 %% 1.5 km, 90 %% 5 km]}
searched:
  - name: first morning
    parties:
      - {name: Meadow party, tracks: meadow.gpx, people: 5, spacing: 20 m}
      - {name: Stream party, tracks: stream.gpx, people: 3, spacing: 30 m}
      - {name: Ridge party, tracks: ridge.gpx, people: 4, spacing: 20 m}
not_seen:
  - {name: no lamp on the first night, signal: lamp, shown: 60 %%, from: 2026-11-24 19:00, until: 2026-11-24 23:00}
effort:
  from: 2026-11-25 13:00
  parties:
    - {name: Meadow party, people: 5, hours: %[1]s, position: 42.5555 1.5711}
    - {name: Stream party, people: 3, hours: %[1]s, position: 42.5620 1.5750}
    - {name: Ridge party, people: 4, hours: %[1]s, position: 42.5480 1.5850}
`

// laneGPX is a track up and down lanes east of a corner, at 2 km/h, which for some
// begins with a lift by car.
func laneGPX(corner orb.Point, lanes int, laneM, apartM float64, lift bool) string {
	local := earth.NewLocal(corner)
	at := time.Date(2026, 11, 25, 7, 30, 0, 0, time.UTC)
	var b strings.Builder
	b.WriteString(`<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>`)
	fix := func(east, north, afterS float64) {
		p := local.Inverse(east, north)
		at = at.Add(time.Duration(afterS * float64(time.Second)))
		fmt.Fprintf(&b, `<trkpt lat="%.8f" lon="%.8f"><time>%s</time></trkpt>`, p.Lat(), p.Lon(), at.Format(time.RFC3339))
	}
	if lift {
		for k := range 40 {
			fix(-2400+60*float64(k), -300, 5)
		}
	}
	for lane := range lanes {
		for step := range int(laneM/20) + 1 {
			along := 20 * float64(step)
			if lane%2 == 1 {
				along = laneM - along
			}
			fix(along, apartM*float64(lane), 36)
		}
	}
	b.WriteString(`</trkseg></trk></gpx>`)
	return b.String()
}

func andorraSearchFolder(t *testing.T, hours string) string {
	shared, dir := geotest.Shared(t), t.TempDir()
	for name, text := range map[string]string{
		"plan.yaml":  fmt.Sprintf(andorraPlan, shared) + fmt.Sprintf(andorraSearch, hours),
		"log.txt":    andorraLog,
		"meadow.gpx": laneGPX(orb.Point{1.568, 42.553}, 6, 900, 100, false),
		"stream.gpx": laneGPX(orb.Point{1.575, 42.562}, 5, 1200, 100, true),
		"ridge.gpx":  laneGPX(orb.Point{1.585, 42.548}, 8, 800, 90, false),
	} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	return dir
}

// swept is what the test reads of a sweep.
type sweptReport struct {
	POS         float64
	AsRecorded  float64 `json:"pos_as_recorded"`
	Outside     float64 `json:"outside_share_after"`
	OutsideThen float64 `json:"outside_share_before"`
	Elsewhere   float64 `json:"elsewhere_share_after"`
	Operations  []struct {
		Parties []struct {
			Name    string
			LengthM float64 `json:"length_m"`
			Cuts    []struct{ Why string }
		}
	}
	History  []struct{ Name, Kind string }
	Segments []struct {
		Name   string
		POD    float64
		Before float64 `json:"poa_before"`
		After  float64 `json:"poa_after"`
	}
	Next []struct {
		Party, Segment                                           string
		SearchS, ThereS, BackS, UnusedS, SpacingM, EffortM, WayM float64
		POD                                                      float64
	}
	Then struct {
		POS, Bound float64
		Parties    []struct {
			Party   string
			GivenS  float64 `json:"given_s"`
			SearchS float64 `json:"search_s"`
			WaysS   float64 `json:"ways_s"`
			UnusedS float64 `json:"unused_s"`
			Reach   int     `json:"segments_in_reach"`
		}
	}
}

// TestAndorraSearch does a whole search on real ground; how long it takes is logged,
// and aimed to be less than 90 s on two cores.
func TestAndorraSearch(t *testing.T) {
	if testing.Short() {
		t.Skip("seconds of work on real terrain; the full run does it")
	}
	dir := andorraSearchFolder(t, "4 h")
	t.Chdir(dir)
	text, err := os.ReadFile("plan.yaml")
	require.NoError(t, err)
	plan := string(text)
	began := time.Now()
	code, _, msg := farhail("plan", "plan.yaml", "-o", "out")
	require.Equal(t, cli.ExitDone, code, msg)
	t.Logf("a full search in %.1f s", time.Since(began).Seconds())
	require.Contains(t, msg, "Stream party: taken out of the track: 1 stretches in a vehicle")

	data, err := os.ReadFile("out/result.json")
	require.NoError(t, err)
	var r struct{ Sweep sweptReport }
	require.NoError(t, json.Unmarshal(data, &r))
	s := r.Sweep
	require.Greater(t, s.POS, 0.01)
	require.Greater(t, s.AsRecorded, s.POS, "the road counts where nothing is taken out")
	require.Greater(t, s.Outside, s.OutsideThen)
	before, after := s.OutsideThen, s.Outside+s.Elsewhere
	for _, g := range s.Segments {
		before, after = before+g.Before, after+g.After
		assert.LessOrEqual(t, g.POD, 0.95, g.Name)
	}
	require.InDelta(t, 1, before, 1e-6)
	require.InDelta(t, 1, after, 1e-6)
	require.Equal(t, "no lamp on the first night", s.History[0].Name)
	require.Equal(t, "first morning", s.History[1].Name)

	t.Run("the hours sum to those given", func(t *testing.T) {
		require.Len(t, s.Then.Parties, 3)
		for _, p := range s.Then.Parties {
			require.InDelta(t, 4*3600, p.GivenS, 1e-6)
			require.InDelta(t, p.GivenS, p.SearchS+p.WaysS+p.UnusedS, 1e-3, p.Party)
			require.Positive(t, p.SearchS, p.Party)
		}
		require.LessOrEqual(t, s.Then.POS, s.Then.Bound+1e-9)
	})
	t.Run("each way begins where the party stands and is on the terrain", func(t *testing.T) {
		for i, at := range []orb.Point{{1.5711, 42.5555}, {1.5750, 42.5620}, {1.5850, 42.5480}} {
			name := []string{"meadow-party", "stream-party", "ridge-party"}[i]
			f, err := os.Open(fmt.Sprintf("out/next-%d-%s.gpx", i+1, name))
			require.NoError(t, err)
			g, err := mapfile.ReadGPX(f, name)
			require.NoError(t, f.Close())
			require.NoError(t, err)
			require.Empty(t, g.Problems)
			var ways [][]orb.Point
			for _, tr := range append(g.Tracks, g.Routes...) {
				if strings.Contains(tr.Name, " to ") {
					var line []orb.Point
					for _, seg := range tr.Segments {
						for _, fix := range seg {
							line = append(line, fix.Point)
						}
					}
					ways = append(ways, line)
				}
			}
			require.NotEmpty(t, ways, name)
			require.Less(t, earth.Distance(ways[0][0], at), 100.0, "%s sets out from its place", name)
			begins := 0
			for _, w := range g.Waypoints {
				if strings.Contains(w.Name, "begin") {
					require.Less(t, earth.Distance(w.Point, ways[begins][len(ways[begins])-1]), 1.0, "the way ends where searching begins")
					begins++
				}
			}
			require.Equal(t, len(ways), begins)
			for _, way := range ways {
				for k := 1; k < len(way); k++ {
					require.Less(t, earth.Distance(way[k-1], way[k]), 1000.0, "from cell to cell")
				}
			}
		}
	})
	t.Run("fewer hours find less, and the ten lines say what has changed", func(t *testing.T) {
		less := strings.ReplaceAll(plan, "hours: 4 h", "hours: 2 h")
		require.NoError(t, os.WriteFile("plan.yaml", []byte(less), 0o600))
		code, out, msg := farhail("plan", "plan.yaml", "--since", "out/result.json", "-o", "out2")
		require.Equal(t, cli.ExitDone, code, msg)
		lines := strings.Split(strings.TrimSpace(out), "\n")
		require.Len(t, lines, 11, "ten lines, and where the files are")
		for _, want := range []string{"Log:      as before", "Reach:    as before", "Signals:  as before", "Place:    as before", "Areas:    as before", "Searched: POS as before"} {
			require.Contains(t, out, want)
		}
		var second struct{ Sweep sweptReport }
		data, err := os.ReadFile("out2/result.json")
		require.NoError(t, err)
		require.NoError(t, json.Unmarshal(data, &second))
		require.InDelta(t, s.POS, second.Sweep.POS, 1e-9, "what was searched is the same")
		require.Greater(t, s.Then.POS, 1.05*second.Sweep.Then.POS)
	})
}
