package overlay

import (
	"bytes"
	"encoding/csv"
	"math"
	"testing"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func rowsOf(t *testing.T, b *bytes.Buffer) [][]string {
	t.Helper()
	rows, err := csv.NewReader(b).ReadAll() // all of one length, or an error
	require.NoError(t, err)
	return rows
}

func TestSegmentsCSV(t *testing.T) {
	nan := math.NaN()
	r := &job.Result{
		Plan: job.PlanInfo{Hash: "0a1b2c3d"},
		Chance: &job.Chance{SearchAreas: []job.SearchArea{
			{Name: "bowl, \"upper\"", AreaM2: 250_000, Share: 0.25, PerKM2: 1, PartyHours: cli.Num(nan), Lat: 42.5, Lon: 1.5},
			{Name: "ridge", AreaM2: 1e6, Share: 0.125, PerKM2: 0.125, PartyHours: 3, Lat: 42.25, Lon: 1.25},
		}},
		Sweep: &job.Sweep{Segments: []job.SweptSegment{
			{Name: "ridge", SweepWidthM: 40, EffortM: 5000, Coverage: 0.2, POD: 0.18, POAAfter: 0.1},
		}},
	}
	var b bytes.Buffer
	require.NoError(t, SegmentsCSV(&b, r))
	rows := rowsOf(t, &b)
	require.Len(t, rows, 3)
	assert.Equal(t, []string{"bowl, \"upper\"", "42.5", "1.5", "250000", "0.25", "1", "", "", "", "", "", "", "0a1b2c3d"}, rows[1])
	assert.Equal(t, []string{"ridge", "42.25", "1.25", "1000000", "0.125", "0.125", "3", "40", "5000", "0.2", "0.18", "0.1", "0a1b2c3d"}, rows[2])
	for _, h := range rows[0] {
		assert.Regexp(t, `^(segment|share_before|share_after|coverage|pod|plan)$|_(deg|m|m2|km2_before|h)$`, h, "a unit, or a share")
	}
}

func TestLegsCSV(t *testing.T) {
	nan := math.NaN()
	r := &job.Result{
		Plan: job.PlanInfo{Hash: "0a1b2c3d", Example: true},
		Reckon: &job.Reckon{Legs: []job.Leg{{
			TrueDeg: 90, DistanceM: 100, NorthM: 0, EastM: 100, AdjustedNorthM: cli.Len(nan), AdjustedEastM: cli.Len(nan), DeclinationDeg: -1.5, ConvergenceDeg: cli.Num(nan), Note: "to the\nford",
		}}},
	}
	var b bytes.Buffer
	require.NoError(t, LegsCSV(&b, r))
	rows := rowsOf(t, &b)
	assert.Equal(t, []string{"1", "90", "100", "0", "100", "", "", "-1.5", "", "", "", "to the\nford", exampleLine + " 0a1b2c3d"}, rows[1], "no position without a start")

	r.Reckon.Path = []orb.Point{{1.5, 42.5}, {1.501, 42.5}}
	b.Reset()
	require.NoError(t, LegsCSV(&b, r))
	assert.Equal(t, []string{"42.5", "1.501"}, rowsOf(t, &b)[1][9:11], "of its end")
}
