package main

import (
	"cmp"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/cmd/internal/sheet"
)

// sheetFlags adds the flags of the printed map.
func sheetFlags(cmd *cobra.Command, o *sheet.Options) {
	cli.Choice(cmd, (*string)(&o.Paper), "paper", sheet.Papers, "", "`size` of the paper of sheet.pdf: A4, A3 or letter; none = A4, or A3 where only that holds all")
	cli.Scale(cmd, &o.Scale, "scale", "`scale` of the map in sheet.pdf, like 1:25000; none = the largest at which all fits")
}

// sheetOf returns what a plan's map is printed on: what the flags say, else the plan.
func sheetOf(p plan.Sheet, flags sheet.Options) sheet.Options {
	return sheet.Options{Paper: cmp.Or(flags.Paper, sheet.Paper(p.Paper)), Scale: cmp.Or(flags.Scale, p.Scale)}
}
