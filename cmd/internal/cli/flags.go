package cli

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"farhail/geo/coord"
)

// Quantity adds a flag that takes a number with its unit. p gets the SI value,
// of def at once ("" gives NaN, not given). It panics when def is wrong.
func Quantity(cmd *cobra.Command, p *float64, name string, d Dimension, def, usage string) {
	*p = math.NaN()
	v := &value{kind: d.name, text: def, set: func(s string) (err error) {
		*p, err = ParseQuantity(s, d)
		return err
	}}
	v.register(cmd, name, usage)
}

// QuantityList adds a flag that takes quantities separated by commas
// ("1h,2h,4h"). The flag given twice adds to the list.
func QuantityList(cmd *cobra.Command, p *[]float64, name string, d Dimension, def, usage string) {
	given := false
	v := &value{kind: d.name + "s", text: def}
	v.set = func(s string) error {
		var list []float64
		for _, part := range strings.Split(s, ",") {
			x, err := ParseQuantity(part, d)
			if err != nil {
				return err
			}
			list = append(list, x)
		}
		if given {
			list = append(*p, list...)
		}
		*p, given = list, v.registered
		return nil
	}
	v.register(cmd, name, usage)
}

// Size adds a flag that takes a width and a height ("0.5x0.5m").
func Size(cmd *cobra.Command, width, height *float64, name string, d Dimension, def, usage string) {
	*width, *height = math.NaN(), math.NaN()
	v := &value{kind: "size", text: def, set: func(s string) (err error) {
		*width, *height, err = ParseSize(s, d)
		return err
	}}
	v.register(cmd, name, usage)
}

// Choice adds a flag that takes one of the listed words, which completion offers.
func Choice(cmd *cobra.Command, p *string, name string, words []string, def, usage string) {
	choice(p, words, def).register(cmd, name, usage)
	complete(cmd, name, words)
}

func choice(p *string, words []string, def string) *value {
	return &value{kind: "word", text: def, set: func(s string) error {
		if slices.Contains(words, s) {
			*p = s
			return nil
		}
		advice := Meant(s, words, "write one of "+strings.Join(words, ", "))
		return &QuantityError{Text: shorten(s), Message: "not one of the choices", Advice: advice}
	}}
}

// complete offers words for a flag's value.
func complete(cmd *cobra.Command, name string, words []string) {
	if err := cmd.RegisterFlagCompletionFunc(name, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp)); err != nil {
		panic("cli: completing --" + name + ": " + err.Error())
	}
}

// Day adds a flag that takes a calendar day ("2026-11-24"); p gets its noon in
// UTC, and stays zero when the flag is not given.
func Day(cmd *cobra.Command, p *time.Time, name, usage string) {
	v := &value{kind: "date", set: func(s string) error {
		t, err := time.Parse(time.DateOnly, strings.TrimSpace(s))
		if err != nil {
			return &QuantityError{Text: shorten(s), Message: "not a day of the calendar", Advice: "write year, month and day like 2026-11-24"}
		}
		*p = t.Add(12 * time.Hour)
		return nil
	}}
	v.register(cmd, name, usage)
}

// Instant adds a flag that takes a moment: RFC 3339 with an offset, or a local
// time with an IANA zone. p stays zero when the flag is not given.
func Instant(cmd *cobra.Command, p *time.Time, name, usage string) {
	v := &value{kind: "time", set: func(s string) (err error) {
		*p, err = ParseTime(s, nil)
		return err
	}}
	v.register(cmd, name, usage)
}

// Position adds a flag that takes a position as ReadPosition does; p stays nil
// when the flag is not given.
func Position(cmd *cobra.Command, p **coord.Position, name, usage string) {
	v := &value{kind: "position", set: func(s string) error {
		pos, err := ReadPosition(s)
		if err != nil {
			return err
		}
		*p = &pos
		return nil
	}}
	v.register(cmd, name, usage)
}

// Files adds a flag that takes a path and may be given several times; a comma
// separates several paths in one.
func Files(cmd *cobra.Command, p *[]string, name, usage string) {
	v := &value{kind: "path", set: func(s string) error {
		for _, part := range strings.Split(s, ",") {
			if part = strings.TrimSpace(part); part == "" {
				return &QuantityError{Text: shorten(s), Message: "an empty path"}
			}
			*p = append(*p, part)
		}
		return nil
	}}
	v.register(cmd, name, usage)
}

// A value is a flag whose text is checked as it is read.
type value struct {
	kind       string
	text       string
	set        func(string) error
	registered bool // false while the default is set
}

func (v *value) String() string { return v.text }
func (v *value) Type() string   { return v.kind }
func (v *value) Set(s string) error {
	if err := v.set(s); err != nil {
		return err
	}
	v.text = s
	return nil
}

func (v *value) register(cmd *cobra.Command, name, usage string) {
	if v.text != "" {
		if err := v.set(v.text); err != nil {
			panic("cli: default of --" + name + ": " + err.Error())
		}
	}
	v.registered = true
	cmd.Flags().Var(v, name, usage)
}

func parseSeed(s string) (uint64, error) {
	n, err := strconv.ParseUint(strings.TrimSpace(s), 10, 64)
	if err != nil {
		return 0, &QuantityError{Text: shorten(s), Message: "not a seed", Advice: "write a whole number from 0"}
	}
	return n, nil
}

func flagNames(flags *pflag.FlagSet) (names []string) {
	flags.VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	return names
}

// notNumber words the fault of a flag that takes a whole number, or true or false.
func notNumber(err *strconv.NumError) string {
	switch {
	case errors.Is(err, strconv.ErrRange):
		return "too large a number"
	case err.Func == "ParseBool":
		return "neither true nor false"
	}
	return "not a whole number"
}

// flagError words the command library's errors about flags as the project
// does, with a hint.
func flagError(cmd *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	var invalid *pflag.InvalidValueError
	var missing *pflag.ValueRequiredError
	var number *strconv.NumError
	help := "farhail " + strings.TrimPrefix(cmd.CommandPath()+" --help lists the flags", "farhail ")
	switch {
	case errors.As(err, &unknown):
		name := unknown.GetSpecifiedName()
		if group := unknown.GetSpecifiedShortnames(); group != "" {
			return &UsageError{Message: fmt.Sprintf("no flag -%s", shorten(name)), Text: "-" + group, Advice: help}
		}
		if near := Nearest(name, flagNames(cmd.Flags())); near != "" {
			help = "did you mean --" + near
		}
		return &UsageError{Message: fmt.Sprintf("no flag --%s", shorten(name)), Text: "--" + name, Advice: help}
	case errors.As(err, &invalid) && kindOf(errors.Unwrap(invalid)) == kindInput:
		return errors.Unwrap(invalid) // a file that a flag names
	case invalid != nil && errors.As(err, &number):
		return &UsageError{Message: fmt.Sprintf("--%s: %q: %s", invalid.GetFlag().Name, shorten(invalid.GetValue()), notNumber(number)), Text: invalid.GetValue(), Advice: help}
	case errors.As(err, &invalid):
		return usage("--"+invalid.GetFlag().Name+": "+errors.Unwrap(invalid).Error(), invalid.GetValue(), err, help)
	case errors.As(err, &missing):
		return &UsageError{Message: "--" + missing.GetFlag().Name + " needs a value", Text: "--" + missing.GetFlag().Name, Advice: help}
	}
	return &UsageError{Message: err.Error(), Advice: help}
}
