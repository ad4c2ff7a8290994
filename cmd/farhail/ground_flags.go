package main

import (
	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/geo/terrain"
)

// groundFlags are the flags of every verb with --terrain that change the ground.
type groundFlags struct {
	job.GroundChanges
}

func (g *groundFlags) add(cmd *cobra.Command) {
	cmd.Flags().IntVar(&g.FillVoids, "fill-voids", 0, "fill holes of the terrain of at most this `number` of cells from around them, and say where")
	cli.Files(cmd, &g.Spots, "spots", "measured heights: set the points with a height of this `file` (GPX, GeoJSON) into the terrain")
}

func (g *groundFlags) check() error {
	if g.FillVoids < 0 {
		return &cli.UsageError{Message: "--fill-voids: a number of cells, 0 or more", Advice: "write --fill-voids 50"}
	}
	return nil
}

func (g *groundFlags) apply(t *terrain.Terrain) (*job.Changed, error) {
	return g.Apply(cli.Disk, t)
}
