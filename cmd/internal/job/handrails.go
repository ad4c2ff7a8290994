package job

import (
	"time"

	"farhail/cmd/internal/cli"
	"farhail/geo/walk"

	"github.com/paulmach/orb"
)

// A Handrail is a trail that the walkers can have met.
type Handrail struct {
	Name   string     `json:"name"`
	Walker string     `json:"walker"` // the fastest, who meets it first
	AfterS cli.Num    `json:"after_s"`
	By     *time.Time `json:"by"` // null where the start has no time
	Lat    cli.Deg    `json:"lat"`
	Lon    cli.Deg    `json:"lon"`
	Open   bool       `json:"open"`  // it leads over the terrain's edge within the widest ring
	Edges  []Edge     `json:"edges"` // where it does
}

// An Edge is where a trail leads over the terrain's edge, and when its walker can
// first be there.
type Edge struct {
	AfterS cli.Num    `json:"after_s"`
	By     *time.Time `json:"by"` // null where the start has no time
	Lat    cli.Deg    `json:"lat"`
	Lon    cli.Deg    `json:"lon"`
}

// An Exit is where a trail leads out of a ring: whoever watches all of them
// until the ring's time has seen everybody who left along a trail.
type Exit struct {
	Trail string  `json:"trail"`
	Lat   cli.Deg `json:"lat"`
	Lon   cli.Deg `json:"lon"`
}

// AddTrails adds the trails that can be met before the last ring's time, and to
// each ring where trails lead out of it. The field and the stops are those that
// the rings were drawn from; people is not empty.
func (g *Rings) AddTrails(f *walk.Field, trails []Shape, people []walk.Walker, stops []walk.Stop) {
	lines := make([]orb.LineString, 0, len(trails))
	trails = linesOf(trails)
	for _, t := range trails {
		lines = append(lines, t.Line)
	}
	factor := map[string]float64{}
	fastest := people[0]
	for _, w := range people {
		factor[w.Name] = w.Factor
		if w.Factor > fastest.Factor {
			fastest = w
		}
	}
	var last float64
	for i := range g.Rings {
		r := &g.Rings[i]
		last = max(last, float64(r.AfterS))
		r.Exits = []Exit{}
		for _, h := range f.Handrails(lines, factor[r.Walker]*walk.Walked(float64(r.AfterS), stops)) {
			for _, p := range h.Exits {
				r.Exits = append(r.Exits, Exit{trails[h.Line].Name, cli.Deg(p.Lat()), cli.Deg(p.Lon())})
			}
		}
	}
	g.Handrails = []Handrail{}
	for _, h := range f.Handrails(lines, fastest.Factor*walk.Walked(last, stops)) {
		after := func(s float64) cli.Num { return cli.Num(walk.Arrived(s/fastest.Factor, stops)) }
		met := Handrail{
			Name: trails[h.Line].Name, Walker: fastest.Name, AfterS: after(h.ReachedS),
			Lat: cli.Deg(h.Reached.Lat()), Lon: cli.Deg(h.Reached.Lon()), Open: len(h.Edges) > 0, Edges: []Edge{},
		}
		for _, e := range h.Edges {
			met.Edges = append(met.Edges, Edge{AfterS: after(e.Seconds), Lat: cli.Deg(e.Point.Lat()), Lon: cli.Deg(e.Point.Lon())})
		}
		g.Handrails = append(g.Handrails, met)
	}
}

// A Route is the usual walker's quickest way to a place.
type Route struct {
	AfterS  cli.Num        `json:"after_s"`
	By      *time.Time     `json:"by"` // null where the start has no time
	LengthM cli.Len        `json:"length_m"`
	Line    orb.LineString `json:"-"`
}

// AddRoute adds the quickest way to a place, and reports whether it is reached
// in the time that the field covers.
func (g *Rings) AddRoute(f *walk.Field, to orb.Point, stops []walk.Stop) bool {
	way, ok := f.Route(to)
	if !ok {
		return false
	}
	last := way.Seconds[len(way.Seconds)-1]
	g.Route = &Route{AfterS: cli.Num(walk.Arrived(last, stops)), LengthM: cli.Len(way.LengthM), Line: way.Line}
	return true
}
