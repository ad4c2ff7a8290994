package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
)

// errNoPlacement tells that a plan has nothing to place or nobody to see it.
var errNoPlacement = errors.New("no signal could be placed")

type placeReport struct {
	job.Place
	Places []job.Place `json:"places"`
}

func newPlace(app *cli.App) *cobra.Command {
	var (
		count int
		exact bool
	)
	cmd := app.Command(cli.Verb{
		Use:   "place PLAN [flags]",
		Short: "where signals should stand",
		Long: `place chooses sites for one signal at each hour of the plan, so that the people
who look notice it for as much of their time as can be had: near enough, within
the beam, over the ground, while the lamp burns. Gains are in person-seconds. The
bound is what no choice of as many sites can exceed.

The ground is bare: trees are not counted. A site is a proposal, and the way to
it is a line, not a safe path.`,
		Examples: []cli.Example{
			{Line: "farhail place search.yaml", Answers: "the sites that the plan asks for"},
			{Line: "farhail place search.yaml --count 1 --json", Answers: "the one best site, as JSON"},
		},
		Failed:  "no signal could be placed, or there are too many combinations for --exact",
		Input:   "the plan, or a file that it names, is wrong",
		MinArgs: 1, MaxArgs: 1,
		Run: func(ctx context.Context, args []string) error {
			p, err := readPlan(app, cli.Disk, args[0])
			if err != nil {
				return err
			}
			if count < 0 {
				return &cli.UsageError{Message: "--count must be at least 1", Text: fmt.Sprint(count), Advice: "leave it out to take the plan's"}
			}
			if count > 0 {
				for i := range p.Placements {
					p.Placements[i].Count = count
				}
			}
			r, err := job.Run(ctx, cli.Disk, p, job.Options{Program: app.VersionLine(), Zone: app.Zone, Parts: job.Placing, Exact: exact})
			if err != nil {
				return err
			}
			tellNotes(app, r)
			for _, text := range r.LeftOut {
				app.Warn("left out: "+text, "")
			}
			if len(r.Place) == 0 {
				return errNoPlacement
			}
			// The first hour's placement stands at the top, all of them in places.
			return app.Print(placeReport{r.Place[0], r.Place}, func(w io.Writer) { overlay.Places(w, r) })
		},
	})
	cmd.Flags().IntVar(&count, "count", 0, "`number` of sites; 0 = the plan's")
	cmd.Flags().BoolVar(&exact, "exact", false, "go through all combinations, for small problems")
	return cmd
}
