package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/coord"
)

// farhail runs the program in this process.
func farhail(args ...string) (code int, stdout, stderr string) {
	var out, msg bytes.Buffer
	code = run(context.Background(), args, strings.NewReader(""), &out, &msg)
	return code, out.String(), msg.String()
}

const (
	wayGPX   = `<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="42.5512345678" lon="1.6"><name>hut</name></wpt><rte><rtept lat="42.55" lon="1.6"/><rtept lat="42.56" lon="1.61"/></rte></gpx>`
	timedGPX = `<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg><trkpt lat="42.55" lon="1.6"><time>2026-11-24T17:00:00Z</time></trkpt><trkpt lat="42.56" lon="1.61"><time>2026-11-24T18:00:00Z</time></trkpt></trkseg></trk></gpx>`
)

// inNewFolder works in an empty folder that holds some files.
func inNewFolder(t *testing.T, files map[string]string) {
	t.Helper()
	t.Chdir(t.TempDir())
	for name, text := range files {
		require.NoError(t, os.MkdirAll(filepath.Dir(name), 0o777))
		require.NoError(t, os.WriteFile(name, []byte(text), 0o666))
	}
}

// TestNewGivesBackItsFlags: what a flag says is read back from the plan as the
// same value.
func TestNewGivesBackItsFlags(t *testing.T) {
	const odd = `odd "name" #1: {é} 'x'  .gpx`
	inNewFolder(t, map[string]string{"way.gpx": wayGPX, "sub/party.gpx": timedGPX, "dem/a.hgt": "", "dem/b.hgt": "", odd: wayGPX})
	// Two thirds of a thousandth of a degree need all digits of a float64.
	third := orb.Point{1.6, 42.5512345678}
	at := time.Date(2026, 11, 24, 14, 20, 0, 0, time.UTC)
	good := []string{"--place", "42.55 1.6", "--at", "2026-11-24T15:20:00+01:00"}
	for _, tc := range []struct {
		name  string
		flags []string
		check func(t *testing.T, p *plan.Plan)
	}{
		{"place", []string{"--place", "42.5512345678 1.6"}, func(t *testing.T, p *plan.Plan) {
			require.Equal(t, third, p.Starts[0].Point)
			require.Equal(t, third, p.Looking.Lookouts[0].Point)
			require.True(t, p.Example, "the time is not the user's")
		}},
		{"a negative place", []string{"--place", "-33.5, -70.25"}, func(t *testing.T, p *plan.Plan) {
			require.Equal(t, orb.Point{-70.25, -33.5}, p.Starts[0].Point)
		}},
		{"place in degrees and minutes", []string{"--place", `42°33'04.4"N 1°36'00"E`}, func(t *testing.T, p *plan.Plan) {
			pos, err := coord.Parse(`42°33'04.4"N 1°36'00"E`)
			require.NoError(t, err)
			require.Equal(t, pos.Point, p.Starts[0].Point)
		}},
		{"place a square of 1 km", []string{"--place", "31TCH8612"}, func(t *testing.T, p *plan.Plan) {
			require.Equal(t, 1000.0, p.Starts[0].Radius95M)
		}},
		{"place a waypoint", []string{"--place", "way.gpx#hut"}, func(t *testing.T, p *plan.Plan) {
			require.Equal(t, third, p.Starts[0].Point)
		}},
		{"at with an offset", good, func(t *testing.T, p *plan.Plan) {
			require.True(t, at.Equal(p.Starts[0].Time) && at.Equal(p.AsOf))
			require.Nil(t, p.Zone)
			require.False(t, p.Example)
			require.Empty(t, p.Emergency, "never guessed")
		}},
		{"at in a zone", []string{"--place", "42.55 1.6", "--at", "2026-11-24 15:20 Europe/Andorra"}, func(t *testing.T, p *plan.Plan) {
			require.True(t, at.Equal(p.Starts[0].Time))
			require.Equal(t, "Europe/Andorra", p.Zone.String())
		}},
		{"at in the hour that comes twice", []string{"--place", "42.55 1.6", "--zone", "Europe/Andorra", "--at", "2026-10-25T02:30:00+01:00"}, func(t *testing.T, p *plan.Plan) {
			require.Equal(t, int64(1792891800), p.Starts[0].Time.Unix())
			require.Equal(t, "Europe/Andorra", p.Zone.String())
		}},
		{"terrain", append([]string{"--terrain", "dem/a.hgt,dem/b.hgt"}, good...), func(t *testing.T, p *plan.Plan) {
			require.Equal(t, []string{"dem/a.hgt", "dem/b.hgt"}, p.Terrain)
		}},
		{"route", append([]string{"--route", "way.gpx"}, good...), func(t *testing.T, p *plan.Plan) {
			require.Equal(t, []string{"way.gpx"}, p.Traveller.Trails)
		}},
		{"a route of an odd name", append([]string{"--route", odd}, good...), func(t *testing.T, p *plan.Plan) {
			require.Equal(t, []string{odd}, p.Traveller.Trails)
		}},
		{"party with times", append([]string{"--party", "sub/party.gpx"}, good...), func(t *testing.T, p *plan.Plan) {
			require.Equal(t, "sub/party.gpx", p.Looking.Parties[0].Track)
		}},
		{"party with a route", append([]string{"--party", "way.gpx"}, good...), func(t *testing.T, p *plan.Plan) {
			require.Equal(t, "way.gpx", p.Looking.Parties[0].Route)
			require.True(t, p.Looking.Parties[0].Start.After(at))
		}},
		{"light", []string{"--light", "1234.5678cd"}, func(t *testing.T, p *plan.Plan) {
			require.Equal(t, 1234.5678, p.Traveller.Signals[0].IntensityCD)
			require.True(t, p.Example)
		}},
		{"at alone", []string{"--at", "2026-11-24T15:20:00+01:00"}, func(t *testing.T, p *plan.Plan) {
			require.True(t, at.Equal(p.AsOf))
			require.True(t, p.Example)
		}},
	} {
		for _, kind := range newKinds {
			t.Run(kind+" "+tc.name, func(t *testing.T) {
				code, out, msg := farhail(append([]string{"new", kind}, tc.flags...)...)
				require.Equal(t, cli.ExitDone, code, msg)
				p, err := plan.Read(memoryFS{"plan.yaml": []byte(out)}, "plan.yaml")
				require.NoError(t, err, out)
				tc.check(t, p)
			})
		}
	}
}

// TestNewPathsFollowTheFile: paths are seen from the folder of the plan.
func TestNewPathsFollowTheFile(t *testing.T) {
	inNewFolder(t, map[string]string{"way.gpx": wayGPX, "plans/keep": "", "plans/own.gpx": wayGPX})
	abs, err := filepath.Abs("way.gpx")
	require.NoError(t, err)
	for flag, want := range map[string]string{"way.gpx": "way.gpx", "plans/own.gpx": "plans/own.gpx", abs: filepath.ToSlash(abs)} {
		require.NoError(t, os.RemoveAll("plans/p.yaml"))
		code, _, msg := farhail("new", "trip", "--place", "42.55 1.6", "--at", "2026-11-24T15:20:00+01:00", "--route", flag, "-o", "plans/p.yaml")
		require.Equal(t, cli.ExitDone, code, msg)
		p, err := plan.Read(cli.Disk, "plans/p.yaml")
		require.NoError(t, err)
		require.Equal(t, []string{want}, p.Traveller.Trails)
	}
}

// TestNewPlansRun: what new writes, farhail plan answers as it stands, without a
// part left out where the example's files are beside it.
func TestNewPlansRun(t *testing.T) {
	for _, kind := range newKinds {
		t.Run(kind, func(t *testing.T) {
			if testing.Short() && kind != "search" {
				t.Skip("one kind is enough")
			}
			inNewFolder(t, nil)
			code, out, msg := farhail("new", kind, "-o", "p.yaml", "--json")
			require.Equal(t, cli.ExitDone, code, msg)
			var report newReport
			require.NoError(t, json.Unmarshal([]byte(out), &report))
			require.True(t, report.Example)
			require.Len(t, report.Files, 5)
			code, out, msg = farhail("plan", "p.yaml", "--json", "-o", "out")
			require.Equal(t, cli.ExitDone, code, msg)
			var result struct {
				LeftOut []string          `json:"left_out"`
				Sight   []json.RawMessage `json:"sight"`
				Place   []json.RawMessage `json:"place"`
				Rings   struct {
					Flat bool `json:"flat"`
				} `json:"rings"`
			}
			require.NoError(t, json.Unmarshal([]byte(out), &result))
			require.Empty(t, result.LeftOut)
			require.NotEmpty(t, result.Sight)
			require.NotEmpty(t, result.Place)
			require.False(t, result.Rings.Flat)
			brief, err := os.ReadFile("out/brief.txt")
			require.NoError(t, err)
			require.Contains(t, string(brief), "EXAMPLE, NOT A REAL SEARCH")

			// Nothing is overwritten: not the plan, not the files beside it.
			code, _, msg = farhail("new", kind, "-o", "p.yaml")
			require.Equal(t, cli.ExitUsage, code)
			require.Contains(t, msg, "is there already")
			require.NoError(t, os.Remove("p.yaml"))
			code, _, msg = farhail("new", kind, "-o", "p.yaml")
			require.Equal(t, cli.ExitUsage, code)
			require.Contains(t, msg, "p-files")
			require.NoFileExists(t, "p.yaml")
		})
	}
}

// keyLine is a line of a plan that gives a key, or one behind a #.
var keyLine = regexp.MustCompile(`^( *)(#?)( *#?)(- )?([a-z_]+):( |$)`)

// TestNewExplainsEveryKey: every key that the schema has stands in every kind of
// plan, and each of those behind a # can be used by taking the # away.
func TestNewExplainsEveryKey(t *testing.T) {
	var schema struct {
		Properties map[string]any
		Defs       map[string]any `json:"$defs"`
	}
	require.NoError(t, json.Unmarshal(plan.Schema(), &schema))
	want := map[string]bool{}
	var collect func(v any)
	collect = func(v any) {
		m, _ := v.(map[string]any)
		if many, ok := m["anyOf"].([]any); ok { // a list of blocks, or one alone
			m, _ = many[len(many)-1].(map[string]any)
		}
		if ref, ok := m["$ref"].(string); ok {
			m, _ = schema.Defs[strings.TrimPrefix(ref, "#/$defs/")].(map[string]any)
		}
		if keys, ok := m["properties"].(map[string]any); ok {
			for key, of := range keys {
				want[key] = true
				collect(of)
			}
		}
		if items, ok := m["items"]; ok {
			collect(items)
		}
	}
	collect(map[string]any{"properties": schema.Properties})
	require.Greater(t, len(want), 50)
	inNewFolder(t, map[string]string{"log.txt": "", "track.gpx": "", "route.gpx": "", "streams.geojson": "", "landcover.geojson": "", "lakes.geojson": "", "areas.geojson": "", "trails.geojson": ""})
	for _, kind := range newKinds {
		for _, flags := range [][]string{nil, {"--place", "42.55 1.6", "--at", "2026-11-24T15:20:00+01:00"}} {
			_, out, _ := farhail(append([]string{"new", kind}, flags...)...)
			lines := strings.Split(out, "\n")
			got := map[string]bool{}
			for i, line := range lines {
				m := keyLine.FindStringSubmatch(line)
				if m == nil {
					continue
				}
				got[m[5]] = true
				if m[2] == "" || m[3] != "" {
					continue
				}
				// A key behind a #, with the lines that belong to it.
				used := slices.Clone(lines)
				used[i] = strings.Replace(line, "#", "", 1)
				for j := i + 1; j < len(used); j++ {
					body, found := strings.CutPrefix(used[j], m[1]+"#")
					if !found || !strings.HasPrefix(body, " ") {
						break
					}
					used[j] = m[1] + body
				}
				_, err := plan.Read(memoryFS{"plan.yaml": []byte(strings.Join(used, "\n"))}, "plan.yaml")
				for _, p := range problemsOf(t, err) {
					if !slices.ContainsFunc([]string{"has both", "without its", "without the beam", "no start is named", "3 sites asked for", "no meaning where", "a track has its own", "both say how bright", "belongs to the question", "no candidate is named"}, func(s string) bool { return strings.Contains(p.Message, s) }) {
						t.Errorf("%s: with the # taken from %q: %v", kind, line, p)
					}
					assert.NotContains(t, p.Message, "unknown key", line)
				}
			}
			for key := range want {
				assert.True(t, got[key], "%s %v does not tell the key %s", kind, flags, key)
			}
			for _, key := range slices.Sorted(maps.Keys(got)) {
				assert.True(t, want[key] || key == "clothes", "%s tells a key %s that no plan has", kind, key)
			}
		}
	}
}

func problemsOf(t *testing.T, err error) plan.Problems {
	if err == nil {
		return nil
	}
	var ps plan.Problems
	require.True(t, errors.As(err, &ps), "%v", err)
	return ps
}

// TestNewHours: the hours of a plan are one by day and one in the dark, but
// where there is none.
func TestNewHours(t *testing.T) {
	for _, tc := range []struct {
		place string
		at    string
		want  []string
	}{
		{"42.55 1.6", "2026-11-24T15:20:00+01:00", []string{"2026-11-24T15:30:00+01:00", "2026-11-24T19:00:00+01:00"}}, // nautical dusk comes just after 18:30
		{"42.55 1.6", "2026-11-24T22:00:00+01:00", []string{"2026-11-24T22:00:00+01:00", "2026-11-25T09:00:00+01:00"}},
		{"78.2 15.6", "2026-12-21T10:00:00+01:00", []string{"2026-12-21T10:00:00+01:00"}}, // the sun is below -12 but around noon
		{"78.2 15.6", "2026-06-21T10:00:00+02:00", []string{"2026-06-21T10:00:00+02:00"}},
	} {
		code, out, msg := farhail("new", "search", "--place", tc.place, "--at", tc.at)
		require.Equal(t, cli.ExitDone, code, msg)
		p, err := plan.Read(memoryFS{"plan.yaml": []byte(out)}, "plan.yaml")
		require.NoError(t, err)
		var got []string
		for _, h := range p.Hours {
			got = append(got, h.Time.Format(time.RFC3339))
		}
		require.Equal(t, tc.want, got, tc.place)
	}
}
