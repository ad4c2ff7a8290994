package mapfile

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
)

// geometry checks a geometry and returns it as RFC 7946 asks, nil where it has
// faults or no positions; the height is that of a point.
func (p *geoReader) geometry(n *node) (g orb.Geometry, heightM float64) {
	heightM = math.NaN()
	kind := n.str("type")
	if kind == "GeometryCollection" {
		return p.collection(n), heightM
	}
	check, known := checks[kind]
	if !known {
		p.fault(n.start, "not a geometry of GeoJSON", kind, "")
		return nil, heightM
	}
	c := n.get("coordinates")
	if c == nil || c.kind != '[' {
		p.fault(n.start, "a "+kind+" needs coordinates", "", "")
		return nil, heightM
	}
	if strings.HasPrefix(kind, "Multi") && len(c.items) == 0 {
		p.warn("no geometry", n, "geometry without positions", "")
		return nil, heightM
	}
	before := p.faults.n
	check(p, c)
	if p.faults.n > before {
		return nil, heightM
	}
	decoded, err := geojson.UnmarshalGeometry([]byte(p.raw(n)))
	if err != nil {
		p.fault(n.start, "geometry cannot be read: "+err.Error(), "", "")
		return nil, heightM
	}
	g = decoded.Geometry()
	if kind == "Point" && len(c.items) == 3 {
		heightM = number(&c.items[2])
	}
	p.wind(g)
	return g, heightM
}

func (p *geoReader) collection(n *node) orb.Geometry {
	list := n.get("geometries")
	if list == nil || list.kind != '[' {
		p.fault(n.start, "a GeometryCollection needs a list of geometries", "", "")
		return nil
	}
	before := p.faults.n
	var out orb.Collection
	for i := range list.items {
		if g, _ := p.geometry(&list.items[i]); g != nil {
			out = append(out, g)
		}
	}
	if len(out) == 0 {
		if p.faults.n == before {
			p.warn("no geometry", n, "geometry without positions", "")
		}
		return nil
	}
	return out
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

// checks hold what the coordinates of each type must be (section 3.1).
var checks = map[string]func(*geoReader, *node){
	"Point":           func(p *geoReader, n *node) { p.position(n, true) },
	"MultiPoint":      func(p *geoReader, n *node) { p.each(n, func(n *node) { p.position(n, false) }) },
	"LineString":      (*geoReader).line,
	"MultiLineString": func(p *geoReader, n *node) { p.each(n, p.line) },
	"Polygon":         (*geoReader).polygon,
	"MultiPolygon":    func(p *geoReader, n *node) { p.each(n, p.polygon) },
}

func (p *geoReader) each(n *node, one func(*node)) {
	if n.kind != '[' {
		p.fault(n.start, "a list is needed here", p.raw(n), "")
		return
	}
	for i := range n.items {
		one(&n.items[i])
	}
}

// positions checks a list of positions; good is false where any has a fault.
func (p *geoReader) positions(n *node) (good bool) {
	before := p.faults.n
	p.each(n, func(n *node) { p.position(n, false) })
	if p.faults.n > before {
		return false
	}
	for i := 1; i < len(n.items); i++ {
		if step := math.Abs(number(&n.items[i].items[0]) - number(&n.items[i-1].items[0])); step > 180 && step < 360 {
			p.warn("half the earth", &n.items[i], "a step of more than 180 degrees of longitude, taken the short way, over the 180 degree line",
				"cut lines and areas at that line (RFC 7946 section 3.1.9)")
			break
		}
	}
	return true
}

func (p *geoReader) line(n *node) {
	if p.positions(n) && len(n.items) < 2 {
		p.fault(n.start, "a line needs two positions or more", p.raw(n), "")
	}
}

func (p *geoReader) polygon(n *node) {
	if n.kind == '[' && len(n.items) == 0 {
		p.fault(n.start, "an area needs an outer ring", p.raw(n), "")
		return
	}
	p.each(n, func(ring *node) {
		if !p.positions(ring) {
			return
		}
		if len(ring.items) < 4 {
			p.fault(ring.start, "a ring needs four positions or more", p.raw(ring), "the last repeats the first")
			return
		}
		first, last := &ring.items[0], &ring.items[len(ring.items)-1]
		if number(&first.items[0]) != number(&last.items[0]) || number(&first.items[1]) != number(&last.items[1]) {
			p.fault(last.start, "ring not closed", p.raw(last), "repeat the first position, "+p.raw(first)+", at the end")
		}
	})
}

// position checks [longitude, latitude] or [longitude, latitude, height].
func (p *geoReader) position(n *node, point bool) {
	if n.kind != '[' || len(n.items) < 2 || len(n.items) > 3 {
		p.fault(n.start, "a position is a list of longitude, latitude and perhaps height", p.raw(n), "")
		return
	}
	for i := range n.items {
		if n.items[i].kind != '0' {
			p.fault(n.items[i].start, "not a number in a position", p.raw(&n.items[i]), "")
			return
		}
	}
	lon, lat := number(&n.items[0]), number(&n.items[1])
	switch {
	case !(math.Abs(lon) <= 180):
		hint := ""
		if turned := math.Remainder(lon, 360); math.Abs(lon) <= 540 {
			hint = fmt.Sprintf("write it as %.7g, and cut lines and areas at the 180 degree line", turned)
		}
		p.fault(n.items[0].start, "longitude out of range, -180 to 180", n.items[0].text, hint)
	case !(math.Abs(lat) <= 90):
		hint := ""
		if math.Abs(lat) <= 180 && math.Abs(lon) <= 90 {
			hint = "longitude comes first in GeoJSON: the two may be swapped"
		}
		p.fault(n.items[1].start, "latitude out of range, -90 to 90", n.items[1].text, hint)
	case len(n.items) == 3 && !(math.Abs(number(&n.items[2])) <= highest):
		p.fault(n.items[2].start, fmt.Sprintf("height out of range, beyond %d m", highest), n.items[2].text, "")
	case len(n.items) == 3 && !point:
		p.warn("height", n, "height of a line or area left out", "")
	}
}

// number is the value of a number node; Inf where it is beyond float64.
func number(n *node) float64 {
	v, _ := strconv.ParseFloat(n.text, 64) // grammar checked; a range error gives Inf, which no range takes
	return v
}
