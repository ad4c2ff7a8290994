package mapfile

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"farhail/geo/layer"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
)

// GeoJSON is the content of a GeoJSON file.
type GeoJSON struct {
	Features      []layer.Feature // rings closed and wound as RFC 7946 asks, whatever the file has
	ReversedRings int             // rings that ran the wrong way in the file
	Problems      []Problem
}

// ReadGeoJSON reads a feature collection, a feature or a bare geometry (RFC
// 7946), plain or gzipped, up to [MaxJSONBytes]; name stands in messages.
//
// It is strict where a guess would put something in the wrong place: a position
// has two or three numbers within range, a line two positions, a ring four with
// the last equal to the first; anything else is an [*Error] that names line and
// column. The third number of a point is its height, that of a line or area is
// left out and told. A name property becomes the feature's name. Whole numbers
// stay integers; an object inside the properties stays JSON text.
func ReadGeoJSON(r io.Reader, name string) (*GeoJSON, error) {
	f, root, err := readJSON(r, name)
	if err != nil {
		return nil, err
	}
	p := &geoReader{jsonFile: f, g: &GeoJSON{}}
	if err := p.document(root); err != nil {
		return nil, err
	}
	p.g.Problems = p.problems.all()
	return p.g, nil
}

// ReadLines reads the lines of a GeoJSON file, those of multi-part lines one by
// one; other geometries are passed over. A file without lines is an error.
func ReadLines(r io.Reader, name string) ([]orb.LineString, []Problem, error) {
	g, err := ReadGeoJSON(r, name)
	if err != nil {
		return nil, nil, err
	}
	var lines []orb.LineString
	var take func(g orb.Geometry)
	take = func(g orb.Geometry) {
		switch g := g.(type) {
		case orb.LineString:
			lines = append(lines, g)
		case orb.MultiLineString:
			lines = append(lines, g...)
		case orb.Collection:
			for _, m := range g {
				take(m)
			}
		}
	}
	for _, f := range g.Features {
		take(f.Geometry)
	}
	if len(lines) == 0 {
		return nil, nil, &Error{File: name, Line: 1, Column: 1, Text: "no lines in the file",
			Fix: "give a GeoJSON file with features of type LineString or MultiLineString"}
	}
	return lines, g.Problems, nil
}

// geoReader checks one file against RFC 7946.
type geoReader struct {
	*jsonFile
	g        *GeoJSON
	problems problems
}

func (p *geoReader) document(root *node) error {
	kind := root.str("type")
	if kind == "" {
		hint := "the root is an object with \"type\": \"FeatureCollection\""
		return p.fail(root.start, "not a GeoJSON file: no type at its root", "", hint)
	}
	if err := p.crs(root); err != nil {
		return err
	}
	switch kind {
	case "FeatureCollection":
		list := root.get("features")
		if list == nil || list.kind != '[' {
			return p.fail(root.start, "a FeatureCollection needs a list of features", "", "")
		}
		for i := range list.items {
			if err := p.feature(&list.items[i]); err != nil {
				return err
			}
		}
		return nil
	case "Feature":
		return p.feature(root)
	}
	g, height, err := p.geometry(root)
	if err != nil {
		return err
	}
	f := layer.New("", g)
	f.HeightM = height
	p.g.Features = append(p.g.Features, f)
	return nil
}

// crs refuses coordinates that are not WGS84. RFC 7946 knows no other; older
// files name one (section 4).
func (p *geoReader) crs(root *node) error {
	c := root.get("crs")
	if c == nil || c.kind == 'n' {
		return nil
	}
	if text := p.raw(c); !strings.Contains(text, "CRS84") && !strings.Contains(text, "4326") {
		return p.fail(c.start, "the coordinates are not WGS84 longitude and latitude", text,
			"convert the file, for example with ogr2ogr -t_srs EPSG:4326")
	}
	return nil
}

func (p *geoReader) feature(n *node) error {
	if n.str("type") != "Feature" {
		return p.fail(n.start, "not a Feature", p.raw(n), "")
	}
	geometry := n.get("geometry")
	if geometry == nil {
		return p.fail(n.start, "a Feature needs a geometry, null where it has none", "", "")
	}
	f := layer.New("", nil)
	if geometry.kind == 'n' {
		p.warn("no geometry", geometry, "feature without a geometry", "")
	} else {
		g, height, err := p.geometry(geometry)
		if err != nil {
			return err
		}
		f.Geometry, f.HeightM = g, height
	}
	props := n.get("properties")
	switch {
	case props == nil || props.kind == 'n':
	case props.kind != '{':
		return p.fail(props.start, "properties are neither an object nor null", p.raw(props), "")
	default:
		for i, key := range props.keys {
			v := &props.items[i]
			if key == "name" && v.kind == '"' {
				f.Name = v.text
				continue
			}
			f.Properties = append(f.Properties, layer.P(key, p.value(v)))
		}
	}
	p.g.Features = append(p.g.Features, f)
	return nil
}

// value is a property's value as the writer takes it back.
func (p *geoReader) value(n *node) any {
	switch n.kind {
	case '"':
		return n.text
	case 't':
		return n.truth
	case '0':
		if i, err := strconv.ParseInt(n.text, 10, 64); err == nil {
			return i
		}
		if strings.ContainsAny(n.text, ".eE") {
			if v, err := strconv.ParseFloat(n.text, 64); err == nil {
				return v
			}
		}
		return json.Number(n.text) // a whole number beyond 64 bits
	case '[':
		list := make([]any, len(n.items))
		for i := range n.items {
			list[i] = p.value(&n.items[i])
		}
		return list
	case '{':
		return json.RawMessage(p.raw(n))
	}
	return nil
}

// geometry checks a geometry and returns it as RFC 7946 asks; the height is
// that of a point.
func (p *geoReader) geometry(n *node) (g orb.Geometry, heightM float64, err error) {
	heightM = math.NaN()
	kind := n.str("type")
	if kind == "GeometryCollection" {
		list := n.get("geometries")
		if list == nil || list.kind != '[' {
			return nil, heightM, p.fail(n.start, "a GeometryCollection needs a list of geometries", "", "")
		}
		var out orb.Collection
		for i := range list.items {
			m, _, err := p.geometry(&list.items[i])
			if err != nil {
				return nil, heightM, err
			}
			if m != nil {
				out = append(out, m)
			}
		}
		if len(out) == 0 {
			p.warn("no geometry", n, "geometry without positions", "")
			return nil, heightM, nil
		}
		return out, heightM, nil
	}
	check, known := checks[kind]
	if !known {
		return nil, heightM, p.fail(n.start, "not a geometry of GeoJSON", kind, "")
	}
	c := n.get("coordinates")
	if c == nil || c.kind != '[' {
		return nil, heightM, p.fail(n.start, "a "+kind+" needs coordinates", "", "")
	}
	if strings.HasPrefix(kind, "Multi") && len(c.items) == 0 {
		p.warn("no geometry", n, "geometry without positions", "")
		return nil, heightM, nil
	}
	if err := check(p, c); err != nil {
		return nil, heightM, err
	}
	decoded, err := geojson.UnmarshalGeometry([]byte(p.raw(n)))
	if err != nil {
		return nil, heightM, p.fail(n.start, "geometry cannot be read: "+err.Error(), "", "")
	}
	g = decoded.Geometry()
	if kind == "Point" && len(c.items) == 3 {
		heightM = number(&c.items[2])
	}
	p.wind(g)
	return g, heightM, nil
}

// wind turns rings that run the wrong way; section 3.1.6 asks readers to accept
// them.
func (p *geoReader) wind(g orb.Geometry) {
	switch g := g.(type) {
	case orb.Polygon:
		for i, r := range g {
			if area := signedArea(r); area != 0 && (area > 0) != (i == 0) {
				r.Reverse()
				p.g.ReversedRings++
			}
		}
	case orb.MultiPolygon:
		for _, m := range g {
			p.wind(m)
		}
	}
}

func (p *geoReader) warn(kind string, n *node, text, hint string) {
	if p.problems.counted(kind) { // finding the line costs a pass over the file
		return
	}
	line, col := p.where(n.start)
	p.problems.add(kind, Problem{Line: line, Column: col, Severity: SeverityWarning, Text: text, Hint: hint})
}

// checks hold what the coordinates of each type must be (section 3.1).
var checks = map[string]func(*geoReader, *node) error{
	"Point": func(p *geoReader, n *node) error { return p.position(n, true) },
	"MultiPoint": func(p *geoReader, n *node) error {
		return p.each(n, func(n *node) error { return p.position(n, false) })
	},
	"LineString":      (*geoReader).line,
	"MultiLineString": func(p *geoReader, n *node) error { return p.each(n, p.line) },
	"Polygon":         (*geoReader).polygon,
	"MultiPolygon":    func(p *geoReader, n *node) error { return p.each(n, p.polygon) },
}

func (p *geoReader) each(n *node, one func(*node) error) error {
	if n.kind != '[' {
		return p.fail(n.start, "a list is needed here", p.raw(n), "")
	}
	for i := range n.items {
		if err := one(&n.items[i]); err != nil {
			return err
		}
	}
	return nil
}

func (p *geoReader) line(n *node) error {
	if err := p.each(n, func(n *node) error { return p.position(n, false) }); err != nil {
		return err
	}
	if len(n.items) < 2 {
		return p.fail(n.start, "a line needs two positions or more", p.raw(n), "")
	}
	return nil
}

func (p *geoReader) polygon(n *node) error {
	if n.kind == '[' && len(n.items) == 0 {
		return p.fail(n.start, "an area needs an outer ring", p.raw(n), "")
	}
	return p.each(n, func(ring *node) error {
		if err := p.each(ring, func(n *node) error { return p.position(n, false) }); err != nil {
			return err
		}
		if len(ring.items) < 4 {
			return p.fail(ring.start, "a ring needs four positions or more", p.raw(ring), "the last repeats the first")
		}
		first, last := &ring.items[0], &ring.items[len(ring.items)-1]
		if number(&first.items[0]) != number(&last.items[0]) || number(&first.items[1]) != number(&last.items[1]) {
			return p.fail(last.start, "ring not closed", p.raw(last), "repeat the first position, "+p.raw(first)+", at the end")
		}
		return nil
	})
}

// position checks [longitude, latitude] or [longitude, latitude, height].
func (p *geoReader) position(n *node, point bool) error {
	if n.kind != '[' || len(n.items) < 2 || len(n.items) > 3 {
		return p.fail(n.start, "a position is a list of longitude, latitude and perhaps height", p.raw(n), "")
	}
	for i := range n.items {
		if n.items[i].kind != '0' {
			return p.fail(n.items[i].start, "not a number in a position", p.raw(&n.items[i]), "")
		}
	}
	lon, lat := number(&n.items[0]), number(&n.items[1])
	if !(math.Abs(lon) <= 180) {
		return p.fail(n.items[0].start, "longitude out of range, -180 to 180", n.items[0].text, "")
	}
	if !(math.Abs(lat) <= 90) {
		hint := ""
		if math.Abs(lat) <= 180 && math.Abs(lon) <= 90 {
			hint = "longitude comes first in GeoJSON: the two may be swapped"
		}
		return p.fail(n.items[1].start, "latitude out of range, -90 to 90", n.items[1].text, hint)
	}
	if len(n.items) == 3 {
		if h := number(&n.items[2]); !(math.Abs(h) <= highest) {
			return p.fail(n.items[2].start, fmt.Sprintf("height out of range, beyond %d m", highest), n.items[2].text, "")
		}
		if !point {
			p.warn("height", n, "height of a line or area left out", "")
		}
	}
	return nil
}

// number is the value of a number node; Inf where it is beyond float64.
func number(n *node) float64 {
	v, _ := strconv.ParseFloat(n.text, 64) // grammar checked; a range error gives Inf, which no range takes
	return v
}
