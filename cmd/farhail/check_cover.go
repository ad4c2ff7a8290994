package main

import (
	"fmt"
	"strings"

	"github.com/paulmach/orb"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/geo/cover"
)

// kindCover is a raster of ground cover; GeoJSON of it is of the kind geojson.
const kindCover = "cover"

// checkCover sums up what a file tells of what covers the ground.
type checkCover struct {
	Classes []checkClass   `json:"classes"`
	Lines   map[string]int `json:"lines"` // rivers, streams, the sea's shore, cliffs and trails
	Bridges int            `json:"bridges"`
	// Unclassed are areas whose tags tell nothing of the ground: what lies below them
	// counts.
	Unclassed []job.CoverTag `json:"unclassed"`
}

// checkClass is how much ground bears a class: polygons, each for itself, or cells.
type checkClass struct {
	Class  string   `json:"class"`
	Count  int      `json:"count"`
	AreaM2 cli.Area `json:"area_m2"`
}

// addCover sums up the ground cover of a file, and reports whether there is any.
func (c *checkedFile) addCover() bool {
	m, err := cover.Read(cli.Disk, []string{c.File}, orb.Bound{})
	if err != nil {
		return false
	}
	out := &checkCover{Classes: []checkClass{}, Lines: map[string]int{}, Unclassed: []job.CoverTag{}}
	for _, s := range m.Sums() {
		out.Classes = append(out.Classes, checkClass{s.Class.String(), s.N, cli.Area(s.AreaM2)})
	}
	for _, l := range m.Lines {
		out.Lines[l.Kind.String()]++
		if l.Bridge {
			out.Bridges++
		}
	}
	for _, t := range m.Unclassed {
		out.Unclassed = append(out.Unclassed, job.CoverTag{Tag: t.Tag, Areas: t.N})
	}
	c.Cover = out
	return true
}

// about says it in one line.
func (c *checkCover) about() string {
	var words []string
	for _, class := range c.Classes {
		words = append(words, fmt.Sprintf("%s %d (%.3g km2)", class.Class, class.Count, float64(class.AreaM2)/1e6))
	}
	for _, kind := range []cover.LineKind{cover.River, cover.Stream, cover.SeaShore, cover.Cliff, cover.Trail} {
		if n := c.Lines[kind.String()]; n > 0 {
			words = append(words, fmt.Sprintf("%d lines of %s", n, kind))
		}
	}
	for _, t := range c.Unclassed {
		words = append(words, fmt.Sprintf("%d areas of no class (%s)", t.Areas, t.Tag))
	}
	return strings.Join(words, ", ")
}
