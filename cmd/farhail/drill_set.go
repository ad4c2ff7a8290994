package main

import (
	"context"
	"crypto/rand"
	"encoding/binary"
	"fmt"
	"io"
	"path/filepath"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/cmd/internal/plan"
	"farhail/geo/layer"
)

func newDrillSet(app *cli.App) *cobra.Command {
	var (
		out string
		ask job.DrillAsk
	)
	cmd := app.Command(cli.Verb{
		Use:   "set PLAN -o DIR [flags]",
		Short: "hide people and signals, and write the papers of a drill",
		Long: `set draws a place for each that the plan hides (drill: hide:) from the plan's
likelihood; without one from all ground alike within reach. Nobody is hidden where
a slope over 25 degrees lies within 50 m, water within 30 m, a slope over 40
degrees within 50 m, the height is not known, or a slow walker does not get to
within half of the daylight, so that there is as much for the way back. A fall from
one cell to the next counts as a slope. Those limits are own choice and no proof
that a place is safe: walk there and look.

Without a cover file that tells streams somebody must have looked where water is,
and say so with initials: --water-known, or water_known: in the plan. On cells over
35 m cliffs cannot be told, and somebody must have seen the ground: --ground-seen.

DIR is new. DIR/instructor has the answer, the seed, a forecast (1000 drawn
drills), the safety plan and a sheet for the talk afterwards; DIR/participants has
the briefing, the start as map files, the safety plan, an empty log and an empty
table of reports, and nothing of the answer. The seed is random unless --seed gives
one; a small one can be guessed by whoever has the plan.`,
		Examples: []cli.Example{
			{Line: "farhail drill set drill.yaml -o saturday", Answers: "both folders, with a random seed"},
			{Line: "farhail drill set drill.yaml -o again --seed 7 --water-known KB", Answers: "a drill that can be set again"},
		},
		Failed:  "nobody may be hidden anywhere, somebody has to look first, or the folder cannot be written",
		Input:   "the plan, or a file that it names, is wrong",
		MinArgs: 1, MaxArgs: 1,
		Files: []string{"yaml", "yml"},
		Run: func(ctx context.Context, args []string) error {
			if out == "" {
				return &cli.UsageError{Message: "no folder to write into", Advice: "add -o DIR"}
			}
			return runDrillSet(ctx, app, args[0], out, ask)
		},
	})
	cmd.Flags().StringVarP(&out, "output", "o", "", "new `folder`")
	initials(cmd, &ask.WaterKnown, "water-known", "`initials` of who has looked where water is")
	initials(cmd, &ask.GroundSeen, "ground-seen", "`initials` of who has seen the ground")
	return cmd
}

// initials adds a flag that takes who stands for something.
func initials(cmd *cobra.Command, p *string, name, usage string) {
	cmd.Flags().Func(name, usage, func(s string) (err error) {
		*p, err = plan.ParseInitials(s)
		return err
	})
}

// drillSetReport says that a drill was set, and nothing of the answer.
type drillSetReport struct {
	Folder       string              `json:"folder"`
	Instructor   []string            `json:"instructor"`
	Participants []string            `json:"participants"`
	Hidden       int                 `json:"hidden_count"`
	Ground       job.DrillGround     `json:"ground"`
	Forecast     []job.DrillForecast `json:"forecast"`
	LeftOut      []string            `json:"left_out"`
}

func runDrillSet(ctx context.Context, app *cli.App, name, out string, ask job.DrillAsk) error {
	// --seed is that of the answer: the surface keeps the plan's.
	p, err := plan.Read(cli.Disk, name)
	if err != nil {
		return err
	}
	if ask.Seed = app.Seed; !app.SeedGiven {
		var b [8]byte
		if _, err := rand.Read(b[:]); err != nil {
			return fmt.Errorf("no random seed: %w", err)
		}
		ask.Seed = binary.LittleEndian.Uint64(b[:])
	}
	r, d, err := job.SetDrill(ctx, cli.Disk, p, job.Options{Program: app.VersionLine(), Zone: app.Zone, Words: app.Words}, ask)
	if err != nil {
		return err
	}
	if d.Plan, err = relative(filepath.Join(out, drillInstructor), name); err != nil {
		d.Plan = name
	}
	d.Plan = filepath.ToSlash(d.Plan)
	instructor, participants := drillFiles(r, d)
	report := drillSetReport{Folder: out, Hidden: d.Count, Ground: d.Ground, Forecast: d.Forecast, LeftOut: r.LeftOut}
	var files []cli.File
	for _, half := range []struct {
		folder string
		files  []cli.File
		told   *[]string
	}{{drillInstructor, instructor, &report.Instructor}, {drillParticipants, participants, &report.Participants}} {
		for _, f := range half.files {
			*half.told = append(*half.told, f.Name)
			files = append(files, cli.File{Name: half.folder + "/" + f.Name, Write: f.Write})
		}
	}
	if err := cli.WriteNewFolder(ctx, out, []string{drillInstructor}, files); err != nil {
		return err
	}
	tellNotes(app, r)
	tellLeftOut(app, r)
	return app.Print(report, func(w cli.Text) { overlay.DrillSummary(w, r, d, out) })
}

// drillFiles are the papers of a drill: the instructor's, and those of the
// participants, which are made from what everybody may know alone.
func drillFiles(r *job.Result, d *job.DrillSet) (instructor, participants []cli.File) {
	told := d.DrillTold
	gpx := func(layers []layer.Layer) func(w io.Writer) error {
		return func(w io.Writer) error { return writeGPX(w, r, layers) }
	}
	geojson := func(layers []layer.Layer) func(w io.Writer) error {
		return func(w io.Writer) error { return writeGeoJSON(w, r, layers) }
	}
	safety := cli.File{Name: "safety.txt", Write: func(w io.Writer) error { return overlay.DrillSafety(w, r, told) }}
	briefing := cli.File{Name: "briefing.txt", Write: func(w io.Writer) error { return overlay.DrillBriefing(w, r, told) }}
	participants = []cli.File{
		briefing, safety,
		{Name: "start.geojson", Write: geojson(overlay.DrillStart(r))},
		{Name: "start.gpx", Write: gpx(overlay.DrillStart(r))},
		{Name: "log-form.txt", Write: func(w io.Writer) error { return overlay.DrillLogForm(w, r, told) }},
		{Name: "reports.csv", Write: overlay.DrillReportForm},
	}
	instructor = []cli.File{
		{Name: "answer.txt", Write: func(w io.Writer) error { return overlay.DrillKey(w, r, d) }},
		{Name: "answer.geojson", Write: geojson(overlay.DrillAnswer(r, d))},
		{Name: "answer.gpx", Write: gpx(overlay.DrillAnswer(r, d))},
		briefing, safety,
		{Name: "review.txt", Write: func(w io.Writer) error { return overlay.DrillReview(w, r, told) }},
	}
	if len(d.Forecast) > 0 {
		instructor = append(instructor, cli.File{Name: "forecast.svg", Write: func(w io.Writer) error { return forecastFigure(d).Write(w) }})
	}
	instructor = append(instructor, cli.File{Name: drillAnswerFile, Write: func(w io.Writer) error { return writeJSON(w, d) }})
	return instructor, participants
}
