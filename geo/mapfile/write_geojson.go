package mapfile

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"time"

	"farhail/geo/layer"

	"github.com/paulmach/orb"
)

// WriteGeoJSON writes layers as one RFC 7946 feature collection, a feature a
// line. Each feature has the properties layer (the ID) and name, then height_m
// and time where they are known, then its own in their order. Numbers have 9
// significant digits, coordinates 7 decimals; NaN and Inf are null.
//
// Rings are closed, outer ones run counter-clockwise and holes clockwise
// (section 3.1.6); lines and areas across the 180 degree line are cut there
// (section 3.1.9), the edges between positions being straight in longitude and
// latitude (section 3.1.1); an area around a pole is closed over the pole along
// that line. The box around all of it stands at the end (section 5). Heights are a property and not a third coordinate,
// which would be above the ellipsoid (section 4). Rings that shrink to nothing
// at 7 decimals are left out, a line of one position is written as a point, a
// geometry of which nothing remains is null.
//
// A position that is not on the earth ([ErrPosition]), an area that winds about
// a pole in another way ([ErrPole]) or a property that cannot be written is an error; the output is
// then incomplete and must be thrown away.
func WriteGeoJSON(w io.Writer, layers []layer.Layer) error { return WriteGeoJSONTitled(w, layers, "") }

// WriteGeoJSONTitled is [WriteGeoJSON] with a title of the whole as the member "title",
// which is foreign to the format (section 6.1) and which readers pass over; it stands
// first, for people who open the file. A name or a description would be taken by readers
// for those of a layer.
func WriteGeoJSONTitled(w io.Writer, layers []layer.Layer, title string) error {
	out := bufio.NewWriter(w)
	b := []byte("{\"type\":\"FeatureCollection\",")
	if title != "" {
		b = append(appendString(append(b, "\"title\":"...), title), ',')
	}
	b = append(b, "\"features\":["...)
	sep := "\n"
	var box turnBox
	for _, l := range layers {
		for _, f := range l.Features {
			b = append(b, sep...)
			sep = ",\n"
			var err error
			if b, err = appendFeature(b, l.ID, f, &box); err != nil {
				return fmt.Errorf("layer %s, %q: %w", l.ID, f.Name, err)
			}
			if _, err := out.Write(b); err != nil {
				return fmt.Errorf("writing GeoJSON: %w", err)
			}
			b = b[:0]
		}
	}
	b = append(box.append(append(b, "\n]"...)), "}\n"...)
	if _, err := out.Write(b); err != nil {
		return fmt.Errorf("writing GeoJSON: %w", err)
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("writing GeoJSON: %w", err)
	}
	return nil
}

func appendFeature(b []byte, id string, f layer.Feature, box *turnBox) ([]byte, error) {
	g, err := normalise(f.Geometry)
	if err != nil {
		return b, err
	}
	box.add(g)
	b = append(b, `{"type":"Feature","properties":{`...)
	own := []layer.Property{{Key: "layer", Value: id}, {Key: "name", Value: f.Name}}
	if !math.IsNaN(f.HeightM) {
		if _, point := f.Geometry.(orb.Point); point {
			own = append(own, layer.Property{Key: "height_m", Value: f.HeightM})
		}
	}
	if !f.Time.IsZero() {
		own = append(own, layer.Property{Key: "time", Value: f.Time.UTC().Format(time.RFC3339Nano)})
	}
	seen := map[string]bool{}
	for _, list := range [][]layer.Property{own, f.Properties} {
		for _, p := range list {
			if seen[p.Key] {
				return b, fmt.Errorf("property %s stands twice", p.Key)
			}
			if len(seen) > 0 {
				b = append(b, ',')
			}
			seen[p.Key] = true
			b = append(appendString(b, p.Key), ':')
			if b, err = appendValue(b, p.Value); err != nil {
				return b, fmt.Errorf("property %s: %w", p.Key, err)
			}
		}
	}
	b = append(b, `},"geometry":`...)
	b = appendGeometry(b, g)
	return append(b, '}'), nil
}

// appendGeometry writes a geometry that normalise has returned.
func appendGeometry(b []byte, g orb.Geometry) []byte {
	if g == nil {
		return append(b, "null"...)
	}
	b = append(b, `{"type":"`...)
	b = append(b, g.GeoJSONType()...)
	if c, ok := g.(orb.Collection); ok {
		b = append(b, `","geometries":`...)
		b = appendList(b, c, appendGeometry)
		return append(b, '}')
	}
	b = append(b, `","coordinates":`...)
	switch g := g.(type) {
	case orb.Point:
		b = appendPosition(b, g)
	case orb.MultiPoint:
		b = appendList(b, g, appendPosition)
	case orb.LineString:
		b = appendLine(b, g)
	case orb.MultiLineString:
		b = appendList(b, g, appendLine)
	case orb.Polygon:
		b = appendPolygon(b, g)
	case orb.MultiPolygon:
		b = appendList(b, g, appendPolygon)
	}
	return append(b, '}')
}

func appendList[T any](b []byte, list []T, one func([]byte, T) []byte) []byte {
	b = append(b, '[')
	for i, v := range list {
		if i > 0 {
			b = append(b, ',')
		}
		b = one(b, v)
	}
	return append(b, ']')
}

func appendPosition(b []byte, p orb.Point) []byte {
	b = appendCoordinate(append(b, '['), p[0])
	b = appendCoordinate(append(b, ','), p[1])
	return append(b, ']')
}

func appendLine(b []byte, l orb.LineString) []byte { return appendList(b, l, appendPosition) }

func appendRing(b []byte, r orb.Ring) []byte { return appendList(b, r, appendPosition) }

func appendPolygon(b []byte, p orb.Polygon) []byte { return appendList(b, p, appendRing) }
