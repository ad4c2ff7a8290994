package cover

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"strings"

	"farhail/geo/mapfile"
	"farhail/geo/terrain"

	"github.com/paulmach/orb"
)

// ErrNoCover says that a file holds nothing that tells what covers the ground.
var ErrNoCover = errors.New("cover: no ground cover in the file")

// Map is what files tell of the ground, as shapes and grids.
type Map struct {
	Files []string
	Areas []Area // from the largest to the smallest, of one size as read
	Lines []Line
	// Unclassed counts the areas whose tags mean no class, by their tag, the most
	// frequent first.
	Unclassed []TagCount
	Problems  []Problem

	grids []*codeGrid
	tags  map[string]int // of Unclassed
}

// An Area is a polygon of one class. One of several parts is an area each.
type Area struct {
	Class   Class
	Name    string
	Polygon orb.Polygon
	AreaM2  float64 // on the ellipsoid, holes taken off
	River   bool    // running water
}

// A Line is a river, stream, cliff or trail.
type Line struct {
	Kind   LineKind
	Name   string
	Path   orb.LineString
	WidthM float64 // as tagged [m], NaN where it is not
	Bridge bool    // a trail over a bridge
}

// A TagCount is a tag and how many areas bear it.
type TagCount struct {
	Tag string // "landuse=military", or "no tag of the ground"
	N   int
}

// A Problem is something odd that did not stop the reading.
type Problem struct {
	File string
	mapfile.Problem
}

// codeGrid is a CORINE raster.
type codeGrid struct {
	*terrain.Codes
	ordered bool
}

func (g *codeGrid) classOf(number int) Class {
	c, _ := corineClass(number, g.ordered) // what is none was refused
	return c
}

// Read reads files of ground cover: GeoJSON of OpenStreetMap, whose features have
// tags as properties, as ogr2ogr writes them (also those it gathers in
// other_tags), and GeoTIFF of CORINE codes. They are told apart by what they hold.
// Of a raster only the part in the box is read; the zero box means all of it.
//
// A file without any area or line of ground cover is an error that wraps
// ErrNoCover; otherwise errors are those of [mapfile.ReadGeoJSON] and
// [terrain.LoadCodes]. GeoJSON is read whole, up to [mapfile.MaxJSONBytes].
func Read(fsys fs.FS, names []string, box orb.Bound) (*Map, error) {
	m := &Map{tags: map[string]int{}}
	for _, name := range names {
		if err := m.read(fsys, name, box); err != nil {
			return nil, err
		}
		m.Files = append(m.Files, name)
	}
	slices.SortStableFunc(m.Areas, func(a, b Area) int { return cmp.Compare(b.AreaM2, a.AreaM2) })
	for tag, n := range m.tags {
		m.Unclassed = append(m.Unclassed, TagCount{tag, n})
	}
	slices.SortFunc(m.Unclassed, func(a, b TagCount) int { return cmp.Or(cmp.Compare(b.N, a.N), strings.Compare(a.Tag, b.Tag)) })
	return m, nil
}

func (m *Map) read(fsys fs.FS, name string, box orb.Bound) error {
	f, err := fsys.Open(name)
	if err != nil {
		return fmt.Errorf("opening ground cover: %w", err)
	}
	defer f.Close()
	head := make([]byte, 4)
	n, err := io.ReadFull(f, head)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return fmt.Errorf("reading %s: %w", name, err)
	}
	head = head[:n]
	if bytes.HasPrefix(head, []byte("II")) || bytes.HasPrefix(head, []byte("MM")) {
		return m.readCodes(fsys, name, box)
	}
	g, err := mapfile.ReadGeoJSON(io.MultiReader(bytes.NewReader(head), f), name)
	if err != nil {
		return err
	}
	for _, p := range g.Problems {
		m.Problems = append(m.Problems, Problem{name, p})
	}
	before := len(m.Areas) + len(m.Lines)
	for _, feature := range g.Features {
		(&osmReader{m, name, feature.Name, tagsOf(feature)}).geometry(feature.Geometry)
	}
	if len(m.Areas)+len(m.Lines) == before {
		return &mapfile.Error{File: name, Line: 1, Column: 1, Text: "no ground cover in the file: no feature has a tag of OpenStreetMap that is known here", Err: ErrNoCover,
			Fix: "give GeoJSON with natural, landuse, waterway or highway among its properties, as ogr2ogr writes it, or a GeoTIFF of CORINE codes"}
	}
	return nil
}

func (m *Map) readCodes(fsys fs.FS, name string, box orb.Bound) error {
	c, err := terrain.LoadCodes(fsys, name, box)
	if errors.Is(err, terrain.ErrOutside) {
		m.Problems = append(m.Problems, Problem{name, mapfile.Problem{Severity: mapfile.SeverityWarning, Text: "no part of it lies in the area asked for", Hint: "give the file of that area"}})
		return nil
	}
	if err != nil {
		return err
	}
	g := &codeGrid{Codes: c, ordered: true}
	areas := c.Areas()
	for _, a := range areas {
		g.ordered = g.ordered && (corineNoData(a.Code) || a.Code <= len(corine))
	}
	for _, a := range areas {
		if _, ok := corineClass(a.Code, g.ordered); !ok {
			return &terrain.FileError{File: name, At: -1, Kind: ErrNoCover, Text: fmt.Sprintf("%d cells hold %d, which is no class of CORINE land cover", a.Cells, a.Code),
				Help: "CORINE rasters hold codes from 111 to 523, or their order from 1 to 44; is this a terrain? give it with --terrain"}
		}
	}
	m.grids = append(m.grids, g)
	return nil
}

// A ClassArea is how much ground bears a class.
type ClassArea struct {
	Class  Class
	N      int // polygons, or cells
	AreaM2 float64
}

// classSums gathers the ground of each class.
type classSums [len(classNames)]ClassArea

func (s *classSums) add(c Class, n int, areaM2 float64) {
	s[c].N += n
	s[c].AreaM2 += areaM2
}

func (s *classSums) list() []ClassArea {
	var list []ClassArea
	for c, a := range s {
		if a.Class = Class(c); a.N > 0 {
			list = append(list, a)
		}
	}
	return list
}

// Sums returns the ground of each class as the files give it, by class: polygons
// with their whole area, those that overlap each for itself, rasters by cells.
// Unknown is among them where a raster has cells without a class.
func (m *Map) Sums() []ClassArea {
	var sums classSums
	for _, a := range m.Areas {
		sums.add(a.Class, 1, a.AreaM2)
	}
	for _, g := range m.grids {
		for _, a := range g.Areas() {
			sums.add(g.classOf(a.Code), a.Cells, a.AreaM2)
		}
	}
	return sums.list()
}

// Trails returns the lines that are walked as paths.
func (m *Map) Trails() []Line {
	return slices.DeleteFunc(slices.Clone(m.Lines), func(l Line) bool { return l.Kind != Trail })
}
