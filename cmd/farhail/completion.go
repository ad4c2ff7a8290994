package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
)

// shells are those that completion is written for.
var shells = []string{"bash", "zsh", "fish", "powershell"}

func newCompletion(app *cli.App) *cobra.Command {
	return app.Command(cli.Verb{
		Use:   "completion " + strings.Join(shells, "|"),
		Short: "the script by which a shell completes farhail's command lines",
		Long: `completion prints a script for a shell that completes verbs, flags, the words that
a flag takes, and names of the files that a verb reads. Load it once in a session,
or put it where the shell looks for such scripts.`,
		Examples: []cli.Example{
			{Line: "source <(farhail completion bash)", Answers: "for this session of bash"},
			{Line: "farhail completion fish > ~/.config/fish/completions/farhail.fish", Answers: "for every session of fish"},
			{Line: "farhail completion powershell | Out-String | Invoke-Expression", Answers: "for this session of PowerShell"},
		},
		MinArgs: 1, MaxArgs: 1, Words: shells,
		Run: func(_ context.Context, args []string) error {
			var script bytes.Buffer
			if err := writeCompletion(app.Root(), &script, args[0]); err != nil {
				return err
			}
			return app.Print(struct {
				Shell  string `json:"shell"`
				Script string `json:"script"`
			}{args[0], script.String()}, func(w cli.Text) { fmt.Fprint(w, script.String()) })
		},
	})
}

func writeCompletion(root *cobra.Command, w io.Writer, shell string) error {
	switch shell {
	case "bash":
		return root.GenBashCompletionV2(w, true)
	case "zsh":
		return root.GenZshCompletion(w)
	case "fish":
		return root.GenFishCompletion(w, true)
	case "powershell":
		return root.GenPowerShellCompletionWithDesc(w)
	}
	return &cli.UsageError{Message: fmt.Sprintf("no completion for the shell %q", shell), Text: shell, Advice: cli.Meant(shell, shells, "write one of "+strings.Join(shells, ", "))}
}

func newMan(app *cli.App) *cobra.Command {
	out := ""
	cmd := app.Command(cli.Verb{
		Use:   "man [VERB] [flags]",
		Short: "the manual pages",
		Long: `man prints the manual page of farhail or of one of its verbs, in the form that
the program man reads. With -o it writes all of them into a folder, each as
farhail-VERB.1.`,
		Examples: []cli.Example{
			{Line: "farhail man sight | man -l -", Answers: "the page of sight, to read"},
			{Line: "farhail man -o ~/.local/share/man/man1", Answers: "all pages, where man finds them"},
		},
		Failed:  "the folder cannot be written",
		MaxArgs: 2,
		Run: func(ctx context.Context, args []string) error {
			if out != "" && len(args) == 0 {
				return writeManual(ctx, app, out)
			}
			if out != "" {
				return &cli.UsageError{Message: "-o writes all pages, and a verb asks for one", Text: args[0], Advice: "leave out one of them"}
			}
			verb, rest, err := app.Root().Find(args)
			if err != nil || len(rest) > 0 {
				return &cli.UsageError{Message: fmt.Sprintf("no command %q", strings.Join(args, " ")), Text: strings.Join(args, " "), Advice: "farhail --help lists the commands"}
			}
			var page bytes.Buffer
			if err := app.Man(&page, verb); err != nil {
				return err
			}
			return app.Print(struct {
				Page string `json:"page"`
			}{page.String()}, func(w cli.Text) { fmt.Fprint(w, page.String()) })
		},
	})
	cmd.Flags().StringVarP(&out, "output", "o", "", "`folder` for all pages")
	return cmd
}

// writeManual writes the pages of all commands.
func writeManual(ctx context.Context, app *cli.App, folder string) error {
	var files []cli.File
	var add func(cmd *cobra.Command) error
	add = func(cmd *cobra.Command) error {
		// A command changes when it is asked for its flags: one page after another.
		var page bytes.Buffer
		if err := app.Man(&page, cmd); err != nil {
			return err
		}
		files = append(files, cli.File{Name: strings.ReplaceAll(cmd.CommandPath(), " ", "-") + ".1", Write: write(page.Bytes())})
		for _, sub := range cmd.Commands() {
			if sub.IsAvailableCommand() {
				if err := add(sub); err != nil {
					return err
				}
			}
		}
		return nil
	}
	if err := add(app.Root()); err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(folder), 0o755); err != nil {
		return err
	}
	if err := cli.WriteFolder(ctx, folder, nil, files); err != nil {
		return err
	}
	names := []string{}
	for _, f := range files {
		names = append(names, f.Name)
	}
	return app.Print(struct {
		Folder string   `json:"folder"`
		Pages  []string `json:"pages"`
	}{folder, names}, func(w cli.Text) { fmt.Fprintf(w, "%d pages in %s\n", len(names), folder) })
}
