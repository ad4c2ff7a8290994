package cover

import (
	"math"
	"slices"
	"strings"

	"farhail/geo/layer"
	"farhail/geo/mapfile"

	"github.com/paulmach/orb"
)

// osmReader takes a feature of a GeoJSON file: its areas by their class, its
// lines by their kind.
type osmReader struct {
	m    *Map
	file string
	name string
	tag  Tagger
}

func (r *osmReader) geometry(g orb.Geometry) {
	switch g := g.(type) {
	case orb.Polygon:
		r.area(g)
	case orb.MultiPolygon:
		for _, p := range g {
			r.area(p)
		}
	case orb.LineString:
		r.line(g)
	case orb.MultiLineString:
		for _, l := range g {
			r.line(l)
		}
	case orb.Collection:
		for _, one := range g {
			r.geometry(one)
		}
	}
}

func (r *osmReader) area(p orb.Polygon) {
	class := ClassOf(r.tag)
	if class == Unknown {
		r.m.tags[tagText(r.tag)]++
		return
	}
	m2, err := mapfile.AreaM2(p)
	if err != nil {
		r.m.Problems = append(r.m.Problems, Problem{r.file, mapfile.Problem{Severity: mapfile.SeverityWarning,
			Text: "an area of " + tagText(r.tag) + " has no inside: left out", Hint: "cut it along the 180 degree line"}})
		return
	}
	river := class == Water && (r.tag("waterway") == "riverbank" || hasWord("river stream canal rapids ditch", r.tag("water")))
	r.m.Areas = append(r.m.Areas, Area{Class: class, Name: r.name, Polygon: p, AreaM2: m2, River: river})
}

func (r *osmReader) line(path orb.LineString) {
	// Files of lines hold the banks of a river, or the shore of a lake, as a line
	// that ends where it began.
	if len(path) > 3 && path[0] == path[len(path)-1] && r.tag("highway") == "" && ClassOf(r.tag) == Water {
		ring := orb.Ring(slices.Clone(path))
		if ring.Orientation() == orb.CW {
			ring.Reverse()
		}
		r.area(orb.Polygon{ring})
		return
	}
	kind := LineOf(r.tag)
	if kind == OtherLine {
		return
	}
	l := Line{Kind: kind, Name: r.name, Path: path, WidthM: math.NaN(), Bridge: kind == Trail && r.tag("bridge") != "" && r.tag("bridge") != "no"}
	if w, ok := widthM(r.tag); ok && (kind == River || kind == Stream) {
		l.WidthM = w
	}
	r.m.Lines = append(r.m.Lines, l)
}

// tagsOf returns how to look up a feature's tags: its properties, and what
// ogr2ogr gathers in other_tags.
func tagsOf(f layer.Feature) Tagger {
	var other map[string]string
	if v, ok := f.Get("other_tags"); ok {
		if s, ok := v.(string); ok {
			other = hstore(s)
		}
	}
	return func(key string) string {
		if v, ok := f.Get(key); ok {
			if s, ok := v.(string); ok && s != "" {
				return s
			}
		}
		return other[key]
	}
}

// hstore reads "key"=>"value" pairs, up to where they are damaged.
func hstore(s string) map[string]string {
	out := map[string]string{}
	word := func() (string, bool) {
		i := strings.IndexByte(s, '"')
		if i < 0 {
			return "", false
		}
		var b strings.Builder
		for i++; i < len(s); i++ {
			switch {
			case s[i] == '\\' && i+1 < len(s):
				i++
				b.WriteByte(s[i])
			case s[i] == '"':
				s = s[i+1:]
				return b.String(), true
			default:
				b.WriteByte(s[i])
			}
		}
		return "", false
	}
	for {
		key, ok := word()
		if !ok || !strings.HasPrefix(s, "=>") {
			return out
		}
		value, ok := word()
		if !ok {
			return out
		}
		out[key] = value
	}
}

// tagText returns the tag by which an area without a class is counted.
func tagText(tag Tagger) string {
	for _, key := range areaKeys {
		if v := tag(key); v != "" {
			return key + "=" + v
		}
	}
	return "no tag of the ground"
}
