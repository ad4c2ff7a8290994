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
	"farhail/geo/coord"
	"farhail/geo/prob"
)

// errNoLikelihood tells that a plan asks for no likelihood, or has no start.
var errNoLikelihood = errors.New("no likelihood could be computed")

func newChance(app *cli.App) *cobra.Command {
	var (
		out       string
		published string
		found     *coord.Position
	)
	cmd := app.Command(cli.Verb{
		Use:   "chance PLAN | --published list [flags]",
		Short: "where the traveller is likely to be",
		Long: `chance averages the views of a plan (likelihood: views:) by the weights that named
people give them, keeps the share outside of the map as it was said, and cuts the
map into areas that one party can search. Factors within a view are multiplied;
a warning tells where two rest on the same evidence, or where the product is much
surer than its parts.

-o writes the density as GeoTIFF (share per km2) or the regions and search areas
as GeoJSON. --found scores the whole and each view: 1 where the find lay in the
densest cell, 0 as by chance. --published list prints the tables of distances
that were read in published sources; none is used unless a view names it.

It sums up what was told to it, and estimates nothing about survival.`,
		Examples: []cli.Example{
			{Line: "farhail chance search.yaml", Answers: "regions, views and the densest search areas"},
			{Line: "farhail chance search.yaml -o chance.tif", Answers: "the density as a raster"},
		},
		Failed:  "the plan asks for no likelihood, or the output cannot be written",
		Input:   "the plan, or a file that it names, is wrong",
		MinArgs: 0, MaxArgs: 1,
		Files: []string{"yaml", "yml"},
		Run: func(ctx context.Context, args []string) error {
			switch {
			case published != "" && published != "list":
				return &cli.UsageError{Message: "--published takes the word list", Text: published, Advice: "a plan names a table by likelihood: views: published:"}
			case published != "":
				return tellPublished(app)
			case len(args) == 0:
				return &cli.UsageError{Message: "no plan given", Advice: "farhail chance PLAN"}
			}
			return runChance(ctx, app, args[0], out, found)
		},
	})
	cmd.Flags().StringVarP(&out, "output", "o", "", "`file` to write, chance.tif or chance.geojson")
	cmd.Flags().StringVar(&published, "published", "", "`list` prints the published tables of distances")
	cli.Position(cmd, &found, "found", "`position` of a find, to score the views by")
	return cmd
}

func runChance(ctx context.Context, app *cli.App, name, out string, found *coord.Position) error {
	p, err := readPlan(app, cli.Disk, name)
	if err != nil {
		return err
	}
	r, err := job.Run(ctx, cli.Disk, p, job.Options{Program: app.VersionLine(), Zone: app.Zone, Words: app.Words, Parts: job.Chances, Found: point(found)})
	if err != nil {
		return err
	}
	tellNotes(app, r)
	tellLeftOut(app, r)
	if r.Chance == nil {
		return cli.WithHint(errNoLikelihood, "add likelihood: to the plan; farhail new search explains its keys")
	}
	if out != "" {
		if err := cli.WriteFile(out, inputs(p), func(w io.Writer) error { return writeChance(w, out, r) }); err != nil {
			return err
		}
	}
	return app.Print(r.Chance, func(w cli.Text) { overlay.Likelihood(w, r) })
}

// writeChance writes the density, or regions and search areas, as the file's
// name says.
func writeChance(w io.Writer, name string, r *job.Result) error {
	if !isTIFF(name) {
		return writeGeoJSON(w, r, overlay.LikelihoodLayers(r))
	}
	return writeDensity(w, r, r.Chance.Surface, "probability per km2")
}

// publishedReport lists the tables that were read.
type publishedReport struct {
	Name      string        `json:"name"`
	Cases     *int          `json:"cases"`
	Source    string        `json:"source"`
	Distances []distanceRow `json:"distances"`
}

type distanceRow struct {
	Share cli.Num `json:"share"`
	DistM cli.Len `json:"distance_m"`
}

func tellPublished(app *cli.App) error {
	var list []publishedReport
	for _, p := range prob.PublishedTables() {
		t := publishedReport{Name: p.Name, Source: p.Source}
		if p.Cases > 0 {
			t.Cases = &p.Cases
		}
		for _, q := range p.Table {
			t.Distances = append(t.Distances, distanceRow{cli.Num(q.Share), cli.Len(q.DistM)})
		}
		list = append(list, t)
	}
	return app.Print(struct {
		Published []publishedReport `json:"published"`
	}{list}, func(w cli.Text) {
		for _, t := range list {
			n := "not stated"
			if t.Cases != nil {
				n = fmt.Sprint(*t.Cases)
			}
			fmt.Fprintf(w, "%s\n  %s; cases: %s\n ", t.Name, t.Source, n)
			for _, q := range t.Distances {
				fmt.Fprintf(w, " %.0f %% %s;", 100*float64(q.Share), w.Distance(float64(q.DistM)))
			}
			fmt.Fprintln(w, "\n  of people reported missing, in one country: your own figures are better")
		}
	})
}
