package cli

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// maxSeries bounds how many values a flag is varied over.
const maxSeries = 200

// A Series varies one flag of a verb: "visibility=1km,5km,20km".
type Series struct {
	Flag  string   // "" when none is varied
	Texts []string // its values as typed

	flags *pflag.FlagSet
}

// Over adds a flag that names another flag and several values for it. A flag
// whose own text may hold commas cannot be varied, nor one that takes no value.
func Over(cmd *cobra.Command, s *Series, name, usage string) {
	s.flags = cmd.Flags()
	v := &value{kind: "series", set: s.read}
	v.register(cmd, name, usage)
}

// commaKinds are the kinds of flags whose text may hold commas.
var commaKinds = []string{"path", "position", "table", "word or table", "series"}

func (s *Series) read(text string) error {
	const advice = "write a flag and its values like visibility=1km,5km,20km"
	name, values, found := strings.Cut(text, "=")
	name = strings.TrimPrefix(strings.TrimSpace(name), "--")
	texts := strings.Split(values, ",")
	flag := s.flags.Lookup(name)
	switch {
	case s.Flag != "":
		return &QuantityError{Text: shorten(text), Message: "varies a second flag", Advice: "vary one flag at a time"}
	case !found || name == "":
		return &QuantityError{Text: shorten(text), Message: "not a flag and its values", Advice: advice}
	case flag == nil:
		return &QuantityError{Text: shorten(name), Message: "there is no such flag", Advice: Meant(name, flagNames(s.flags), "--help lists the flags")}
	case len(texts) > maxSeries:
		return &QuantityError{Text: shorten(name), Message: fmt.Sprintf("more than %d values", maxSeries), Advice: "give fewer"}
	}
	if v, ok := flag.Value.(*value); !ok || slices.Contains(commaKinds, v.kind) {
		return &QuantityError{Text: shorten(name), Message: "a flag that cannot be varied", Advice: advice}
	}
	for i := range texts {
		texts[i] = strings.TrimSpace(texts[i])
	}
	s.Flag, s.Texts = name, texts
	return nil
}

// Each gives the flag one value after the other and calls do after each. An error
// names the value that it is of.
func (s *Series) Each(do func(text string) error) error {
	flag := s.flags.Lookup(s.Flag)
	if flag.Changed {
		return &UsageError{Message: "--" + s.Flag + " is given by itself, and varied by --over", Text: "--" + s.Flag, Advice: "leave out one of them"}
	}
	for _, text := range s.Texts {
		if err := flag.Value.Set(text); err != nil {
			return usage("--over "+s.Flag+": "+err.Error(), text, err, "")
		}
		err := do(text)
		if err != nil && kindOf(err) == kindUsage {
			err = usage(fmt.Sprintf("--over %s=%s: %v", s.Flag, shorten(text), err), text, err, "")
		}
		if err != nil {
			return err
		}
	}
	return nil
}
