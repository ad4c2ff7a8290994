package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/geo/mapfile"
	"farhail/geo/terrain"
)

// checkTerrain sums up a terrain. Words that the file does not state are null.
type checkTerrain struct {
	Kind           string   `json:"kind"` // hgt, geotiff, esri-ascii
	Columns        int      `json:"columns"`
	Rows           int      `json:"rows"`
	CRS            string   `json:"crs"`
	CellXM         cli.Len  `json:"cell_x_m"` // ground length of the middle cell
	CellYM         cli.Len  `json:"cell_y_m"`
	Registration   *string  `json:"registration"` // point or area
	Scale          cli.Num  `json:"scale"`
	Offset         cli.Num  `json:"offset"`
	Unit           *string  `json:"unit"`
	Surface        *string  `json:"surface"` // surface or ground
	Known          int      `json:"known"`
	Unknown        int      `json:"unknown"`
	UndeclaredFill int      `json:"undeclared_fill"`
	MinM           cli.Len  `json:"min_m"`
	MaxM           cli.Len  `json:"max_m"`
	Datum          *string  `json:"datum"`
	Files          []string `json:"files"`
}

// checkSample is the ground at one position; null where it is not known.
type checkSample struct {
	Lat          cli.Deg `json:"lat"`
	Lon          cli.Deg `json:"lon"`
	HeightM      cli.Len `json:"height_m"`
	SlopeDeg     cli.Num `json:"slope_deg"`
	SlopePercent cli.Num `json:"slope_percent"`
	From         *string `json:"from"` // the file
}

// sampleSpot is where a terrain is to be read.
type sampleSpot struct {
	text  string
	point orb.Point // meaningless where local is set
	local bool
	x, y  float64 // in the terrain's own coordinates
}

// spots reads --sample and --sample-xy.
func (f *checkFlags) spots() ([]sampleSpot, error) {
	var list []sampleSpot
	for _, text := range f.samples {
		p, err := cli.ReadPosition(text)
		if err != nil {
			return nil, err
		}
		list = append(list, sampleSpot{text: text, point: p.Point})
	}
	for _, text := range f.sampleXY {
		a, b, found := strings.Cut(text, ",")
		x, errX := strconv.ParseFloat(strings.TrimSpace(a), 64)
		y, errY := strconv.ParseFloat(strings.TrimSpace(b), 64)
		if !found || errX != nil || errY != nil || math.IsNaN(x+y) || math.IsInf(x+y, 0) {
			return nil, &cli.UsageError{Message: fmt.Sprintf("--sample-xy: %q is not two coordinates", text), Text: text,
				Advice: "write the easting and the northing, or the longitude and the latitude: --sample-xy 396518.66,3794432.83"}
		}
		list = append(list, sampleSpot{text: text, local: true, x: x, y: y})
	}
	return list, nil
}

func (c *checkedFile) readTerrain(spots []sampleSpot) error {
	t, err := terrain.Load(cli.Disk, []string{c.File}, orb.Bound{})
	if err != nil {
		return err
	}
	i := t.Info
	for _, note := range i.Notes {
		c.Problems = append(c.Problems, problem(0, 0, mapfile.SeverityWarning, strings.TrimPrefix(note, c.File+": "), ""))
	}
	if i.Surface != terrain.SurfaceGround {
		c.Problems = append(c.Problems, problem(0, 0, mapfile.SeverityWarning, i.Caution(), ""))
	}
	if i.Known == 0 {
		c.Problems = append(c.Problems, problem(0, 0, mapfile.SeverityWarning, "no cell has a height", "get the file again, or another tile"))
	}
	c.Terrain = &checkTerrain{
		Kind: i.Kind, Columns: t.Cols, Rows: t.Rows, CRS: t.CRS.String(), CellXM: cli.Len(i.CellEastM), CellYM: cli.Len(i.CellNorthM),
		Registration: stated(i.Registration), Scale: cli.Num(i.Scale), Offset: cli.Num(i.Offset), Unit: stated(i.Unit), Surface: stated(i.Surface),
		Known: i.Known, Unknown: i.Voids, UndeclaredFill: i.Undeclared, MinM: cli.Len(i.MinM), MaxM: cli.Len(i.MaxM), Datum: stated(i.Datum), Files: i.Files,
	}
	c.read.frame = &t.Frame
	for _, s := range spots {
		c.Samples = append(c.Samples, c.sample(t, s))
	}
	return nil
}

// stated is a word of a terrain's description, null where the file does not say
// it.
func stated(word string) *string {
	if word == terrain.SurfaceUnknown {
		return nil
	}
	return known(word)
}

// sample reads the ground at a spot; where there is none a problem says why.
func (c *checkedFile) sample(t *terrain.Terrain, s sampleSpot) checkSample {
	var col, row float64
	if s.local {
		col, row = t.CellXY(s.x, s.y)
	} else {
		col, row = t.Cell(s.point)
	}
	p := t.Point(col, row)
	if !s.local {
		p = s.point
	}
	out := checkSample{Lat: cli.Deg(p.Lat()), Lon: cli.Deg(p.Lon()), HeightM: cli.Len(t.SampleCell(col, row)), SlopeDeg: cli.Num(math.NaN()), SlopePercent: cli.Num(math.NaN())}
	warn := func(text, hint string) {
		c.Problems = append(c.Problems, problem(0, 0, mapfile.SeverityWarning, fmt.Sprintf("%s: %s", s.text, text), hint))
	}
	if !t.Inside(col, row) {
		hint := ""
		if !s.local {
			if hint = job.SwapHint(t.Frame, p); hint == "" {
				hint = "it needs the tile " + strings.Join(terrain.TilesFor(p.Bound()), " ")
			}
		}
		warn("lies outside the terrain", hint)
		return out
	}
	deg := terrain.SlopeDeg(&t.Heights, nearest(col, t.Cols), nearest(row, t.Rows))
	out.SlopeDeg, out.SlopePercent = cli.Num(deg), cli.Num(terrain.SlopePercent(deg))
	out.From = c.from(t, p)
	if math.IsNaN(float64(out.HeightM)) {
		warn("a cell around it has no height, so that it has none", "")
	}
	return out
}

// nearest is the cell whose centre is next to a coordinate inside the grid.
func nearest(x float64, n int) int { return min(max(int(math.Round(x)), 0), n-1) }

// from names the file that gives the ground at a position: of a folder the
// tiles around it.
func (c *checkedFile) from(t *terrain.Terrain, p orb.Point) *string {
	files := t.Info.Files
	if len(files) > 1 {
		if near, err := terrain.Load(cli.Disk, []string{c.File}, p.Bound()); err == nil {
			files = near.Info.Files
		}
	}
	return known(strings.Join(files, " "))
}

// swappedHints looks for tracks and shapes that lie in a terrain only with
// latitude and longitude swapped. Nothing is swapped.
func swappedHints(files []*checkedFile) {
	for _, c := range files {
		if c.read.first == nil {
			continue
		}
		for _, t := range files {
			if t.read.frame == nil {
				continue
			}
			if hint := job.SwapHint(*t.read.frame, *c.read.first); hint != "" {
				if c.GeoJSON != nil {
					hint = strings.TrimSuffix(hint, "latitude comes first") + "longitude comes first in GeoJSON"
				}
				c.Problems = append(c.Problems, problem(0, 0, mapfile.SeverityWarning, "lies outside the terrain "+t.File, hint))
			}
		}
	}
}
