package main

import (
	"context"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
)

// Folders and files of a drill.
const (
	drillInstructor   = "instructor"
	drillParticipants = "participants"
	drillAnswerFile   = "answer.json"
)

func newDrill(app *cli.App) *cobra.Command {
	cmd := app.Command(cli.Verb{
		Use:   "drill set|score",
		Short: "a drill: somebody hides, parties look; and how it went",
		Long: `drill set hides people and signals where a plan's likelihood has them and the
ground allows it, and writes a folder for the instructor and one for the
participants, who learn nothing of the answer. drill score tells afterwards who
came near, who should have noticed, and what the search was worth.`,
		Examples: []cli.Example{
			{Line: "farhail drill set drill.yaml -o saturday", Answers: "saturday/instructor and saturday/participants"},
			{Line: "farhail drill score saturday --tracks north.gpx,south.gpx", Answers: "the figures and three lessons"},
		},
		MaxArgs: -1,
		Run: func(_ context.Context, args []string) error {
			e := &cli.UsageError{Message: "drill takes set or score", Advice: "farhail drill set PLAN -o DIR, farhail drill score DIR"}
			if len(args) > 0 {
				e.Text = args[0]
				if near := cli.Nearest(args[0], []string{"set", "score"}); near != "" {
					e.Advice = "did you mean farhail drill " + near
				}
			}
			return e
		},
	})
	cmd.AddCommand(newDrillSet(app), newDrillScore(app))
	return cmd
}
