package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/paulmach/orb"
	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/cmd/internal/plan"
	"farhail/cmd/internal/sheet"
)

// cardFlags are the flags of card as typed.
type cardFlags struct {
	app       *cli.App
	cmd       *cobra.Command
	date      time.Time
	emergency string
	distress  string
	person    bool
	out       string
}

// cardSignals are the flags that name a signal, each with the plan's key for it.
var cardSignals = []struct {
	flag, key, name, usage string
	of                     cli.Dimension
}{
	{"light", "light", "light", "a light of this luminous `intensity` (100cd)", cli.Intensity.Positive()},
	{"beam-distance", "beam_distance", "lamp of", "a lamp with this beam `distance` on its package (100m)", cli.Length.Positive()},
	{"fire", "fire", "fire", "a fire of this `power` (100kW)", cli.Power.Positive()},
	{"smoke", "smoke", "smoke", "the smoke of this much fuel burnt, a `rate` (10g/s)", cli.MassRate.Positive()},
	{"whistle", "whistle", "whistle", "a whistle of this `level` at 1 m (115dB)", plan.WhistleLevel},
}

// cardSizes are those that are told by their size.
var cardSizes = []struct{ flag, usage string }{
	{"flag", "a flag of this `size` (1x1m), orange on dark green"},
	{"mirror", "a mirror of this `size` (76x127mm)"},
}

func newCard(app *cli.App) *cobra.Command {
	f := cardFlags{app: app}
	cmd := app.Command(cli.Verb{
		Use:   "card PLAN|POSITION [flags]",
		Short: "the pocket card: how far my signals show, and the signs of distress",
		Long: `card makes what one carries in a pocket: how far each signal is noticed by day,
at dusk and by night, in clear air, haze and fog; how distress is signalled in
the region and what an answer means; the signs on the ground for an aircraft;
when the sun is high enough for a mirror; the emergency number. The signals are
those of a plan's traveller, or of the flags. With -o it is one side of A6, 105
by 148 mm, as PDF or SVG, or plain text; print it at 100 %. Without -o the text
is printed.`,
		Examples: []cli.Example{
			{Line: "farhail card trip.yaml -o card.pdf", Answers: "the card of a plan, to print"},
			{Line: `farhail card "42.55 1.60" --date 2026-12-21 --light 100cd --mirror 76x127mm --emergency 112`, Answers: "a card from a few flags, as text"},
		},
		Failed:  "the plan gives no position or no signals, or the file cannot be written",
		Input:   "the plan, or a file that it names, is wrong",
		MinArgs: 1, MaxArgs: 1,
		Files: []string{"yaml", "yml"},
		Run:   func(ctx context.Context, args []string) error { return f.run(ctx, args[0]) },
	})
	f.cmd = cmd
	cli.Day(cmd, &f.date, "date", "the `day` of the card's light (2026-12-21); of a plan that of as_of when not given")
	var value, width, height float64 // checked here, and read by the plan
	for _, s := range cardSignals {
		cli.Quantity(cmd, &value, s.flag, s.of, "", s.usage)
	}
	for _, s := range cardSizes {
		cli.Size(cmd, &width, &height, s.flag, cli.Length.Positive(), "", s.usage)
	}
	cmd.Flags().BoolVar(&f.person, "person", false, "myself, standing, in clothes of a strong colour")
	cmd.Flags().StringVar(&f.emergency, "emergency", "", "the emergency `number`, never guessed: a blank is printed without it")
	cli.Choice(cmd, &f.distress, "distress-signal", plan.DistressSignals, "", "how distress is signalled in the region: three (North America) or six (Alps, Britain); both are printed without it")
	cmd.Flags().StringVarP(&f.out, "output", "o", "", "`file` to write: card.pdf, card.svg or card.txt")
	return cmd
}

func (f *cardFlags) run(ctx context.Context, arg string) error {
	if f.out != "" && !endsIn(f.out, ".pdf", ".svg", ".txt") {
		return &cli.UsageError{Message: "-o: the card is PDF, SVG or plain text", Text: f.out, Advice: "end the name in .pdf, .svg or .txt"}
	}
	p, err := f.plan(arg)
	if err != nil {
		return err
	}
	if f.emergency != "" {
		p.Emergency = f.emergency
	}
	if f.distress != "" {
		p.Distress = f.distress
	}
	c, r, err := job.MakeCard(ctx, cli.Disk, p, f.date, job.Options{Program: f.app.VersionLine(), Zone: f.app.Zone, Words: f.app.Words})
	if err != nil {
		return err
	}
	card := overlay.CardOf(c, f.app.Words)
	if f.out != "" {
		if err := cli.WriteFile(f.out, inputs(p), func(w io.Writer) error { return writeCard(w, f.out, card, r) }); err != nil {
			return err
		}
	}
	return f.app.Print(c, func(w cli.Text) {
		if f.out == "" {
			_ = overlay.CardText(w, card) // a buffer takes everything
			return
		}
		fmt.Fprintln(w, f.out)
	})
}

func writeCard(w io.Writer, name string, card overlay.Card, r *job.Result) error {
	switch {
	case endsIn(name, ".pdf"):
		return sheet.WriteCard(w, card, r)
	case endsIn(name, ".svg"):
		return sheet.WriteCardSVG(w, card)
	}
	return overlay.CardText(w, card)
}

// plan reads the plan, or makes one of a position and the flags.
func (f *cardFlags) plan(arg string) (*plan.Plan, error) {
	if f.isPlan(arg) {
		if given := f.signals(); len(given) > 0 {
			return nil, &cli.UsageError{Message: "the plan names the signals", Text: "--" + given[0].flag, Advice: "leave out --" + given[0].flag + ", or give a position instead of the plan"}
		}
		return readPlan(f.app, cli.Disk, arg)
	}
	at, err := cli.ReadPosition(arg)
	if err != nil {
		return nil, err
	}
	if f.date.IsZero() {
		return nil, &cli.UsageError{Message: "a card for a position needs its day", Advice: "add --date 2026-12-21"}
	}
	if len(f.signals()) == 0 {
		return nil, &cli.UsageError{Message: "a card needs a signal", Advice: "add --light 100cd, --flag 1x1m, --mirror 76x127mm, --whistle 115dB, --fire 100kW, --smoke 10g/s or --person"}
	}
	text, err := f.planText(at.Point)
	if err != nil {
		return nil, err
	}
	const name = "card.yaml"
	p, err := plan.Read(memoryFS{name: []byte(text)}, name)
	if err != nil {
		return nil, &cli.UsageError{Message: err.Error(), Advice: "farhail card --help shows how signals are written"}
	}
	return p, nil
}

// isPlan reports whether the argument names a plan: a file that is no position.
func (f *cardFlags) isPlan(arg string) bool {
	if endsIn(arg, ".yaml", ".yml") {
		return true
	}
	info, err := os.Stat(arg)
	return err == nil && info.Mode().IsRegular() && cli.WaypointFile(arg) == ""
}

// A cardSignal is a signal of the flags, as a plan writes it.
type cardSignal struct{ flag, name, key, value string }

// signals lists those that were given, in the order of the flags.
func (f *cardFlags) signals() (list []cardSignal) {
	typed := func(flag string) string { return f.cmd.Flag(flag).Value.String() }
	for _, s := range cardSignals {
		if v := typed(s.flag); v != "" {
			list = append(list, cardSignal{s.flag, s.name + " " + v, s.key, v})
		}
	}
	for _, s := range cardSizes {
		if v := typed(s.flag); v != "" {
			list = append(list, cardSignal{s.flag, s.flag + " " + v, s.flag, v})
		}
	}
	if f.person {
		list = append(list, cardSignal{"person", "myself", "posture", "standing"})
	}
	return list
}

// planText writes the plan of a position and the flags.
func (f *cardFlags) planText(at orb.Point) (string, error) {
	var b strings.Builder
	zone, noon := "", f.date.Format(time.RFC3339)
	if f.app.Zone != nil {
		zone = "zone: " + f.app.Zone.String() + "\n"
	}
	fmt.Fprintf(&b, "version: 1\nas_of: %s\n%sstarts:\n  - name: here\n    kind: planning\n    position: %.7f %.7f\n    error: 10 m\n    time: %s\ntraveller:\n  signals:\n",
		noon, zone, at.Lat(), at.Lon(), noon)
	for _, s := range f.signals() {
		name, err := yamlText(s.name)
		if err != nil {
			return "", err
		}
		value, err := yamlText(s.value)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&b, "    - name: %s\n      %s: %s\n", name, s.key, value)
	}
	return b.String(), nil
}
