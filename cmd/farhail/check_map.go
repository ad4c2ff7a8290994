package main

import (
	"math"
	"os"
	"time"

	"github.com/paulmach/orb"

	"farhail/cmd/internal/cli"
	"farhail/geo/grid"
	"farhail/geo/mapfile"
	"farhail/geo/track"
)

// readFile is what check keeps of a file after it was read.
type readFile struct {
	gpx   *mapfile.GPX
	first *orb.Point  // some position of a GPX or GeoJSON file
	frame *grid.Frame // of a terrain
}

// checkGPX sums up a GPX file: its tracks, less the points where nobody can have
// been; jumps are counted in points alone.
type checkGPX struct {
	Version     *string `json:"version"`
	Name        *string `json:"name"`
	Waypoints   int     `json:"waypoints"`
	Routes      int     `json:"routes"`
	Tracks      int     `json:"tracks"`
	Segments    int     `json:"segments"`
	Points      int     `json:"points"`     // of tracks, that have a position
	Dropped     int     `json:"dropped"`    // of all kinds, that have none
	Duplicates  int     `json:"duplicates"` // track points where the one before is
	First       *string `json:"first"`      // the earliest time
	Last        *string `json:"last"`
	ElapsedS    cli.Num `json:"elapsed_s"`
	RecordedS   cli.Num `json:"recorded_s"`
	LengthM     cli.Len `json:"length_m"`
	GapM        cli.Len `json:"gap_m"`
	ElePoints   int     `json:"ele_points"`
	MinEleM     cli.Len `json:"min_ele_m"`
	MaxEleM     cli.Len `json:"max_ele_m"`
	MeanSpeedMS cli.Num `json:"mean_speed_m_s"`
}

// checkPoint is one point; numbers are those of the file, from 0.
type checkPoint struct {
	Kind    string  `json:"kind"` // wpt, rtept or trkpt
	Track   *int    `json:"track"`
	Segment *int    `json:"segment"`
	Index   int     `json:"index"`
	Lat     cli.Deg `json:"lat"`
	Lon     cli.Deg `json:"lon"`
	EleM    cli.Len `json:"ele_m"`
	Time    *string `json:"time"`
	Name    *string `json:"name"`
}

// checkGeoJSON sums up a GeoJSON file.
type checkGeoJSON struct {
	Features      int         `json:"features"`
	AreaM2        cli.Area    `json:"area_m2"` // of its areas, null where it has none
	BBox          *[4]cli.Deg `json:"bbox"`
	ReversedRings int         `json:"reversed_rings"`
}

func (c *checkedFile) readGPX(app *cli.App, points bool) error {
	f, err := os.Open(c.File)
	if err != nil {
		return err
	}
	defer f.Close()
	g, err := mapfile.ReadGPX(f, c.File)
	if err != nil {
		return err
	}
	c.warnings(g.Problems)
	c.read.gpx = g
	s := track.Summarise(g.Tracks...)
	c.GPX = &checkGPX{
		Version: known(g.Version), Name: known(g.Name),
		Waypoints: len(g.Waypoints), Routes: len(g.Routes), Tracks: len(g.Tracks), Segments: s.Segments,
		Points: s.Points, Dropped: len(g.Dropped), Duplicates: g.Duplicates,
		First: instant(app, s.First), Last: instant(app, s.Last),
		ElapsedS: cli.Num(s.ElapsedS), RecordedS: cli.Num(s.RecordedS), LengthM: cli.Len(s.LengthM), GapM: cli.Len(s.GapM),
		ElePoints: s.Heights, MinEleM: cli.Len(s.MinHeightM), MaxEleM: cli.Len(s.MaxHeightM), MeanSpeedMS: cli.Num(s.MeanSpeedMS),
	}
	if points {
		c.Points = listPoints(app, g)
	}
	eachFix(g, func(_ string, _, _, _ int, f track.Fix) {
		if c.read.first == nil {
			c.read.first = &f.Point
		}
	})
	return nil
}

// known is a text that is null where it is empty.
func known(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

// instant writes a time in the zone asked for, or UTC; null where it is unknown.
func instant(app *cli.App, t time.Time) *string {
	if t.IsZero() {
		return nil
	}
	t = t.UTC()
	if app.Zone != nil {
		t = t.In(app.Zone)
	}
	return known(t.Format(time.RFC3339Nano))
}

// listPoints lists the points that have a position, in the order waypoints,
// routes, tracks.
func listPoints(app *cli.App, g *mapfile.GPX) []checkPoint {
	list := []checkPoint{}
	eachFix(g, func(kind string, track, segment, index int, f track.Fix) {
		p := checkPoint{Kind: kind, Index: index, Lat: cli.Deg(f.Point.Lat()), Lon: cli.Deg(f.Point.Lon()), EleM: cli.Len(f.HeightM), Time: instant(app, f.Time), Name: known(f.Name)}
		if kind != "wpt" {
			p.Track = &track
		}
		if kind == "trkpt" {
			p.Segment = &segment
		}
		list = append(list, p)
	})
	return list
}

// eachFix calls visit for every point with its numbers in the file, dropped
// points counted.
func eachFix(g *mapfile.GPX, visit func(kind string, track, segment, index int, f track.Fix)) {
	dropped := g.Dropped // in the order of the file, which may mix kinds
	lost := map[[4]int]bool{}
	kinds := map[string]int{"wpt": 0, "rtept": 1, "trkpt": 2}
	for _, d := range dropped {
		lost[[4]int{kinds[d.Kind], d.Track, d.Segment, d.Index}] = true
	}
	run := func(kind string, track, segment int, fixes track.Segment) {
		index := 0
		for _, f := range fixes {
			for len(lost) > 0 && lost[[4]int{kinds[kind], track, segment, index}] {
				index++
			}
			visit(kind, track, segment, index, f)
			index++
		}
	}
	run("wpt", 0, 0, g.Waypoints)
	for i, r := range g.Routes {
		for _, s := range r.Segments {
			run("rtept", i, 0, s)
		}
	}
	for i, t := range g.Tracks {
		for j, s := range t.Segments {
			run("trkpt", i, j, s)
		}
	}
}

func (c *checkedFile) readGeoJSON() error {
	f, err := os.Open(c.File)
	if err != nil {
		return err
	}
	defer f.Close()
	g, err := mapfile.ReadGeoJSON(f, c.File)
	if err != nil {
		return err
	}
	c.warnings(g.Problems)
	out := &checkGeoJSON{Features: len(g.Features), ReversedRings: g.ReversedRings, AreaM2: cli.Area(math.NaN())}
	area, areas := 0.0, false
	var shapes []orb.Geometry
	for _, feature := range g.Features {
		m2, err := mapfile.AreaM2(feature.Geometry)
		if err != nil {
			c.Problems = append(c.Problems, problem(0, 0, mapfile.SeverityWarning, quoting("an area has no inside", feature.Name), "cut it along the 180 degree line"))
			continue
		}
		area += m2
		areas = areas || hasArea(feature.Geometry)
		shapes = append(shapes, feature.Geometry)
	}
	if areas {
		out.AreaM2 = cli.Area(area)
	}
	box, ok, err := mapfile.BBox(shapes...)
	if err == nil && ok {
		out.BBox = &[4]cli.Deg{cli.Deg(box[0]), cli.Deg(box[1]), cli.Deg(box[2]), cli.Deg(box[3])}
		c.read.first = &orb.Point{box[0], box[1]}
	}
	c.GeoJSON = out
	return nil
}

// hasArea says whether a geometry holds polygons.
func hasArea(g orb.Geometry) bool {
	switch g := g.(type) {
	case orb.Polygon, orb.MultiPolygon:
		return true
	case orb.Collection:
		for _, m := range g {
			if hasArea(m) {
				return true
			}
		}
	}
	return false
}
