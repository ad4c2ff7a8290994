package main

import (
	"fmt"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
)

// covered reports whether the cover of the ground is told.
func (f *sightFlags) covered() bool { return len(f.land.cover.Files) > 0 }

// byCover is the word of --behind for the class that the signal stands in.
const byCover = "cover"

// nameCover turns --behind cover into the ground that covers the signal's place, and
// has the clutter of that ground where none is given.
func (f *sightFlags) nameCover() error {
	if f.behind != byCover {
		return nil
	}
	switch {
	case !f.covered():
		return &cli.UsageError{Message: "--behind cover needs --cover", Text: f.behind, Advice: "give --cover landcover.geojson, or name the ground, like --behind grass"}
	case f.toward == nil:
		return &cli.UsageError{Message: "--behind cover needs to know where the signal is", Text: f.behind, Advice: "give --from and --toward"}
	}
	class, behind, clutter, err := job.BehindByCover(cli.Disk, f.land.cover, f.toward.Point)
	if err != nil {
		return err
	}
	if behind == "" {
		return &cli.UsageError{Message: "--behind cover: no file tells what covers the signal's place", Text: f.behind, Advice: "name the ground, like --behind grass, or give --cover-elsewhere grass"}
	}
	f.behind, f.behindClass = behind, class
	if f.clutter == "" && f.hasContrast() {
		f.clutter = clutter
	}
	return nil
}

// hasContrast reports whether the signal is seen by contrast.
func (f *sightFlags) hasContrast() bool {
	kind, err := f.kind()
	return err == nil && job.HasContrast(kind)
}

// coverFaults lists what does not go with the cover of the ground.
func (f *sightFlags) coverFaults() []flagFault {
	covered := f.covered()
	return []flagFault{
		{covered && len(f.terrain) == 0 && f.behindClass == "", "--cover", "needs a line over the ground", "add --terrain, --from and --toward"},
		{covered && f.sounds(), "--cover", "does not count for a sound", "give --foliage, the dense foliage on its way"},
		{covered && given(f.stems), "--stems", "and --cover both tell the plants on the line", "give one of them"},
		{covered && given(f.leafArea), "--leaf-area", "and --cover both tell the plants on the line", "give one of them"},
		{!covered && f.land.cover.Elsewhere != "", "--cover-elsewhere", "needs --cover", "say where the woods are: --cover landcover.geojson"},
	}
}

// putCover puts the plants of the cover on the line of a request.
func (f *sightFlags) putCover(app *cli.App, r *job.SightRequest) error {
	if f.behindClass != "" {
		app.Warn(fmt.Sprintf("the signal stands in %s, which is taken for what is behind it: %s", f.behindClass, f.behind), "if the eye sees it against other ground, name that: --behind grass")
	}
	if !f.covered() || f.ground == nil {
		return nil
	}
	f.land.canopyM, r.CanopyM = f.canopy, 0
	c, err := f.land.load(app, f.ground.Frame)
	if err != nil {
		return err
	}
	for _, n := range r.Among(c, f.ground) {
		app.Note(n)
	}
	return nil
}

// printPlants tells what the line runs among.
func printPlants(w cli.Text, s *job.SightResult) {
	if s.SightLine == nil || s.Plants == nil {
		return
	}
	for _, p := range s.Plants {
		clear := "not counted"
		if given(float64(p.ClearLineM)) {
			clear = "mean clear line " + w.Distance(float64(p.ClearLineM))
		}
		fmt.Fprintf(w, "  %s of it below the height of %s, %s\n", w.Distance(float64(p.LengthM)), p.Class, clear)
	}
	fmt.Fprintf(w, "  no plant in the line in %.3g of 100 cases, by stems and leaves of each class\n", 100*float64(s.ClearLineChance))
}
