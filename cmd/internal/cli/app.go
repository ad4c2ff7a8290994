package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"farhail/geo/coord"

	"github.com/spf13/cobra"
)

// Version is the version of the program that every output names.
const Version = "0.1"

// An App is one run of the program: its streams, the flags that every verb
// has, and the notes collected so far. It is not safe for concurrent use.
type App struct {
	Stdin  io.Reader
	Stdout io.Writer
	Stderr io.Writer

	JSON      bool
	Quiet     bool
	WithName  bool           // the plan's person block may be printed
	Zone      *time.Location // nil when not given
	Words     Words          // how text for people tells quantities and positions
	Seed      uint64         // meaningful only when SeedGiven
	SeedGiven bool

	notes   []Note
	version string
	started bool // a verb's own work began: errors are no longer faults of the command line
	showVer bool
	root    *cobra.Command
	meter   *meter
}

// NewApp returns an App on the three streams. version is printed by --version.
// A reader that closes stdout early is not an error: what is printed after it
// is dropped.
func NewApp(stdin io.Reader, stdout, stderr io.Writer, version string) *App {
	a := &App{Stdin: stdin, Stdout: &pipe{w: stdout}, Stderr: stderr, version: version}
	root := &cobra.Command{
		Use:           "farhail",
		Short:         "a signal and search-support planner for ground parties",
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.ArbitraryArgs,

		SuggestionsMinimumDistance: 2, // edits
	}
	root.CompletionOptions.DisableDefaultCmd = true // farhail has its own
	root.RunE = func(cmd *cobra.Command, args []string) error {
		switch {
		case a.showVer:
			return a.printVersion()
		case len(args) == 0:
			return &UsageError{Message: "no command given", Advice: "farhail --help lists them, farhail demo shows the main job"}
		}
		return a.unknownVerb(args[0])
	}
	flags := root.PersistentFlags()
	flags.BoolVar(&a.JSON, "json", false, "print the result, or the error, as JSON")
	flags.BoolVarP(&a.Quiet, "quiet", "q", false, "print no warnings, hints or progress")
	flags.Var(&value{kind: "zone", set: func(s string) (err error) {
		a.Zone, err = LoadZone(s)
		return err
	}}, "zone", "IANA time `zone` of printed times (Europe/Andorra)")
	flags.Var(choice(&a.Words.Units, []string{Metric, Imperial}, ""), "units", "of text for people: metric or imperial; files and --json stay SI")
	complete(root, "units", []string{Metric, Imperial})
	flags.Var(choice((*string)(&a.Words.Notation), notations, ""), "notation", "of positions in text for people: "+strings.Join(notations, ", "))
	complete(root, "notation", notations)
	flags.Var(&value{kind: "number", set: func(s string) (err error) {
		a.Seed, err = parseSeed(s)
		a.SeedGiven = err == nil
		return err
	}}, "seed", "`number` that fixes every random choice")
	flags.BoolVar(&a.WithName, "with-name", false, "print the plan's person block, on the brief and in result.json")
	flags.BoolVar(&a.showVer, "version", false, "print the version and the magnetic model")
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error { return flagError(cmd, err) })
	root.SetUsageTemplate(usageTemplate)
	root.SetHelpCommand(&cobra.Command{Use: "help [VERB]", Hidden: true, RunE: func(_ *cobra.Command, args []string) error {
		verb, rest, err := root.Find(args)
		if err != nil || len(rest) > 0 {
			return a.unknownVerb(args[0])
		}
		verb.InitDefaultHelpFlag()
		return verb.Help()
	}})
	cobra.EnableCommandSorting = false // the table of verbs has an order
	root.SetOut(a.Stdout)
	root.SetErr(stderr)
	a.root = root
	return a
}

// usageTemplate lays out what --help prints below the description.
const usageTemplate = `Usage:
{{if .HasAvailableSubCommands}}  {{.CommandPath}} VERB [FILE] [flags]

Verbs:{{range .Commands}}{{if .IsAvailableCommand}}
  {{rpad .Name .NamePadding}} {{.Short}}{{end}}{{end}}

{{.CommandPath}} VERB --help has examples and exit codes.
{{else}}  {{.UseLine}}
{{end}}{{if .HasExample}}
Examples:
{{.Example}}
{{end}}{{if and .HasParent .HasAvailableLocalFlags}}
Flags:
{{.LocalFlags.FlagUsages | trimTrailingWhitespaces}}
{{end}}
Flags of every verb:
{{if .HasParent}}{{.InheritedFlags.FlagUsages | trimTrailingWhitespaces}}{{else}}{{.LocalFlags.FlagUsages | trimTrailingWhitespaces}}{{end}}
`

// notations are those that people can have positions told in.
var notations = []string{string(coord.NotationMGRS), string(coord.NotationUTM), string(coord.NotationDMS), string(coord.NotationDDM), string(coord.NotationDecimal)}

// Add takes verbs into the command.
func (a *App) Add(verbs ...*cobra.Command) { a.root.AddCommand(verbs...) }

// Root returns the command that holds the verbs.
func (a *App) Root() *cobra.Command { return a.root }

// Execute runs the command line (without the program's name), tells errors on
// stderr, or on stdout under --json, and returns the exit code.
func (a *App) Execute(ctx context.Context, args []string) int {
	a.root.SetArgs(guardPositions(a.root, args))
	err := a.root.ExecuteContext(ctx)
	if err == nil {
		return ExitDone
	}
	var usage *UsageError
	if !a.started && !errors.As(err, &usage) && kindOf(err) != kindInput {
		err = &UsageError{Message: err.Error()}
	}
	// The flags may not have been read when one of them is wrong.
	for _, arg := range args {
		if arg == "--json" {
			a.JSON = true
		}
	}
	a.tellError(err)
	return ExitCode(err)
}

func (a *App) unknownVerb(word string) error {
	e := &UsageError{Message: fmt.Sprintf("no command %q", shorten(word)), Text: word, Advice: "farhail --help lists the commands"}
	if near := a.root.SuggestionsFor(word); len(near) > 0 {
		e.Advice = "did you mean " + strings.Join(near, " or ")
	}
	return e
}

// VersionLine names the program and the magnetic model; every output holds it.
func (a *App) VersionLine() string { return a.version }

func (a *App) printVersion() error {
	a.started = true
	return a.Print(struct {
		Version string `json:"version"`
	}{a.version}, func(w Text) { fmt.Fprintln(w, a.version) })
}
