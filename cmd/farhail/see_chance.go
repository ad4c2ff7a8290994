package main

import (
	"context"
	"fmt"
	"io"
	"math"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/grid"
	"farhail/geo/los"
	"farhail/geo/terrain"
)

// Errors that are taken where none is given.
const (
	defaultHeightError     = "5m"
	defaultErrorRange      = "300m"
	defaultEyeError        = "0.1m"
	defaultRefractionError = "0.05"
	// errorSource says where they come from.
	errorSource = "height 5 m: between what points on the ground show for ALOS World 3D, 5.4 m rms (Apeh and others 2019, Journal of Geographic Information System 11), and finer models; range 300 m, eye 0.1 m, refraction 0.05: own choice"
	errorForm   = "Matérn 3/2 along rows and along columns; correlation 5 % at the range"
)

// seeChanceFlags are the flags of --chance.
type seeChanceFlags struct {
	number                             int
	height, reach, eyeError, refracted float64
	plusMinus                          string
	given                              func(name string) bool
}

func (f *seeChanceFlags) add(cmd *cobra.Command) {
	cmd.Flags().IntVar(&f.number, "chance", 0, "with -o chance.tif: draw terrain, eye and refraction within their errors this `number` of times, and count how often each cell is seen")
	cli.Quantity(cmd, &f.height, "height-error", cli.Length.NotNegative(), defaultHeightError, "with --chance: standard `deviation` of the terrain's heights")
	cli.Quantity(cmd, &f.reach, "error-range", cli.Length.Positive(), defaultErrorRange, "with --chance: `distance` within which errors of the terrain go together")
	cli.Quantity(cmd, &f.eyeError, "eye-error", cli.Length.NotNegative(), defaultEyeError, "with --chance: standard `deviation` of the eye's height")
	cli.Quantity(cmd, &f.refracted, "refraction-error", cli.Number.Between(0, 1), defaultRefractionError, "with --chance: standard `deviation` of the refraction")
	cmd.Flags().StringVar(&f.plusMinus, "plus-minus", "", "with --chance: write the chance's standard error into this `file` (error.tif)")
	f.given = cmd.Flags().Changed
}

func (f *seeChanceFlags) check() error {
	if f.number < 0 || f.number > math.MaxUint16 {
		return &cli.UsageError{Message: fmt.Sprintf("--chance: a number of draws from 1 to %d", math.MaxUint16), Advice: "write --chance 100"}
	}
	if f.number > 0 {
		if f.plusMinus != "" && !isTIFF(f.plusMinus) {
			return &cli.UsageError{Message: "--plus-minus is written as GeoTIFF", Text: f.plusMinus, Advice: "end the name in .tif"}
		}
		return nil
	}
	for _, name := range []string{"height-error", "error-range", "eye-error", "refraction-error", "plus-minus"} {
		if f.given(name) {
			return &cli.UsageError{Message: "--" + name + " needs --chance", Text: "--" + name, Advice: "add --chance 100 -o chance.tif"}
		}
	}
	return nil
}

// seeChance is how sure the answer is.
type seeChance struct {
	Realisations int      `json:"realisations"`
	Seed         uint64   `json:"seed"`
	AreaM2       cli.Area `json:"area_m2"`          // seen, mean of the realisations
	AreaSDM2     cli.Area `json:"area_sd_m2"`       // from one to the next
	LikelyM2     cli.Area `json:"likely_area_m2"`   // chance of 90 % or more
	PossibleM2   cli.Area `json:"possible_area_m2"` // chance of 10 % or more
	Unknown      int      `json:"unknown"`          // cells that no-data left open in at least one
	PlusMinus    cli.Num  `json:"plus_minus_most"`  // greatest standard error of a cell's chance
	HeightErrorM cli.Len  `json:"height_error_m"`
	ErrorRangeM  cli.Len  `json:"error_range_m"`
	Variogram    string   `json:"variogram"`
	Neighbours   cli.Num  `json:"neighbour_correlation"` // of the errors of two cells side by side
	Measured     int      `json:"measured"`              // cells without an error: --spots
	EyeErrorM    cli.Len  `json:"eye_error_m"`
	Refraction   cli.Num  `json:"refraction_error"`
	Source       string   `json:"source"`

	drawn *los.Chance
}

// chanceOver draws what eyes see, nil where it is not asked for.
func (f *seeFlags) chanceOver(ctx context.Context, app *cli.App, t *terrain.Terrain, eyes []los.Station, radiusM float64, o los.Options) (*seeChance, error) {
	g := &f.chance
	if g.number == 0 {
		return nil, nil
	}
	seed := uint64(plan.DefaultSeed)
	if app.SeedGiven {
		seed = app.Seed
	}
	measured := t.Measured()
	drawn, err := los.ChanceArea(ctx, &t.Heights, eyes, f.target, radiusM, o,
		los.Errors{HeightM: g.height, RangeM: g.reach, EyeM: g.eyeError, Refraction: g.refracted, Known: measured}, seed, g.number)
	if err != nil {
		return nil, err
	}
	c := &seeChance{
		Realisations: g.number, Seed: seed, AreaM2: cli.Area(drawn.AreaM2), AreaSDM2: cli.Area(drawn.AreaSD), Unknown: drawn.Unknown,
		HeightErrorM: cli.Len(g.height), ErrorRangeM: cli.Len(g.reach), Variogram: errorForm, Measured: len(measured),
		EyeErrorM: cli.Len(g.eyeError), Refraction: cli.Num(g.refracted), Source: errorSource, drawn: drawn,
	}
	for i, p := range drawn.P {
		m2 := cli.Area(drawn.Frame.AreaM2(i / drawn.Frame.Cols))
		if p >= 0.9 {
			c.LikelyM2 += m2
		}
		if p >= 0.1 {
			c.PossibleM2 += m2
		}
	}
	for _, x := range drawn.PlusMinus() {
		if float64(x) > float64(c.PlusMinus) {
			c.PlusMinus = cli.Num(x)
		}
	}
	c.Neighbours = cli.Num(math.NaN())
	if field, err := grid.NewErrorField(drawn.Frame, g.height, g.reach, nil); err == nil {
		c.Neighbours = cli.Num(field.Correlation(1, 0))
	}
	return c, nil
}

// write writes the chance, and its standard error where asked for.
func (c *seeChance) write(w io.Writer) error {
	return terrain.WriteGeoTIFF(w, c.drawn.Frame, c.drawn.P, float32(math.NaN()), terrain.WriteOptions{Content: "chance of being seen"})
}

func (c *seeChance) writePlusMinus(w io.Writer) error {
	return terrain.WriteGeoTIFF(w, c.drawn.Frame, c.drawn.PlusMinus(), float32(math.NaN()), terrain.WriteOptions{Content: "standard error of the chance of being seen"})
}

func (c *seeChance) print(w cli.Text) {
	if c == nil {
		return
	}
	square, m2 := w.SquareUnit()
	fmt.Fprintf(w, "  chance   %d draws: %.4g %s on average, sd %.2g; %.4g %s at 90 %% or more, %.4g at 10 %% or more; a cell's chance is +-%.2g or better\n",
		c.Realisations, float64(c.AreaM2)/m2, square, float64(c.AreaSDM2)/m2, float64(c.LikelyM2)/m2, square, float64(c.PossibleM2)/m2, float64(c.PlusMinus))
	fmt.Fprintf(w, "           errors: terrain %s over %s (%s), eye %s, refraction %g; seed %d\n",
		short(w.Words, float64(c.HeightErrorM)), short(w.Words, float64(c.ErrorRangeM)), c.Variogram, short(w.Words, float64(c.EyeErrorM)), float64(c.Refraction), c.Seed)
}
