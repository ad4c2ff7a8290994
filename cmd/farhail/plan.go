package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/cmd/internal/page"
	"farhail/cmd/internal/plan"
	"farhail/cmd/internal/sheet"
	"farhail/geo/mapfile"
)

func newPlan(app *cli.App) *cobra.Command {
	var since string
	var o planOutput
	cmd := app.Command(cli.Verb{
		Use:   "plan FILE [flags]",
		Short: "the main job: all that a plan file asks for",
		Long: `plan reads a plan file and computes how far every signal is seen by day and by
night, where the traveller is by the log, where walking can have brought them,
and where a signal should stand for the people who look. It prints the ten-line
answer first. What cannot be done is left out and listed. With -o it writes into a
folder, and without it nothing:

` + outputsHelp() + `
A GPX file fits a handheld, named by the points that a track of it may have: longer
tracks are thinned, longer routes thinned or split, names cut and made unlike each
other, and how far a point left out lies from its line stands in the file. The profile
is that of --profile, or the plan's handheld: and route_limit:, or else ` + mapfile.DefaultProfile + `:

` + profilesHelp() + `
With --since it prints what has changed since a result.json of before, and not
the answer; with -o the files are written anew all the same.`,
		Examples: []cli.Example{
			{Line: "farhail plan search.yaml", Answers: "the answer in ten lines"},
			{Line: "farhail plan search.yaml -o out", Answers: "the map files and the brief as well"},
			{Line: "farhail plan search.yaml --since out/result.json -o out2", Answers: "what has changed, in ten lines"},
		},
		Failed:  "the plan spans too much ground, or the output cannot be written",
		Input:   "the plan, or a file that it names, is wrong",
		MinArgs: 1, MaxArgs: 1,
		Files: []string{"yaml", "yml"},
		Run: func(ctx context.Context, args []string) error {
			old, err := readPast(since)
			if err != nil {
				return err
			}
			return runPlan(ctx, app, cli.Disk, args[0], old, o)
		},
	})
	cmd.Flags().StringVarP(&o.folder, "output", "o", "", "output `folder`; none = print the answer only")
	cmd.Flags().StringVar(&since, "since", "", "`result.json` of before: prints in ten lines what has changed, instead of the answer")
	o.flags(cmd)
	return cmd
}

// A planOutput is where the files of a plan go, "" for nowhere, and how they are made;
// what it says goes before what the plan does.
type planOutput struct {
	folder  string
	paper   sheet.Options
	profile string
}

func (o *planOutput) flags(cmd *cobra.Command) {
	sheetFlags(cmd, &o.paper)
	names := mapfile.ProfileNames()
	cli.Choice(cmd, &o.profile, "profile", names, "", "handheld that the GPX files fit: "+strings.Join(names, ", "))
}

// readPlan reads a plan; --seed takes the place of its seed.
func readPlan(app *cli.App, fsys fs.FS, name string) (*plan.Plan, error) {
	p, err := plan.Read(fsys, name)
	if err == nil && app.SeedGiven {
		p.Seed = app.Seed
	}
	return p, err
}

// runPlan does a plan, writes its files and prints the answer, or what has changed since
// a result of before.
func runPlan(ctx context.Context, app *cli.App, fsys fs.FS, name string, old *overlay.Past, o planOutput) error {
	p, err := readPlan(app, fsys, name)
	if err != nil {
		return err
	}
	p.Handheld.Profile = cmp.Or(o.profile, p.Handheld.Profile)
	result, err := job.Run(ctx, fsys, p, job.Options{Program: app.VersionLine(), Zone: app.Zone, Words: app.Words, WithName: app.WithName})
	if err != nil {
		return err
	}
	tellNotes(app, result)
	var gpx *handheldFile
	if o.folder != "" {
		if gpx, err = fitHandheld(result, overlay.HandheldLayers(result)); err != nil {
			return err
		}
		if err := cli.WriteFolder(ctx, o.folder, inputs(p), outputs(ctx, result, gpx, sheetOf(p.Sheet, o.paper))); err != nil {
			return err
		}
		gpx.tell(app)
	}
	return app.Print(struct {
		*job.Result
		Folder string        `json:"folder"`
		GPX    *handheldTold `json:"gpx"` // null without a folder
	}{result, o.folder, gpx.told()}, func(w cli.Text) {
		if old != nil {
			overlay.Since(w, old, result)
		} else {
			overlay.Answer(w, result)
		}
		if o.folder != "" {
			fmt.Fprintf(w, "Files:    %s\n", o.folder)
		}
	})
}

// readPast reads a result of before, nil for none. It is read before the folder that
// may hold it is written anew.
func readPast(name string) (*overlay.Past, error) {
	if name == "" {
		return nil, nil
	}
	f, err := cli.Disk.Open(name)
	if err != nil {
		return nil, cli.InputError(name, err)
	}
	defer f.Close()
	old, err := overlay.ReadPast(f)
	if err != nil {
		return nil, cli.InputError(name, cli.WithHint(err, "give the result.json that an earlier farhail plan -o DIR wrote"))
	}
	return old, nil
}

// tellNotes hands the notes of a result to the messages.
func tellNotes(app *cli.App, r *job.Result) {
	for _, n := range r.Notes {
		app.Note(n)
	}
}

// tellLeftOut warns of what could not be done, for verbs whose answer does not list it.
func tellLeftOut(app *cli.App, r *job.Result) {
	for _, text := range r.LeftOut {
		app.Warn("left out: "+text, "")
	}
}

// inputs lists the files that a plan reads, which no output may replace.
func inputs(p *plan.Plan) []string {
	list := slices.Concat([]string{p.File}, p.Terrain, p.SpotHeights, p.Cover.Files)
	list = append(list, p.WaypointFiles...)
	list = append(list, p.Traveller.Trails...)
	list = append(list, p.Traveller.Barriers...)
	list = append(list, p.Traveller.Handrails...)
	for _, name := range []string{p.Traveller.Log, p.Traveller.Track, p.Trip.Route} {
		if name != "" {
			list = append(list, name)
		}
	}
	for _, party := range p.Looking.Parties {
		list = append(list, party.File())
	}
	return slices.Concat(list, p.Likelihood.Files(), p.SearchFiles(), p.HazardFiles(), p.Drill.NotIn)
}

// outputs are the files of a result, result.json last.
func outputs(ctx context.Context, r *job.Result, gpx *handheldFile, o sheet.Options) []cli.File {
	return listed(r, slices.Concat(partyFiles(r), tripFiles(r), rasters(r), tables(r), []cli.File{
		{Name: "plan.geojson", Write: func(w io.Writer) error { return writeGeoJSON(w, r, overlay.Layers(r)) }},
		{Name: "plan.kml", Write: func(w io.Writer) error { return writeKML(w, r, overlay.Layers(r)) }},
		{Name: "plan.gpx", Write: gpx.write},
		{Name: "sheet.pdf", Write: func(w io.Writer) error { return sheet.Write(ctx, w, r, o) }},
		{Name: "map.html", Write: func(w io.Writer) error { return page.Write(ctx, w, r) }},
		{Name: "brief.txt", Write: func(w io.Writer) error { return overlay.Brief(w, r) }},
		{Name: "result.json", Write: func(w io.Writer) error { return writeJSON(w, r) }},
	}))
}

// listed puts the names of the files into the result that is written with them.
func listed(r *job.Result, files []cli.File) []cli.File {
	r.Files = nil
	for _, f := range files {
		r.Files = append(r.Files, f.Name)
	}
	return files
}
