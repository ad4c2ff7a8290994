package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/spf13/cobra"
	"github.com/stretchr/testify/require"

	"farhail/geo/coord"
)

// trial is a run of an app with one verb, "look", that prints what it was
// given.
type trial struct {
	code   int
	stdout string
	stderr string

	args     []string
	tilt     float64
	far      float64
	after    []float64
	w, h     float64
	kind     string
	count    int
	day, at  time.Time
	files    []string
	toward   *coord.Position
	out      string
	zone     *time.Location
	seed     uint64
	hasSeed  bool
	jsonFlag bool
}

func try(run func(a *App) error, args ...string) *trial {
	tr := &trial{}
	var stdout, stderr bytes.Buffer
	a := NewApp(strings.NewReader(""), &stdout, &stderr, "farhail test")
	look := a.Command(Verb{
		Use: "look POSITION [TARGET]", Short: "look at things", Long: "look looks.",
		Examples: []Example{{"farhail look 42,1", "one"}, {"farhail look 42,1 43,1", "two"}},
		Input:    "a file is wrong", MinArgs: 1, MaxArgs: 2,
		Run: func(ctx context.Context, got []string) error {
			tr.args, tr.zone, tr.seed, tr.hasSeed, tr.jsonFlag = got, a.Zone, a.Seed, a.SeedGiven, a.JSON
			return run(a)
		},
	})
	Quantity(look, &tr.tilt, "beam-tilt", Direction.Between(-90, 90), "", "tilt")
	Quantity(look, &tr.far, "radius", Length.Positive(), "10km", "radius")
	QuantityList(look, &tr.after, "after", Duration, "1h,2h", "times")
	Size(look, &tr.w, &tr.h, "flag", Length.Positive(), "", "size")
	Choice(look, &tr.kind, "cloud", []string{"clear", "broken", "overcast"}, "clear", "cloud")
	look.Flags().IntVar(&tr.count, "count", 1, "how many")
	Day(look, &tr.day, "date", "day")
	Instant(look, &tr.at, "at", "time")
	Files(look, &tr.files, "terrain", "files")
	Position(look, &tr.toward, "toward", "position")
	look.Flags().StringVarP(&tr.out, "output", "o", "", "file")
	deep := &cobra.Command{Use: "deep"}
	deep.AddCommand(a.Command(Verb{Use: "down", MaxArgs: -1, Run: func(ctx context.Context, got []string) error { tr.args = got; return nil }}))
	a.Add(look, deep)
	tr.code = a.Execute(context.Background(), args)
	tr.stdout, tr.stderr = stdout.String(), stderr.String()
	return tr
}

func nothing(*App) error { return nil }

func TestArgumentsThatBeginWithMinusAndDigit(t *testing.T) {
	for _, c := range []struct {
		line string
		args []string
	}{
		{"look -33.5,151.2", []string{"-33.5,151.2"}},
		{"look 42,1 -33.5,151.2", []string{"42,1", "-33.5,151.2"}},
		{"look -33.5,151.2 42,1", []string{"-33.5,151.2", "42,1"}},
		{"look -33.5,151.2 --json 42,1", []string{"-33.5,151.2", "42,1"}},
		{"--json look -33.5,151.2 --quiet", []string{"-33.5,151.2"}},
		{"--zone Europe/Andorra look -33.5,151.2", []string{"-33.5,151.2"}},
		{"look --beam-tilt -5deg -33.5,151.2", []string{"-33.5,151.2"}},
		{"look -33.5,151.2 --beam-tilt=-5deg", []string{"-33.5,151.2"}},
		{"look -o -5 -33.5,151.2", []string{"-33.5,151.2"}},
		{"look -qo x -33.5,151.2", []string{"-33.5,151.2"}},
		{"look -ox -33.5,151.2", []string{"-33.5,151.2"}},
		{"look -33.5,151.2 -- -33.6,151.2", []string{"-33.5,151.2", "-33.6,151.2"}},
		{"look -- -33.5,151.2", []string{"-33.5,151.2"}},
		{"deep down -1,2 look -3,4", []string{"-1,2", "look", "-3,4"}},
	} {
		tr := try(nothing, strings.Fields(c.line)...)
		require.Equal(t, 0, tr.code, "%s: %s", c.line, tr.stderr)
		require.Equal(t, c.args, tr.args, c.line)
	}
	require.EqualValues(t, -5, try(nothing, "look", "-33,1", "--beam-tilt", "-5deg").tilt)
	require.Equal(t, "-5", try(nothing, "look", "-o", "-5", "-33,1").out)
}

func TestFlagsOfEveryKind(t *testing.T) {
	tr := try(nothing, "look", "42,1")
	require.True(t, math.IsNaN(tr.tilt) && math.IsNaN(tr.w) && math.IsNaN(tr.h), "not given is NaN")
	require.EqualValues(t, 10000, tr.far)
	require.Equal(t, []float64{3600, 7200}, tr.after)
	require.Equal(t, "clear", tr.kind)
	require.True(t, tr.day.IsZero() && tr.at.IsZero())
	require.Nil(t, tr.zone)
	require.Nil(t, tr.toward)
	require.False(t, tr.hasSeed || tr.jsonFlag)

	tr = try(nothing, strings.Fields("look 42,1 --radius 3NM --after 30min --after 1h,3h --flag 0.5x1m --cloud broken --date 2026-11-24 --at 2026-11-24T18:30Z --terrain a,b --terrain c --toward -33.5,151.25 --zone Europe/Andorra --seed 9 --json")...)
	require.Equal(t, 0, tr.code, tr.stdout)
	require.EqualValues(t, 5556, tr.far)
	require.Equal(t, []float64{1800, 3600, 10800}, tr.after)
	require.Equal(t, []float64{0.5, 1}, []float64{tr.w, tr.h})
	require.Equal(t, "broken", tr.kind)
	require.Equal(t, time.Date(2026, 11, 24, 12, 0, 0, 0, time.UTC), tr.day)
	require.Equal(t, time.Date(2026, 11, 24, 18, 30, 0, 0, time.UTC), tr.at)
	require.Equal(t, []string{"a", "b", "c"}, tr.files)
	require.Equal(t, "Europe/Andorra", tr.zone.String())
	require.Equal(t, orb.Point{151.25, -33.5}, tr.toward.Point)
	require.EqualValues(t, 9, tr.seed)
	require.True(t, tr.hasSeed && tr.jsonFlag)
}

func TestWrongCommandLines(t *testing.T) {
	for _, c := range []struct{ line, message, hint string }{
		{"", "no command given", "farhail demo"},
		{"lok", `no command "lok"`, "did you mean look"},
		{"zzz", `no command "zzz"`, "farhail --help lists the commands"},
		{"-33,1", `no command "-33,1"`, ""},
		{"look", "look needs more arguments", "usage: farhail look POSITION [TARGET]"},
		{"look 1 2 3", `look does not take the argument "3"`, "usage: farhail look"},
		{"look 1 --raduis 3m", "no flag --raduis", "did you mean --radius"},
		{"look 1 --zzzzz", "no flag --zzzzz", "farhail look --help lists the flags"},
		{"look 1 -z", "no flag -z", "farhail look --help"},
		{"look 1 --radius", "--radius needs a value", "farhail look --help"},
		{"look 1 --radius 3", `--radius: "3": a length needs its unit`, "write one of m, km"},
		{"look 1 --radius -3m", `--radius: "-3m": a length above 0m is needed`, "5km"},
		{"look 1 --after 1h,x", `--after: "x": not a time`, "30min"},
		{"look 1 --flag 1m", `--flag: "1m": not a width and a height`, "0.5x0.5m"},
		{"look 1 --cloud brokn", `--cloud: "brokn": not one of the choices`, "did you mean broken"},
		{"look 1 --cloud rain", `--cloud: "rain": not one of the choices`, "write one of clear, broken, overcast"},
		{"look 1 --date 24.11.2026", "not a day of the calendar", "2026-11-24"},
		{"look 1 --at noon", "not a date and time", "2026-11-24 18:30 Europe/Andorra"},
		{"look 1 --terrain a,,b", "an empty path", ""},
		{"look 1 --toward 91,0", "--toward: position \"91,0\"", ""},
		{"look 1 --zone CET", "abbreviation", "Europe/Andorra"},
		{"look 1 --seed -1", `--seed: "-1": not a seed`, "whole number"},
		{"look 1 --quiet=maybe", `--quiet: "maybe": neither true nor false`, "farhail look --help"},
		{"look 1 --count abc", `--count: "abc": not a whole number`, "farhail look --help"},
		{"look 1 --count 99999999999999999999", `too large a number`, "farhail look --help"},
	} {
		tr := try(nothing, strings.Fields(c.line)...)
		require.Equal(t, ExitUsage, tr.code, c.line)
		require.Empty(t, tr.stdout, c.line)
		first, second, _ := strings.Cut(tr.stderr, "\n")
		require.Contains(t, first, "farhail: error: ", c.line)
		require.Contains(t, first, c.message, c.line)
		if c.hint != "" {
			require.Contains(t, second, "farhail: hint: ", c.line)
			require.Contains(t, second, c.hint, c.line)
		}

		// Under --json, wherever it stands, the same is one object on stdout.
		tr = try(nothing, append(strings.Fields(c.line), "--json")...)
		if c.line == "look 1 --radius" {
			continue // --json is taken for the value
		}
		require.Equal(t, ExitUsage, tr.code, c.line)
		require.Empty(t, tr.stderr, c.line)
		var report struct{ Error Fault }
		require.NoError(t, json.Unmarshal([]byte(tr.stdout), &report), tr.stdout)
		require.Equal(t, kindUsage, report.Error.Kind, c.line)
		require.Contains(t, report.Error.Text, c.message, c.line)
		require.Nil(t, report.Error.File)
	}
}

func TestErrorObject(t *testing.T) {
	fail := func(*App) error { return fmt.Errorf("log: %w", placed{"legs.txt"}) }
	tr := try(fail, "look", "1", "--json")
	require.Equal(t, ExitInput, tr.code)
	require.JSONEq(t, `{"error":{"kind":"input","file":"legs.txt","line":3,"column":7,"text":"log: wrong leg","hint":"write a bearing","offending":"03x"},"notes":[]}`, tr.stdout)
	tr = try(fail, "look", "1")
	require.Equal(t, "farhail: error: log: wrong leg\nfarhail: hint: write a bearing\n", tr.stderr)

	many := func(*App) error { return errors.Join(placed{"a"}, placed{"b"}, errors.New("c")) }
	tr = try(many, "look", "1", "--json")
	var report struct {
		Error  Fault
		Errors []Fault
	}
	require.NoError(t, json.Unmarshal([]byte(tr.stdout), &report))
	require.Len(t, report.Errors, 3)
	require.Equal(t, report.Errors[0], report.Error)
	tr = try(many, "look", "1")
	require.Equal(t, "farhail: error: wrong leg\nfarhail: hint: write a bearing\nfarhail: error: wrong leg\nfarhail: error: c\n", tr.stderr)

	// An error of the verb's own work is no fault of the command line.
	require.Equal(t, ExitFailed, try(func(*App) error { return errors.New("x") }, "look", "1").code)
}

func TestPrintAndNotes(t *testing.T) {
	run := func(a *App) error {
		a.Warn("the air is thick", "give --visibility")
		a.Hint("look again")
		a.Warn("the air is thick", "give --visibility")
		return a.Print(struct {
			Far  Len    `json:"far_m"`
			Text string `json:"text"`
		}{2090.123456, "a < b"}, func(w Text) { fmt.Fprintln(w, "2090 m") })
	}
	tr := try(run, "look", "1")
	require.Equal(t, "2090 m\n", tr.stdout)
	require.Equal(t, "farhail: warning: the air is thick\nfarhail: hint: give --visibility\nfarhail: hint: look again\n", tr.stderr)
	tr = try(run, "look", "1", "--quiet")
	require.Equal(t, "2090 m\n", tr.stdout)
	require.Empty(t, tr.stderr)
	tr = try(run, "look", "1", "--json", "-q")
	require.Equal(t, `{
  "far_m": 2090.12346,
  "text": "a < b",
  "notes": [
    {
      "severity": "warning",
      "text": "the air is thick",
      "hint": "give --visibility"
    },
    {
      "severity": "hint",
      "text": "look again",
      "hint": null
    }
  ]
}
`, tr.stdout)

	own := func(a *App) error {
		a.Hint("b")
		return a.Print(struct {
			A     []int          `json:"a"`
			Notes []int          `json:"notes"`
			B     map[string]int `json:"b"`
		}{[]int{1, 2}, []int{3}, map[string]int{"notes": 4}}, func(Text) {})
	}
	require.JSONEq(t, `{"a":[1,2],"b":{"notes":4},"notes":[{"severity":"hint","text":"b","hint":null}]}`, try(own, "look", "1", "--json").stdout)
	require.Equal(t, 2, strings.Count(try(own, "look", "1", "--json").stdout, `"notes"`))

	empty := func(a *App) error { return a.Print(struct{}{}, func(Text) {}) }
	require.JSONEq(t, `{"notes":[]}`, try(empty, "look", "1", "--json").stdout)
	list := func(a *App) error { return a.Print([]int{1}, func(Text) {}) }
	require.Panics(t, func() { try(list, "look", "1", "--json") })
}

func TestVersionOfEveryVerb(t *testing.T) {
	for _, line := range []string{"--version", "look --version", "--version look"} {
		tr := try(nothing, strings.Fields(line)...)
		require.Equal(t, "farhail test\n", tr.stdout, line)
		require.Equal(t, 0, tr.code)
	}
}

func TestHelpHasExamplesAndExitCodes(t *testing.T) {
	tr := try(nothing, "look", "--help")
	require.Equal(t, 0, tr.code)
	for _, want := range []string{
		"look looks.", "farhail look POSITION [TARGET]", "# one\n  farhail look 42,1", "Exit codes:\n  0  done\n  1  could not be done\n  2  the command line is wrong\n  3  a file is wrong",
		"--radius length", "(default 10km)", "Flags of every verb:", "--json", "--zone zone",
	} {
		require.Contains(t, tr.stdout, want)
	}
	require.Empty(t, tr.stderr)
	require.Equal(t, tr.stdout, try(nothing, "help", "look").stdout)
	require.Contains(t, try(nothing, "help").stdout, "  look        look at things")
	require.Equal(t, ExitUsage, try(nothing, "help", "lok").code)
}

// closed is a stdout whose reader has gone away.
type closed struct{ n int }

func (c *closed) Write(b []byte) (int, error) {
	c.n++
	return 0, fmt.Errorf("write |1: %w", syscall.EPIPE)
}

type full struct{}

func (full) Write(b []byte) (int, error) { return 0, syscall.ENOSPC }

func TestStdoutThatIsClosed(t *testing.T) {
	out := &closed{}
	var stderr bytes.Buffer
	a := NewApp(nil, out, &stderr, "v")
	for range 3 {
		require.NoError(t, a.Print(nil, func(w Text) { fmt.Fprintln(w, "x") }))
	}
	require.Equal(t, 1, out.n, "after the first failure nothing is written")
	require.Empty(t, stderr.String())

	a = NewApp(nil, full{}, &stderr, "v")
	require.Equal(t, ExitFailed, a.Execute(context.Background(), []string{"--version"}))
	require.Contains(t, stderr.String(), "farhail: error: writing standard output")
}
