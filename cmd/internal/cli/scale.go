package cli

import (
	"regexp"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
)

// The scales that a map can be printed at.
const (
	leastScale = 5_000
	mostScale  = 200_000
)

var scaleText = regexp.MustCompile(`^1 ?[:/] ?(\d{1,3}(?:[ ']?\d{3})|\d{4,6})$`)

// ParseScale reads the scale of a map, like 1:25000 or 1:25 000, and returns what stands
// for one. The error is a *QuantityError.
func ParseScale(text string) (int, error) {
	s := strings.TrimSpace(text)
	fail := func(message string) (int, error) {
		return 0, &QuantityError{Text: shorten(s), Message: message, Advice: "write it like 1:25000"}
	}
	found := scaleText.FindStringSubmatch(s)
	if found == nil {
		return fail("not the scale of a map")
	}
	n, err := strconv.Atoi(strings.NewReplacer(" ", "", "'", "").Replace(found[1]))
	if err != nil || n < leastScale || n > mostScale {
		return fail("a map is printed at 1:5000 to 1:200000")
	}
	return n, nil
}

// Scale adds a flag that takes the scale of a map; 0 where it is not given.
func Scale(cmd *cobra.Command, p *int, name, usage string) {
	v := &value{kind: "scale", set: func(s string) (err error) {
		*p, err = ParseScale(s)
		return err
	}}
	v.register(cmd, name, usage)
}
