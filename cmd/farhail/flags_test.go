package main

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/cli"
)

// smallPlan asks for a little of everything on a slope of 41 by 41 cells.
const smallPlan = `version: 1
as_of: 2026-11-24T19:00:00Z
zone: UTC
seed: 1
emergency: "112"
terrain: slope.asc
hours: 2026-11-24T21:00:00Z
starts: [{name: gate, kind: last-known, position: "42.5200 1.6200", error: 50 m, time: 2026-11-24T15:00:00Z}]
traveller:
  after: 10 min
  signals: [{name: lamp, light: 90 cd, rated_time: 9 h, lit_from: 2026-11-24T17:00:00Z}]
looking:
  lookouts: [{name: knoll, position: "42.5210 1.6210", from: 2026-11-24T20:00:00Z, until: 2026-11-24T23:00:00Z}]
placement: {count: 1, spacing: 200 m, within: 300 m}
likelihood:
  outside: 20 %
  by: KB
  within: 400 m
  views: [{name: their start, weight: 1, by: KB, start: gate}]
effort:
  from: 2026-11-25T09:00:00Z
  looked_for: person
  parties: [{name: first, people: 4, hours: 2 h, position: "42.52, 1.62"}]
drill:
  objective: find it
  briefing: Somebody is overdue.
  begins: 2026-11-25T09:00:00Z
  ends: 2026-11-25T14:00:00Z
  water_known: KB
  ground_seen: KB
`

// smallFiles are smallPlan and what it and the verbs name.
func smallFiles() map[string]string {
	var slope strings.Builder
	slope.WriteString("ncols 41\nnrows 41\nxllcorner 1.6140\nyllcorner 42.5140\ncellsize 0.0003\nNODATA_value -9999\n")
	for row := range 41 {
		for col := range 41 {
			fmt.Fprintf(&slope, "%d ", 1500+row+2*col)
		}
		slope.WriteByte('\n')
	}
	return map[string]string{"p.yaml": smallPlan, "slope.asc": slope.String(), "log.txt": "start: 42.52 1.62\nnorth: true\ndate: 2026-11-24 UTC\n130 300 m @15:20\n", "way.gpx": timedGPX}
}

// TestFlagsOfEveryVerb: --quiet leaves nothing on stderr of a good run, nothing is drawn of
// a meter where stderr is no terminal, and --zone is that of every time printed.
func TestFlagsOfEveryVerb(t *testing.T) {
	inNewFolder(t, smallFiles())
	const place, at = "42.5200 1.6200", "2026-11-24T15:00:00Z"
	const none, json, both = 0, 1, 2
	table := map[string]struct {
		args  []string
		times int // where it prints some
	}{
		"plan":       {[]string{"p.yaml"}, both},
		"new":        {[]string{"trip", "--place", place, "--at", at}, both},
		"check":      {[]string{"way.gpx", "--points"}, both},
		"sight":      {[]string{"--light", "90cd", "--place", place, "--at", at}, json},
		"see":        {[]string{"--terrain", "slope.asc", "--from", place, "--radius", "300m"}, none},
		"reckon":     {[]string{"log.txt"}, none},
		"rings":      {[]string{"--terrain", "slope.asc", "--from", place, "--at", at, "--after", "5min"}, both},
		"chance":     {[]string{"p.yaml"}, both},
		"place":      {[]string{"p.yaml"}, both},
		"sweep":      {[]string{"p.yaml"}, both},
		"drill":      {[]string{"set", "p.yaml", "-o"}, none}, // its papers have the times
		"fix":        {[]string{place}, none},
		"sky":        {[]string{place, "--at", at}, both},
		"card":       {[]string{"p.yaml"}, both},
		"completion": {[]string{"bash"}, none},
		"man":        {[]string{"-o"}, none},
		"demo":       {nil, none}, // plan on files of its own: demo.txtar
		"desk":       {nil, none}, // serves until it is stopped: its own tests
	}
	var out, msg strings.Builder
	for _, verb := range newRoot(nil, &out, &msg).Root().Commands() {
		tc, told := table[verb.Name()]
		require.True(t, told, "no row for %s", verb.Name())
		if tc.args == nil {
			continue
		}
		t.Run(verb.Name(), func(t *testing.T) {
			printed := map[string]string{}
			for _, zone := range []string{"UTC", "Asia/Kathmandu"} { // +05:45 is nobody's by chance
				args := append([]string{verb.Name()}, tc.args...)
				if args[len(args)-1] == "-o" {
					args = append(args, verb.Name()+zone[:3])
				}
				code, out, msg := farhail(append(args, "--quiet", "--zone", zone)...)
				require.Equal(t, cli.ExitDone, code, msg)
				assert.Empty(t, msg, "quiet")
				printed[zone] = out
			}
			assert.NotEmpty(t, printed["UTC"])
			if tc.times == none {
				return
			}
			if tc.times == both {
				assert.NotEqual(t, printed["UTC"], printed["Asia/Kathmandu"])
			}
			args := append([]string{verb.Name()}, tc.args...)
			code, out, msg := farhail(append(args, "--zone", "Asia/Kathmandu", "--json")...)
			require.Equal(t, cli.ExitDone, code, msg)
			assert.Contains(t, out, "+05:45")
			assert.NotContains(t, msg, "\r", "a meter where there is no terminal")
		})
	}
	entries, err := os.ReadDir("drillUTC")
	require.NoError(t, err)
	require.NotEmpty(t, entries)
}
