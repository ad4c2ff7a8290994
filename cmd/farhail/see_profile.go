package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"path"
	"strings"

	"github.com/paulmach/orb"
	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plot"
	"farhail/geo/coord"
	"farhail/geo/earth"
	"farhail/geo/los"
	"farhail/geo/terrain"
)

// seeProfileFlags are the flags of one line of sight.
type seeProfileFlags struct {
	profile bool
	toward  *coord.Position
}

func (f *seeProfileFlags) add(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&f.profile, "profile", false, "with --toward and -o line.svg: draw the ground below one line of sight, in metric units whatever --units says")
	cli.Position(cmd, &f.toward, "toward", "with --profile: `position` of the target")
}

func (f *seeProfileFlags) check(out string, from bool) error {
	switch {
	case f.profile && f.toward == nil:
		return &cli.UsageError{Message: "--profile needs --toward", Text: "--profile", Advice: `say where the line goes: --toward "42.6N 1.6E"`}
	case f.toward != nil && !f.profile:
		return &cli.UsageError{Message: "--toward needs --profile", Text: "--toward", Advice: "add --profile -o line.svg"}
	case f.profile && !from:
		return &cli.UsageError{Message: "--profile needs --from", Text: "--profile", Advice: `give the eye's position: --from "42.6N 1.5E"`}
	case f.profile && out != "" && !endsIn(out, ".svg"):
		return &cli.UsageError{Message: "--profile is drawn as SVG", Text: out, Advice: "end the name in .svg"}
	}
	return nil
}

// seeLine is what one line of sight meets.
type seeLine struct {
	State        string   `json:"state"` // seen, hidden, unknown
	DistanceM    cli.Len  `json:"distance_m"`
	BearingDeg   cli.Deg  `json:"bearing_true_deg"`
	ClearanceM   cli.Len  `json:"clearance_m"` // least gap to what is below, negative where it is blocked
	ClearanceAtM cli.Len  `json:"clearance_at_m"`
	BlockedAtM   cli.Len  `json:"blocked_at_m"`
	NeededM      cli.Len  `json:"needed_m"` // height above its ground that the target needs
	SagM         cli.Len  `json:"sag_m"`    // by which the earth's curve lowers the line half way
	Voids        int      `json:"voids"`    // places of the line without a height
	From         landmark `json:"from"`
	Toward       landmark `json:"toward"`
	Inputs       struct {
		Terrain       []string `json:"terrain"`
		EyeHeightM    cli.Len  `json:"eye_height_m"`
		TargetHeightM cli.Len  `json:"target_height_m"`
		Refraction    cli.Num  `json:"refraction"`
		EarthRadiusM  cli.Len  `json:"earth_radius_m"`
		Datum         string   `json:"datum"`
		Cover         bool     `json:"cover"` // trees are in the way
	} `json:"inputs"`
	Caution       string       `json:"caution"`
	GroundChanges *job.Changed `json:"ground_changes"`
}

// landmark is a place on the terrain.
type landmark struct {
	Lat     cli.Deg `json:"lat"`
	Lon     cli.Deg `json:"lon"`
	GroundM cli.Len `json:"ground_m"`
}

// runProfile looks along one line and draws it.
func (f *seeFlags) runProfile(ctx context.Context, app *cli.App) error {
	from, toward := f.from.Point, f.line.toward.Point
	t, changed, err := f.changes.load(ctx, f.terrain, lineBox(from, toward), from, toward)
	if err != nil {
		return err
	}
	eye, err := f.station(t, f.from)
	if err != nil {
		return err
	}
	target := los.Station{HeightM: f.target}
	target.Col, target.Row = t.Cell(toward)
	if !t.Inside(target.Col, target.Row) {
		return &terrain.FileError{File: strings.Join(t.Info.Files, ","), At: -1, Kind: terrain.ErrOutside, Text: "the target lies outside the terrain",
			Help: "it needs the tile " + strings.Join(terrain.TilesFor(toward.Bound()), " ")}
	}
	o := los.Options{Refraction: f.refraction, EarthRadiusM: f.earthRadius}
	cover, err := f.ground.load(app, t.Frame)
	if err != nil {
		return err
	}
	if cover != nil {
		screen, notes := cover.Raise(t)
		for _, n := range notes {
			app.Note(n)
		}
		o.Screen = screen
	}
	e, err := los.NewEye(&t.Heights, eye, o)
	if errors.Is(err, los.ErrNoGround) {
		return noGround(t)
	}
	if err != nil {
		return err
	}
	for _, n := range job.GroundNotes(t, job.Spot{Name: "the eye", Point: from}, job.Spot{Name: "the target", Point: toward}) {
		app.Note(n)
	}
	sight, places := e.Sight(target), e.Profile(target)
	if sight.Voids > 0 {
		app.Warn(fmt.Sprintf("%d places of the line have no height", sight.Voids), addTiles(t, ""))
	}
	r := f.seenLine(t, sight, places, o)
	r.GroundChanges = changed
	if f.out != "" {
		figure := r.figure(places)
		if err := cli.WriteFile(f.out, f.inputs(), figure.Write); err != nil {
			return err
		}
	}
	return app.Print(r, r.print)
}

func (f *seeFlags) seenLine(t *terrain.Terrain, s los.Sight, places []los.Place, o los.Options) *seeLine {
	from, toward := f.from.Point, f.line.toward.Point
	_, bearing, _ := earth.Inverse(from, toward)
	at := math.NaN()
	least := math.Inf(1)
	for i, p := range places {
		if i == 0 || i == len(places)-1 {
			continue
		}
		if gap := p.LineM - p.OverM; gap < least && s.State != los.Unknown {
			least, at = gap, p.DistanceM
		}
	}
	r := &seeLine{State: s.State.String(), DistanceM: cli.Len(s.DistanceM), BearingDeg: cli.Deg(bearing), ClearanceM: cli.Len(s.ClearanceM), ClearanceAtM: cli.Len(at),
		BlockedAtM: cli.Len(s.BlockedAtM), NeededM: cli.Len(s.NeedM), SagM: cli.Len(earth.DropM(s.DistanceM/2, f.refraction, f.earthRadius)), Voids: s.Voids,
		From: markOf(t, from), Toward: markOf(t, toward), Caution: t.Info.Caution()}
	in := &r.Inputs
	in.Terrain, in.Datum, in.Cover = t.Info.Files, t.Info.Datum, o.Screen != nil
	in.EyeHeightM, in.TargetHeightM = cli.Len(f.eye), cli.Len(f.target)
	in.Refraction, in.EarthRadiusM = cli.Num(f.refraction), cli.Len(f.earthRadius)
	return r
}

func markOf(t *terrain.Terrain, p orb.Point) landmark {
	return landmark{cli.Deg(p.Lat()), cli.Deg(p.Lon()), cli.Len(t.Sample(p))}
}

func (r *seeLine) print(w cli.Text) {
	fmt.Fprintf(w, "%s: a line of %s at %.1f degrees true\n", r.State, w.Distance(float64(r.DistanceM)), float64(r.BearingDeg))
	switch r.State {
	case "hidden":
		fmt.Fprintf(w, "  blocked  %s from the eye; the ground rises up to %s above the line, %s from the eye\n", w.Distance(float64(r.BlockedAtM)), w.Length(-float64(r.ClearanceM), 1), w.Distance(float64(r.ClearanceAtM)))
		fmt.Fprintf(w, "  needed   %s%s above the ground at the target\n", r.atLeast(), w.Length(float64(r.NeededM), 1))
	case "seen":
		fmt.Fprintf(w, "  least gap %s", w.Length(float64(r.ClearanceM), 1))
		if given(float64(r.ClearanceAtM)) {
			fmt.Fprintf(w, ", %s from the eye", w.Distance(float64(r.ClearanceAtM)))
		}
		fmt.Fprintln(w)
	default:
		fmt.Fprintf(w, "  it cannot be told: %d places of the line have no height\n", r.Voids)
	}
	in := r.Inputs
	fmt.Fprintf(w, "  eye      %s above the ground of %s\n  target   %s above the ground of %s\n", short(w.Words, float64(in.EyeHeightM)), w.Length(float64(r.From.GroundM), 0), short(w.Words, float64(in.TargetHeightM)), w.Length(float64(r.Toward.GroundM), 0))
	fmt.Fprintf(w, "  taken: refraction %g, earth radius %.1f m; the earth's curve lowers the line by %s half way\n", float64(in.Refraction), float64(in.EarthRadiusM), w.Length(float64(r.SagM), 1))
	fmt.Fprintf(w, "  %s\n  vertical datum of the heights: %s\n", r.Caution, in.Datum)
}

// figure draws the line over the ground.
func (r *seeLine) figure(places []los.Place) plot.Figure {
	unit, text := 1.0, "distance from the eye (m)"
	if r.DistanceM >= 2000 {
		unit, text = 1000, "distance from the eye (km)"
	}
	ground := plot.Line{Name: "ground", Style: 3, Thin: true, Fill: true}
	trees := plot.Line{Name: "tops of trees", Style: 2, Thin: true}
	sight := plot.Line{Name: "line of sight", Style: 0}
	flat := plot.Line{Name: "the same on a flat earth", Style: 1, Thin: true}
	low, high := math.Inf(1), math.Inf(-1)
	first, last := places[0], places[len(places)-1]
	for _, p := range places {
		x := p.DistanceM / unit
		chord := first.LineM
		if last.DistanceM > 0 {
			chord += (last.LineM - first.LineM) * p.DistanceM / last.DistanceM
		}
		heights := [4]float64{p.GroundM, p.LineM, p.OverM, chord}
		for i, l := range [4]*plot.Line{&ground, &sight, &trees, &flat} {
			l.X, l.Y = append(l.X, x), append(l.Y, heights[i])
			if y := heights[i]; !math.IsNaN(y) {
				low, high = min(low, y), max(high, y)
			}
		}
	}
	lines := []plot.Line{ground, sight}
	if r.Inputs.Cover {
		lines = append(lines, trees)
	}
	if float64(r.SagM) > (high-low)/200 {
		lines = append(lines, flat)
	}
	// Above is room for four names.
	span := max(high-low, 10)
	panel := plot.Panel{YLabel: "height (m)", YMin: low - 0.1*span, YMax: high + 0.45*span, Lines: lines}
	panel.Marks, panel.Walls = r.marks(unit, first, last, places)
	return plot.Figure{Title: r.title(), XLabel: text, XMin: 0, XMax: max(last.DistanceM/unit, 1e-3), Panels: []plot.Panel{panel}, Notes: r.figureNotes()}
}

// atLeast stands before a figure that ground without a height may raise.
func (r *seeLine) atLeast() string {
	if r.Voids > 0 {
		return "at least "
	}
	return ""
}

func (r *seeLine) title() string {
	return fmt.Sprintf("Line of sight, %s at %.1f degrees true: %s", job.Distance(float64(r.DistanceM)), float64(r.BearingDeg), r.State)
}

// marks are the eye, the target and the place that decides, their names above.
func (r *seeLine) marks(unit float64, first, last los.Place, places []los.Place) (marks []plot.Mark, walls []plot.Level) {
	add := func(p los.Place, y float64, style int, name string) {
		marks = append(marks, plot.Mark{X: p.DistanceM / unit, Y: y, Style: style})
		walls = append(walls, plot.Level{At: p.DistanceM / unit, Name: name})
	}
	add(first, first.LineM, 0, fmt.Sprintf("eye, %.0f m", first.LineM))
	for _, p := range places {
		at := p.DistanceM
		switch {
		case at == float64(r.BlockedAtM) && at == float64(r.ClearanceAtM):
			add(p, p.OverM, 3, fmt.Sprintf("blocked at %s, by %.1f m", job.Distance(at), -float64(r.ClearanceM)))
		case at == float64(r.BlockedAtM):
			add(p, p.OverM, 3, "blocked at "+job.Distance(at))
		case at == float64(r.ClearanceAtM) && r.State == "hidden":
			add(p, p.OverM, 3, fmt.Sprintf("%.1f m above the line at %s", -float64(r.ClearanceM), job.Distance(at)))
		case at == float64(r.ClearanceAtM):
			add(p, p.OverM, 3, fmt.Sprintf("least gap %.1f m at %s", float64(r.ClearanceM), job.Distance(at)))
		}
	}
	name := "target"
	if !math.IsNaN(last.LineM) {
		name = fmt.Sprintf("target, %.0f m", last.LineM)
	}
	add(last, last.LineM, 0, name)
	return marks, walls
}

func (r *seeLine) figureNotes() []string {
	in := r.Inputs
	var files []string
	for _, file := range in.Terrain {
		files = append(files, path.Base(file))
	}
	notes := []string{
		fmt.Sprintf("Eye %g m and target %g m above the ground; heights by %s, datum %s.", float64(in.EyeHeightM), float64(in.TargetHeightM), strings.Join(files, ", "), in.Datum),
		fmt.Sprintf("The earth's curve less refraction (k = %g) lowers the line by %.1f m half way.", float64(in.Refraction), float64(r.SagM)),
	}
	switch r.State {
	case "hidden":
		notes = append(notes, fmt.Sprintf("The target would be seen from %s%.1f m above its ground.", r.atLeast(), float64(r.NeededM)))
	case "unknown":
		notes = append(notes, fmt.Sprintf("It cannot be told: %d places of the line have no height.", r.Voids))
	}
	if r.Voids > 0 {
		notes = append(notes, "Where the ground is broken it has no height.")
	}
	notes = append(notes, strings.ToUpper(r.Caution[:1])+r.Caution[1:]+".")
	var lines []string
	for _, n := range notes {
		lines = append(lines, wrap(n, noteLetters)...)
	}
	return lines
}
