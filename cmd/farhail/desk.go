package main

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"net"
	"os"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/desk"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plan"
	"farhail/geo/coord"
)

func newDesk(app *cli.App) *cobra.Command {
	var port int
	var clear bool
	cmd := app.Command(cli.Verb{
		Use:   "desk [FILE] [flags]",
		Short: "the plan on a page, live, on this machine only",
		Long: `desk serves one page to a browser on this machine: the map of a plan beside a
panel that edits it. The plan file stays the truth: what is typed on the page is
an edit of its bytes at once, and all windows show what follows. Without FILE the
page makes a plan in the current folder, by the templates of farhail new; no file
is ever written over.

It prints the address to open, with a secret in it, and runs until Ctrl-C. It
listens on 127.0.0.1 and on nothing else, and answers its own page only.

Beside the plan it keeps .farhail-backup (the plan before the first edit of each of
the last ` + strconv.Itoa(desk.Backups) + ` sessions; --clear-backups removes them), notes.txt with the decisions
that were written down, and the GPX files that were handed in.

The page shows the plan's text without its person block, and edits that not,
unless --with-name is given.`,
		Examples: []cli.Example{
			{Line: "farhail desk search.yaml", Answers: "the plan in a browser"},
			{Line: "farhail desk", Answers: "a page that makes a plan first"},
			{Line: "farhail desk search.yaml --clear-backups", Answers: "remove the backups of its sessions"},
		},
		Failed:  "the port is taken",
		Input:   "the plan cannot be read",
		MaxArgs: 1,
		Files:   []string{"yaml", "yml"},
		Run: func(ctx context.Context, args []string) error {
			name := ""
			if len(args) > 0 {
				name = args[0]
			}
			if clear {
				return clearBackups(app, name)
			}
			return runDesk(ctx, app, name, port)
		},
	})
	cmd.Flags().IntVar(&port, "port", 0, "`number` of the port; 0 takes a free one")
	cmd.Flags().BoolVar(&clear, "clear-backups", false, "remove the plan's backups and end")
	return cmd
}

func clearBackups(app *cli.App, name string) error {
	if name == "" {
		return &cli.UsageError{Message: "--clear-backups needs the plan", Text: "--clear-backups", Advice: "write farhail desk FILE --clear-backups"}
	}
	n, err := desk.ClearBackups(name)
	if err != nil {
		return err
	}
	return app.Print(struct {
		Removed int `json:"removed"`
	}{n}, func(w cli.Text) { fmt.Fprintf(w, "backups removed: %d\n", n) })
}

func runDesk(ctx context.Context, app *cli.App, name string, port int) error {
	if port < 0 || port > math.MaxUint16 {
		return &cli.UsageError{Message: "no such port", Text: strconv.Itoa(port), Advice: "write a number from 1024 to 65535, or 0 for a free one"}
	}
	o := desk.Options{
		Token: newToken(), Now: time.Now, WithName: app.WithName,
		Job:  job.Options{Program: app.VersionLine(), Zone: app.Zone, Words: app.Words, WithName: app.WithName},
		Read: func(fsys fs.FS, name string) (*plan.Plan, error) { return readPlan(app, fsys, name) },
		Make: func(name string, a desk.Asked) error { return makePlan(app, name, a) },
	}
	if name != "" {
		store, err := desk.Open(name, time.Now)
		if err != nil {
			return cli.InputError(name, err)
		}
		o.Store = store
	}
	l, err := new(net.ListenConfig).Listen(ctx, "tcp4", net.JoinHostPort("127.0.0.1", strconv.Itoa(port)))
	if err != nil {
		return cli.WithHint(err, "leave --port away: a free one is found")
	}
	s := desk.NewServer(o)
	address := s.Address(l)
	app.Hint("open the address in a browser on this machine; Ctrl-C ends the desk")
	if err := app.Print(struct {
		Address string `json:"address"`
	}{address}, func(w cli.Text) { fmt.Fprintln(w, address) }); err != nil {
		return errors.Join(err, l.Close())
	}
	return s.Serve(ctx, l)
}

// newToken returns the secret of a desk's address, 128 bits.
func newToken() string {
	var b [16]byte
	// It never fails: the program ends where there is no randomness.
	_, _ = rand.Read(b[:])
	return hex.EncodeToString(b[:])
}

// makePlan writes a new plan into the current folder as new does, never over a file.
func makePlan(app *cli.App, name string, a desk.Asked) error {
	o := newOptions{kind: a.Kind, placeText: a.Place, zone: app.Zone, lightCD: math.NaN(), out: name}
	if a.Place != "" {
		// A position only: a page names no files outside the plan.
		at, err := coord.Parse(a.Place)
		if err != nil {
			return err
		}
		o.place = &at
	}
	if a.At != "" {
		at, err := cli.ParseTime(a.At, app.Zone)
		if err != nil {
			return err
		}
		o.at = at
	}
	_, text, beside, err := o.filled()
	if err != nil {
		return err
	}
	for _, path := range append([]string{name}, folderOf(beside)...) {
		if _, err := os.Lstat(path); err == nil {
			return cli.WithHint(fmt.Errorf("%s is there already and is not written over", path), "choose another name")
		}
	}
	return writeNew(o.out, text, beside)
}
