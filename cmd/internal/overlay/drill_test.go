package overlay

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"

	"github.com/stretchr/testify/require"
)

// TestLessonsHaveWords: each lesson that figures choose is a sentence with its
// figures, and not its bare name.
func TestLessonsHaveWords(t *testing.T) {
	at := time.Date(2026, 6, 20, 9, 10, 0, 0, time.UTC)
	s := &job.DrillScore{
		FoundS: cli.Num(math.NaN()), ClosestM: 3, ChanceOfSighting: 0.99, Coverage: 0.62, POD: 0.23, RankScore: -0.9, LessonsOf: "second",
		Hidden: []job.DrillFinding{{DrillHidden: job.DrillHidden{Name: "first"}}, {
			DrillHidden: job.DrillHidden{Name: "second"}, ClosestM: 77, ChanceOfSighting: 0.31, RankScore: 0.44,
			Passes:  []job.DrillPass{{InSightM: 12, Chance: 0.57}, {InSightM: 0, Chance: 0.9}},
			Watches: []job.DrillWatch{{InSight: true, Chance: 0.64}, {InSight: false, Chance: 0.9}},
		}},
		Reports: []job.DrillReported{{At: &at, OffM: 1200}, {OffM: 10}},
		Logs:    []job.DrillLog{{ScoredLog: &job.ScoredLog{EndErrorShare: 0.18}}},
	}
	for id, want := range map[string]string{
		"passed-by": "57 %", "overlooked": "64 %", "never-near": "77.0 m", "strays": "1 of 2", "map-off": "0.44", "thin": "0.62", "overlapped": "23 %", "log-off": "18 %", "untimed": "1 of 2",
		"lucky": "31 %", "map-good": "0.44", "covered": "0.62", "log-good": "18 %", "map-middling": "0.44", "no-tracks": "No tracks", "no-areas": "No areas", "no-logs": "No log",
	} {
		text := lesson(id, s)
		require.Contains(t, text, want, id)
		require.NotEqual(t, strings.ReplaceAll(id, "-", " "), text)
		require.True(t, strings.HasSuffix(text, "."), id)
	}
}

// TestDrillSheetsFillNothingIn: what the plan does not say is a blank, never a guess.
func TestDrillSheetsFillNothingIn(t *testing.T) {
	r := &job.Result{Program: "farhail test"}
	told := job.DrillTold{Begins: time.Date(2026, 6, 20, 9, 0, 0, 0, time.UTC), Ends: time.Date(2026, 6, 20, 12, 0, 0, 0, time.UTC), Tell: []string{"police"}, Safety: []string{"turn back at the snow"}, Count: 2}
	var b bytes.Buffer
	require.NoError(t, DrillSafety(&b, r, told))
	text := b.String()
	for _, want := range []string{"The word: ______.", "Your emergency number: ______", "Safety officer: ______.", "[ ] police: told by ______ at ______", "[ ] turn back at the snow", "BEFORE ANYONE ACTS", "No field trial"} {
		require.Contains(t, text, want)
	}
	told.EmergencyWord, told.SafetyOfficer = "granite", "KB"
	b.Reset()
	require.NoError(t, DrillSafety(&b, r, told))
	require.Contains(t, b.String(), "The word: granite.")
	require.Contains(t, b.String(), "Safety officer: KB.")
	b.Reset()
	require.NoError(t, DrillReview(&b, r, told))
	require.Contains(t, b.String(), "not about who")
	for _, line := range strings.Split(text+b.String(), "\n") {
		require.LessOrEqual(t, len(line), columns)
	}
}
