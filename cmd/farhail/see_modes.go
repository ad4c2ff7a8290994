package main

import (
	"errors"
	"math"
	"strings"

	"farhail/cmd/internal/cli"
	"farhail/geo/grid"
	"farhail/geo/los"
	"farhail/geo/terrain"
)

// checkModes refuses flags that ask for several answers at once, or for one in a
// file of another kind.
func (f *seeFlags) checkModes() error {
	raster := map[string]string{"--needed": "needed.tif", "--witness": "blocked.tif", "--watchers": "watchers.tif", "--chance": "chance.tif", "--hillshade": "hillshade.tif", "--slope": "slope.tif"}
	asked := ""
	for _, m := range []struct {
		name  string
		given bool
	}{{"--needed", f.needed}, {"--witness", f.witness}, {"--watchers", f.watchers}, {"--chance", f.chance.number != 0}, {"--profile", f.line.profile},
		{"--contours", !math.IsNaN(f.land.contours)}, {"--bands", !math.IsNaN(f.land.bands)}, {"--hillshade", f.land.hillshade}, {"--slope", f.land.slope != ""}} {
		if !m.given {
			continue
		}
		if asked != "" {
			return &cli.UsageError{Message: m.name + " and " + asked + ": one at a time", Text: m.name, Advice: "run see twice"}
		}
		asked = m.name
	}
	example := raster[asked]
	switch {
	// A chance may be only told.
	case example != "" && !isTIFF(f.out) && (f.out != "" || asked != "--chance"):
		return &cli.UsageError{Message: asked + " is written as GeoTIFF", Text: f.out, Advice: "add -o " + example}
	case f.land.lines() && !endsIn(f.out, ".geojson"):
		return &cli.UsageError{Message: asked + " is written as GeoJSON", Text: f.out, Advice: "add -o " + strings.TrimPrefix(asked, "--") + ".geojson"}
	case !math.IsNaN(f.land.simplify) && (example != "" || f.line.profile || f.out == "" || isTIFF(f.out) || !math.IsNaN(f.land.contours)):
		return &cli.UsageError{Message: "--simplify is for areas in GeoJSON", Text: "--simplify", Advice: "add -o seen.geojson, or --bands 50m -o bands.geojson"}
	case len(f.froms) > 1 && asked != "" && asked != "--chance" && asked != "--watchers":
		return &cli.UsageError{Message: asked + " takes one --from", Text: "--from", Advice: "run see for each"}
	case len(f.froms) < 2 && asked == "--watchers":
		return &cli.UsageError{Message: "--watchers needs several --from", Text: "--watchers", Advice: "give the position of each eye: --from P1 --from P2"}
	}
	if err := f.chance.check(); err != nil {
		return err
	}
	return f.line.check(f.out, f.from != nil)
}

// seeError words what the library refuses.
func seeError(t *terrain.Terrain, err error) error {
	switch {
	case errors.Is(err, los.ErrNoGround):
		return noGround(t)
	case errors.Is(err, grid.ErrField):
		return &cli.UsageError{Message: "--chance: " + err.Error(), Text: "--chance", Advice: "give fewer --spots, or a smaller --radius"}
	}
	return err
}

func noGround(t *terrain.Terrain) error {
	return &terrain.FileError{File: strings.Join(t.Info.Files, ","), At: -1, Kind: terrain.ErrOutside,
		Text: "the terrain has no height at the eye", Help: "move the eye out of the cells without data, or give --fill-voids"}
}

// blocked returns how far from the eye the cell lies whose ground hides each cell
// [m], NaN where none does.
func blocked(f grid.Frame, eye los.Station, a *los.Area) []float32 {
	east, north := make([]float64, f.Rows), make([]float64, f.Rows)
	for row := range f.Rows {
		east[row], north[row] = f.MetresAt(eye.Col, (eye.Row+float64(row))/2)
	}
	out := make([]float32, len(a.BlockedBy))
	for i, cell := range a.BlockedBy {
		out[i] = float32(math.NaN())
		if cell >= 0 {
			col, row := int(cell)%f.Cols, int(cell)/f.Cols
			out[i] = float32(math.Hypot((float64(col)-eye.Col)*east[row], (float64(row)-eye.Row)*north[row]))
		}
	}
	return out
}
