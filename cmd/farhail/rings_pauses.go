package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"time"

	"github.com/spf13/cobra"

	"github.com/paulmach/orb"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/layer"
	"farhail/geo/mapfile"
)

// pauseFlags are the flags of rests, nights and loads.
type pauseFlags struct {
	rest, night string
	load, body  float64
}

func (f *pauseFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.rest, "rest", "", "daily `hours` in which nobody walks, with --at (22:00-06:00, or dark)")
	cmd.Flags().StringVar(&f.night, "night", "", "daily `hours` of walking by night, with --at (21:00-05:30, or dark)")
	cli.Quantity(cmd, &f.load, "load", plan.MassRange, "", "what they carry (20kg)")
	cli.Quantity(cmd, &f.body, "body", plan.MassRange, "70kg", "what they weigh without it")
}

// stated returns what the flags say of walking that begins at a time.
func (f *pauseFlags) stated(at time.Time) (plan.Pauses, error) {
	p := plan.Pauses{BodyKG: f.body}
	if f.load > 0 {
		p.LoadKG = f.load
	}
	if err := p.Check(); err != nil {
		return p, &cli.UsageError{Message: "--load: " + err.Error(), Text: "--load", Advice: "is it the mass of the load alone"}
	}
	for _, span := range []struct {
		flag, text string
		to         *plan.Hours
	}{{"--rest", f.rest, &p.Rest}, {"--night", f.night, &p.Night}} {
		h, err := plan.ParseHours(span.text)
		if err != nil {
			return p, &cli.UsageError{Message: span.flag + ": " + err.Error(), Text: span.text, Advice: "like " + span.flag + " 22:00-06:00, or dark"}
		}
		if h != "" && at.IsZero() {
			return p, &cli.UsageError{Message: span.flag + " needs --at", Text: span.flag, Advice: "say when they were there, like --at 2026-11-24T15:40+01:00"}
		}
		*span.to = h
	}
	return p, nil
}

// readShapes reads files of lines and areas, and tells what was odd.
func readShapes(app *cli.App, names []string) (all []job.Shape, err error) {
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

// errNoRoute says that there is nothing to write.
var errNoRoute = errors.New("no route to write")

// toGPX reports whether the output is the route.
func (f ringsFlags) toGPX() bool { return endsIn(f.out, ".gpx") }

func (f ringsFlags) checkOutput() error {
	switch {
	case f.out == "" || endsIn(f.out, ".geojson"):
		return nil
	case f.toGPX() && f.route != nil:
		return nil
	case f.toGPX():
		return &cli.UsageError{Message: "-o: GPX takes a route, and none is asked for", Text: f.out, Advice: "end the name in .geojson, or add --route-to POSITION"}
	}
	return &cli.UsageError{Message: "-o: the rings are written as GeoJSON", Text: f.out, Advice: "end the name in .geojson"}
}

// checkTogether refuses flags that would do nothing beside the others.
func (f ringsFlags) checkTogether(given func(flag string) bool) error {
	for _, c := range []struct {
		wrong        bool
		flag, advice string
	}{
		{given("error") && given("error-ellipse"), "--error", "give the radius or the ellipse of the start's error, not both"},
		{given("error-azimuth") && !given("error-ellipse"), "--error-azimuth", "it turns an ellipse: add --error-ellipse 400x150m"},
		{given("body") && !given("load"), "--body", "it is what carries a load: add --load 20kg"},
	} {
		if c.wrong {
			return &cli.UsageError{Message: c.flag + " does nothing here", Text: c.flag, Advice: c.advice}
		}
	}
	return nil
}

// write writes the rings as GeoJSON or the route as GPX.
func (f ringsFlags) write(w io.Writer, out *job.Rings) error {
	if !f.toGPX() {
		return mapfile.WriteGeoJSON(w, overlay.ReachLayers(out))
	}
	if out.Route == nil {
		return errNoRoute
	}
	return mapfile.WriteGPX(w, []layer.Layer{{ID: overlay.Way, Features: []layer.Feature{layer.New("quickest way", out.Route.Line)}}},
		mapfile.GPXOptions{Name: "quickest way of the usual walker, a line and not a safe path"})
}

func slowedWords(speed float64) string {
	if speed == 0 {
		return "nobody walks"
	}
	return fmt.Sprintf("%.2f of the speed", speed)
}

// clocked writes a word with a time of day and the day, ", by 18:30", nothing
// without a time.
func clocked(word string, t *time.Time) string {
	if t == nil {
		return ""
	}
	return ", " + word + t.Format(" 15:04 MST 2006-01-02")
}

// writeExits tells where trails lead out of the fast walker's rings, who meets
// them first, and off the terrain.
func writeExits(w cli.Text, out *job.Rings) {
	titled := false
	for _, r := range out.Rings {
		if len(out.Handrails) == 0 || r.Walker != out.Handrails[0].Walker {
			continue
		}
		for i, e := range r.Exits {
			if !titled {
				fmt.Fprintln(w, "\nwhere trails lead out of the fast walker's rings:")
				titled = true
			}
			if i == exitsTold {
				fmt.Fprintf(w, "%8s  and %d more: -o draws them, --json lists them\n", job.Duration(float64(r.AfterS)), len(r.Exits)-i)
				break
			}
			fmt.Fprintf(w, "%8s  %s  %s%s\n", job.Duration(float64(r.AfterS)), w.At(orb.Point{float64(e.Lon), float64(e.Lat)}, 6), overlay.TrailName(e.Trail), clocked("by", r.By))
		}
	}
	writeEdges(w, out.Handrails)
}

// writeEdges tells where trails lead off the terrain within the last ring.
func writeEdges(w cli.Text, trails []job.Handrail) {
	titled := false
	for _, h := range trails {
		for _, e := range h.Edges {
			if !titled {
				fmt.Fprintln(w, "\nwhere they lead off the terrain, and when the fast walker can first be there:")
				titled = true
			}
			fmt.Fprintf(w, "%8s  %s  %s%s\n", job.Duration(float64(e.AfterS)), w.At(orb.Point{float64(e.Lon), float64(e.Lat)}, 6), overlay.TrailName(h.Name), clocked("from", e.By))
		}
	}
}

// ellipse returns where the start lies in 95 of 100 cases.
func (f ringsFlags) ellipse() earth.Ellipse {
	a, b := f.errorSizeM[0], f.errorSizeM[1]
	switch {
	case math.IsNaN(a) || a == 0 && b == 0:
		return earth.Ellipse{MajorM: f.errorM, MinorM: f.errorM}
	case a < b:
		return earth.Ellipse{MajorM: b, MinorM: a, AzimuthDeg: math.Mod(f.errorDeg+90, 180)}
	}
	return earth.Ellipse{MajorM: a, MinorM: b, AzimuthDeg: math.Mod(f.errorDeg, 180)}
}
