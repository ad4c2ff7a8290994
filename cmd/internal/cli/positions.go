package cli

import (
	"github.com/spf13/cobra"

	"farhail/geo/coord"
)

// Positions adds a flag that takes a position as ReadPosition does and may be given
// several times; p lists them in that order.
func Positions(cmd *cobra.Command, p *[]coord.Position, name, usage string) {
	v := &value{kind: "position", set: func(s string) error {
		pos, err := ReadPosition(s)
		if err == nil {
			*p = append(*p, pos)
		}
		return err
	}}
	v.register(cmd, name, usage)
}
