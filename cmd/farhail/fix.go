package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/paulmach/orb"
	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/geo/coord"
	"farhail/geo/earth"
	"farhail/geo/magnetic"
)

const fixLong = `A position in every notation, and with a date the declination there.

POSITION is decimal degrees, latitude first (42.6667, 1.3983), degrees with
minutes and seconds (42°40'00"N 1°23'54"E), UTM (31T 368743 4725047), UPS, MGRS
or USNG (31T CH 68743 25047), or FILE.gpx#NAME, a waypoint. Letters decide which
part is the latitude, in either order. A grid reference names a square: its
centre is given, and its side.

Answers are on WGS84. A position of an old map, with its datum behind it or in
--datum, is shifted by three parameters, and told how far that may be off.

From two positions, or from one with a bearing and a distance, the line is the
geodesic: --from POSITION --to POSITION, or --from POSITION --bearing 045T
--distance 1km. Bearings end in T (true), M (magnetic, needs --date) or G (grid).
--circle gives what lies within a distance, and -o draws it.`

// fixFlags are the flags of the verb as typed; "" and NaN are not given.
type fixFlags struct {
	date      time.Time
	height    float64
	zone      int
	digits    int
	bearing   string
	from, to  string
	distance  float64
	circle    float64
	out       string
	datum     string
	zoneGiven func() bool
	app       *cli.App
}

func newFix(app *cli.App) *cobra.Command {
	f := fixFlags{app: app}
	cmd := app.Command(cli.Verb{
		Use:   "fix POSITION [flags]",
		Short: "a position in every notation, declination, bearings, distances",
		Long:  fixLong,
		Examples: []cli.Example{
			{Line: `farhail fix "42.6667, 1.3983" --date 2026-11-24 --bearing 078M`, Answers: "where is this on the map, and which true and grid bearing is 078 on the compass?"},
			{Line: `farhail fix --from "31T CH 68743 25047" --to "42.70N 1.45E"`, Answers: "how far is it, and on which bearing?"},
			{Line: `farhail fix "41.087658, -106.720118" --datum NAD27 --circle 2km -o ring.geojson`, Answers: "where is this point of an old map, and what lies within 2 km of it?"},
		},
		Failed:  "could not be done: the magnetic model does not hold on that day",
		Input:   "a GPX file that a position names is wrong",
		MaxArgs: 1,
		Run:     func(_ context.Context, args []string) error { return f.run(args) },
	})
	cli.Day(cmd, &f.date, "date", "`day` of the declination (2026-11-24)")
	cli.Quantity(cmd, &f.height, "height", cli.Length.Between(-1000, 850e3), "0m", "`height` above sea level, for the declination")
	cmd.Flags().IntVar(&f.zone, "utm-zone", 0, "UTM `zone` to use instead of the position's own, to keep one grid over a search")
	cmd.Flags().IntVar(&f.digits, "mgrs-digits", 5, "`digits` each of easting and northing in a grid reference, 0 to 5")
	cmd.Flags().StringVar(&f.bearing, "bearing", "", "a `bearing` to turn into the other norths, or to go: 090T, 078M or 090G")
	cmd.Flags().StringVar(&f.from, "from", "", "`position` where a line begins")
	cmd.Flags().StringVar(&f.to, "to", "", "`position` where it ends")
	cli.Quantity(cmd, &f.distance, "distance", cli.Length.NotNegative(), "", "`length` of the line, with --from and --bearing")
	cli.Quantity(cmd, &f.circle, "circle", cli.Length.Positive().AtMost(earth.MaxCircleM), "", "`radius` of a circle around the position")
	cmd.Flags().StringVarP(&f.out, "output", "o", "", "write the circle into this `file` (ring.geojson)")
	cmd.Flags().StringVar(&f.datum, "datum", "", "`datum` of the positions (WGS84 unless they name another): "+strings.Join(coord.Datums()[1:], ", ")+", or unknown")
	f.zoneGiven = func() bool { return cmd.Flags().Changed("utm-zone") }
	return cmd
}

func (f *fixFlags) run(args []string) error {
	if err := f.check(args); err != nil {
		return err
	}
	if f.from == "" {
		return f.here(args[0])
	}
	from, err := f.read(f.from)
	if err != nil {
		return err
	}
	if f.to != "" {
		return f.between(from.Point)
	}
	return f.beyond(from.Point)
}

// check refuses flags that do not go together.
func (f *fixFlags) check(args []string) error {
	usage := func(message, text, advice string) error {
		return &cli.UsageError{Message: message, Text: text, Advice: advice}
	}
	line := f.from != "" || f.to != "" || given(f.distance)
	switch {
	case f.zoneGiven() && (f.zone < 1 || f.zone > 60):
		return usage("UTM zones run from 1 to 60", strconv.Itoa(f.zone), "leave --utm-zone out for the position's own zone")
	case f.digits < 0 || f.digits > 5:
		return usage("--mgrs-digits runs from 0 (a square of 100 km) to 5 (of 1 m)", strconv.Itoa(f.digits), "3 names a square of 100 m")
	case len(args) == 0 && !line:
		return usage("fix needs a position", "", `give it as one argument: farhail fix "42.6667, 1.3983"`)
	case len(args) > 0 && line:
		return usage("a position and a line at once", args[0], "give the position alone, or --from with --to, or --from with --bearing and --distance")
	case line && f.from == "":
		return usage("a line needs --from", "", "give --from with --to, or --from with --bearing and --distance")
	case f.from != "" && f.to != "" && (f.bearing != "" || given(f.distance)):
		return usage("--to with --bearing or --distance", f.to, "give either --to, or --bearing and --distance")
	case f.from != "" && f.to == "" && (f.bearing == "" || !given(f.distance)):
		return usage("--from needs --to, or --bearing and --distance", f.from, `like --from "42.6N 1.5E" --bearing 045T --distance 1km`)
	}
	return f.checkCircle(line)
}

// unknownDatumM is how far a position on a datum that nobody knows may be off
// [m]: no shift of geo/coord is longer, Tokyo's being the longest with 450 m. Own
// choice.
const unknownDatumM = 500

// read reads a position, on the datum that it or --datum names, and tells what
// the datum makes unsure.
func (f *fixFlags) read(arg string) (coord.Position, error) {
	datum := f.datum
	unknown := strings.EqualFold(datum, "unknown")
	if unknown {
		datum = ""
	}
	pos, err := cli.ReadPositionOn(arg, datum)
	switch {
	case err != nil:
		return pos, err
	case unknown && pos.Datum == coord.WGS84 && cli.WaypointFile(arg) == "":
		pos.Datum, pos.DatumErrorM = "unknown", unknownDatumM
		f.app.Warn(fmt.Sprintf("%s is taken for WGS84; on another datum it may be %d m off", arg, unknownDatumM), "look for the datum in the margin of the map, like NAD27 or ED50")
	case pos.Datum != coord.WGS84:
		f.app.Warn(fmt.Sprintf("%s is brought from %s to WGS84 by %s, give or take %g m", arg, pos.Datum, pos.Shift, pos.DatumErrorM), "")
	}
	return pos, nil
}

// here answers for one position.
func (f *fixFlags) here(arg string) error {
	pos, err := f.read(arg)
	if err != nil {
		return err
	}
	r, err := f.place(pos.Point)
	if err != nil {
		return err
	}
	r.Notation = pos.Notation
	if pos.SquareM > 0 {
		side := cli.Len(pos.SquareM)
		r.SquareM = &side
	}
	if pos.Datum != coord.WGS84 {
		r.fixDatum = &fixDatum{pos.Datum, cli.Len(pos.DatumErrorM), pos.Shift}
	}
	if given(f.circle) {
		if r.Circle, err = circleAround(pos.Point, f.circle); err != nil {
			return err
		}
	}
	if f.bearing != "" {
		b, err := f.readBearing(pos.Point)
		if err != nil {
			return err
		}
		if r.Bearing, err = f.norths(pos.Point, b); err != nil {
			return err
		}
	}
	if f.out != "" {
		if err := f.writeCircle(pos.Point, r.Circle); err != nil {
			return err
		}
	}
	return f.app.Print(r, func(w cli.Text) { r.write(w, f.date) })
}

// between answers for the line between two positions.
func (f *fixFlags) between(from orb.Point) error {
	to, err := f.read(f.to)
	if err != nil {
		return err
	}
	d, departure, arrival := earth.Inverse(from, to.Point)
	r := &fixWay{
		DistanceM:  cli.Len(d),
		BearingDeg: cli.Angle(departure),
		ArrivalDeg: cli.Angle(arrival),
		From:       fixPointOf(from),
		To:         fixPointOf(to.Point),
	}
	if d > 0 {
		if r.Bearing, err = f.norths(from, departure); err != nil {
			return err
		}
	}
	return f.app.Print(r, func(w cli.Text) {
		fmt.Fprintf(w, "%s to %s\n%s on the WGS84 ellipsoid\n", said(w.Words, from), said(w.Words, to.Point), w.Length(d, 1))
		if r.Bearing != nil {
			fmt.Fprintf(w, "leaves on %s, arrives on %s true\n", r.Bearing, bearingText(float64(arrival)))
		}
	})
}

// beyond answers for the position at a bearing and distance.
func (f *fixFlags) beyond(from orb.Point) error {
	b, err := f.readBearing(from)
	if err != nil {
		return err
	}
	norths, err := f.norths(from, b)
	if err != nil {
		return err
	}
	to, arrival := earth.Direct(from, b, f.distance)
	place, err := f.place(to)
	if err != nil {
		return err
	}
	place.Bearing = norths
	r := &fixEnd{fixPlace: *place, From: fixPointOf(from), DistanceM: cli.Len(f.distance), ArrivalDeg: cli.Angle(arrival)}
	return f.app.Print(r, func(w cli.Text) {
		fmt.Fprintf(w, "%s from %s\n", w.Length(f.distance, 1), said(w.Words, from))
		place.write(w, f.date)
	})
}

// place gives a position in every notation, and the field there on the date.
func (f *fixFlags) place(p orb.Point) (*fixPlace, error) {
	g, err := f.grid(p)
	if err != nil {
		return nil, err
	}
	r := &fixPlace{
		fixPoint: fixPointOf(p),
		DMS:      coord.DMS(p),
		DDM:      coord.DDM(p),
		MGRS:     coord.MGRS(p, f.digits),
	}
	if g.Zone != 0 {
		r.UTM = g
	} else {
		r.UPS = g
	}
	if f.date.IsZero() {
		return r, nil
	}
	m, err := f.field(p)
	if err != nil {
		return nil, err
	}
	r.fixField = &fixField{
		DeclinationDeg:       cli.Num(m.DeclinationDeg),
		InclinationDeg:       cli.Num(m.InclinationDeg),
		FieldNT:              cli.Num(m.TotalNT),
		HorizontalNT:         cli.Num(m.HorizontalNT),
		GridMagneticAngleDeg: cli.Num(earth.Wrap180(m.DeclinationDeg - float64(g.ConvergenceDeg))),
		DeclinationErrorDeg:  cli.Num(m.DeclinationErrorDeg),
		CompassZone:          m.Zone,
		Model:                m.Model,
	}
	return r, nil
}

// grid gives the coordinates of a position in UTM, in the zone asked for, or in
// UPS near the poles.
func (f *fixFlags) grid(p orb.Point) (*fixGrid, error) {
	u, err := coord.UTMOf(p, f.zone)
	switch {
	case err == nil:
		return &fixGrid{u.Zone, u.Band, u.Hemisphere, cli.Len(u.EastingM), cli.Len(u.NorthingM), cli.Num(u.ConvergenceDeg), cli.Num(u.Scale)}, nil
	case errors.Is(err, coord.ErrZoneFar), errors.Is(err, coord.ErrPolar) && f.zone != 0:
		return nil, &cli.UsageError{Message: fmt.Sprintf("%s does not belong on the grid of UTM zone %d", coord.Decimal(p), f.zone), Text: strconv.Itoa(f.zone),
			Advice: "take the position's own zone or the next one"}
	}
	s, err := coord.UPSOf(p)
	if err != nil {
		return nil, err
	}
	return &fixGrid{0, s.Letter, s.Hemisphere, cli.Len(s.EastingM), cli.Len(s.NorthingM), cli.Num(s.ConvergenceDeg), cli.Num(s.Scale)}, nil
}

// field gives the magnetic field on the date, and warns where a compass fails.
func (f *fixFlags) field(p orb.Point) (magnetic.Field, error) {
	m, err := magnetic.At(p, f.height, f.date)
	if err != nil {
		return m, cli.WithHint(err, "for another day take the declination from a map with its yearly change")
	}
	switch m.Zone {
	case magnetic.Blackout:
		f.app.Warn(fmt.Sprintf("a compass is of no use here: the horizontal field is %.0f nT", m.HorizontalNT), "take bearings from the sun or a satellite receiver")
	case magnetic.Caution:
		f.app.Warn(fmt.Sprintf("a compass is weak here: the horizontal field is %.0f nT", m.HorizontalNT), "check its bearings against something else")
	}
	return m, nil
}

// norths turns a true bearing at a position into the other norths.
func (f *fixFlags) norths(p orb.Point, b earth.True) (*fixBearing, error) {
	g, err := f.grid(p)
	if err != nil {
		return nil, err
	}
	r := &fixBearing{
		TrueDeg:     cli.Angle(b),
		MagneticDeg: cli.Angle(math.NaN()),
		GridDeg:     cli.Angle(b.Grid(float64(g.ConvergenceDeg))),
		BackTrueDeg: cli.Angle(b.Back()),
	}
	if !f.date.IsZero() {
		m, err := f.field(p)
		if err != nil {
			return nil, err
		}
		r.MagneticDeg = cli.Angle(b.Magnetic(m.DeclinationDeg))
	}
	return r, nil
}

var bearingPattern = regexp.MustCompile(`^(-?[0-9]{1,4}(?:\.[0-9]+)?)\s*(?:(°|deg)|(mil))?\s*(?i:(t|true|m|mag|magnetic|g|grid))?$`)

// readBearing reads --bearing as a true bearing at a position.
func (f *fixFlags) readBearing(p orb.Point) (earth.True, error) {
	usage := func(message, advice string) (earth.True, error) {
		return 0, &cli.UsageError{Message: fmt.Sprintf("--bearing: %q: %s", f.bearing, message), Text: f.bearing, Advice: advice}
	}
	m := bearingPattern.FindStringSubmatch(strings.TrimSpace(f.bearing))
	if m == nil {
		return usage("not a bearing", "write degrees and a letter for north, like 090T, 078M or 090G")
	}
	deg, err := strconv.ParseFloat(m[1], 64)
	if m[3] != "" {
		deg *= 360.0 / 6400
	}
	north := strings.ToUpper(m[4])
	if north != "" {
		north = north[:1]
	}
	switch {
	case err != nil || deg > 360 || deg < -360:
		return usage("a bearing of more than a full turn", "bearings run from 0 to 360 degrees, 6400 mil")
	case north == "":
		return usage("a bearing needs its north", fmt.Sprintf("write %sT for true, %sM for magnetic or %sG for grid", m[1], m[1], m[1]))
	case north == "T":
		return earth.NewTrue(deg), nil
	case north == "G":
		g, err := f.grid(p)
		if err != nil {
			return 0, err
		}
		return earth.NewGrid(deg).True(float64(g.ConvergenceDeg)), nil
	case f.date.IsZero():
		return usage("a magnetic bearing needs a date", "add --date, the day for the declination")
	}
	field, err := f.field(p)
	if err != nil {
		return 0, err
	}
	return earth.NewMagnetic(deg).True(field.DeclinationDeg), nil
}
