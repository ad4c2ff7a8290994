package main

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/geo/layer"
	"farhail/geo/mapfile"
)

// A handheldFile is a GPX file that fits the plan's handheld.
type handheldFile struct {
	result  *job.Result
	profile mapfile.Profile
	fitted  mapfile.FittedLayers
}

// handheldTold is what a plan's GPX file took to fit.
type handheldTold struct {
	Profile      string        `json:"profile"`
	RoutePoints  int           `json:"route_points"`
	WorstOffsetM cli.Len       `json:"worst_offset_m"` // of a point that was left out of a line
	Thinned      int           `json:"thinned"`
	Split        int           `json:"split"`
	Renamed      []checkRename `json:"renamed"`
}

// fitHandheld makes layers of a result fit the plan's handheld.
func fitHandheld(r *job.Result, layers []layer.Layer) (*handheldFile, error) {
	f := &handheldFile{result: r}
	f.profile, _ = mapfile.ProfileNamed(r.Plan.Handheld.Profile) // the reader of plans knows the names
	if most := r.Plan.Handheld.RouteLimit; most > 0 {
		f.profile.RoutePoints = most
	}
	var err error
	f.fitted, err = mapfile.FitLayers(layers, f.profile, overlay.RouteLayers...)
	return f, err
}

// write writes the file.
func (f *handheldFile) write(w io.Writer) error {
	return mapfile.WriteGPX(w, f.fitted.Layers, mapfile.GPXOptions{
		Name: overlay.DocumentName(f.result), Description: overlay.DocumentText(f.result) + "\n" + f.said(),
		Profile: f.profile, Routes: overlay.RouteLayers,
	})
}

// said tells what the file fits, and what that cost.
func (f *handheldFile) said() string {
	s := "Fits " + f.profile.Name
	switch {
	case f.fitted.Thinned > 0:
		s += fmt.Sprintf(": points left out of %s lie within %s of them", plural(f.fitted.Thinned, "line"), f.result.Words().Distance(math.Ceil(f.fitted.WorstOffsetM)))
	default:
		s += ": no point of a line is left out"
	}
	if f.fitted.Split > 0 {
		s += fmt.Sprintf("; %s in parts", plural(f.fitted.Split, "line"))
	}
	return s + "."
}

// told returns the same as figures; nil where no file is made.
func (f *handheldFile) told() *handheldTold {
	if f == nil {
		return nil
	}
	t := &handheldTold{f.profile.Name, f.profile.RoutePoints, cli.Len(f.fitted.WorstOffsetM), f.fitted.Thinned, f.fitted.Split, []checkRename{}}
	for _, r := range f.fitted.Renamed {
		t.Renamed = append(t.Renamed, checkRename(r))
	}
	return t
}

// tell warns of what the handheld may lose.
func (f *handheldFile) tell(app *cli.App) {
	for _, p := range f.fitted.Problems {
		app.Warn("plan.gpx: "+p.Text, p.Hint)
	}
}

// profilesHelp lists the limits of the profiles, 0 left open, for the help.
func profilesHelp() string {
	var b strings.Builder
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "  profile\ttrack\troute\twaypoints\ttracks\troutes\tname\ttext")
	for _, p := range mapfile.Profiles() {
		fmt.Fprintf(t, "  %s\t%d\t%d\t%d\t%d\t%d\t%d\t%d\n", p.Name, p.TrackPoints, p.RoutePoints, p.Waypoints, p.Tracks, p.Routes, p.NameLength, p.TextLength)
	}
	t.Flush()
	return b.String()
}
