package plan

import (
	"github.com/goccy/go-yaml/ast"
	"github.com/paulmach/orb"

	"farhail/cmd/internal/cli"
)

// A Hazard is ground that somebody has warned of: around a position, or as drawn in a
// file.
type Hazard struct {
	Line    int
	Name    string
	Point   orb.Point // not a place where Area is given
	RadiusM float64   // 0 where Area is given
	Area    string    // path of lines and areas, "" for none
	Note    string    // what it is and what to do; "" for nothing
	Gear    string    // what is needed to go there; "" for nothing
	Source  string    // who said so
}

// HazardFiles returns the files that hazards are drawn in.
func (p *Plan) HazardFiles() []string {
	var list []string
	for _, h := range p.Hazards {
		if h.Area != "" {
			list = append(list, h.Area)
		}
	}
	return list
}

// mostHazardM bounds the radius of a hazard: ground as large is drawn.
const mostHazardM = 20_000

// hazardKeys are the keys of what is dangerous out there.
func (r *reader) hazardKeys(list *[]Hazard) []key {
	return []key{{"hazards", func(n ast.Node) {
		var named names
		r.list(n, "hazards", func(n ast.Node) { *list = append(*list, r.hazard(n, &named)) })
	}, false}}
}

func (r *reader) hazard(n ast.Node, named *names) Hazard {
	h := Hazard{Point: nowhere}
	b := r.block(n, "a hazard",
		key{"name", r.name(&h.Name, named), true},
		key{"position", r.point(&h.Point, nil), false},
		key{"radius", r.quantity(&h.RadiusM, cli.Length.Positive().AtMost(mostHazardM)), false},
		key{"area", r.path(&h.Area, true), false},
		key{"note", r.text(&h.Note), false},
		key{"gear", r.text(&h.Gear), false},
		key{"source", r.text(&h.Source), false},
	)
	h.Line = b.line
	switch given := r.oneOf(b, "a hazard", "position", "area"); {
	case given == "position" && !b.has("area") && !b.has("radius"):
		r.at(b, "position", "a hazard at a position without its radius", "add radius: 100 m, within which people keep out or take care")
	case given == "area" && b.has("radius"):
		r.at(b, "radius", "a hazard with a radius and an area of its own", "remove radius, or write position instead of area")
	}
	return h
}
