package main

import (
	"context"
	"errors"
	"fmt"

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
		Short: "where signals, lookouts and lights that draw people should stand",
		Long: `place answers the questions of the plan's placement, over the plan's hours:

  passive   where the traveller's signal should stand so that those who look
            notice it for as much of their time as can be had, who does, and when;
            each look counts in its own light: the hour only chooses the signal,
            and is the light of those without a clock
  route     the same along a route, and the stretches from which nothing is seen
  lookouts  which posts watch most of the likelihood, and what they look for
  attract   where a light or a sound should stand that draws somebody who is lost:
            only who can come without crossing a cliff, water or unknown ground
            counts, and a site to which more than a tenth would have to is not
            proposed unless the plan says forced: true; with a timetable
  relay     posts that see each other, at each of the hours

A place counts by the chance that a minute's look finds the signal over the ground,
through the air and past what grows, averaged over joint draws of what nobody knows.
Questions over the likelihood count each hour alike.
Gains are in person-seconds, or shares of the probability. The bound is what no
choice of as many sites can exceed; small problems are solved exactly.

A site is a proposal, and the way to it is a line, not a safe path. On cells over
35 m cliffs cannot be checked: there a light that attracts needs the initials of
who has seen the ground.`,
		Examples: []cli.Example{
			{Line: "farhail place search.yaml", Answers: "the sites that the plan asks for"},
			{Line: "farhail place search.yaml --count 1 --json", Answers: "the one best site, as JSON"},
		},
		Failed:  "no signal could be placed, or there are too many combinations for --exact",
		Input:   "the plan, or a file that it names, is wrong",
		MinArgs: 1, MaxArgs: 1,
		Files: []string{"yaml", "yml"},
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
			r, err := job.Run(ctx, cli.Disk, p, job.Options{Program: app.VersionLine(), Zone: app.Zone, Words: app.Words, Parts: job.Placing, Exact: exact})
			if err != nil {
				return err
			}
			tellNotes(app, r)
			tellLeftOut(app, r)
			if len(r.Place) == 0 {
				return cli.WithHint(errNoPlacement, "the notes above say why; without any the plan has no placement:, which farhail new search explains")
			}
			// The first hour's placement stands at the top, all of them in places.
			return app.Print(placeReport{r.Place[0], r.Place}, func(w cli.Text) { overlay.Places(w, r) })
		},
	})
	cmd.Flags().IntVar(&count, "count", 0, "`number` of sites; 0 = the plan's")
	cmd.Flags().BoolVar(&exact, "exact", false, "go through all combinations, for small problems")
	return cmd
}
