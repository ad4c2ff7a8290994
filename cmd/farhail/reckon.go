package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/geo/reckon"
	"farhail/geo/track"
)

// reckonFlags are what a person asks of the verb.
type reckonFlags struct {
	job.AskedLog
	adjust, compass    string
	turnDeg            float64
	against, fromTrack string
	keep               job.Keeping
	out                string
	side, other        float64
}

func newReckon(app *cli.App) *cobra.Command {
	var f reckonFlags
	var cmd *cobra.Command
	cmd = app.Command(cli.Verb{
		Use:   "reckon LOG… [flags]",
		Short: "a leg log: position, error ellipse, way home, slips, stake map",
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
distance, unit, time, slope, note is read too; "distance (m)" gives a column its unit.
Several logs are answered in one table.

What is known on the way stands on a line of its own (at church ±20 m; on POSITION to
POSITION ±15 m; resection church 045M, spire 130M ±2deg; break) and is joined by least
squares. "break 300 m" is a leg whose bearing nobody kept. With that, or with --close,
the legs are looked through for slips: swapped digits, a back bearing, a count doubled or
halved. --adjust spreads what a loop misses over its legs; the end stays as logged.
With a loop alone several legs often
explain what is missing as well as each other; then it is said that it cannot be told.

The errors that the ellipses rest on are those of the flags, else those of the log's own
headers (sigma-distance: 4%, sigma-bearing: 2deg, scale-bias: 2%, bearing-bias: 1deg), else
the spread of the log's calibration, else the defaults; the answer says which. The
defaults have no error common to all legs, unlike those of plans (3 % and 2 deg).

compass: none (or --compass none) is for a walker with nothing to keep a bearing by: the
heading wanders, by --turn in 100 m, and end and ellipse are mean and spread of that.

--from-track writes the log that a person would have kept of a GPX track: a leg ends
where the track is more than --straight-within off the straight line; gaps are breaks.
--against holds logs against the track of the same walk, leg by leg.
--stake-map gives string lengths for laying the log out on a patch of ground.

A distance walked on a slope is reduced to the map. Where bearings are magnetic and the log
gives no declination, the magnetic model's for its start and date is taken.

north_m and east_m are plain sums, as traverse books print them; the end
position chains the legs on the ellipsoid. The way home is a straight line and
not a safe path.`,
		Examples: []cli.Example{
			{Line: "farhail reckon walk.log", Answers: "where are we, how sure, which way home?"},
			{Line: "farhail reckon anna.txt ben.txt --against walk.gpx", Answers: "how far off were the students' logs, and what went wrong in the worst leg?"},
			{Line: "farhail reckon --from-track walk.gpx --pace \"116 per 100 m single\" -o log.txt", Answers: "the log that a person would have kept"},
			{Line: "farhail reckon loop.log --adjust compass --json", Answers: "by how much does the loop miss its start, and the legs with that spread over them"},
		},
		Failed:  "could not be done: the magnetic model does not cover the date",
		Input:   "a log is wrong: the message names file, line and column",
		MinArgs: 0,
		Files:   []string{"log", "txt", "csv"},
		MaxArgs: -1,
		Run: func(_ context.Context, args []string) error {
			if err := f.settle(cmd, args); err != nil {
				return err
			}
			if f.fromTrack != "" {
				return f.runKeep(app)
			}
			return f.run(app, args)
		},
	})
	// The interface states 5 % and 3 degrees; plans default to their own.
	cli.Quantity(cmd, &f.SigmaDistance, "sigma-distance", cli.Percent.NotNegative(), "5%", "standard deviation of a leg's length, a share of it")
	cli.Quantity(cmd, &f.SigmaBearingDeg, "sigma-bearing", cli.Direction.NotNegative(), "3deg", "standard deviation of a leg's bearing")
	cli.Quantity(cmd, &f.ScaleBias, "scale-bias", cli.Percent.NotNegative(), "0%", "standard deviation of an error of pace length common to all legs")
	cli.Quantity(cmd, &f.BearingBiasDeg, "bearing-bias", cli.Direction.NotNegative(), "0deg", "standard deviation of a bearing error common to all legs")
	cmd.Flags().BoolVar(&f.Close, "close", false, "the log ends where it began: say what it misses by")
	cli.Choice(cmd, &f.adjust, "adjust", []string{string(reckon.Compass), string(reckon.Transit), string(reckon.LeastSquares)}, "",
		"spread that over the legs: compass, transit or least-squares")
	cli.Choice(cmd, &f.compass, "compass", []string{"used", "none"}, "used", "none: nothing to keep a bearing by, the heading wanders")
	cli.Quantity(cmd, &f.turnDeg, "turn", cli.Direction.Between(0, 360), "", fmt.Sprintf("with --compass none: standard deviation of the heading after 100 m; %d deg when not given", reckon.DefaultTurnDeg))
	cli.Size(cmd, &f.side, &f.other, "stake-map", cli.Length.Positive(), "", "patch of ground to lay the log out on, like 3x2m")
	cmd.Flags().StringVar(&f.against, "against", "", "hold the logs against this GPX `file`, the track of the same walk")
	cmd.Flags().StringVar(&f.fromTrack, "from-track", "", "write the log that a person would have kept of this GPX `file`")
	cli.Choice(cmd, &f.keep.North, "north", []string{string(reckon.True), string(reckon.Magnetic), string(reckon.Grid)}, "", "with --from-track: north of the bearings; magnetic when not given and the track has times")
	cmd.Flags().StringVar(&f.keep.Pace, "pace", "", "with --from-track: count `paces`, like \"116 per 100 m single\"; metres when not given")
	cli.Quantity(cmd, &f.keep.OffsetM, "straight-within", cli.Length.Positive(), fmt.Sprintf("%dm", reckon.DefaultOffsetM), "with --from-track: how far the track leaves a leg")
	cmd.Flags().StringVarP(&f.out, "output", "o", "", "with --from-track: write the log into this `file`; standard output when not given")
	return cmd
}

// settle checks what the flags mean together.
func (f *reckonFlags) settle(cmd *cobra.Command, args []string) error {
	given := cmd.Flags().Changed
	f.Stated = job.StatedErrors{SigmaDistance: given("sigma-distance"), SigmaBearing: given("sigma-bearing"), ScaleBias: given("scale-bias"), BearingBias: given("bearing-bias")}
	f.Adjust = reckon.Adjustment(f.adjust)
	f.Heading.None = f.compass == "none"
	if !math.IsNaN(f.turnDeg) {
		f.Heading.TurnDeg = f.turnDeg
	}
	if !math.IsNaN(f.side) {
		f.SideM, f.OtherM = f.side, f.other
	}
	usage := func(text, advice string) error { return &cli.UsageError{Message: text, Advice: advice} }
	switch {
	case f.fromTrack != "" && (len(args) > 0 || f.against != ""):
		return usage("--from-track writes a log and takes none", "give either logs or --from-track")
	case f.fromTrack == "" && len(args) == 0:
		return usage("reckon needs more arguments", "usage: farhail reckon LOG… [flags], or reckon --from-track F.gpx")
	case given("turn") && !f.Heading.None:
		return usage("--turn is for a walker without a compass", "add --compass none")
	case f.Heading.None && f.against != "":
		return usage("a log without a compass has no legs to be scored", "leave --compass or --against away")
	}
	for _, name := range []string{"north", "pace", "straight-within", "output"} {
		if given(name) && f.fromTrack == "" {
			return usage("--"+name+" is for the log of a track", "add --from-track F.gpx, or leave it away")
		}
	}
	return nil
}

// run answers logs.
func (f *reckonFlags) run(app *cli.App, names []string) error {
	var walk track.Track
	if f.against != "" {
		var err error
		if walk, err = readWalk(app, f.against); err != nil {
			return err
		}
	}
	var logs []*job.Reckon
	var faults []error
	for _, name := range names {
		r, warnings, err := f.one(name, walk)
		if err != nil {
			faults = append(faults, err)
			continue
		}
		warnLog(app, name, warnings)
		logs = append(logs, r)
	}
	switch {
	case len(faults) == 1:
		return faults[0]
	case len(faults) > 1:
		return errors.Join(faults...)
	case len(logs) == 1:
		return app.Print(logs[0], func(w cli.Text) { writeReckon(w, logs[0]) })
	}
	return app.Print(struct {
		Logs []*job.Reckon `json:"logs"`
	}{logs}, func(w cli.Text) {
		if f.against != "" {
			writeScores(w, logs)
		} else {
			writeLogs(w, logs)
		}
	})
}

// one works out one log, against a track where there is one.
func (f *reckonFlags) one(name string, walk track.Track) (*job.Reckon, []reckon.Warning, error) {
	l, err := job.ReadLog(cli.Disk, name)
	if err != nil {
		return nil, nil, err
	}
	if f.against == "" {
		return job.ReckonLog(l, f.AskedLog)
	}
	l, warnings := job.AlongTrack(l, walk)
	r, more, err := job.ReckonLog(l, f.AskedLog)
	if err != nil {
		return nil, nil, err
	}
	r.Against, err = job.ScoreLog(l, walk, f.AskedLog)
	return r, append(warnings, more...), err
}

// readWalk reads the track of a walk and tells what was odd about it.
func readWalk(app *cli.App, name string) (track.Track, error) {
	t, others, problems, err := job.ReadTrack(cli.Disk, name)
	if err != nil {
		return t, err
	}
	for _, p := range problems {
		app.Warn(fmt.Sprintf("%s:%d: %s", name, p.Line, p.Text), p.Hint)
	}
	if others > 0 {
		app.Warn(fmt.Sprintf("%s: %d more tracks in the file are not read", name, others), "give the walk a file of its own")
	}
	return t, nil
}

// runKeep writes the log of a track.
func (f *reckonFlags) runKeep(app *cli.App) error {
	walk, err := readWalk(app, f.fromTrack)
	if err != nil {
		return err
	}
	f.keep.Zone = app.Zone
	k, warnings, err := job.KeepLog(walk, f.fromTrack, f.keep, f.AskedLog)
	if err != nil {
		return err
	}
	warnLog(app, f.fromTrack, warnings)
	if f.out != "" {
		if err := cli.WriteFile(f.out, []string{f.fromTrack}, func(w io.Writer) error {
			_, err := io.WriteString(w, k.Text)
			return err
		}); err != nil {
			return err
		}
	}
	return app.Print(k, func(w cli.Text) {
		if f.out == "" {
			fmt.Fprint(w, k.Text)
			return
		}
		fmt.Fprintf(w, "%s written: it leads to %s from where the track ends, by rounding; a leg ends where the track is %s off the straight line\n", f.out, w.Length(float64(k.EndErrorM), 1), w.Distance(float64(k.OffsetM)))
		writeReckon(w, k.Reckon)
	})
}

// warnLog tells the warnings of a log.
func warnLog(app *cli.App, name string, warnings []reckon.Warning) {
	for _, w := range warnings {
		place := name
		if w.Line > 0 {
			place = fmt.Sprintf("%s:%d", name, w.Line)
		}
		app.Warn(place+": "+w.Text, w.Hint)
	}
}
