package job

import (
	"bufio"
	"fmt"
	"io/fs"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"farhail/cmd/internal/cli"
	"farhail/geo/mapfile"
	"farhail/geo/terrain"
)

// GroundChanges is what a user has done to a terrain before anything is computed
// on it. The zero value changes nothing.
type GroundChanges struct {
	FillVoids int      // cells of the largest hole that is filled
	Spots     []string // GPX or GeoJSON files of measured heights
}

// Changed says what was done to a terrain.
type Changed struct {
	FilledCells int       `json:"filled_cells"`
	Filled      []Hole    `json:"filled"`
	Spots       []SpotSet `json:"spots"`
}

// Hole is a patch of cells that had no height.
type Hole struct {
	Cells int     `json:"cells"`
	Lat   cli.Deg `json:"lat"` // of its middle
	Lon   cli.Deg `json:"lon"`
}

// SpotSet is a measured height and by how much it exceeds the terrain's, null where
// that had none or the spot lies outside.
type SpotSet struct {
	Name    string  `json:"name"`
	Lat     cli.Deg `json:"lat"`
	Lon     cli.Deg `json:"lon"`
	HeightM cli.Len `json:"height_m"`
	DifferM cli.Len `json:"differ_m"`
	Set     bool    `json:"set"` // false outside the terrain or below another spot of the same cell
}

// Apply sets the measured heights into a terrain, then fills its holes from what
// is known around them. What was done also stands in the terrain's notes. It
// returns nil where nothing was asked for.
func (c GroundChanges) Apply(fsys fs.FS, t *terrain.Terrain) (*Changed, error) {
	if c.FillVoids < 1 && len(c.Spots) == 0 {
		return nil, nil
	}
	out := &Changed{Filled: []Hole{}, Spots: []SpotSet{}}
	var spots []terrain.SpotHeight
	for _, name := range c.Spots {
		list, err := readSpots(fsys, name)
		if err != nil {
			return nil, err
		}
		spots = append(spots, list...)
	}
	for _, b := range t.Burn(spots) {
		out.Spots = append(out.Spots, SpotSet{Name: b.Name, Lat: cli.Deg(b.Point.Lat()), Lon: cli.Deg(b.Point.Lon()),
			HeightM: cli.Len(b.HeightM), DifferM: cli.Len(b.DifferM), Set: b.Set})
	}
	filled := t.FillVoids(c.FillVoids)
	out.FilledCells = filled.Cells
	for _, h := range filled.Holes {
		out.Filled = append(out.Filled, Hole{Cells: h.Cells, Lat: cli.Deg(h.Middle.Lat()), Lon: cli.Deg(h.Middle.Lon())})
	}
	return out, nil
}

// readSpots reads the points with a height of a GPX file (waypoints) or a GeoJSON
// file (the third number, or a property ele or elevation). A file without any is
// an error.
func readSpots(fsys fs.FS, name string) ([]terrain.SpotHeight, error) {
	f, err := fsys.Open(name)
	if err != nil {
		return nil, cli.InputError(name, err)
	}
	defer f.Close()
	in := bufio.NewReader(f)
	var list []terrain.SpotHeight
	add := func(label string, p orb.Point, heightM float64) {
		if !math.IsNaN(heightM) {
			list = append(list, terrain.SpotHeight{Name: label, Point: p, HeightM: heightM})
		}
	}
	if isJSON(in) {
		g, err := mapfile.ReadGeoJSON(in, name)
		if err != nil {
			return nil, err
		}
		for _, feature := range g.Features {
			if p, ok := feature.Geometry.(orb.Point); ok {
				height := feature.HeightM
				for _, key := range []string{"ele", "elevation"} {
					if v, ok := feature.Get(key); ok && math.IsNaN(height) {
						height = metres(v)
					}
				}
				add(feature.Name, p, height)
			}
		}
	} else {
		g, err := mapfile.ReadGPX(in, name)
		if err != nil {
			return nil, err
		}
		for _, w := range g.Waypoints {
			add(w.Name, w.Point, w.HeightM)
		}
	}
	if len(list) == 0 {
		return nil, &mapfile.Error{File: name, Line: 1, Column: 1, Text: "no point with a height in the file",
			Fix: "give GPX waypoints with <ele>, or GeoJSON points with a third number or a property ele, in metres"}
	}
	return list, nil
}

// isJSON looks at the first character of a file.
func isJSON(in *bufio.Reader) bool {
	head, _ := in.Peek(64)
	return strings.HasPrefix(strings.TrimLeft(string(head), "\ufeff \t\r\n"), "{")
}

// metres reads a height in a property: a number, or a text such as "2942",
// "2942 m" or, as maps of half of Europe have it, "2942,5"; NaN for anything else,
// also for "2,942", which may be either.
func metres(v any) float64 {
	s, _ := strings.CutSuffix(strings.TrimSpace(fmt.Sprint(v)), "m")
	s = strings.TrimSpace(s)
	if before, after, found := strings.Cut(s, ","); found && len(after) != 3 && !strings.Contains(s, ".") {
		s = before + "." + after
	}
	if x, err := strconv.ParseFloat(s, 64); err == nil && !math.IsInf(x, 0) {
		return x
	}
	return math.NaN()
}
