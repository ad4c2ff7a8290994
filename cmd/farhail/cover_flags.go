package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plan"
	"farhail/geo/grid"
)

// coverFlags are the flags of what covers the ground.
type coverFlags struct {
	cover   plan.Cover
	canopyM float64
}

// add registers the flags of the cover, and where sight is asked for that of the
// trees' height.
func (f *coverFlags) add(cmd *cobra.Command) {
	cli.Files(cmd, &f.cover.Files, "cover", "what covers the ground: `file` of OpenStreetMap (GeoJSON) or CORINE (GeoTIFF); may be given several times")
	cli.Choice(cmd, &f.cover.Elsewhere, "cover-elsewhere", job.CoverClasses(), "", "what covers the ground that no file tells: "+strings.Join(job.CoverClasses(), ", ")+"; unknown when not given")
}

// addCanopy registers the height of woods.
func (f *coverFlags) addCanopy(cmd *cobra.Command) {
	cli.Quantity(cmd, &f.canopyM, "canopy-height", plan.CanopyRange, "", "with --cover: `height` of woods (20m)")
}

// check refuses flags that need another.
func (f *coverFlags) check() error {
	for _, c := range []struct {
		given bool
		flag  string
	}{{f.cover.Elsewhere != "", "--cover-elsewhere"}, {f.canopyM > 0, "--canopy-height"}} {
		if c.given && len(f.cover.Files) == 0 {
			return &cli.UsageError{Message: c.flag + " needs --cover", Text: c.flag, Advice: "say where the woods are: --cover landcover.geojson"}
		}
	}
	return nil
}

// load reads what covers the cells of a terrain, nil where nothing is asked for.
func (f *coverFlags) load(app *cli.App, frame grid.Frame) (*job.Cover, error) {
	if f.canopyM > 0 {
		f.cover.CanopyM = f.canopyM
	}
	c, notes, err := job.LoadCover(cli.Disk, f.cover, frame)
	for _, n := range notes {
		app.Note(n)
	}
	return c, err
}

// footingFlags are the flags of walking over cover.
type footingFlags struct {
	crossing string
	factors  []string
}

func (f *footingFlags) add(cmd *cobra.Command) {
	cli.Choice(cmd, &f.crossing, "crossing", job.CoverCrossings(), "", "with --cover: the least water that stops walkers: "+strings.Join(job.CoverCrossings(), ", ")+"; "+plan.DefaultCrossing+" when not given")
	cmd.Flags().StringSliceVar(&f.factors, "time-factor", nil, "with --cover: how many `times` as long as a good path a class takes (wood=3,scrub=2.5), instead of the published figure")
}

// footing returns what the flags say, or what is wrong with them.
func (f *footingFlags) footing(covered bool) (plan.Footing, error) {
	g := plan.Footing{Crossing: plan.DefaultCrossing, TimeFactors: map[string]float64{}}
	switch {
	case !covered && f.crossing != "":
		return g, &cli.UsageError{Message: "--crossing needs --cover", Text: f.crossing, Advice: "say where the water is: --cover waterways.geojson"}
	case !covered && len(f.factors) > 0:
		return g, &cli.UsageError{Message: "--time-factor needs --cover", Text: f.factors[0], Advice: "say where the woods are: --cover landcover.geojson"}
	case f.crossing != "":
		g.Crossing = f.crossing
	}
	for _, text := range f.factors {
		class, number, _ := strings.Cut(text, "=")
		v, err := strconv.ParseFloat(number, 64)
		if err != nil || !(v > 0 && v <= 1000) {
			return g, &cli.UsageError{Message: fmt.Sprintf("--time-factor: %q is not a class and a factor", text), Text: text, Advice: "write it like wood=3"}
		}
		if !slices.Contains(job.CoverClasses(), class) {
			return g, &cli.UsageError{Message: fmt.Sprintf("--time-factor: no class %q", class), Text: text, Advice: "the classes are " + strings.Join(job.CoverClasses(), ", ")}
		}
		g.TimeFactors[class] = v
	}
	return g, nil
}
