package main

import (
	"fmt"
	"io"

	"github.com/paulmach/orb"

	"farhail/cmd/internal/cli"
	"farhail/geo/earth"
	"farhail/geo/layer"
	"farhail/geo/mapfile"
)

// circleSides is how many sides a circle on the map has at least.
const circleSides = 360

// fixCircle is what lies within a distance of a position.
type fixCircle struct {
	RadiusM cli.Len    `json:"radius_m"`
	AreaM2  cli.Area   `json:"area_m2"`
	BBox    [4]cli.Deg `json:"bbox"`  // west, south, east, north; west > east over the 180 degree line
	Parts   int        `json:"parts"` // 2 where the 180 degree line cuts it
	ring    orb.Ring
}

func circleAround(p orb.Point, radiusM float64) (*fixCircle, error) {
	c := &fixCircle{
		RadiusM: cli.Len(radiusM),
		AreaM2:  cli.Area(earth.CircleAreaM2(p, radiusM)),
		Parts:   1,
		ring:    earth.Circle(p, radiusM, circleSides),
	}
	box, _, err := mapfile.BBox(c.ring)
	if err != nil {
		return nil, err
	}
	for i, deg := range box {
		c.BBox[i] = cli.Deg(deg)
	}
	if box[0] > box[2] {
		c.Parts = 2
	}
	return c, nil
}

// checkCircle refuses flags that do not go with --circle.
func (f *fixFlags) checkCircle(line bool) error {
	switch {
	case given(f.circle) && line:
		return &cli.UsageError{Message: "--circle with a line", Text: "--circle", Advice: `a circle has one position: farhail fix "42.6667, 1.3983" --circle 20km`}
	case f.out != "" && !given(f.circle):
		return &cli.UsageError{Message: "-o without --circle", Text: f.out, Advice: "only a circle is written to a file: add --circle 20km"}
	case f.out != "" && !endsIn(f.out, ".geojson"):
		return &cli.UsageError{Message: "-o: the circle is written as GeoJSON", Text: f.out, Advice: "end the name in .geojson"}
	}
	return nil
}

// writeCircle writes the circle and its centre for a map.
func (f *fixFlags) writeCircle(p orb.Point, c *fixCircle) error {
	ring := layer.New("circle", c.ring, layer.P("radius_m", float64(c.RadiusM)), layer.P("area_m2", float64(c.AreaM2)))
	layers := []layer.Layer{{ID: "circle", Title: "within a distance", Features: []layer.Feature{ring, layer.New("centre", p)}}}
	return cli.WriteFile(f.out, nil, func(w io.Writer) error { return mapfile.WriteGeoJSON(w, layers) })
}

func (c *fixCircle) write(w cli.Text) {
	corner := func(lon, lat cli.Deg) string { return said(w.Words, orb.Point{float64(lon), float64(lat)}) }
	unit, m := w.Unit()
	square, m2 := w.SquareUnit()
	fmt.Fprintf(w, "circle of %.6g %s: %.6g %s, from %s to %s", float64(c.RadiusM)/m, unit, float64(c.AreaM2)/m2, square,
		corner(c.BBox[0], c.BBox[1]), corner(c.BBox[2], c.BBox[3]))
	if c.Parts > 1 {
		fmt.Fprint(w, ", cut at the 180 degree line")
	}
	fmt.Fprintln(w)
}
