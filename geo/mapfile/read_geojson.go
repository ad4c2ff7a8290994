package mapfile

import (
	"encoding/json"
	"io"
	"math"
	"strconv"
	"strings"

	"farhail/geo/layer"

	"github.com/paulmach/orb"
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
// column, or [Errors] where there are several, and nothing is returned. Members
// that GeoJSON does not know are passed over (section 6.1). The third number of a point is its height, that of a line or area is
// left out and told. A name property becomes the feature's name. Whole numbers
// stay integers; an object inside the properties stays JSON text.
func ReadGeoJSON(r io.Reader, name string) (*GeoJSON, error) {
	f, root, err := readJSON(r, name)
	if err != nil {
		return nil, err
	}
	p := &geoReader{jsonFile: f, g: &GeoJSON{}}
	p.document(root)
	p.g.Problems = p.problems.all()
	if err := p.faults.err(p.g.Problems); err != nil {
		return nil, err
	}
	return p.g, nil
}

// geoReader checks one file against RFC 7946. Its methods note faults and go on,
// so that one reading tells all of them.
type geoReader struct {
	*jsonFile
	g        *GeoJSON
	problems problems
	faults   faults
}

// fault notes what makes the file unreadable.
func (p *geoReader) fault(at int, text, found, hint string) {
	p.faults.n++
	if p.faults.n <= listed { // finding the line costs a pass over the file
		p.faults.list = append(p.faults.list, p.fail(at, text, found, hint))
	}
}

func (p *geoReader) warn(kind string, n *node, text, hint string) {
	if p.problems.counted(kind) { // as above
		return
	}
	line, col := p.where(n.start)
	p.problems.add(kind, Problem{Line: line, Column: col, Severity: SeverityWarning, Text: text, Hint: hint})
}

func (p *geoReader) document(root *node) {
	kind := root.str("type")
	if kind == "" {
		hint := "the root is an object with \"type\": \"FeatureCollection\""
		p.fault(root.start, "not a GeoJSON file: no type at its root", "", hint)
		return
	}
	p.crs(root)
	switch kind {
	case "FeatureCollection":
		list := root.get("features")
		if list == nil || list.kind != '[' {
			p.fault(root.start, "a FeatureCollection needs a list of features", "", "")
			return
		}
		for i := range list.items {
			p.feature(&list.items[i])
		}
	case "Feature":
		p.feature(root)
		return // its box is checked with it
	default:
		g, height := p.geometry(root)
		f := layer.New("", g)
		f.HeightM = height
		p.g.Features = append(p.g.Features, f)
		return
	}
	geometries := make([]orb.Geometry, len(p.g.Features))
	for i, f := range p.g.Features {
		geometries[i] = f.Geometry
	}
	p.box(root, geometries...)
}

// crs refuses coordinates that are not WGS84. RFC 7946 knows no other; older
// files name one (section 4).
func (p *geoReader) crs(root *node) {
	c := root.get("crs")
	if c == nil || c.kind == 'n' {
		return
	}
	if text := p.raw(c); !strings.Contains(text, "CRS84") && !strings.Contains(text, "4326") {
		p.fault(c.start, "the coordinates are not WGS84 longitude and latitude", text,
			"convert the file, for example with ogr2ogr -t_srs EPSG:4326")
	}
}

func (p *geoReader) feature(n *node) {
	if n.str("type") != "Feature" {
		p.fault(n.start, "not a Feature", p.raw(n), "")
		return
	}
	f := layer.New("", nil)
	switch geometry := n.get("geometry"); {
	case geometry == nil:
		p.fault(n.start, "a Feature needs a geometry, null where it has none", "", "")
	case geometry.kind == 'n':
		p.warn("no geometry", geometry, "feature without a geometry", "")
	default:
		f.Geometry, f.HeightM = p.geometry(geometry)
		p.box(n, f.Geometry)
	}
	props := n.get("properties")
	switch {
	case props == nil || props.kind == 'n':
	case props.kind != '{':
		p.fault(props.start, "properties are neither an object nor null", p.raw(props), "")
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
}

// box checks a bbox member against what it stands with (section 5). Nothing is
// ever taken from it, so that a wrong one is only told.
func (p *geoReader) box(n *node, geometries ...orb.Geometry) {
	b := n.get("bbox")
	if b == nil {
		return
	}
	numbers := b.kind == '['
	for i := range b.items {
		numbers = numbers && b.items[i].kind == '0'
	}
	if !numbers || len(b.items) != 4 && len(b.items) != 6 {
		p.warn("bbox", b, "bbox is not four numbers, or six with heights: not used", "west, south, east, north")
		return
	}
	half := len(b.items) / 2
	west, south, east, north := number(&b.items[0]), number(&b.items[1]), number(&b.items[half]), number(&b.items[half+1])
	if !(math.Abs(west) <= 180 && math.Abs(east) <= 180 && south >= -90 && south <= north && north <= 90) {
		p.warn("bbox", b, "bbox is no box on the earth: not used", "west, south, east, north; only west may be greater than east")
		return
	}
	own, ok, err := BBox(geometries...)
	if !ok || err != nil {
		return
	}
	const slack = 1e-5 // boxes come rounded [degrees]
	outside := own[1] < south-slack || own[3] > north+slack
	if west <= east && own[0] <= own[2] {
		outside = outside || own[0] < west-slack || own[2] > east+slack
	}
	if outside {
		p.warn("bbox", b, "bbox does not hold what it stands with: not used", "leave it out, or work it out again")
	}
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
