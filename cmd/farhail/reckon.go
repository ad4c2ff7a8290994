package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/geo/reckon"
)

func newReckon(app *cli.App) *cobra.Command {
	var o reckon.Options
	var adjust string
	cmd := app.Command(cli.Verb{
		Use:   "reckon LOG… [flags]",
		Short: "a leg log: position, error ellipse, way home",
		Long: `Works out a leg log: where it leads, how sure that is, and the way home.

A log is plain text, one leg a line, BEARING DISTANCE [@TIME] [slope ±N%] [note]:

  start: 42.55 1.55
  north: magnetic                     or true, or grid (of UTM)
  declination: 3.2E                   or 3.2E in 2015, 0.2E a year
  date: 2026-11-24 Europe/Andorra
  pace: 116 per 100 m single          or double, or 30 in per step
  060 1000 m @10:40
  130 850 paces slope +12% crossed the stream
  N76d00'E 80.40 m
  350,010 300 m                       several readings: their circular mean

Bearings are degrees, quadrants or mils (1066 mil); a letter T, M or G behind one
gives it a north of its own, back before one says that it was read looking back.
Distances are in m, km, ft, yd, mi, NM, paces, single paces, double paces. A table
(CSV with commas, semicolons or tabs) whose first row names the columns bearing,
distance, time, slope, note is read too; "distance (m)" gives a column its unit.
Several logs are answered in one table.

A distance walked on a slope is reduced to the map. Where bearings are magnetic and the log
gives no declination, the magnetic model's for its start and date is taken.

north_m and east_m are plain sums, as traverse books print them; the end
position chains the legs on the ellipsoid. The way home is a straight line and
not a safe path.`,
		Examples: []cli.Example{
			{Line: "farhail reckon walk.log", Answers: "where are we, how sure, which way home?"},
			{Line: "farhail reckon loop.log --adjust compass --json", Answers: "by how much does the loop miss its start, and the legs with that spread over them"},
		},
		Failed:  "could not be done: the magnetic model does not cover the date",
		Input:   "a log is wrong: the message names file, line and column",
		MinArgs: 1,
		MaxArgs: -1,
		Run: func(_ context.Context, args []string) error {
			o.Adjust = reckon.Adjustment(adjust)
			return runReckon(app, args, o)
		},
	})
	// The interface states 5 % and 3 degrees; plans default to their own.
	cli.Quantity(cmd, &o.SigmaDistance, "sigma-distance", cli.Percent.NotNegative(), "5%", "standard deviation of a leg's length, a share of it")
	cli.Quantity(cmd, &o.SigmaBearingDeg, "sigma-bearing", cli.Direction.NotNegative(), "3deg", "standard deviation of a leg's bearing")
	cli.Quantity(cmd, &o.ScaleBias, "scale-bias", cli.Percent.NotNegative(), "0%", "standard deviation of an error of pace length common to all legs")
	cli.Quantity(cmd, &o.BearingBiasDeg, "bearing-bias", cli.Direction.NotNegative(), "0deg", "standard deviation of a bearing error common to all legs")
	cmd.Flags().BoolVar(&o.Close, "close", false, "the log ends where it began: say what it misses by")
	cli.Choice(cmd, &adjust, "adjust", []string{string(reckon.Compass), string(reckon.Transit), string(reckon.LeastSquares)}, "",
		"spread that over the legs: compass, transit or least-squares")
	return cmd
}

func runReckon(app *cli.App, names []string, o reckon.Options) error {
	var logs []*job.Reckon
	var faults []error
	for _, name := range names {
		r, warnings, err := reckonFile(name, o)
		if err != nil {
			faults = append(faults, err)
			continue
		}
		for _, w := range warnings {
			app.Warn(fmt.Sprintf("%s:%d: %s", name, w.Line, w.Text), w.Hint)
		}
		logs = append(logs, r)
	}
	switch {
	case len(faults) == 1:
		return faults[0]
	case len(faults) > 1:
		return errors.Join(faults...)
	case len(logs) == 1:
		return app.Print(logs[0], func(w io.Writer) { writeReckon(w, logs[0]) })
	}
	return app.Print(struct {
		Logs []*job.Reckon `json:"logs"`
	}{logs}, func(w io.Writer) { writeLogs(w, logs) })
}

func reckonFile(name string, o reckon.Options) (*job.Reckon, []reckon.Warning, error) {
	l, err := job.ReadLog(cli.Disk, name)
	if err != nil {
		return nil, nil, err
	}
	return job.ReckonLog(l, o)
}

// writeLogs writes several logs in one table, a log a line; the legs of each
// are told when it is given alone.
func writeLogs(w io.Writer, logs []*job.Reckon) {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(t, "legs\tm\tnorth m\teast m\thome m\ttrue\tmagnetic\tgrid\tpaces\t95 % within m\tmisses by m\tend\t  log\n")
	for _, r := range logs {
		e, misses, end := r.Ellipse95, "-", "-"
		if r.Closure != nil {
			misses = fmt.Sprintf("%.1f", r.Closure.LengthM)
		}
		if len(r.Path) > 0 {
			end = fmt.Sprintf("%.6f, %.6f", r.End.Lat, r.End.Lon)
		}
		paces := "-"
		if p := float64(r.Home.Paces); !math.IsNaN(p) {
			paces = fmt.Sprintf("%.0f", p)
		}
		fmt.Fprintf(t, "%d\t%.0f\t%.1f\t%.1f\t%.0f\t%s\t%s\t%s\t%s\t%.0f x %.0f\t%s\t%s\t  %s\n",
			len(r.Legs), r.LengthM, r.NorthM, r.EastM, r.Home.DistanceM, degreesOr(r.Home.TrueDeg), degreesOr(r.Home.MagneticDeg), degreesOr(r.Home.GridDeg),
			paces, e.MajorM, e.MinorM, misses, end, r.Log)
	}
	t.Flush()
	fmt.Fprintln(w, "the way home is a line, not a safe path; a log given alone shows its legs")
}

// degreesOr writes an angle, or a dash where it is not known.
func degreesOr(a cli.Angle) string {
	if math.IsNaN(float64(a)) {
		return "-"
	}
	return degrees(float64(a))
}

func writeReckon(w io.Writer, r *job.Reckon) {
	fmt.Fprintf(w, "%s: %d legs, %.0f m on the map\n", r.Log, len(r.Legs), r.LengthM)
	fmt.Fprintf(w, "north %.1f m, east %.1f m", r.NorthM, r.EastM)
	if len(r.Path) > 0 {
		fmt.Fprintf(w, "; end %.6f, %.6f", r.End.Lat, r.End.Lon)
	}
	fmt.Fprintln(w)
	fmt.Fprintf(w, "way home %.0f m", r.Home.DistanceM)
	for _, b := range []struct {
		deg  cli.Angle
		name string
	}{{r.Home.TrueDeg, "true"}, {r.Home.MagneticDeg, "magnetic"}, {r.Home.GridDeg, "grid"}} {
		if !math.IsNaN(float64(b.deg)) {
			fmt.Fprintf(w, ", %s %s", degrees(float64(b.deg)), b.name)
		}
	}
	if !math.IsNaN(float64(r.Home.Paces)) {
		fmt.Fprintf(w, ", %.0f paces", r.Home.Paces)
	}
	fmt.Fprintln(w, " (a line, not a safe path)")
	fmt.Fprintf(w, "half of such logs end within an ellipse of %.0f x %.0f m, 95 %% within %.0f x %.0f m,\n", r.Ellipse50.MajorM, r.Ellipse50.MinorM, r.Ellipse95.MajorM, r.Ellipse95.MinorM)
	fmt.Fprintf(w, "half axes, long axis towards %s true; legs err by %.3g %% and %.3g deg", degrees(float64(r.Sigma.AzimuthDeg)), 100*r.Inputs.SigmaDistance, r.Inputs.SigmaBearingDeg)
	if r.Inputs.ScaleBias > 0 || r.Inputs.BearingBiasDeg > 0 {
		fmt.Fprintf(w, ", all alike by %.3g %% and %.3g deg", 100*r.Inputs.ScaleBias, r.Inputs.BearingBiasDeg)
	}
	fmt.Fprintln(w)
	if c := float64(r.CommonShare); c > 0 {
		fmt.Fprintf(w, "%.0f %% of that is common to all legs: a pace or a needle that is off, which more legs do not even out\n", 100*c)
	}
	for _, g := range r.Gaps {
		fmt.Fprintf(w, "after leg %d not logged for %s\n", g.AfterLeg, job.Distance(float64(g.DistanceM)))
	}
	writeFit(w, r)
	if c := r.Closure; c != nil {
		fmt.Fprintf(w, "misses its start by %.2f m north and %.2f m east, %.2f m", c.NorthM, c.EastM, c.LengthM)
		if !math.IsInf(float64(c.Ratio), 0) {
			fmt.Fprintf(w, ", 1 in %.0f", c.Ratio)
		}
		fmt.Fprintln(w)
	}
	writeLegs(w, r)
}

// doubtful is the chance of a fit below which the log is told to hold a slip.
const doubtful = 0.01

// writeFit tells how the log agrees with what is known on the way.
func writeFit(w io.Writer, r *job.Reckon) {
	f := r.Fit
	if f == nil {
		return
	}
	fmt.Fprintf(w, "joined by least squares to what is known on the way: chi-square %.1f with %d degrees of freedom, a chance of %.2g\n", float64(f.ChiSquare), f.DOF, float64(f.P))
	for _, k := range f.Known {
		miss := fmt.Sprintf("%.1f m", float64(k.MissM))
		if math.IsNaN(float64(k.MissM)) {
			miss = fmt.Sprintf("%.1f deg", float64(k.MissDeg))
		}
		fmt.Fprintf(w, "  after leg %d, %s: the log alone is off by %s; residual %.1f of its deviation\n", k.AfterLeg, strings.TrimSpace(k.Kind+" "+k.Name), miss, float64(k.Standardised))
	}
	if float64(f.P) < doubtful && f.WorstLeg > 0 {
		fmt.Fprintf(w, "the errors stated do not explain that: a change of leg %d would mend it most (%.1f deviations); look at it first\n", f.WorstLeg, float64(f.WorstBy))
	}
}

func writeLegs(w io.Writer, r *job.Reckon) {
	adjusted := len(r.Legs) > 0 && !math.IsNaN(float64(r.Legs[0].AdjustedNorthM))
	fmt.Fprint(w, "\n leg   true       m    north     east")
	if adjusted {
		fmt.Fprint(w, "  adjusted:  north     east")
	}
	fmt.Fprintln(w)
	for i, l := range r.Legs {
		line := fmt.Sprintf("%4d  %5s %7.1f %8.1f %8.1f", i+1, degrees(float64(l.TrueDeg)), l.DistanceM, l.NorthM, l.EastM)
		if adjusted {
			line += fmt.Sprintf("          %8.1f %8.1f", l.AdjustedNorthM, l.AdjustedEastM)
		}
		fmt.Fprintln(w, strings.TrimRight(line+"  "+l.Note, " "))
	}
}

// degrees writes an angle with one decimal, never 360.
func degrees(deg float64) string {
	s := fmt.Sprintf("%05.1f", deg)
	if s == "360.0" {
		return "000.0"
	}
	return s
}
