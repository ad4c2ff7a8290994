package main

import (
	"io"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/geo/magnetic"
)

// verbs is the table of commands, in the order of the help text. Each stands
// in the file of its name.
var verbs = []func(app *cli.App) *cobra.Command{
	newPlan,
	newNew,
	newDemo,
	newCheck,
	newSight,
	newSee,
	newReckon,
	newRings,
	newChance,
	newPlace,
	newSweep,
	newDrill,
	newFix,
	newSky,
	newCard,
	newDesk,
	newCompletion,
	newMan,
}

func newRoot(stdin io.Reader, stdout, stderr io.Writer) *cli.App {
	app := cli.NewApp(stdin, stdout, stderr, "farhail "+cli.Version+" ("+magnetic.Model+")")
	for _, verb := range verbs {
		app.Add(verb(app))
	}
	return app
}
