package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plan"
	"farhail/geo/coord"
	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/los"
	"farhail/geo/terrain"
)

const seeLong = `What can be seen from a point over terrain: the cells of the terrain where
something --target-height above the ground is not hidden by the ground between.

--from is a position in any notation, --from-xy the terrain's own coordinates
(easting and northing, or longitude and latitude). Without --radius the whole
terrain is looked at. The eye's own cell is seen; unknown is what lies in or
behind cells without a height.

The ground falls away by d² (1 - k) / 2R, with k from --refraction and R from
--earth-radius. The curvature coefficient of GDAL's viewshed is 1 - k, so its
-cc 0.85714 is --refraction 0.14286; it takes 6378137m for R and the grid's own
lengths, which on a UTM grid differ from lengths on the ground by up to 0.1 %.

Heights are above ground. Trees and buildings are seen through unless the
terrain holds them; in a surface model the eye stands on the treetops. --cover
puts the canopy of woods, scrub and built ground on a bare terrain: no light
passes below it and nobody stands on it; what is seen with it and without are both
told. It adds nothing to a surface model, which holds the treetops already.

-o seen.geojson draws the areas. -o seen.tif holds 1 for seen, 0 for not seen,
255 for unknown and for cells beyond the radius. With --needed, -o needed.tif
holds the metres above ground that a target must rise to be seen, 0 where the
ground itself is, nan where that is unknown or beyond the radius. With --witness,
-o blocked.tif holds for each hidden cell the metres from the eye to the cell that
stands highest in its line, nan elsewhere.

--chance 100 draws the terrain, the eye's height and the refraction 100 times
within their errors, and -o chance.tif holds how often a cell is seen, 0 to 1, nan
where no-data leaves it open. Errors of the terrain go together over
--error-range and are none at heights that --spots sets. --seed fixes the draws.

With several --from a cell counts where at least one of them sees it, with --chance
in each draw. With --watchers, -o watchers.tif holds by how many it is seen, nan
where it is unknown or beyond the radius of all.

--profile --toward POSITION -o line.svg draws the ground below one line of sight,
in metres and kilometres whatever --units says, as every file has them.

--contours, --bands, --hillshade and --slope read the terrain itself and need no
eye; with --from and --radius they take the part around it. Areas and lines go to
GeoJSON, --simplify leaves out positions of areas without any two coming to cross;
--hillshade and --slope go to GeoTIFF.`

// seeFlags are the flags of the verb as typed; NaN, nil and "" are not given.
type seeFlags struct {
	terrain     []string
	changes     groundFlags
	ground      coverFlags
	from        *coord.Position
	fromXY      string
	eye, target float64
	radius      float64
	refraction  float64
	earthRadius float64
	needed      bool
	witness     bool
	watchers    bool
	out         string

	froms  []coord.Position // all that --from gives, from is the first
	chance seeChanceFlags
	line   seeProfileFlags
	land   seeLandFlags
}

// seeResult is the answer: the keys of --json.
type seeResult struct {
	Cells   int      `json:"cells"`
	Seen    int      `json:"seen"`
	Unknown int      `json:"unknown"`
	AreaM2  cli.Area `json:"area_m2"`
	Caution string   `json:"caution"` // what the kind of surface means
	// GroundChanges is null without --fill-voids and --spots.
	GroundChanges *job.Changed `json:"ground_changes"`
	Cover         *seeCover    `json:"cover"`  // null without --cover
	Chance        *seeChance   `json:"chance"` // null without --chance
	// MissingTiles are one-degree tiles that no file covers in full: of the radius, or
	// without one of the terrain.
	MissingTiles []string `json:"missing_tiles"`
	From         struct {
		Lat     cli.Deg `json:"lat"`
		Lon     cli.Deg `json:"lon"`
		GroundM cli.Len `json:"ground_m"`
	} `json:"from"`
	// Eyes and SeenBy are of several eyes: what each sees, and how many cells are seen
	// by one of them, by two and so on. The counts above are what all see together.
	Eyes   []seenEye `json:"eyes"`
	SeenBy []int     `json:"seen_by"`
	Inputs struct {
		Terrain       []string `json:"terrain"`
		EyeHeightM    cli.Len  `json:"eye_height_m"`
		TargetHeightM cli.Len  `json:"target_height_m"`
		RadiusM       cli.Len  `json:"radius_m"`
		Surface       string   `json:"surface"` // surface, ground or unknown
		Datum         string   `json:"datum"`   // of the heights, or unknown
		Refraction    cli.Num  `json:"refraction"`
		EarthRadiusM  cli.Len  `json:"earth_radius_m"`
		CellEastM     cli.Len  `json:"cell_east_m"`
		CellNorthM    cli.Len  `json:"cell_north_m"`
	} `json:"inputs"`

	frame grid.Frame // of the terrain
	eye   los.Station
	watch *los.Watch // nil for one eye
}

func newSee(app *cli.App) *cobra.Command {
	var f seeFlags
	cmd := app.Command(cli.Verb{
		Use:   "see",
		Short: "what can be seen from a point over terrain",
		Long:  seeLong,
		Examples: []cli.Example{
			{Line: `farhail see --terrain N42E001.hgt --from "42.6N 1.5E" --radius 10km`, Answers: "the ground that a standing person sees within 10 km"},
			{Line: `farhail see --terrain dem/ --from "31T CH 78000 17000" --target-height 2m --radius 5km -o seen.geojson`, Answers: "where a person is seen from there, as an area for a map"},
			{Line: `farhail see --terrain N42E001.hgt --from "42.6N 1.5E" --toward "42.62N 1.56E" --profile -o line.svg`, Answers: "what stands between two places, drawn"},
			{Line: `farhail see --terrain N42E001.hgt --contours 50m -o contours.geojson`, Answers: "lines of equal height for a map"},
		},
		Input: "a terrain file is wrong or does not hold the point",
		Run:   func(ctx context.Context, _ []string) error { return f.run(ctx, app) },
	})
	cli.Files(cmd, &f.terrain, "terrain", "terrain `file` or folder (.hgt, GeoTIFF, Esri ASCII); may be given several times")
	f.changes.add(cmd)
	f.ground.add(cmd)
	f.ground.addCanopy(cmd)
	cli.Positions(cmd, &f.froms, "from", "`position` of the eye; several together see what at least one of them does")
	cmd.Flags().StringVar(&f.fromXY, "from-xy", "", "place of the eye in the terrain's own coordinates (`X,Y`)")
	cli.Quantity(cmd, &f.eye, "eye-height", cli.Length.NotNegative(), fmt.Sprintf("%gm", plan.DefaultEyeHeightM), "`height` of the eye above ground")
	cli.Quantity(cmd, &f.target, "target-height", cli.Length.NotNegative(), "0m", "`height` above ground of what is looked for")
	cli.Quantity(cmd, &f.radius, "radius", cli.Length.Positive(), "", "`distance` to look; all of the terrain without it")
	cli.Quantity(cmd, &f.refraction, "refraction", cli.Number.Between(-1, 1), fmt.Sprint(earth.DefaultRefraction), "`coefficient` k of the sight line's curve; 1 - k is GDAL's coefficient")
	cli.Quantity(cmd, &f.earthRadius, "earth-radius", cli.Length.Positive(), fmt.Sprintf("%.1fm", earth.MeanRadiusM), "`radius` of the earth")
	cmd.Flags().BoolVar(&f.needed, "needed", false, "with -o needed.tif: the height that a target needs to be seen, cell by cell")
	cmd.Flags().BoolVar(&f.witness, "witness", false, "with -o blocked.tif: how far from the eye the ground stands that hides a cell")
	cmd.Flags().BoolVar(&f.watchers, "watchers", false, "with several --from and -o watchers.tif: by how many of them a cell is seen")
	f.chance.add(cmd)
	f.line.add(cmd)
	f.land.add(cmd)
	cmd.Flags().StringVarP(&f.out, "output", "o", "", "write the seen area into this `file` (seen.geojson or seen.tif), or what another flag asks for")
	return cmd
}

func (f *seeFlags) run(ctx context.Context, app *cli.App) error {
	if len(f.froms) > 0 {
		f.from = &f.froms[0]
	}
	if err := f.check(); err != nil {
		return err
	}
	switch {
	case f.land.asked() != "":
		return f.runLand(ctx, app)
	case f.line.profile:
		return f.runProfile(ctx, app)
	}
	t, changed, err := f.load(ctx)
	if err != nil {
		return err
	}
	eyes, err := f.stations(t)
	if err != nil {
		return err
	}
	radius := f.radius
	if math.IsNaN(radius) {
		radius = math.Inf(1)
	}
	lines := los.Options{Refraction: f.refraction, EarthRadiusM: f.earthRadius}
	covered, err := f.coverOver(ctx, app, t, eyes, radius, &lines)
	var area *los.Area
	var watch *los.Watch
	if err == nil {
		area, watch, err = f.look(ctx, t, eyes, radius, lines)
	}
	var chance *seeChance
	if err == nil {
		chance, err = f.chanceOver(ctx, app, t, eyes, radius, lines)
	}
	if err != nil {
		return seeError(t, err)
	}
	f.notes(app, t, eyes, area)
	result := f.result(t, eyes[0], area)
	result.watched(t, eyes, watch)
	result.GroundChanges, result.Cover, result.Chance = changed, covered, chance
	if f.chance.plusMinus != "" {
		if err := cli.WriteFile(f.chance.plusMinus, f.inputs(), chance.writePlusMinus); err != nil {
			return err
		}
	}
	if f.out != "" {
		// The file is written before anything is printed, so that what stdout
		// says is true.
		if err := cli.WriteFile(f.out, f.inputs(), func(w io.Writer) error { return f.write(ctx, w, result, area) }); err != nil {
			return err
		}
	}
	return app.Print(result, func(w cli.Text) { f.print(w, result) })
}

// load reads the terrain around the eyes, all of it without one.
func (f *seeFlags) load(ctx context.Context) (*terrain.Terrain, *job.Changed, error) {
	var spots []orb.Point
	for _, p := range f.froms {
		spots = append(spots, p.Point)
	}
	return f.changes.load(ctx, f.terrain, f.box(), spots...)
}

// inputs lists the files that are read, which no output may replace.
func (f *seeFlags) inputs() []string {
	return slices.Concat(f.terrain, f.changes.Spots, f.ground.cover.Files)
}

// check refuses flags that do not go together.
func (f *seeFlags) check() error {
	if err := f.checkModes(); err != nil {
		return err
	}
	switch {
	case len(f.terrain) == 0:
		return &cli.UsageError{Message: "see needs --terrain", Advice: "give a terrain file or a folder of them: --terrain N42E001.hgt"}
	case f.land.asked() != "" && f.from == nil && f.fromXY == "":
	case (f.from == nil) == (f.fromXY == ""):
		return &cli.UsageError{Message: "see needs --from or --from-xy, one of them", Advice: `give the eye's position: --from "42.6N 1.5E"`}
	case f.out != "" && !f.line.profile && !isTIFF(f.out) && !endsIn(f.out, ".geojson"):
		return &cli.UsageError{Message: "-o: the seen area is written as GeoJSON or GeoTIFF", Text: f.out, Advice: "end the name in .geojson or .tif"}
	}
	if f.fromXY != "" {
		if _, _, err := parseXY(f.fromXY); err != nil {
			return err
		}
	}
	if err := f.ground.check(); err != nil {
		return err
	}
	return f.changes.check()
}

// box returns the part of the terrain that is needed, the zero box for all.
func (f *seeFlags) box() orb.Bound {
	if f.from == nil || math.IsNaN(f.radius) {
		return orb.Bound{}
	}
	// A hundredth more covers that cells are counted by their rows' lengths.
	b := f.from.Point.Bound()
	for _, from := range f.froms {
		for _, bearing := range []float64{0, 90, 180, 270} {
			p, _ := earth.Direct(from.Point, earth.NewTrue(bearing), f.radius*1.01)
			// Keep the box in one piece over the 180th meridian.
			p[0] = f.from.Point.Lon() + earth.Wrap180(p.Lon()-f.from.Point.Lon())
			b = b.Extend(p)
		}
	}
	return b
}

// stations returns the places of all eyes in the terrain.
func (f *seeFlags) stations(t *terrain.Terrain) ([]los.Station, error) {
	first, err := f.station(t, f.from)
	if err != nil {
		return nil, err
	}
	eyes := []los.Station{first}
	for i := 1; i < len(f.froms); i++ {
		s, err := f.station(t, &f.froms[i])
		if err != nil {
			return nil, err
		}
		eyes = append(eyes, s)
	}
	return eyes, nil
}

// station returns an eye's place in the terrain: that of a position, or without one
// of --from-xy.
func (f *seeFlags) station(t *terrain.Terrain, from *coord.Position) (los.Station, error) {
	s := los.Station{HeightM: f.eye}
	outside := &terrain.FileError{File: strings.Join(t.Info.Files, ","), At: -1, Kind: terrain.ErrOutside, Text: "the eye lies outside the terrain"}
	if from != nil {
		s.Col, s.Row = t.Cell(from.Point)
		outside.Help = "it needs the tile " + strings.Join(terrain.TilesFor(from.Point.Bound()), " ")
	} else {
		x, y, err := parseXY(f.fromXY)
		if err != nil {
			return s, err
		}
		s.Col, s.Row = t.CellXY(x, y)
		east, south := t.XY(float64(t.Cols-1), float64(t.Rows-1))
		outside.Help = fmt.Sprintf("its %v coordinates run from %.10g,%.10g to %.10g,%.10g", t.CRS, t.X0, south, east, t.Y0)
	}
	if t.Inside(s.Col, s.Row) {
		return s, nil
	}
	if from != nil {
		if hint := job.SwapHint(t.Frame, from.Point); hint != "" {
			outside.Help = hint
		}
	}
	return s, outside
}

// parseXY reads two coordinates.
func parseXY(text string) (x, y float64, err error) {
	a, b, found := strings.Cut(text, ",")
	x, errX := strconv.ParseFloat(strings.TrimSpace(a), 64)
	y, errY := strconv.ParseFloat(strings.TrimSpace(b), 64)
	if !found || errX != nil || errY != nil || math.IsNaN(x+y) || math.IsInf(x+y, 0) {
		return 0, 0, &cli.UsageError{Message: fmt.Sprintf("--from-xy: %q is not two coordinates", text), Text: text,
			Advice: "write the easting and the northing, or the longitude and the latitude: --from-xy 396518.66,3794432.83"}
	}
	return x, y, nil
}

func (f *seeFlags) result(t *terrain.Terrain, eye los.Station, a *los.Area) *seeResult {
	r := &seeResult{Cells: a.Cells, Seen: a.Seen, Unknown: a.Unknown, AreaM2: cli.Area(a.AreaM2), frame: t.Frame, eye: eye,
		MissingTiles: append([]string{}, t.Info.Missing...), Eyes: []seenEye{}, SeenBy: []int{}}
	p := t.Point(eye.Col, eye.Row)
	r.From.Lat, r.From.Lon = cli.Deg(p.Lat()), cli.Deg(p.Lon())
	r.From.GroundM = cli.Len(t.SampleCell(eye.Col, eye.Row))
	east, north := t.MetresAt(eye.Col, eye.Row)
	in := &r.Inputs
	in.Terrain = t.Info.Files
	in.EyeHeightM, in.TargetHeightM, in.RadiusM = cli.Len(f.eye), cli.Len(f.target), cli.Len(f.radius)
	in.Refraction, in.EarthRadiusM = cli.Num(f.refraction), cli.Len(f.earthRadius)
	in.Surface, in.Datum, r.Caution = t.Info.Surface, t.Info.Datum, t.Info.Caution()
	in.CellEastM, in.CellNorthM = cli.Len(east), cli.Len(north)
	return r
}

func (f *seeFlags) print(w cli.Text, r *seeResult) {
	in := r.Inputs
	square, m2 := w.SquareUnit()
	fmt.Fprintf(w, "seen %d of %d cells, %.4g %s\n", r.Seen, r.Cells, float64(r.AreaM2)/m2, square)
	fmt.Fprintf(w, "  unknown  %d cells, in or behind ground without a height\n", r.Unknown)
	fmt.Fprintf(w, "  eye      %s above the ground of %s at %s\n", short(w.Words, float64(in.EyeHeightM)), w.Length(float64(r.From.GroundM), 0), w.At(orb.Point{float64(r.From.Lon), float64(r.From.Lat)}, 5))
	fmt.Fprintf(w, "  target   %s above the ground", short(w.Words, float64(in.TargetHeightM)))
	if !math.IsNaN(f.radius) {
		fmt.Fprintf(w, ", within %s", w.Distance(f.radius))
	}
	fmt.Fprintf(w, "\n  taken: refraction %g, earth radius %.1f m, cells of %s\n",
		float64(in.Refraction), float64(in.EarthRadiusM), w.Sides(float64(in.CellEastM), float64(in.CellNorthM), 1))
	fmt.Fprintf(w, "  %s\n  vertical datum of the heights: %s\n", r.Caution, in.Datum)
	r.printEyes(w)
	r.Cover.print(w)
	r.Chance.print(w)
}
