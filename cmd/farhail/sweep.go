package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"unicode"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/cmd/internal/plan"
	"farhail/geo/layer"
	"farhail/geo/terrain"
)

// errNothingSearched tells that a plan says nothing of what was or can be searched.
var errNothingSearched = errors.New("nothing to work out: no search, no signal that was not seen, no next effort")

// sweepFlags are the flags of sweep as typed.
type sweepFlags struct {
	width, length, area float64
	law                 string
	out                 string
	party               string
	undo                []string
}

func newSweep(app *cli.App) *cobra.Command {
	var f sweepFlags
	cmd := app.Command(cli.Verb{
		Use:   "sweep PLAN | --width W --length L --area A [flags]",
		Short: "what searching has done, and where to search next",
		Long: `sweep works out what the operations of a plan (searched:) have seen of the ground:
the tracks cleaned of gaps, stops, lifts by car; one track for as many parallel
ways as people walked, or for an aircraft's crew (altitude:); each leg at its own
speed where the track tells it; sight lines over the terrain. From that follow the chance
of detection (POD) of each search area and of all together (POS), and where they
are likely now, the share outside of the map included. A signal that nobody saw
(not_seen:) is evidence too. With effort: it tells each party where to search
next, how far apart and how long, with the ways there and back and the daylight.
What is taken out of the plan is undone; --undo leaves an entry out for this once,
to see what rests on it.

POD is for an object of this kind if it was there and stayed. Beside it stand
coverage and what a law makes of it, as a check. A width that you measured
yourselves wins over the model.

-o writes searched.tif (the chance of detection by cell), .geojson, or .gpx (the
next areas and the ways there; --party for one party's handheld).

With --width, --length and --area instead of a plan: coverage and POD by a law.`,
		Examples: []cli.Example{
			{Line: "farhail sweep search.yaml", Answers: "what has been searched, and who goes where next"},
			{Line: "farhail sweep --width 40m --length 5km --area 0.25km2", Answers: "coverage 0.8, POD 0.55 by random search"},
		},
		Failed:  "the plan says nothing of searches, or the output cannot be written",
		Input:   "the plan, or a file that it names, is wrong",
		MinArgs: 0, MaxArgs: 1,
		Files: []string{"yaml", "yml"},
		Run: func(ctx context.Context, args []string) error {
			if err := f.check(args); err != nil {
				return err
			}
			if len(args) == 0 {
				return tellCoverage(app, f)
			}
			return runSweep(ctx, app, args[0], f)
		},
	})
	cli.Quantity(cmd, &f.width, "width", cli.Length.Positive(), "", "sweep `width`")
	cli.Quantity(cmd, &f.length, "length", cli.Length.Positive(), "", "`length` of all ways together, of every person")
	cli.Quantity(cmd, &f.area, "area", cli.Surface.Positive(), "", "`area` that they lie in")
	cli.Choice(cmd, &f.law, "law", job.SweepLaws(), job.SweepLaws()[0], "law that turns coverage into POD")
	cmd.Flags().StringVarP(&f.out, "output", "o", "", "`file` to write, searched.tif, .geojson or .gpx")
	cmd.Flags().StringArrayVar(&f.undo, "undo", nil, "`name` of an operation or a signal not seen to leave out for this once; may be given again")
	cmd.Flags().StringVar(&f.party, "party", "", "`name` of the party that a .gpx is for; all without it")
	return cmd
}

// check refuses flags that do not go together.
func (f sweepFlags) check(args []string) error {
	sum := given(f.width) || given(f.length) || given(f.area)
	gpx := endsIn(f.out, ".gpx")
	return refuse([]flagFault{
		{len(args) == 0 && !sum, "", "no plan given", "farhail sweep PLAN, or --width 40m --length 5km --area 0.25km2"},
		{len(args) > 0 && sum, "--width", "--length and --area stand instead of a plan", "leave out one of the two"},
		{sum && !(given(f.width) && given(f.length) && given(f.area)), "--width", "goes with --length and --area", "give all three"},
		{sum && f.out != "", "--output", "needs a plan", "farhail sweep PLAN -o searched.geojson"},
		{len(args) == 0 && len(f.undo) > 0, "--undo", "needs a plan", "farhail sweep PLAN --undo NAME"},
		{f.party != "" && !gpx, "--party", "goes with a .gpx", "add -o party.gpx"},
		{f.out != "" && !gpx && !isTIFF(f.out) && !isGeoJSON(f.out), "--output", "ends in .tif, .geojson or .gpx", "choose one of them"},
	})
}

func isGeoJSON(name string) bool { return endsIn(name, ".geojson", ".json") }

// coverageReport is the coverage of a length of track.
type coverageReport struct {
	Coverage cli.Num `json:"coverage"`
	POD      cli.Num `json:"pod"`
	Law      string  `json:"law"`
}

func tellCoverage(app *cli.App, f sweepFlags) error {
	coverage, pod, err := job.Coverage(f.width, f.length, f.area, f.law)
	if err != nil {
		return err
	}
	return app.Print(coverageReport{cli.Num(coverage), cli.Num(pod), f.law}, func(w cli.Text) {
		fmt.Fprintf(w, "coverage %.3g, POD %.1f %% by %s\n", coverage, 100*pod, f.law)
		fmt.Fprintln(w, "POD is for an object of this kind if it was there and stayed, searched evenly")
	})
}

func runSweep(ctx context.Context, app *cli.App, name string, f sweepFlags) error {
	p, err := readPlan(app, cli.Disk, name)
	if err != nil {
		return err
	}
	if err := f.undoIn(p); err != nil {
		return err
	}
	r, err := job.Run(ctx, cli.Disk, p, job.Options{Program: app.VersionLine(), Zone: app.Zone, Words: app.Words, Parts: job.Sweeping, Law: f.law})
	if err != nil {
		return err
	}
	tellNotes(app, r)
	tellLeftOut(app, r)
	if r.Sweep == nil {
		return cli.WithHint(errNothingSearched, "add searched:, not_seen: or effort: to the plan, with likelihood:; farhail new search explains their keys")
	}
	r.Sweep.Undone = append(r.Sweep.Undone, f.undo...)
	if f.out != "" {
		layers, err := f.layers(r)
		if err != nil {
			return err
		}
		if err := cli.WriteFile(f.out, inputs(p), func(w io.Writer) error { return f.write(w, r, layers) }); err != nil {
			return err
		}
	}
	return app.Print(r.Sweep, func(w cli.Text) { overlay.Sweeping(w, r) })
}

// undoIn takes what is to be undone out of a plan.
func (f sweepFlags) undoIn(p *plan.Plan) error {
	var names []string
	for _, s := range p.Searched {
		names = append(names, s.Name)
	}
	for _, n := range p.NotSeen {
		names = append(names, n.Name)
	}
	for _, name := range f.undo {
		if !p.Undo(name) {
			advice := "the plan has neither searched: nor not_seen:"
			if len(names) > 0 {
				advice = "the plan has " + strings.Join(names, ", ")
			}
			return &cli.UsageError{Message: "nothing that was learnt is named " + name, Text: name, Advice: advice}
		}
	}
	return nil
}

// layers returns what goes into a map file.
func (f sweepFlags) layers(r *job.Result) ([]layer.Layer, error) {
	if f.party == "" {
		return overlay.SweepLayers(r), nil
	}
	if layers := overlay.PartyLayers(r, f.party); layers != nil {
		return layers, nil
	}
	var names []string
	for _, t := range r.Sweep.Next {
		if t.Party == f.party {
			return nil, fmt.Errorf("%s has no area to go to: %s", t.Party, t.Why)
		}
		if !slices.Contains(names, t.Party) {
			names = append(names, t.Party)
		}
	}
	advice := "the plan has no effort:"
	if len(names) > 0 {
		advice = "the parties are " + strings.Join(names, ", ")
	}
	return nil, &cli.UsageError{Message: "no party of the next effort is named " + f.party, Text: f.party, Advice: advice}
}

func (f sweepFlags) write(w io.Writer, r *job.Result, layers []layer.Layer) error {
	switch {
	case isTIFF(f.out):
		s := r.Sweep
		cells := make([]float32, s.Frame.Cols*s.Frame.Rows)
		for i := range s.POD {
			cells[i] = float32(s.POD[i])
		}
		return terrain.WriteGeoTIFF(w, s.Frame, cells, float32(math.NaN()), terrain.WriteOptions{Content: "chance of detection of what was searched", Unit: "1", Title: overlay.DocumentName(r)})
	case isGeoJSON(f.out):
		return writeGeoJSON(w, r, layers)
	}
	return writeGPX(w, r, layers)
}

// partyFiles are the files of the next effort, one for each party's handheld.
func partyFiles(r *job.Result) []cli.File {
	if r.Sweep == nil || r.Sweep.Then == nil {
		return nil
	}
	var list []cli.File
	for i, p := range r.Sweep.Then.Parties {
		layers := overlay.PartyLayers(r, p.Party)
		if layers == nil {
			continue
		}
		list = append(list, cli.File{Name: fmt.Sprintf("next-%d-%s.gpx", i+1, plainName(p.Party)), Write: func(w io.Writer) error {
			return writeGPX(w, r, layers)
		}})
	}
	return list
}

// plainName makes a part of a file name out of a party's name.
func plainName(s string) string {
	plain := strings.Map(func(c rune) rune {
		switch {
		case c < unicode.MaxASCII && (unicode.IsLetter(c) || unicode.IsDigit(c)):
			return unicode.ToLower(c)
		case unicode.IsLetter(c):
			return -1
		}
		return '-'
	}, s)
	plain = strings.Trim(plain, "-")
	if plain == "" {
		return "party"
	}
	return plain[:min(len(plain), 40)]
}
