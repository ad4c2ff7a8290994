package main

import (
	"fmt"
	"io"
	"math"

	"github.com/paulmach/orb"

	"farhail/cmd/internal/cli"
	"farhail/geo/mapfile"
)

// checkWritten tells of the cleaned file.
type checkWritten struct {
	File         string        `json:"file"`
	Points       int           `json:"points"` // of tracks
	Waypoints    int           `json:"waypoints"`
	Routes       int           `json:"routes"`
	WorstOffsetM cli.Len       `json:"worst_offset_m"`
	Renamed      []checkRename `json:"renamed"`

	tracks  int
	profile string
}

type checkRename struct {
	From string `json:"from"`
	To   string `json:"to"`
}

// write writes a GPX file cleaned and, with a profile, fitted to it.
func (f *checkFlags) write(app *cli.App, name string, c *checkedFile) (*checkWritten, error) {
	profile, _ := mapfile.ProfileNamed(f.profile) // without one: no limits
	fitted := c.read.gpx.Fit(profile)
	for _, p := range fitted.Problems {
		app.Warn(p.Text, p.Hint)
	}
	if err := cli.WriteFile(f.out, []string{name}, func(w io.Writer) error { return fitted.Write(w) }); err != nil {
		return nil, err
	}
	w := &checkWritten{File: f.out, Points: fitted.TrackPoints(), Waypoints: len(fitted.Waypoints), Routes: len(fitted.Routes),
		WorstOffsetM: cli.Len(fitted.WorstOffsetM), Renamed: []checkRename{}, tracks: len(fitted.Tracks), profile: f.profile}
	for _, r := range fitted.Renamed {
		w.Renamed = append(w.Renamed, checkRename(r))
	}
	return w, nil
}

// print writes the answer as text.
func (r *checkResult) print(w cli.Text) {
	for i, c := range r.Files {
		if i > 0 {
			fmt.Fprintln(w)
		}
		c.print(w)
	}
	if o := r.Written; o != nil {
		fmt.Fprintf(w, "\nwritten %s: %s, %s, %s with %s\n", o.File, plural(o.Waypoints, "waypoint"), plural(o.Routes, "route"), plural(o.tracks, "track"), plural(o.Points, "point"))
		if o.profile != "" {
			fmt.Fprintf(w, "  fits %s; what was left out lies within %s of the line\n", o.profile, w.Length(math.Ceil(float64(o.WorstOffsetM)*10)/10, 1))
		}
		for _, n := range o.Renamed {
			fmt.Fprintf(w, "  renamed %q to %q\n", n.From, n.To)
		}
	}
}

func (c *checkedFile) print(w cli.Text) {
	kind := "none of the kinds that farhail reads"
	if c.Kind != nil {
		kind = *c.Kind
	}
	fmt.Fprintf(w, "%s: %s%s\n", c.File, kind, c.summary(w.Words))
	if c.GPX != nil {
		c.GPX.print(w)
	}
	if t := c.Terrain; t != nil {
		fmt.Fprintf(w, "  heights %s to %s, %s without\n", heightWords(w.Words, t.MinM), heightWords(w.Words, t.MaxM), plural(t.Unknown, "cell"))
	}
	if c.Cover != nil {
		fmt.Fprintf(w, "  ground cover: %s\n", w.Sentence(c.Cover.about()))
	}
	for _, p := range c.Problems {
		place := ""
		if p.Line != nil {
			place = fmt.Sprintf(" %d", *p.Line)
			if p.Column != nil {
				place += fmt.Sprintf(":%d", *p.Column)
			}
		}
		fmt.Fprintf(w, "  %s%s: %s\n", p.Severity, place, w.Sentence(p.Text))
		if p.Hint != nil {
			fmt.Fprintf(w, "    hint: %s\n", *p.Hint)
		}
	}
	for _, s := range c.Samples {
		fmt.Fprintf(w, "  at %s: height %s", w.At(orb.Point{float64(s.Lon), float64(s.Lat)}, 6), heightWords(w.Words, s.HeightM))
		if !math.IsNaN(float64(s.SlopeDeg)) {
			fmt.Fprintf(w, ", slope %.1f deg or %.0f %%", float64(s.SlopeDeg), float64(s.SlopePercent))
		}
		fmt.Fprintln(w)
	}
	for _, p := range c.Points {
		fmt.Fprintln(w, "  "+p.line(w.Words))
	}
	if len(c.Problems) == 0 {
		fmt.Fprintln(w, "  nothing wrong")
	}
}

// summary is what stands behind a file's kind.
func (c *checkedFile) summary(w cli.Words) string {
	switch {
	case c.GPX != nil:
		g := c.GPX
		s := fmt.Sprintf(", %s, %s, %s in %s with %s", plural(g.Waypoints, "waypoint"), plural(g.Routes, "route"), plural(g.Tracks, "track"), plural(g.Segments, "segment"), plural(g.Points, "point"))
		if g.Version != nil {
			s = " " + *g.Version + s
		}
		return s
	case c.GeoJSON != nil:
		s := ", " + plural(c.GeoJSON.Features, "feature")
		unit, m2 := w.SquareUnit()
		if a := float64(c.GeoJSON.AreaM2); !math.IsNaN(a) {
			s += fmt.Sprintf(", areas of %.4g %s", a/m2, unit)
		}
		return s
	case c.Terrain != nil:
		t := c.Terrain
		unit, metres := w.Unit()
		return fmt.Sprintf(" %s, %d columns by %d rows of %.1f by %.1f %s, %s", t.Kind, t.Columns, t.Rows, float64(t.CellXM)/metres, float64(t.CellYM)/metres, unit, t.CRS)
	}
	return ""
}

func (g *checkGPX) print(w cli.Text) {
	if g.Points == 0 {
		return
	}
	fmt.Fprintf(w, "  length %s", w.Length(float64(g.LengthM), 0))
	if g.GapM > 0 {
		fmt.Fprintf(w, " and %s between segments", w.Length(float64(g.GapM), 0))
	}
	if g.First != nil {
		fmt.Fprintf(w, "; %s to %s", *g.First, *g.Last)
	}
	if v := float64(g.MeanSpeedMS); !math.IsNaN(v) {
		fmt.Fprintf(w, ", %s/s", w.Length(v, 2))
	}
	if g.ElePoints > 0 {
		unit, m := w.Unit()
		fmt.Fprintf(w, "; heights %.0f to %.0f %s", float64(g.MinEleM)/m, float64(g.MaxEleM)/m, unit)
	}
	fmt.Fprintln(w)
}

// line is a point as text, with its numbers in the file counted from 1.
func (p checkPoint) line(w cli.Words) string {
	at := fmt.Sprintf("waypoint %d", p.Index+1)
	switch p.Kind {
	case "rtept":
		at = fmt.Sprintf("route %d, point %d", *p.Track+1, p.Index+1)
	case "trkpt":
		at = fmt.Sprintf("track %d, segment %d, point %d", *p.Track+1, *p.Segment+1, p.Index+1)
	}
	s := fmt.Sprintf("%s: %s", at, w.At(orb.Point{float64(p.Lon), float64(p.Lat)}, 6))
	if !math.IsNaN(float64(p.EleM)) {
		s += fmt.Sprintf(", %s", w.Length(float64(p.EleM), 1))
	}
	if p.Time != nil {
		s += ", " + *p.Time
	}
	if p.Name != nil {
		s += ", " + *p.Name
	}
	return s
}

func heightWords(w cli.Words, v cli.Len) string {
	if math.IsNaN(float64(v)) {
		return "not known"
	}
	return w.Length(float64(v), 1)
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}
