package cli

import (
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"
)

// ParseNumberOrWord reads one of a few words, or else a quantity: word is "" for
// a quantity, and the number NaN for a word.
func ParseNumberOrWord(text string, d Dimension, words []string) (v float64, word string, err error) {
	s := strings.TrimSpace(text)
	if slices.Contains(words, s) {
		return math.NaN(), s, nil
	}
	v, err = ParseQuantity(s, d)
	if err == nil || s == "" || strings.ContainsAny(s[:1], "+-.0123456789") {
		return v, "", err
	}
	advice := Meant(s, words, "write a "+d.name+" like "+d.example+", or one of "+strings.Join(words, ", "))
	return math.NaN(), "", &QuantityError{Text: shorten(s), Message: "neither a " + d.name + " nor one of the words", Advice: advice}
}

// NumberOrWord adds a flag that takes a quantity or one of a few words; what was
// not given is NaN and "".
func NumberOrWord(cmd *cobra.Command, number *float64, word *string, name string, d Dimension, words []string, usage string) {
	*number = math.NaN()
	v := &value{kind: d.name, set: func(s string) (err error) {
		*number, *word, err = ParseNumberOrWord(s, d, words)
		return err
	}}
	v.register(cmd, name, usage)
}
