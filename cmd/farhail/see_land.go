package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/paulmach/orb"
	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/geo/grid"
	"farhail/geo/layer"
	"farhail/geo/mapfile"
	"farhail/geo/terrain"
)

// seeLandFlags are the flags that read the terrain itself, without an eye.
type seeLandFlags struct {
	contours, bands float64
	hillshade       bool
	slope           string
	simplify        float64
}

func (f *seeLandFlags) add(cmd *cobra.Command) {
	cli.Quantity(cmd, &f.contours, "contours", cli.Length.Positive(), "", "instead of what is seen: lines of equal height every `interval`, with -o contours.geojson")
	cli.Quantity(cmd, &f.bands, "bands", cli.Length.Positive(), "", "instead of what is seen: the ground above every `interval`, nested areas, with -o bands.geojson")
	cmd.Flags().BoolVar(&f.hillshade, "hillshade", false, "instead of what is seen: the ground lit from the north-west, 0 to 1, with -o hillshade.tif")
	cli.Choice(cmd, &f.slope, "slope", []string{"degrees", "percent"}, "", "instead of what is seen: how steep the ground is, in `degrees` or percent, with -o slope.tif")
	cli.Quantity(cmd, &f.simplify, "simplify", cli.Length.Positive(), "", "areas in GeoJSON: leave out positions that are off by no more than this `distance`")
}

// asked names what is asked of the terrain, "" for nothing.
func (f *seeLandFlags) asked() string {
	switch {
	case !math.IsNaN(f.contours):
		return "--contours"
	case !math.IsNaN(f.bands):
		return "--bands"
	case f.hillshade:
		return "--hillshade"
	case f.slope != "":
		return "--slope"
	}
	return ""
}

// lines reports whether the answer is drawn, not a raster.
func (f *seeLandFlags) lines() bool { return !math.IsNaN(f.contours) || !math.IsNaN(f.bands) }

// mostLevels bounds the levels of contours and bands.
const mostLevels = 2000

// seeLand is what was read of the terrain.
type seeLand struct {
	Kind          string       `json:"kind"` // contours, bands, hillshade, slope
	Columns       int          `json:"columns"`
	Rows          int          `json:"rows"`
	Known         int          `json:"known"`
	Unknown       int          `json:"unknown"`
	MinM          cli.Len      `json:"min_m"`
	MaxM          cli.Len      `json:"max_m"`
	IntervalM     cli.Len      `json:"interval_m"`
	Levels        int          `json:"levels"` // that are reached
	Unit          string       `json:"unit"`   // of the cells of a raster
	SteepestDeg   cli.Num      `json:"steepest_deg"`
	SteepestPc    cli.Num      `json:"steepest_percent"`
	Terrain       []string     `json:"terrain"`
	Caution       string       `json:"caution"`
	GroundChanges *job.Changed `json:"ground_changes"`
}

// runLand reads the terrain and writes what is asked for.
func (f *seeFlags) runLand(ctx context.Context, app *cli.App) error {
	t, changed, err := f.load(ctx)
	if err != nil {
		return err
	}
	for _, n := range job.GroundNotes(t) {
		app.Note(n)
	}
	nan := math.NaN()
	r := &seeLand{Kind: strings.TrimPrefix(f.land.asked(), "--"), Columns: t.Cols, Rows: t.Rows, Known: t.Info.Known, Unknown: t.Info.Voids,
		MinM: cli.Len(t.Info.MinM), MaxM: cli.Len(t.Info.MaxM), IntervalM: cli.Len(nan), SteepestDeg: cli.Num(nan), SteepestPc: cli.Num(nan),
		Terrain: t.Info.Files, Caution: t.Info.Caution(), GroundChanges: changed}
	write, err := f.readLand(ctx, t, r)
	if err != nil {
		return err
	}
	if err := cli.WriteFile(f.out, f.inputs(), write); err != nil {
		return err
	}
	return app.Print(r, func(w cli.Text) { r.print(w, f.out) })
}

// readLand computes what is asked for and returns what writes it.
func (f *seeFlags) readLand(ctx context.Context, t *terrain.Terrain, r *seeLand) (func(w io.Writer) error, error) {
	nan := float32(math.NaN())
	switch {
	case f.land.lines():
		layers, err := f.land.levels(ctx, t, r)
		return func(w io.Writer) error { return mapfile.WriteGeoJSON(w, layers) }, err
	case f.land.hillshade:
		r.Unit = "1"
		cells, err := terrain.Hillshade(ctx, &t.Heights, 315, 45, 1)
		return func(w io.Writer) error {
			return terrain.WriteGeoTIFF(w, t.Frame, cells, nan, terrain.WriteOptions{Content: "brightness of the ground lit from 315 degrees, 45 degrees up"})
		}, err
	}
	cells := make([]float32, len(t.Z))
	steepest := math.Inf(-1)
	for row := range t.Rows {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		for col := range t.Cols {
			deg := terrain.SlopeDeg(&t.Heights, col, row)
			if deg > steepest {
				steepest = deg
			}
			if f.land.slope == "percent" {
				deg = terrain.SlopePercent(deg)
			}
			cells[row*t.Cols+col] = float32(deg)
		}
	}
	if !math.IsInf(steepest, 0) {
		r.SteepestDeg, r.SteepestPc = cli.Num(steepest), cli.Num(terrain.SlopePercent(steepest))
	}
	r.Unit = f.land.slope
	return func(w io.Writer) error {
		return terrain.WriteGeoTIFF(w, t.Frame, cells, nan, terrain.WriteOptions{Content: "slope in " + f.land.slope, Unit: f.land.slope})
	}, nil
}

// levels draws the contours or the bands.
func (f *seeLandFlags) levels(ctx context.Context, t *terrain.Terrain, r *seeLand) ([]layer.Layer, error) {
	every, title := f.contours, "lines of equal height"
	if !math.IsNaN(f.bands) {
		every, title = f.bands, "ground above heights"
	}
	r.IntervalM = cli.Len(every)
	out := layer.Layer{ID: r.Kind, Title: title}
	first, last := math.Ceil(t.Info.MinM/every), math.Floor(t.Info.MaxM/every)
	if last-first > mostLevels {
		return nil, &cli.UsageError{Message: fmt.Sprintf("--%s: %.0f levels from %.0f to %.0f m, more than %d", r.Kind, last-first, t.Info.MinM, t.Info.MaxM, mostLevels), Advice: "give a larger interval"}
	}
	var below []float32 // heights upside down
	if !math.IsNaN(f.bands) {
		below = make([]float32, len(t.Z))
		for i, z := range t.Z {
			below[i] = -z
		}
	}
	for n := first; n <= last; n++ {
		height := n * every
		var shape orb.Geometry
		if below == nil {
			lines, err := grid.Contour(ctx, t.Frame, t.Z, height)
			if err != nil {
				return nil, err
			}
			if len(lines) == 0 {
				continue
			}
			shape = lines
		} else {
			area, err := areaOf(ctx, t.Frame, below, -height, f.simplify)
			if err != nil {
				return nil, err
			}
			if len(area) == 0 {
				continue
			}
			shape = area
		}
		r.Levels++
		key := "height_m"
		if below != nil {
			key = "from_m"
		}
		out.Features = append(out.Features, layer.New(fmt.Sprintf("%g m", height), shape, layer.P(key, height)))
	}
	return []layer.Layer{out}, nil
}

// areaOf outlines where values are at most a level, with fewer positions where a
// distance is given.
func areaOf(ctx context.Context, f grid.Frame, v []float32, level, simplifyM float64) (orb.MultiPolygon, error) {
	area, err := grid.OutlineUntil(ctx, f, v, level)
	if err != nil {
		return nil, err
	}
	return grid.Simplify(ctx, area, simplifyM)
}

func (r *seeLand) print(w cli.Text, file string) {
	unit, m := w.Unit()
	fmt.Fprintf(w, "%s of %d by %d cells, %.0f to %.0f %s, in %s\n", r.Kind, r.Columns, r.Rows, float64(r.MinM)/m, float64(r.MaxM)/m, unit, file)
	if r.Levels > 0 {
		fmt.Fprintf(w, "  levels   %d, every %s\n", r.Levels, short(w.Words, float64(r.IntervalM)))
	}
	if given(float64(r.SteepestDeg)) {
		fmt.Fprintf(w, "  steepest %.1f degrees, %.0f %%\n", float64(r.SteepestDeg), float64(r.SteepestPc))
	}
	if r.Unknown > 0 {
		fmt.Fprintf(w, "  unknown  %d cells without a height\n", r.Unknown)
	}
	fmt.Fprintf(w, "  %s\n", r.Caution)
}
