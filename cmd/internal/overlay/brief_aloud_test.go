package overlay

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"farhail/cmd/internal/job"

	"github.com/stretchr/testify/require"
)

// aloudOf returns what of a brief is read out, without its heading, and the heading.
func aloudOf(t *testing.T, r *job.Result) (heading, text string) {
	var b bytes.Buffer
	require.NoError(t, Brief(&b, r))
	_, after, found := strings.Cut(b.String(), "\nREAD ALOUD: ")
	require.True(t, found)
	heading, after, _ = strings.Cut(after, "\n")
	text, _, found = strings.Cut(after, endOfAloud)
	require.True(t, found)
	return heading, text
}

// crowd is a search with many parties of long names, each with a task.
func crowd(parties int) *job.Result {
	at := time.Date(2026, 11, 24, 20, 0, 0, 0, time.FixedZone("", -3600))
	r := &job.Result{
		Starts: []job.Start{{Name: "sheepfold gate", Kind: "last-seen", Time: &at, Source: strings.Repeat("a shepherd who spoke with her ", 6)}},
		Sky:    []job.SkyResult{{At: &at, Day: job.SkyDay{CivilDusk: &at, DarkS: 48000}}},
		Sweep:  &job.Sweep{},
	}
	r.Plan.AsOf, r.Plan.Zone, r.Plan.Example = &at, "Atlantic/Azores", true
	for i := range parties {
		name := fmt.Sprintf("%d of the volunteers from the far side of the mountains", i+1)
		r.Looking.Parties = append(r.Looking.Parties, job.Party{Name: name, People: 5, LengthM: 11500, From: &at, Until: &at})
		r.Sweep.Next = append(r.Sweep.Next, job.SweepTask{Party: name, Segment: "the slope below the northern bowl and its moraine", People: 5, SpacingM: 20, Begin: &at, End: &at})
	}
	return r
}

// TestAloudIsTwoMinutes: at 150 words a minute whatever the plan holds.
func TestAloudIsTwoMinutes(t *testing.T) {
	for _, parties := range []int{0, 1, 5, 20} {
		heading, text := aloudOf(t, crowd(parties))
		words := len(strings.Fields(text))
		require.LessOrEqual(t, float64(words)/150, 2.0, "%d parties:\n%s", parties, text)
		require.True(t, strings.HasPrefix(heading, fmt.Sprintf("%d WORDS", words)), "%s, counted %d", heading, words)
	}
	_, text := aloudOf(t, crowd(20))
	require.Contains(t, strings.Join(strings.Fields(text), " "), "And 15 more, by their pages of the sheet.")
}

func TestAloudOrderAndTimes(t *testing.T) {
	_, text := aloudOf(t, crowd(2))
	last := -1
	for _, part := range []string{"SITUATION.", "TASK.", "TIMES.", "POSITIONS.", "HAZARDS.", "CAUTIONS."} {
		at := strings.Index(text, part)
		require.Greater(t, at, last, part)
		last = at
	}
	plain := strings.Join(strings.Fields(text), " ")
	require.Contains(t, plain, "24 NOV 2026 20:00 -01:00", "the month in letters, 24 hours, with the offset")
	require.Contains(t, plain, "Atlantic/Azores -01:00")
	require.NotRegexp(t, `[0-9]+/[0-9]+/[0-9]+|[0-9] ?[ap]m\b`, plain)
}

// TestAloudSaysWhatMustBeSaid where nothing is known at all.
func TestAloudSaysWhatMustBeSaid(t *testing.T) {
	_, text := aloudOf(t, &job.Result{})
	plain := strings.Join(strings.Fields(text), " ")
	for _, want := range []string{"No position is known", "names nobody who looks", "No terrain was used", "Emergency: call first", "Police direct the search", "lines, not safe paths"} {
		require.Contains(t, plain, want)
	}
}
