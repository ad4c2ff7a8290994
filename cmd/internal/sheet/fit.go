package sheet

import (
	"slices"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/geo/earth"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
)

// A plot is what a map shows, measured on the grid of one UTM zone, so that a paper and
// a scale can be chosen for it.
type plot struct {
	zone  int
	south bool
	home  orb.Point // where the search or trip is about
	whole gridBox   // all that should be on the map
	core  gridBox   // the planning area: what must be
}

// core are the layers of the planning area.
var core = []string{
	overlay.Starts, overlay.StartErr, overlay.LogEnd, overlay.LogErr, overlay.Sites, overlay.Lookouts, overlay.Areas,
	overlay.Next, overlay.NextWays, overlay.Begin, overlay.Meant,
}

// around are layers that are drawn as far as the sheet goes: how far a signal shows is
// often much more than anybody will walk, and hazards may be drawn for a whole region.
var around = []string{overlay.Sights, overlay.Seen, overlay.Exits, overlay.Aircraft, overlay.Hazards, overlay.Dangers}

// newPlot measures layers. It is false where there is nothing to show, and near the
// poles, where UTM has no zone.
func newPlot(r *job.Result, layers []layer.Layer) (plot, bool) {
	home, ok := homeOf(r, layers)
	zone := zoneOf(home)
	if !ok || zone == 0 {
		return plot{}, false
	}
	p := plot{zone: zone, south: home.Lat() < 0, home: home}
	tm := earth.UTM(p.zone, p.south)
	for _, l := range layers {
		if slices.Contains(around, l.ID) {
			continue
		}
		for _, f := range l.Features {
			if walker, told := f.Get("walker"); told && walker != "usual" {
				continue
			}
			eachPoint(f.Geometry, func(at orb.Point) {
				e, n := tm.Forward(at)
				p.whole.add(e, n)
				if slices.Contains(core, l.ID) {
					p.core.add(e, n)
				}
			})
		}
	}
	if !p.core.some {
		p.core = p.whole
	}
	return p, p.whole.some
}

// homeOf returns the last start that none supersedes, or else any place of the layers.
func homeOf(r *job.Result, layers []layer.Layer) (orb.Point, bool) {
	for _, s := range slices.Backward(r.Starts) {
		if s.SupersededBy == "" {
			return s.Point, true
		}
	}
	for _, l := range layers {
		for _, f := range l.Features {
			var some []orb.Point
			eachPoint(f.Geometry, func(at orb.Point) { some = append(some, at) })
			if len(some) > 0 {
				return some[0], true
			}
		}
	}
	return orb.Point{}, false
}

// eachPoint visits the positions of a geometry.
func eachPoint(g orb.Geometry, visit func(orb.Point)) {
	eachLine(g, func(line orb.LineString, _ bool) {
		for _, at := range line {
			visit(at)
		}
	})
}

// eachLine visits the lines of a geometry; ring tells those that enclose an area. A point
// is a line of one position.
func eachLine(g orb.Geometry, visit func(line orb.LineString, ring bool)) {
	switch g := g.(type) {
	case orb.Point:
		visit(orb.LineString{g}, false)
	case orb.MultiPoint:
		for _, at := range g {
			visit(orb.LineString{at}, false)
		}
	case orb.LineString:
		visit(g, false)
	case orb.MultiLineString:
		for _, line := range g {
			visit(line, false)
		}
	case orb.Ring:
		visit(orb.LineString(g), true)
	case orb.Polygon:
		for _, ring := range g {
			visit(orb.LineString(ring), true)
		}
	case orb.MultiPolygon:
		for _, area := range g {
			eachLine(area, visit)
		}
	case orb.Collection:
		for _, part := range g {
			eachLine(part, visit)
		}
	}
}

// A fit is the paper, position and scale of a map.
type fit struct {
	paper       Paper
	lying       bool
	scale       int
	window      area
	east, north float64 // grid coordinates of its middle [m]
	cut         bool    // not all that should be is on it
}

// around is a projection about where the map will be, to word and measure what stands
// beside it before its window is known.
func (p plot) around(scale int) *projection {
	b := p.core
	return newProjection(p.zone, p.south, scale, area{0, 0, 150, 150}, (b.e0+b.e1)/2, (b.n0+b.n1)/2)
}

// room is what a map leaves between its content and its edge [mm].
const room = 5

// choose returns the largest scale at which all fits on the paper, standing or lying. A
// paper that is not chosen is A4, or A3 where only that holds all at the smallest scale.
// Where nothing holds all, the map is cut to the planning area.
func (p plot) choose(o Options, window func(paper Paper, lying bool, scale int) area) fit {
	papers, tried := []Paper{o.Paper}, scales
	if o.Paper == "" {
		papers = []Paper{A4, A3}
	}
	if o.Scale != 0 {
		tried, papers = []int{o.Scale}, papers[:1]
	}
	for _, box := range []gridBox{p.whole, p.core} {
		for _, paper := range papers {
			for _, scale := range tried {
				if f, ok := box.best(paper, scale, window); ok {
					f.cut = box != p.whole
					return f
				}
			}
		}
	}
	// Not even the planning area: around what it is about.
	e, n := earth.UTM(p.zone, p.south).Forward(p.home)
	f := fit{paper: papers[len(papers)-1], scale: tried[len(tried)-1], east: e, north: n, cut: true}
	f.window = window(f.paper, false, f.scale)
	return f
}

// best fits a box on a paper at a scale, whichever way it leaves more room.
func (b gridBox) best(paper Paper, scale int, window func(paper Paper, lying bool, scale int) area) (fit, bool) {
	var best fit
	most := -1.0
	for _, lying := range []bool{false, true} {
		w := window(paper, lying, scale)
		across := w.w() - 2*room - (b.e1-b.e0)*1000/float64(scale)
		up := w.h() - 2*room - (b.n1-b.n0)*1000/float64(scale)
		if spare := min(across, up); spare >= 0 && spare > most {
			most = spare
			best = fit{paper: paper, lying: lying, scale: scale, window: w, east: (b.e0 + b.e1) / 2, north: (b.n0 + b.n1) / 2}
		}
	}
	return best, most >= 0
}
