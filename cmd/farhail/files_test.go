package main

import (
	"context"
	"testing"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/sheet"

	"github.com/stretchr/testify/require"
)

// TestFilesOfAPlan: every file that a plan may have in its folder is listed in the result
// that stands with it, by a name that a later run may take out.
func TestFilesOfAPlan(t *testing.T) {
	r := &job.Result{
		Reckon: &job.Reckon{Legs: make([]job.Leg, 1)}, Rings: &job.Rings{Reach: &job.Reach{}}, Trip: &job.Trip{},
		Chance: &job.Chance{SearchAreas: make([]job.SearchArea, 1)},
		Sweep: &job.Sweep{
			Then: &job.SweepThen{Parties: []job.CrewTime{{Party: "Vall d'Incles, 2n grup"}, {Party: "Ωμέγα"}, {Party: "none"}}},
			Next: []job.SweepTask{{Party: "Vall d'Incles, 2n grup", Segment: "a"}, {Party: "Ωμέγα", Segment: "b"}},
		},
	}
	files := outputs(context.Background(), r, &handheldFile{}, sheet.Options{})
	require.Len(t, r.Files, len(files))
	for i, f := range files {
		require.Equal(t, f.Name, r.Files[i])
		require.True(t, cli.OwnName(f.Name), f.Name)
	}
	for _, want := range []string{"next-1-vall-d-incles--2n-grup.gpx", "next-2-party.gpx", "chance.tif", "reach.tif", "legs.csv", "segments.csv", "trip.txt"} {
		require.Contains(t, r.Files, want)
	}
	require.Equal(t, "result.json", r.Files[len(r.Files)-1])
	for _, other := range []string{"thesis.pdf", "next-1-ours.gpx.bak", "../plan.gpx", "next-1-.GPX", "plan.yaml"} {
		require.False(t, cli.OwnName(other), other)
	}
}
