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
	"farhail/cmd/internal/overlay"
	"farhail/geo/coord"
	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/mapfile"
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
	after      []float64
	rule       string
	slope      float64
	neighbours string
	maxSlope   float64
	grid       bool
	trails     []string
	barriers   []string
	rest       string
	night      string
	route      *coord.Position
	out        string
	reach      string
}

func newRings(app *cli.App) *cobra.Command {
	var f ringsFlags
	cmd := app.Command(cli.Verb{
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
they lead out of each ring, and when each can first be met. All walkers keep the
hours of rest; by night they walk at 0.8 of the speed (US Army FM 21-18 on roads;
0.67 across country, but a ring is an outer limit).`,
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
	cli.QuantityList(cmd, &f.after, "after", cli.Duration.Positive().AtMost(14*24*3600), "", "how long after (1h,2h,4h)")
	cmd.Flags().StringVar(&f.rule, "rule", "irmischer-clarke-off", "walking rule, or list to name all of them")
	cli.Quantity(cmd, &f.slope, "slope", cli.Percent.Between(-5, 5), "", "with --rule: the rule's speed on that slope (20%, -20%)")
	cli.Choice(cmd, &f.neighbours, "neighbours", []string{"80", "16"}, "80", "moves from each cell")
	cli.Quantity(cmd, &f.maxSlope, "max-slope", cli.Direction.Between(0, 89), "0deg", "ground steeper than this is not walked; 0deg for any")
	cmd.Flags().BoolVar(&f.grid, "grid-lengths", false, "take a projected grid's lengths for lengths on the ground")
	cli.Files(cmd, &f.trails, "trails", "lines that are walked as paths, GPX or GeoJSON")
	cli.Files(cmd, &f.barriers, "barriers", "lines and areas that are not crossed, GPX or GeoJSON")
	cmd.Flags().StringVar(&f.rest, "rest", "", "daily `hours` of rest, with --at (22:00-06:00)")
	cmd.Flags().StringVar(&f.night, "night", "", "daily `hours` of walking by night, with --at (21:00-05:30)")
	cli.Position(cmd, &f.route, "route", "the usual walker's quickest way to this place too")
	cmd.Flags().StringVarP(&f.out, "output", "o", "", "GeoJSON `file` for the rings")
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
	}{list}, func(w io.Writer) {
		for _, r := range list {
			fmt.Fprintf(w, "%s (%s distance)\n  %s\n  %s\n  %s\n", r.Name, r.DistanceKind, r.Source, r.About, r.Validity)
		}
	})
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
	return app.Print(out, func(w io.Writer) {
		fmt.Fprintf(w, "%s at %+.4g %%: %.4g m/s, %.0f s for a kilometre (%s distance)\n",
			out.Rule, 100*f.slope, out.SpeedMS, out.SecondsPerKM, out.DistanceKind)
		if rule.ZigzagPace(f.slope) < rule.MapPace(f.slope) {
			fmt.Fprintf(w, "zigzags are quicker: %.4g m/s along the slope, on the map\n", out.ZigzagMS)
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
	if f.out != "" && !strings.HasSuffix(strings.ToLower(f.out), ".geojson") {
		return &cli.UsageError{Message: "-o: the rings are written as GeoJSON", Text: f.out, Advice: "end the name in .geojson"}
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
	stops, err := f.stops(f.at.In(zone))
	if err != nil {
		return err
	}
	box := around(f.from.Point, f.errorM+o.MaxSeconds*math.Max(rule.Top(), rule.OnTrail().Top()))
	ground, err := job.LoadTerrain(cli.Disk, f.terrain, box, f.from.Point)
	if err != nil {
		return err
	}
	changed, err := f.changes.apply(ground)
	if err != nil {
		return err
	}
	circle := earth.Ellipse{MajorM: f.errorM, MinorM: f.errorM}
	if o.Starts, err = walk.Within(ground.Frame, f.from.Point, circle, 0); err != nil {
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
	if len(trails) > 0 {
		out.AddTrails(field, trails, walkers, stops)
	}
	if f.route != nil && !out.AddRoute(field, f.route.Point, stops) {
		app.Warn("no route: the walker does not get to that place within the rings' times", "give a longer --after")
	}
	out.Surface, out.GroundChanges, out.Cover = ground.Info.Surface, changed, covered
	out.Date(f.at, zone)
	for _, n := range job.GroundNotes(ground, job.Spot{Name: "the start", Point: f.from.Point}) {
		app.Note(n)
	}
	for _, r := range out.Rings {
		if r.Open {
			app.Warn(fmt.Sprintf("the ring of the %s walker after %s is open: the terrain ends or has no data there", r.Walker, hours(float64(r.AfterS))), openHint(ground.Info.Missing))
			break
		}
	}
	read := slices.Concat(f.terrain, f.changes.Spots, f.trails, f.barriers, f.ground.cover.Files)
	if f.reach != "" {
		if err := cli.WriteFile(f.reach, read, func(w io.Writer) error { return writeReach(w, field, slices.Max(f.after)) }); err != nil {
			return err
		}
	}
	if f.out != "" {
		if err := cli.WriteFile(f.out, read, func(w io.Writer) error { return mapfile.WriteGeoJSON(w, overlay.ReachLayers(out)) }); err != nil {
			return err
		}
	}
	return app.Print(out, func(w io.Writer) { writeRings(w, out, ground.Info.Caution()) })
}

// mask adds trails and barriers to the options, and returns the trails.
func (f ringsFlags) mask(app *cli.App, o *walk.Options, rule walk.Rule, frame grid.Frame) ([]job.Shape, error) {
	read := func(names []string) (all []job.Shape, err error) {
		for _, name := range names {
			shapes, problems, err := job.ReadShapes(cli.Disk, name)
			if err != nil {
				return nil, err
			}
			for _, p := range problems {
				if p.Severity == mapfile.SeverityWarning {
					app.Warn(fmt.Sprintf("%s:%d:%d: %s", name, p.Line, p.Column, p.Text), p.Hint)
				}
			}
			all = append(all, shapes...)
		}
		return all, nil
	}
	trails, err := read(f.trails)
	if err != nil {
		return nil, err
	}
	trails = slices.DeleteFunc(trails, func(s job.Shape) bool { return s.Line == nil })
	if o.Trail = job.MarkShapes(frame, trails); o.Trail != nil {
		o.TrailRule = rule.OnTrail()
	}
	barriers, err := read(f.barriers)
	if err != nil {
		return nil, err
	}
	o.Barrier = job.MarkShapes(frame, barriers)
	return trails, nil
}

// stops returns the hours of rest and of night, counted from the start.
func (f ringsFlags) stops(start time.Time) ([]walk.Stop, error) {
	var stops []walk.Stop
	for _, span := range []struct {
		flag, text string
		speed      float64
	}{{"--rest", f.rest, 0}, {"--night", f.night, walk.NightOnRoads}} {
		if span.text == "" {
			continue
		}
		if f.at.IsZero() {
			return nil, &cli.UsageError{Message: span.flag + " needs --at", Text: span.flag, Advice: "say when they were there, like --at 2026-11-24T15:40+01:00"}
		}
		begin, end, _ := strings.Cut(span.text, "-")
		from, err1 := time.Parse("15:04", begin)
		to, err2 := time.Parse("15:04", end)
		if err1 != nil || err2 != nil || begin == end {
			return nil, &cli.UsageError{Message: fmt.Sprintf("%s: not two times of day: %q", span.flag, span.text), Text: span.text, Advice: "like " + span.flag + " 22:00-06:00"}
		}
		clock := func(t time.Time) time.Duration {
			return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute
		}
		stops = append(stops, walk.Daily(start, clock(from), clock(to), span.speed, slices.Max(f.after))...)
	}
	return stops, nil
}

// openHint says how an open ring may be closed.
func openHint(missing []string) string {
	if len(missing) == 0 {
		return "fill the terrain's gaps, small ones with --fill-voids"
	}
	return "add the tiles " + terrain.ListTiles(missing)
}

// writeReach writes the usual walker's seconds to each cell, NaN where that takes
// longer than the last of the rings.
func writeReach(w io.Writer, field *walk.Field, lastS float64) error {
	seconds := slices.Clone(field.Seconds)
	for i, s := range seconds {
		if float64(s) > lastS {
			seconds[i] = float32(math.NaN())
		}
	}
	return terrain.WriteGeoTIFF(w, field.Frame, seconds, float32(math.NaN()), terrain.WriteOptions{Content: "seconds of walking of the usual walker", Unit: "s"})
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

func writeRings(w io.Writer, out *job.Rings, caution string) {
	fmt.Fprintf(w, "from %.6f, %.6f by %s, cells of %.0f x %.0f m\n", out.Lat, out.Lon, out.Rule, out.CellEastM, out.CellNorthM)
	fmt.Fprintf(w, "walkers:")
	for _, k := range out.Walkers {
		fmt.Fprintf(w, " %s %.1f", k.Name, k.Factor)
	}
	fmt.Fprintln(w, " times the rule's speed (own choice)")
	fmt.Fprintln(w, "\n   after  walker       km2  farthest km  by")
	for _, r := range out.Rings {
		by := "-"
		if r.By != nil {
			by = r.By.Format("2006-01-02 15:04 MST")
		}
		open := ""
		if r.Open {
			open = "  open"
		}
		fmt.Fprintf(w, "%8s  %-6s %9.2f  %11.2f  %s%s\n", hours(float64(r.AfterS)), r.Walker, r.AreaM2/1e6, r.FarthestM/1000, by, open)
	}
	if len(out.Handrails) > 0 {
		fmt.Fprintln(w, "\nwhere trails lead out of the fast walker's rings:")
		for _, r := range out.Rings {
			if r.Walker != out.Handrails[0].Walker {
				continue
			}
			for i, e := range r.Exits {
				if i == exitsTold {
					fmt.Fprintf(w, "%8s  and %d more: -o draws them, --json lists them\n", hours(float64(r.AfterS)), len(r.Exits)-i)
					break
				}
				fmt.Fprintf(w, "%8s  %.6f, %.6f  %s\n", hours(float64(r.AfterS)), e.Lat, e.Lon, e.Trail)
			}
		}
	}
	if out.Route != nil {
		fmt.Fprintf(w, "\nroute of the usual walker: %.2f km in %s\n", out.Route.LengthM/1000, hours(float64(out.Route.AfterS)))
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

// hours writes a time as people say it: 2 h, 1.5 h, 45 min.
func hours(seconds float64) string {
	if seconds < 3600 {
		return fmt.Sprintf("%.4g min", seconds/60)
	}
	return fmt.Sprintf("%.4g h", seconds/3600)
}
