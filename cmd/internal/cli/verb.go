package cli

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
)

// A Verb declares one command: its help, what it takes and what it does.
type Verb struct {
	Use      string // "fix POSITION"; the first word is the name
	Short    string // one line, lower case, no full stop
	Long     string // a paragraph or more, wrapped at 80 columns
	Examples []Example
	Failed   string // when the exit code is 1; "" where nothing can fail but writing
	Input    string // when the exit code is 3; "" for a verb that reads no file
	MinArgs  int
	MaxArgs  int      // -1 for any number
	Words    []string // that the first argument may be, for completion
	Files    []string // extensions of the files that arguments name, for completion
	Run      func(ctx context.Context, args []string) error
}

// An Example is a command line and what it answers.
type Example struct{ Line, Answers string }

// Command makes the verb's command. Flags are added to what it returns.
func (a *App) Command(v Verb) *cobra.Command {
	cmd := &cobra.Command{
		Use:     v.Use,
		Short:   v.Short,
		Long:    strings.TrimSpace(v.Long) + "\n\n" + v.exitCodes(),
		Example: v.examples(),
		Args: func(cmd *cobra.Command, args []string) error {
			if a.showVer {
				return nil
			}
			return v.checkArgs(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if a.showVer {
				return a.printVersion()
			}
			a.started = true
			if !a.Quiet && isTerminal(a.Stderr) {
				a.meter = newMeter(a.Stderr, cmd.Name(), meterEvery)
				defer a.meter.end()
			}
			return v.Run(cmd.Context(), args)
		},
		DisableFlagsInUseLine: true,
		ValidArgsFunction:     v.complete,
	}
	cmd.Flags().SortFlags = false
	return cmd
}

// complete offers the words or the files that an argument may be.
func (v Verb) complete(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	switch {
	case v.MaxArgs >= 0 && len(args) >= v.MaxArgs:
		return nil, cobra.ShellCompDirectiveNoFileComp
	case len(v.Words) > 0 && len(args) == 0:
		return v.Words, cobra.ShellCompDirectiveNoFileComp
	case len(v.Files) > 0:
		return v.Files, cobra.ShellCompDirectiveFilterFileExt
	}
	return nil, cobra.ShellCompDirectiveDefault
}

func (v Verb) examples() string {
	var b strings.Builder
	for i, e := range v.Examples {
		if i > 0 {
			b.WriteString("\n\n")
		}
		fmt.Fprintf(&b, "  # %s\n  %s", e.Answers, e.Line)
	}
	return b.String()
}

func (v Verb) exitCodes() string {
	or := func(s, otherwise string) string {
		if s == "" {
			return otherwise
		}
		return s
	}
	text := "Exit codes:\n  0  done\n" +
		"  1  " + or(v.Failed, "could not be done") + "\n" +
		"  2  the command line is wrong"
	if v.Input != "" {
		text += "\n  3  " + v.Input
	}
	return text
}

func (v Verb) checkArgs(cmd *cobra.Command, args []string) error {
	usage := "usage: farhail " + v.Use
	switch n := len(args); {
	case n < v.MinArgs:
		return &UsageError{Message: cmd.Name() + " needs more arguments", Advice: usage}
	case v.MaxArgs >= 0 && n > v.MaxArgs:
		extra := args[v.MaxArgs]
		return &UsageError{Message: fmt.Sprintf("%s does not take the argument %q", cmd.Name(), shorten(extra)), Text: extra, Advice: usage}
	}
	return nil
}
