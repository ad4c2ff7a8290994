package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/paulmach/orb"
	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/geo/coord"
	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/terrain"
	"farhail/geo/walk"
)

// ringsFlags are the flags of rings.
type ringsFlags struct {
	terrain    []string
	changes    groundFlags
	ground     coverFlags
	footing    footingFlags
	from       *coord.Position
	at         time.Time
	errorM     float64
	errorSizeM [2]float64
	errorDeg   float64
	after      []float64
	rule       string
	slope      float64
	neighbours string
	maxSlope   float64
	grid       bool
	trails     []string
	barriers   []string
	handrails  []string
	pauses     pauseFlags
	route      *coord.Position
	out        string
	reach      string
}

func newRings(app *cli.App) *cobra.Command {
	var f ringsFlags
	var cmd *cobra.Command
	cmd = app.Command(cli.Verb{
		Use:   "rings --terrain FILE --from POSITION --after 1h,2h [flags]",
		Short: "where walking over the terrain can have led by then",
		Long: `Works out how far somebody can have walked over a terrain from a position, by a
published walking rule, for three walkers: slow, usual and fast at 0.6, 1.0 and
1.4 times the rule's speed (this program's own choice).

A ring is an outer limit for that walker: people who run or ride are beyond it.
It shows where walking could have led, not where anyone is; cliffs smaller than
the terrain's cells are not seen. It is open where it reaches the terrain's edge
or cells without data. Paths run over 80 neighbours a cell: on flat ground rings
are never too small and at most 0.5 % too large. On steep ground walkers zigzag.
With --neighbours 16, as common raster programs have, they go straight, and
rings on flat ground are up to 2.7 % too small (1.4 % on average); with
--grid-lengths and --rule langmuir-per-metre it gives what GRASS r.walk -k does.
Without --cover trees and bogs are not counted. With it each class of ground takes
its published time factor (or --time-factor) over that of the rule's own ground,
lakes and cliffs are not crossed (--crossing says which water stops), bridges open
water, and the paths of the same files are trails.

Trails are walked by the rule's form for paths, barriers are not crossed, not by
trails either: cut a gap where a bridge is. With trails the output names where
they lead out of each ring or of the map, by when, and when each can first be met;
--handrails are lines that lead people without being walked faster, like streams.
No rest is assumed. Where one is stated all walkers keep it: --rest 22:00-06:00, or
--rest dark for nobody walking with the sun 6 degrees down; by --night they walk at
0.8 of the speed (US Army FM 21-18 on roads; 0.67 across country, but a ring is an
outer limit); a --load slows them as the same power of the body does (Pandolf 1977).`,
		Examples: []cli.Example{
			{Line: "farhail rings --terrain N42E001.hgt --from 42.55,1.55 --after 1h,2h -o rings.geojson", Answers: "where can they be after one and two hours?"},
			{Line: "farhail rings --rule tobler --slope 20%", Answers: "how fast does a rule walk up 20 %?"},
		},
		Failed: "could not be done: nobody can walk from there, or the output cannot be written",
		Input:  "a terrain file is wrong or does not cover the place",
		Run: func(ctx context.Context, _ []string) error {
			switch {
			case f.rule == "list":
				return listRules(app)
			case !math.IsNaN(f.slope):
				return showRule(app, f)
			}
			if err := f.checkTogether(cmd.Flags().Changed); err != nil {
				return err
			}
			return runRings(ctx, app, f)
		},
	})
	cli.Files(cmd, &f.terrain, "terrain", "terrain files or folders")
	f.changes.add(cmd)
	f.ground.add(cmd)
	f.footing.add(cmd)
	cli.Position(cmd, &f.from, "from", "where they were")
	cli.Instant(cmd, &f.at, "at", "when they were there, to put a time on each ring")
	cli.Quantity(cmd, &f.errorM, "error", cli.Length.NotNegative().AtMost(100e3), "0m", "radius in which that position is right in 95 of 100 cases")
	cli.Size(cmd, &f.errorSizeM[0], &f.errorSizeM[1], "error-ellipse", cli.Length.NotNegative().AtMost(100e3), "", "or the half axes of the ellipse in which it is (400x150m), with --error-azimuth")
	cli.Quantity(cmd, &f.errorDeg, "error-azimuth", cli.Direction.Between(0, 360), "0deg", "true azimuth of the ellipse's first axis")
	cli.QuantityList(cmd, &f.after, "after", cli.Duration.Positive().AtMost(14*24*3600), "", "how long after (1h,2h,4h)")
	cmd.Flags().StringVar(&f.rule, "rule", "irmischer-clarke-off", "walking rule, or list to name all of them")
	cli.Quantity(cmd, &f.slope, "slope", cli.Percent.Between(-5, 5), "", "with --rule: the rule's speed on that slope (20%, -20%)")
	cli.Choice(cmd, &f.neighbours, "neighbours", []string{"80", "16"}, "80", "moves from each cell")
	cli.Quantity(cmd, &f.maxSlope, "max-slope", cli.Direction.Between(0, 89), "0deg", "ground steeper than this is not walked; 0deg for any")
	cmd.Flags().BoolVar(&f.grid, "grid-lengths", false, "take a projected grid's lengths for lengths on the ground")
	cli.Files(cmd, &f.trails, "trails", "lines that are walked as paths, GPX or GeoJSON")
	cli.Files(cmd, &f.barriers, "barriers", "lines and areas that are not crossed, GPX or GeoJSON")
	cli.Files(cmd, &f.handrails, "handrails", "lines that lead people but are not walked faster, like streams, GPX or GeoJSON")
	f.pauses.add(cmd)
	cli.Position(cmd, &f.route, "route-to", "the usual walker's quickest way to this place too")
	cmd.Flags().StringVarP(&f.out, "output", "o", "", "GeoJSON `file` for the rings, or with --route-to a GPX file for the route")
	cmd.Flags().StringVar(&f.reach, "reach", "", "GeoTIFF `file` for the seconds of the usual walker, cell by cell")
	return cmd
}

func (f ringsFlags) walkingRule() (walk.Rule, error) {
	rule, ok := walk.Named(f.rule)
	if !ok {
		advice := "--rule list names them"
		var names []string
		for _, r := range walk.Rules() {
			names = append(names, r.Name)
		}
		if near := cli.Nearest(f.rule, names); near != "" {
			advice = "did you mean " + near
		}
		return rule, &cli.UsageError{Message: fmt.Sprintf("no walking rule %q", f.rule), Text: f.rule, Advice: advice}
	}
	return rule, nil
}

// ruleText is a rule in the output of --rule list.
type ruleText struct {
	Name         string `json:"name"`
	DistanceKind string `json:"distance_kind"`
	Source       string `json:"source"`
	About        string `json:"about"`
	Validity     string `json:"validity"`
}

func listRules(app *cli.App) error {
	var list []ruleText
	for _, r := range walk.Rules() {
		list = append(list, ruleText{r.Name, string(r.DistanceKind), r.Source, r.About, r.Validity})
	}
	return app.Print(struct {
		Rules []ruleText `json:"rules"`
	}{list}, func(w cli.Text) {
		for _, r := range list {
			fmt.Fprintf(w, "%s (%s distance)\n  %s\n  %s\n  %s\n", r.Name, r.DistanceKind, r.Source, r.About, r.Validity)
		}
	})
}

// paceWords writes the speed of a rule [m/s] as its source has it, or in miles an hour.
func paceWords(w cli.Words, ms float64) string {
	if w.Units == cli.Imperial {
		return w.Speed(ms)
	}
	return fmt.Sprintf("%.4g m/s", ms)
}

func showRule(app *cli.App, f ringsFlags) error {
	rule, err := f.walkingRule()
	if err != nil {
		return err
	}
	if rule.Floored(f.slope) {
		app.Warn(fmt.Sprintf("the published formula gives less than %g m/s here, which is taken instead (own choice)", walk.FloorMS), "")
	}
	out := struct {
		Rule         string  `json:"rule"`
		Slope        cli.Num `json:"slope"`
		SpeedMS      cli.Num `json:"speed_m_s"`
		SecondsPerKM cli.Num `json:"seconds_per_km"`
		ZigzagMS     cli.Num `json:"zigzag_m_s"` // on the map along the slope, zigzags allowed
		DistanceKind string  `json:"distance_kind"`
		Source       string  `json:"source"`
		Validity     string  `json:"validity"`
	}{rule.Name, cli.Num(f.slope), cli.Num(rule.Speed(f.slope)), cli.Num(1000 * rule.Pace(f.slope)), cli.Num(1 / rule.ZigzagPace(f.slope)),
		string(rule.DistanceKind), rule.Source, rule.Validity}
	return app.Print(out, func(w cli.Text) {
		_, metres := w.LongUnit()
		unit := "kilometre"
		if w.Units == cli.Imperial {
			unit = "mile"
		}
		fmt.Fprintf(w, "%s at %+.4g %%: %s, %.0f s for a %s (%s distance)\n",
			out.Rule, 100*f.slope, paceWords(w.Words, float64(out.SpeedMS)), float64(out.SecondsPerKM)*metres/1000, unit, out.DistanceKind)
		if rule.ZigzagPace(f.slope) < rule.MapPace(f.slope) {
			fmt.Fprintf(w, "zigzags are quicker: %s along the slope, on the map\n", paceWords(w.Words, float64(out.ZigzagMS)))
		}
		fmt.Fprintln(w, out.Source)
	})
}

func runRings(ctx context.Context, app *cli.App, f ringsFlags) error {
	rule, err := f.walkingRule()
	if err != nil {
		return err
	}
	for _, need := range []struct {
		given bool
		flag  string
	}{{len(f.terrain) > 0, "--terrain"}, {f.from != nil, "--from"}, {len(f.after) > 0, "--after"}} {
		if !need.given {
			return &cli.UsageError{Message: "rings needs " + need.flag, Text: need.flag, Advice: "like rings --terrain N42E001.hgt --from 42.55,1.55 --after 1h,2h"}
		}
	}
	if err := f.checkOutput(); err != nil {
		return err
	}
	if err := f.changes.check(); err != nil {
		return err
	}
	if err := f.ground.check(); err != nil {
		return err
	}
	if f.reach != "" && !isTIFF(f.reach) {
		return &cli.UsageError{Message: "--reach is written as GeoTIFF", Text: f.reach, Advice: "end the name in .tif"}
	}
	walkers := walk.Walkers()
	coarse := f.neighbours == "16"
	o := walk.Options{Rule: rule, EndHeights: coarse && f.grid, MaxSlopeDeg: f.maxSlope, GridLengths: f.grid, MaxSeconds: walk.RingSeconds(f.after, walkers)}
	if coarse {
		o.Neighbours = 16
	}
	zone := app.Zone
	if zone == nil {
		zone = f.at.Location()
	}
	pauses, err := f.pauses.stated(f.at)
	if err != nil {
		return err
	}
	start := f.at
	if !start.IsZero() {
		start = start.In(zone)
	}
	stops, load, slowed := job.Pauses(pauses, start, f.from.Point, slices.Max(f.after))
	o.Factor = load
	box := around(f.from.Point, f.ellipse().MajorM+o.MaxSeconds*math.Max(rule.Top(), rule.OnTrail().Top()))
	ground, changed, err := f.changes.load(ctx, f.terrain, box, f.from.Point)
	if err != nil {
		return err
	}
	if o.Starts, err = walk.Within(ground.Frame, f.from.Point, f.ellipse(), 0); err != nil {
		return err
	}
	trails, err := f.mask(app, &o, rule, ground.Frame)
	if err != nil {
		return err
	}
	covered, trails, err := f.overCover(app, &o, rule, ground.Frame, trails)
	if err != nil {
		return err
	}
	for _, n := range job.OpenStart(&o, ground.Frame) {
		app.Note(n)
	}
	field, err := walk.Reach(ctx, &ground.Heights, o)
	if errors.Is(err, walk.ErrNoStart) {
		hint := job.SwapHint(ground.Frame, f.from.Point)
		if hint == "" {
			hint = "its one-degree tile is " + strings.Join(terrain.TilesFor(f.from.Point.Bound()), ", ")
		}
		return cli.WithHint(fmt.Errorf("nobody can walk from %s: it lies outside the terrain or on cells without data", coord.Decimal(f.from.Point)), hint)
	}
	if err != nil {
		return err
	}
	out := job.NewRings(coord.Decimal(f.from.Point), f.from.Point, rule, &ground.Heights, walkers, walk.Rings(field, f.from.Point, f.after, walkers, stops))
	out.AddMasks(o)
	lines, err := readShapes(app, f.handrails)
	if err != nil {
		return err
	}
	if trails = append(trails, lines...); len(trails) > 0 {
		out.AddTrails(field, trails, walkers, stops)
	}
	if f.route != nil && !out.AddRoute(field, f.route.Point, stops) {
		app.Warn("no route: the walker does not get to that place within the rings' times", "give a longer --after")
	}
	out.Slowed = slowed
	out.Surface, out.GroundChanges, out.Cover = ground.Info.Surface, changed, covered
	out.Date(f.at, zone)
	for _, n := range job.GroundNotes(ground, job.Spot{Name: "the start", Point: f.from.Point}) {
		app.Note(n)
	}
	for _, r := range out.Rings {
		if r.Open {
			app.Warn(fmt.Sprintf("the ring of the %s walker after %s is open: the terrain ends or has no data there", r.Walker, job.Duration(float64(r.AfterS))), openHint(ground.Info.Missing))
			break
		}
	}
	read := slices.Concat(f.terrain, f.changes.Spots, f.trails, f.barriers, f.handrails, f.ground.cover.Files)
	if f.reach != "" {
		reach := job.NewReach(field, 1, slices.Max(f.after), stops)
		if err := cli.WriteFile(f.reach, read, func(w io.Writer) error { return writeReach(w, reach, "") }); err != nil {
			return err
		}
	}
	if f.out != "" {
		if err := cli.WriteFile(f.out, read, func(w io.Writer) error { return f.write(w, out) }); err != nil {
			return err
		}
	}
	return app.Print(out, func(w cli.Text) { writeRings(w, out, ground.Info.Caution()) })
}

// mask adds trails and barriers to the options, and returns the trails.
func (f ringsFlags) mask(app *cli.App, o *walk.Options, rule walk.Rule, frame grid.Frame) ([]job.Shape, error) {
	trails, err := readShapes(app, f.trails)
	if err != nil {
		return nil, err
	}
	trails = slices.DeleteFunc(trails, func(s job.Shape) bool { return s.Line == nil })
	if o.Trail = job.MarkShapes(frame, trails); o.Trail != nil {
		o.TrailRule = rule.OnTrail()
	}
	barriers, err := readShapes(app, f.barriers)
	if err != nil {
		return nil, err
	}
	o.Barrier = job.MarkShapes(frame, barriers)
	return trails, nil
}

// openHint says how an open ring may be closed.
func openHint(missing []string) string {
	if len(missing) == 0 {
		return "fill the terrain's gaps, small ones with --fill-voids"
	}
	return "add the tiles " + terrain.ListTiles(missing)
}

// around returns the box of longitude and latitude that holds a circle.
func around(p orb.Point, radiusM float64) orb.Bound {
	b := p.Bound()
	for _, deg := range []float64{0, 90, 180, 270} {
		q, _ := earth.Direct(p, earth.NewTrue(deg), 1.01*radiusM)
		q[0] = p.Lon() + earth.Wrap180(q.Lon()-p.Lon())
		b = b.Extend(q)
	}
	return b
}

// exitsTold is how many of a ring's exits are printed.
const exitsTold = 20

func writeRings(w cli.Text, out *job.Rings, caution string) {
	fmt.Fprintf(w, "from %s by %s, cells of %s\n", w.At(orb.Point{float64(out.Lon), float64(out.Lat)}, 6), out.Rule, w.Sides(float64(out.CellEastM), float64(out.CellNorthM), 0))
	fmt.Fprintf(w, "walkers:")
	for _, k := range out.Walkers {
		fmt.Fprintf(w, " %s %.1f", k.Name, k.Factor)
	}
	fmt.Fprintln(w, " times the rule's speed (own choice)")
	for _, s := range out.Slowed {
		fmt.Fprintf(w, "%s: %s\n", strings.TrimSpace(s.By+" "+s.Hours), slowedWords(float64(s.Speed)))
	}
	long, m := w.LongUnit()
	square, m2 := w.SquareUnit()
	fmt.Fprintf(w, "\n   after  walker  %8s  farthest %s  by\n", square, long)
	for _, r := range out.Rings {
		by := "-"
		if r.By != nil {
			by = r.By.Format("2006-01-02 15:04 MST")
		}
		open := ""
		if r.Open {
			open = "  open"
		}
		fmt.Fprintf(w, "%8s  %-6s %9.2f  %11.2f  %s%s\n", job.Duration(float64(r.AfterS)), r.Walker, float64(r.AreaM2)/m2, float64(r.FarthestM)/m, by, open)
	}
	writeExits(w, out)
	if out.Route != nil {
		fmt.Fprintf(w, "\nroute of the usual walker: %.2f %s in %s\n", float64(out.Route.LengthM)/m, long, job.Duration(float64(out.Route.AfterS)))
	}
	writeRingsCover(w, out.Cover)
	fmt.Fprintln(w, "\na ring is an outer limit for that walker: where walking could have led, not where anyone is")
	uncounted := "trees, bogs and water are not counted"
	switch {
	case out.Cover != nil:
		uncounted = "ground is as the cover says, and no better known"
	case out.BarrierCells > 0:
		uncounted = "the barriers are not crossed; trees, bogs and other water are not counted"
	}
	fmt.Fprintf(w, "%s; %s\n", uncounted, caution)
}
