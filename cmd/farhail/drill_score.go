package main

import (
	"context"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/cmd/internal/plan"
)

func newDrillScore(app *cli.App) *cobra.Command {
	var (
		papers   job.DrillPapers
		planName string
	)
	cmd := app.Command(cli.Verb{
		Use:   "score DIR [flags]",
		Short: "how a drill went: who came near, who should have noticed",
		Long: `score reads the answer in DIR/instructor and what came back: the tracks, one GPX
file a party, named as the plan names the party; reports as CSV (who, time,
position, what); the areas that the group drew, as GeoJSON with the property share;
leg logs, each named as the track of the same walk.

It tells when what was hidden was found (a report within 100 m), how near each
party came, who passed within sight and when, which of the plan's lookouts had it
in sight, with what chance they should have noticed, coverage and POD of the search
as it was done, the rank score of the drawn areas, the logs against the tracks, and
three lessons that the figures choose. Lookouts count as having watched as the plan
says. What was walked before the drill began does not count.`,
		Examples: []cli.Example{
			{Line: "farhail drill score saturday --tracks north.gpx,south.gpx --sightings reports.csv", Answers: "the figures and three lessons"},
			{Line: "farhail drill score saturday --tracks north.gpx --logs north.txt --areas ours.geojson --json", Answers: "the same with a log and drawn areas, as JSON"},
		},
		Failed:  "the plan is not what it was when the drill was set",
		Input:   "the answer, the plan or one of the papers is wrong",
		MinArgs: 1, MaxArgs: 1,
		Run: func(ctx context.Context, args []string) error {
			return runDrillScore(ctx, app, args[0], planName, papers)
		},
	})
	cli.Files(cmd, &papers.Tracks, "tracks", "GPX of a party")
	cmd.Flags().StringVar(&papers.Sightings, "sightings", "", "CSV `file` of reports")
	cmd.Flags().StringVar(&papers.Areas, "areas", "", "GeoJSON `file` of the group's areas")
	cli.Files(cmd, &papers.Logs, "logs", "leg log")
	cmd.Flags().StringVar(&planName, "plan", "", "the drill's plan `file`, where it has moved")
	return cmd
}

func runDrillScore(ctx context.Context, app *cli.App, dir, planName string, papers job.DrillPapers) error {
	name := filepath.Join(dir, drillInstructor, drillAnswerFile)
	f, err := cli.Disk.Open(filepath.ToSlash(name))
	if err != nil {
		return cli.WithHint(cli.InputError(name, err), "give the folder that farhail drill set wrote")
	}
	defer f.Close()
	answer, err := job.ReadAnswer(f, name)
	if err != nil {
		return err
	}
	if planName == "" {
		planName = filepath.FromSlash(answer.Plan)
		if !filepath.IsAbs(planName) {
			planName = filepath.Join(dir, drillInstructor, planName)
		}
	}
	p, err := plan.Read(cli.Disk, filepath.ToSlash(planName))
	if err != nil {
		return err
	}
	if p.Hash != answer.Hash {
		app.Warn(fmt.Sprintf("the plan %s is not the one that the drill was set by (%s, now %s)", planName, answer.Hash, p.Hash), "give the old one with --plan: chances and POD are by the plan")
	}
	r, score, err := job.ScoreDrill(ctx, cli.Disk, p, job.Options{Program: app.VersionLine(), Zone: app.Zone, Words: app.Words}, answer, papers)
	if err != nil {
		return err
	}
	tellNotes(app, r)
	tellLeftOut(app, r)
	return app.Print(score, func(w cli.Text) {
		// Print's buffer takes everything.
		_ = overlay.Debrief(w, r, score)
	})
}
