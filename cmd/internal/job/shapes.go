package job

import (
	"bufio"
	"io/fs"
	"slices"

	"farhail/cmd/internal/cli"
	"farhail/geo/grid"
	"farhail/geo/mapfile"
	"farhail/geo/track"
	"farhail/geo/walk"

	"github.com/paulmach/orb"
)

// A Shape is a line or an area of a file of trails or barriers.
type Shape struct {
	Name string // "" where the file gives none
	Line orb.LineString
	Area orb.Polygon // nil for a line
}

// ReadShapes reads the lines and areas of a GPX or GeoJSON file, told apart by
// their first character, and what the reader found odd. Of GPX it takes the
// tracks, or the routes where there is none. A file without either is an error.
func ReadShapes(fsys fs.FS, name string) ([]Shape, []mapfile.Problem, error) {
	f, err := fsys.Open(name)
	if err != nil {
		return nil, nil, cli.InputError(name, err)
	}
	defer f.Close()
	in := bufio.NewReader(f)
	var shapes []Shape
	var problems []mapfile.Problem
	if isJSON(in) {
		g, err := mapfile.ReadGeoJSON(in, name)
		if err != nil {
			return nil, nil, err
		}
		problems = g.Problems
		for _, feature := range g.Features {
			shapes = appendShapes(shapes, feature.Name, feature.Geometry)
		}
	} else {
		g, err := mapfile.ReadGPX(in, name)
		if err != nil {
			return nil, nil, err
		}
		problems = g.Problems
		shapes = appendTracks(shapes, g.Ways())
	}
	if len(shapes) == 0 {
		return nil, nil, &mapfile.Error{File: name, Line: 1, Column: 1, Text: "no lines in the file",
			Fix: "give GPX with a track or a route, or GeoJSON with lines (of barriers: lines or areas)"}
	}
	return shapes, problems, nil
}

func appendTracks(shapes []Shape, tracks []track.Track) []Shape {
	for _, t := range tracks {
		for _, s := range t.Segments {
			if line := lineOf(s); len(line) > 1 {
				shapes = append(shapes, Shape{Name: t.Name, Line: line})
			}
		}
	}
	return shapes
}

func appendShapes(shapes []Shape, name string, g orb.Geometry) []Shape {
	switch g := g.(type) {
	case orb.LineString:
		shapes = append(shapes, Shape{Name: name, Line: g})
	case orb.MultiLineString:
		for _, l := range g {
			shapes = append(shapes, Shape{Name: name, Line: l})
		}
	case orb.Polygon:
		shapes = append(shapes, Shape{Name: name, Area: g})
	case orb.MultiPolygon:
		for _, p := range g {
			shapes = append(shapes, Shape{Name: name, Area: p})
		}
	case orb.Collection:
		for _, m := range g {
			shapes = appendShapes(shapes, name, m)
		}
	}
	return shapes
}

// linesOf returns the shapes that are lines.
func linesOf(shapes []Shape) []Shape {
	return slices.DeleteFunc(slices.Clone(shapes), func(s Shape) bool { return s.Line == nil })
}

// areasOf returns the shapes that are areas.
func areasOf(shapes []Shape) []Shape {
	return slices.DeleteFunc(slices.Clone(shapes), func(s Shape) bool { return s.Area == nil })
}

// inAreas marks the cells of a frame whose centres lie in areas; lines mark none.
func inAreas(f grid.Frame, shapes []Shape) []bool {
	mask := make([]bool, f.Cols*f.Rows)
	for _, s := range areasOf(shapes) {
		f.Spans(s.Area, func(row, first, last int) {
			for col := first; col <= last; col++ {
				mask[row*f.Cols+col] = true
			}
		})
	}
	return mask
}

// MarkShapes marks the cells of a frame that shapes run through or cover; nil
// for no shapes.
func MarkShapes(f grid.Frame, shapes []Shape) []bool {
	if len(shapes) == 0 {
		return nil
	}
	mask := make([]bool, f.Cols*f.Rows)
	for _, s := range shapes {
		if s.Area != nil {
			walk.MarkArea(mask, f, s.Area)
		} else {
			walk.MarkLine(mask, f, s.Line)
		}
	}
	return mask
}
