package cli

import (
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// guardPositions makes positions out of arguments that begin with '-' and a
// digit ("-33.5,151.2"), which the command library would read as flags. Where
// there is one, the verb's flags with their values are moved in front of "--"
// and its other arguments behind it; a value that follows its flag
// ("--beam-tilt -5deg") stays with it. Lines without one come back as they
// are.
func guardPositions(root *cobra.Command, args []string) []string {
	var verbs, flags, rest []string
	cmd, needed := root, false
	for i := 0; i < len(args); i++ {
		arg := args[i]
		switch {
		case arg == "--":
			rest = append(rest, args[i+1:]...)
			i = len(args)
		case looksNegative(arg):
			needed = true
			rest = append(rest, arg)
		case len(arg) > 1 && arg[0] == '-':
			flags = append(flags, arg)
			if takesNext(cmd, arg) && i+1 < len(args) {
				i++
				flags = append(flags, args[i])
			}
		default:
			if sub := child(cmd, arg); sub != nil && len(rest) == 0 {
				cmd = sub
				verbs = append(verbs, arg)
				continue
			}
			rest = append(rest, arg)
		}
	}
	if !needed {
		return args
	}
	out := append(verbs, flags...)
	return append(append(out, "--"), rest...)
}

// looksNegative says whether an argument begins with '-' and a digit.
func looksNegative(arg string) bool {
	return len(arg) > 1 && arg[0] == '-' && arg[1] >= '0' && arg[1] <= '9'
}

// takesNext says whether the flag's value is the next argument.
func takesNext(cmd *cobra.Command, arg string) bool {
	var f *pflag.Flag
	if name, long := strings.CutPrefix(arg, "--"); long {
		if strings.Contains(name, "=") {
			return false
		}
		f = cmd.Flag(name)
		if f == nil {
			f = cmd.InheritedFlags().Lookup(name)
		}
	} else {
		// In a cluster (-qo DIR) only the last letter can take the next
		// argument, and one before it that takes a value ends the cluster.
		letters := arg[1:]
		for i := range letters {
			f = shorthand(cmd, letters[i:i+1])
			if f == nil {
				return false
			}
			if f.NoOptDefVal == "" && i < len(letters)-1 {
				return false
			}
		}
	}
	return f != nil && f.NoOptDefVal == ""
}

func shorthand(cmd *cobra.Command, letter string) *pflag.Flag {
	if f := cmd.Flags().ShorthandLookup(letter); f != nil {
		return f
	}
	return cmd.InheritedFlags().ShorthandLookup(letter)
}

func child(cmd *cobra.Command, name string) *cobra.Command {
	for _, sub := range cmd.Commands() {
		if sub.Name() == name || sub.HasAlias(name) {
			return sub
		}
	}
	return nil
}
