package overlay

import (
	"strings"

	"farhail/cmd/internal/job"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
)

// ReachLayers returns travel rings, and where there are any the places at which
// trails lead out of them and the route.
func ReachLayers(rings *job.Rings) []layer.Layer {
	list := []layer.Layer{RingLayer(rings)}
	if out := exitLayer(rings); len(out.Features) > 0 {
		list = append(list, out)
	}
	if w := rings.Route; w != nil {
		f := layer.New("", w.Line, layer.P("after_s", float64(w.AfterS)), layer.P("length_m", float64(w.LengthM)))
		f.Time = timeOf(w.By)
		list = append(list, layer.Layer{ID: Way, Title: "The usual walker's quickest way", Features: []layer.Feature{f}})
	}
	return list
}

func exits(r *job.Result) layer.Layer {
	if r.Rings == nil {
		return exitLayer(&job.Rings{})
	}
	return exitLayer(r.Rings)
}

// exitLayer holds where trails lead out of a ring, by its time, and where they lead
// off the terrain, from the time at which the fast walker can first be there.
func exitLayer(rings *job.Rings) layer.Layer {
	l := layer.Layer{ID: Exits, Title: "Where trails lead out of a ring or off the terrain"}
	for _, g := range rings.Rings {
		for _, e := range g.Exits {
			f := layer.New(e.Trail, orb.Point{float64(e.Lon), float64(e.Lat)}, layer.P("walker", g.Walker), layer.P("after_s", float64(g.AfterS)), layer.P("leads", "out of the ring"))
			f.Time = timeOf(g.By)
			l.Features = append(l.Features, f)
		}
	}
	for _, h := range rings.Handrails {
		for _, e := range h.Edges {
			f := layer.New(h.Name, orb.Point{float64(e.Lon), float64(e.Lat)}, layer.P("walker", h.Walker), layer.P("after_s", float64(e.AfterS)), layer.P("leads", "off the terrain"))
			f.Time = timeOf(e.By)
			l.Features = append(l.Features, f)
		}
	}
	return l
}

// exitsInBrief is how many places a page holds where trails lead out.
const exitsInBrief = 12

// waysOut tells what slows the walkers, and where trails lead out of the fast
// walker's last ring and off the terrain.
func (b *brief) waysOut(g *job.Rings) {
	for _, s := range g.Slowed {
		if s.Speed == 0 {
			b.line("Nobody walks from %s, every day, as stated.", s.Hours)
			continue
		}
		b.line("By %s all walk at %.2f of the speed.", strings.TrimSpace(s.By+" "+s.Hours), float64(s.Speed))
	}
	if len(g.Rings) == 0 || len(g.Handrails) == 0 {
		return
	}
	// Rings come by time, and of each the fast walker's last.
	last := g.Rings[len(g.Rings)-1]
	if len(last.Exits) > 0 {
		b.line("Who left along a trail passed one of these by %s (%s walker):", clock(last.By), last.Walker)
	}
	for i, e := range last.Exits {
		if i == exitsInBrief {
			b.line("   and %d more in plan.geojson", len(last.Exits)-i)
			break
		}
		b.item("   ", "%.5f, %.5f  %s", float64(e.Lat), float64(e.Lon), TrailName(e.Trail))
	}
	told := 0
	for _, h := range g.Handrails {
		for _, e := range h.Edges {
			if told++; told <= exitsInBrief {
				b.item("   ", "%.5f, %.5f  %s leads off the terrain: from %s (%s)", float64(e.Lat), float64(e.Lon), TrailName(h.Name), clock(e.By), job.Duration(float64(e.AfterS)))
			}
		}
	}
	if told > exitsInBrief {
		b.line("   and %d more in plan.geojson", told-exitsInBrief)
	}
}

// TrailName is a trail's name in a text, or that it has none.
func TrailName(name string) string {
	if name == "" {
		return "a trail without a name"
	}
	return name
}
