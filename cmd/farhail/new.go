package main

import (
	"context"
	"embed"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"text/template"
	"time"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
)

//go:embed new/*.tmpl
var newTemplates embed.FS

// newKinds are the plans that new writes, each by the template of its name.
var newKinds = []string{"trip", "search", "drill"}

func newNew(app *cli.App) *cobra.Command {
	var o newOptions
	schema := false
	var cmd *cobra.Command
	cmd = app.Command(cli.Verb{
		Use:   "new trip|search|drill [flags]",
		Short: "a plan that already runs, with every key explained",
		Long: `new writes a plan file that farhail plan runs as it stands: for a trip before it
begins, for a search, for a drill. Every key is there, explained; those not used
stand behind a #. What the flags do not give is the built-in example's, and as
long as place or time is, the plan says example: true and heads every output
EXAMPLE, NOT A REAL SEARCH.

With -o the plan goes into a new file, and the example's terrain, log and paths
into a folder beside it. No file is ever overwritten.

--schema prints the JSON schema of a plan, for editors that check while one types.`,
		Examples: []cli.Example{
			{Line: "farhail new search -o search.yaml", Answers: "the example, to try and to change"},
			{Line: `farhail new trip --place "42.55 1.60" --at "2026-11-24 09:00 Europe/Andorra" --route way.gpx -o trip.yaml`, Answers: "a plan of my own trip"},
			{Line: "farhail new --schema > plan.schema.json", Answers: "the JSON schema of a plan"},
		},
		Failed:  "the file cannot be written",
		Input:   "a file that a flag names is wrong",
		MaxArgs: 1,
		Words:   newKinds,
		Run: func(_ context.Context, args []string) error {
			if schema {
				return printSchema(app, args)
			}
			if len(args) == 0 {
				return &cli.UsageError{Message: "new needs the kind of plan", Advice: "write farhail new " + strings.Join(newKinds, ", farhail new ")}
			}
			o.kind, o.placeText = args[0], cmd.Flag("place").Value.String()
			return runNew(app, o)
		},
	})
	cli.Position(cmd, &o.place, "place", "where it begins, or where they were last known")
	cli.Instant(cmd, &o.at, "at", "when that was")
	cli.Files(cmd, &o.terrain, "terrain", "terrain file or folder")
	cmd.Flags().StringVar(&o.route, "route", "", "GPX `file` of the way that was meant")
	cmd.Flags().StringVar(&o.party, "party", "", "GPX `file` of a party that looks")
	cli.Quantity(cmd, &o.lightCD, "light", cli.Intensity.Positive(), "", "the lamp that they carry")
	cmd.Flags().StringVarP(&o.out, "output", "o", "", "the plan's `file`; none = standard output")
	cmd.Flags().BoolVar(&schema, "schema", false, "print the JSON schema of a plan")
	return cmd
}

func printSchema(app *cli.App, args []string) error {
	if len(args) > 0 {
		return &cli.UsageError{Message: "--schema takes no kind of plan, there is one schema", Text: args[0], Advice: "farhail new --schema"}
	}
	return app.Print(rawJSON(plan.Schema()), func(w cli.Text) { _, _ = w.Write(plan.Schema()) })
}

// rawJSON is printed as it is.
type rawJSON []byte

func (r rawJSON) MarshalJSON() ([]byte, error) { return r, nil }

// newReport is what new says under --json.
type newReport struct {
	Kind    string   `json:"kind"`
	Example bool     `json:"example"`
	File    string   `json:"file"`  // "" where the plan went to standard output
	Files   []string `json:"files"` // beside the plan
	Plan    string   `json:"plan"`
}

// filled fills the template and reads the plan back as farhail plan would.
func (o newOptions) filled() (d newData, text string, beside []besideFile, err error) {
	if d, err = o.data(); err != nil {
		return d, "", nil, err
	}
	if text, err = fillNew(o.kind, d); err != nil {
		return d, "", nil, err
	}
	beside = d.beside(o.out)
	return d, text, beside, readBack(o, text, beside)
}

// runNew writes a plan, once it is known to be read back.
func runNew(app *cli.App, o newOptions) error {
	o.zone = app.Zone
	d, text, beside, err := o.filled()
	if err != nil {
		return err
	}
	report := newReport{Kind: o.kind, Example: d.Example, File: o.out, Files: []string{}, Plan: text}
	if o.out != "" {
		if err := writeNew(o.out, text, beside); err != nil {
			return err
		}
		for _, f := range beside {
			report.Files = append(report.Files, f.path)
		}
	}
	for _, text := range d.warnings {
		app.Warn(text, "")
	}
	if o.out == "" && d.Example {
		app.Hint("with -o FILE the example's terrain, log and paths are written beside the plan, which then uses them")
	}
	if o.out != "" {
		app.Hint("farhail plan " + o.out + " answers it")
	}
	return app.Print(report, func(w cli.Text) {
		if o.out == "" {
			fmt.Fprint(w, text)
			return
		}
		for _, name := range append([]string{o.out}, report.Files...) {
			fmt.Fprintln(w, name)
		}
	})
}

func fillNew(kind string, d newData) (string, error) {
	t := template.New("").Funcs(template.FuncMap{"q": yamlText, "list": yamlList, "val": keyAndValue}).Option("missingkey=error")
	t, err := t.ParseFS(newTemplates, "new/*.tmpl")
	if err != nil {
		return "", err
	}
	var b strings.Builder
	err = t.ExecuteTemplate(&b, kind+".tmpl", d)
	return b.String(), err
}

// writeNew writes the plan and the files beside it, none of which may be there.
func writeNew(name, text string, beside []besideFile) error {
	for _, path := range append([]string{name}, folderOf(beside)...) {
		if _, err := os.Lstat(path); err == nil {
			return &cli.UsageError{Message: path + " is there already and is not overwritten", Text: path, Advice: "choose another name with -o"}
		}
	}
	if len(beside) > 0 {
		var files []cli.File
		for _, f := range beside {
			files = append(files, cli.File{Name: filepath.Base(f.path), Write: write(f.data)})
		}
		if err := cli.WriteFolder(context.Background(), filepath.Dir(beside[0].path), nil, files); err != nil {
			return err
		}
	}
	return cli.WriteFile(name, nil, write([]byte(text)))
}

func write(data []byte) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	}
}

func folderOf(beside []besideFile) []string {
	if len(beside) == 0 {
		return nil
	}
	return []string{filepath.Dir(beside[0].path)}
}

// rfc3339 writes a time so that it is read back as the same moment, whatever
// the clocks do there.
func rfc3339(t time.Time) string { return t.Format(time.RFC3339) }
