package sheet

import (
	"strings"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
)

// beyondWords tell what is not whole on the map: of rings and sighting circles each one,
// of other layers their titles; and that the map was cut.
func beyondWords(p *projection, r *job.Result, layers []layer.Layer, looks []overlay.Look, cut bool) string {
	var parts []string
	for _, k := range looks {
		if k.Layer == overlay.Seen {
			continue // hatched up to the edge, as anybody sees
		}
		each := k.Layer == overlay.Rings || k.Layer == overlay.Sights
		var names []string
		for _, f := range layerOf(layers, k.Layer).Features {
			if !p.leaves(f.Geometry) {
				continue
			}
			if each {
				text, _ := lineText(r, k, f)
				names = append(names, text)
				continue
			}
			title, _, _ := strings.Cut(k.Title, ":")
			names = []string{lowerFirst(title)}
		}
		switch {
		case len(names) == 0:
		case k.Layer == overlay.Rings:
			parts = append(parts, "the rings of "+strings.Join(names, ", "))
		case k.Layer == overlay.Sights:
			parts = append(parts, "how far is noticed "+strings.Join(names, ", "))
		default:
			parts = append(parts, names...)
		}
	}
	var text []string
	if cut {
		text = append(text, "CUT TO THE PLANNING AREA: not all of the plan fits on this map.")
	}
	if len(parts) > 0 {
		text = append(text, "Beyond the edge of this map: "+strings.Join(parts, "; ")+".")
	}
	return strings.Join(text, " ")
}

// leaves reports whether a geometry is not whole on the map.
func (p *projection) leaves(g orb.Geometry) bool {
	out := false
	eachPoint(g, func(at orb.Point) { out = out || !p.bound().Contains(p.xy(at)) })
	return out
}

func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
