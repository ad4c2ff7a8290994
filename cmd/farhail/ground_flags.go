package main

import (
	"context"

	"github.com/paulmach/orb"
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

// load reads a terrain and changes it as the flags say.
func (g *groundFlags) load(ctx context.Context, names []string, box orb.Bound, spots ...orb.Point) (*terrain.Terrain, *job.Changed, error) {
	t, err := job.LoadTerrain(ctx, cli.Disk, names, box, spots...)
	if err != nil {
		return nil, nil, err
	}
	changed, err := g.Apply(cli.Disk, t)
	return t, changed, err
}
