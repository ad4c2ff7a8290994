package job

import (
	"fmt"
	"math"
	"slices"

	"farhail/cmd/internal/cli"
	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// A Hazard is ground that somebody has warned of.
type Hazard struct {
	Name    string       `json:"name"`
	Note    string       `json:"note"`     // what it is and what to do there
	Gear    string       `json:"gear"`     // what is needed to go there
	Source  string       `json:"source"`   // who said so
	RadiusM cli.Len      `json:"radius_m"` // null where it is drawn
	File    string       `json:"file"`     // that it is drawn in; "" for none
	Parts   []HazardPart `json:"parts"`
	Passes  []HazardPass `json:"passes"` // who comes within NearHazardM of it
}

// A HazardPart is one area or line of a hazard.
type HazardPart struct {
	Name  string       `json:"name"`
	Lat   cli.Deg      `json:"lat"` // of a place in it
	Lon   cli.Deg      `json:"lon"`
	Shape orb.Geometry `json:"-"` // a polygon or a line
	Point orb.Point    `json:"-"`
}

// A HazardPass is somebody whose way or post is near a hazard.
type HazardPass struct {
	Who       string  `json:"who"`
	By        string  `json:"by"`         // one of PassParty …
	Part      string  `json:"part"`       // the nearest part, by name
	DistanceM cli.Len `json:"distance_m"` // 0: through it
}

// What comes near a hazard.
const (
	PassParty   = "way"      // of a party that looks
	PassNext    = "next-way" // to an area that a party searches next
	PassLookout = "post"     // of a lookout
	PassTrip    = "trip"     // the way that the traveller means to go
)

// NearHazardM is how near a way or a post comes to a hazard for its people to be warned
// of it: what slips in position, map and drawing may come to. Own choice.
const NearHazardM = 100

// circleSides is how many corners stand for a hazard's circle.
const circleSides = 90

// readHazards reads what the plan warns of.
func (r *run) readHazards() error {
	r.result.Hazards = []Hazard{}
	for _, h := range r.plan.Hazards {
		out := Hazard{Name: h.Name, Note: h.Note, Gear: h.Gear, Source: h.Source, File: h.Area, RadiusM: cli.Len(math.NaN()), Passes: []HazardPass{}}
		shapes := []Shape{{Area: orb.Polygon{earth.Ellipse{MajorM: h.RadiusM, MinorM: h.RadiusM}.Outline(h.Point, circleSides)}}}
		if h.Area == "" {
			out.RadiusM = cli.Len(h.RadiusM)
		} else {
			var err error
			if shapes, err = r.shapes([]string{h.Area}); err != nil {
				return err
			}
		}
		for i, s := range shapes {
			part := HazardPart{Name: partName(h.Name, s.Name, i, len(shapes)), Shape: s.Line, Point: middleOfLine(s.Line)}
			if s.Area != nil {
				part.Shape, part.Point = s.Area, placeIn(s.Area)
			}
			if h.Area == "" {
				part.Point = h.Point
			}
			part.Lat, part.Lon = cli.Deg(part.Point.Lat()), cli.Deg(part.Point.Lon())
			out.Parts = append(out.Parts, part)
		}
		r.dangers = append(r.dangers, shapes...)
		r.result.Hazards = append(r.result.Hazards, out)
	}
	return nil
}

// partName names a part of a hazard: after the hazard where it is the only one, and else
// by its own name or number too.
func partName(hazard, own string, i, of int) string {
	switch {
	case of == 1 || own == hazard:
		return hazard
	case own != "":
		return hazard + ": " + own
	}
	return fmt.Sprintf("%s %d", hazard, i+1)
}

// middleOfLine returns the place half way along a line.
func middleOfLine(line orb.LineString) orb.Point {
	whole := 0.0
	for i := 1; i < len(line); i++ {
		whole += earth.Distance(line[i-1], line[i])
	}
	along := whole / 2
	for i := 1; i < len(line); i++ {
		d := earth.Distance(line[i-1], line[i])
		if d > 0 && along <= d {
			u := along / d
			return orb.Point{line[i-1][0] + u*(line[i][0]-line[i-1][0]), line[i-1][1] + u*(line[i][1]-line[i-1][1])}
		}
		along -= d
	}
	if len(line) > 0 {
		return line[0]
	}
	return orb.Point{}
}

// placeIn returns a place in an area: in the middle of the widest span of the parallel
// through the middle of its box.
func placeIn(area orb.Polygon) orb.Point {
	box := area.Bound()
	lat := (box.Min.Lat() + box.Max.Lat()) / 2
	var cuts []float64
	for _, ring := range area {
		for i := range ring {
			a, b := ring[i], ring[(i+1)%len(ring)]
			if (a.Lat() <= lat) != (b.Lat() <= lat) {
				cuts = append(cuts, a.Lon()+(b.Lon()-a.Lon())*(lat-a.Lat())/(b.Lat()-a.Lat()))
			}
		}
	}
	slices.Sort(cuts)
	at, widest := box.Center(), -1.0
	for i := 0; i+1 < len(cuts); i += 2 {
		if w := cuts[i+1] - cuts[i]; w > widest {
			at, widest = orb.Point{(cuts[i] + cuts[i+1]) / 2, lat}, w
		}
	}
	return at
}

// passHazards finds who comes near a hazard, and which hazards the areas hold that are
// searched next.
func (r *run) passHazards() {
	if len(r.result.Hazards) == 0 || r.local == nil {
		return
	}
	for i := range r.result.Hazards {
		h := &r.result.Hazards[i]
		var ground []flatShape
		var names []string
		for _, part := range h.Parts {
			if s, ok := r.flatten(part.Shape); ok {
				ground, names = append(ground, s), append(names, part.Name)
			}
		}
		pass := func(who, by string, way orb.MultiLineString) {
			for k := range ground {
				if d := r.gapM(ground[k], way); d <= NearHazardM {
					h.passes(HazardPass{who, by, names[k], cli.Len(d)})
				}
			}
		}
		for _, p := range r.result.Looking.Parties {
			pass(p.Name, PassParty, p.Paths)
		}
		for _, l := range r.result.Looking.Lookouts {
			pass(l.Name, PassLookout, orb.MultiLineString{{l.Point}})
		}
		if t := r.result.Trip; t != nil {
			pass("", PassTrip, t.Path)
		}
		if r.result.Sweep == nil {
			continue
		}
		for k := range r.result.Sweep.Next {
			t := &r.result.Sweep.Next[k]
			if t.Segment == "" {
				continue
			}
			pass(t.Party, PassNext, orb.MultiLineString{t.Way})
			if r.holds(t.Shape, ground) {
				t.Hazards = append(t.Hazards, h.Name)
			}
		}
	}
}

// passes notes who comes near, once each with the least distance.
func (h *Hazard) passes(p HazardPass) {
	for i, old := range h.Passes {
		if old.Who == p.Who && old.By == p.By {
			if p.DistanceM < old.DistanceM {
				h.Passes[i] = p
			}
			return
		}
	}
	h.Passes = append(h.Passes, p)
}

// A flatShape is an area or a line in metres on the plan's local frame.
type flatShape struct {
	lines [][][2]float64 // rings of an area, closed
	area  bool
	box   orb.Bound
}

// flatten lays an area or a line on the local frame; false for one beyond it, which is
// near nothing.
func (r *run) flatten(g orb.Geometry) (flatShape, bool) {
	var s flatShape
	add := func(points []orb.Point) bool {
		line := make([][2]float64, len(points))
		for i, p := range points {
			e, n, err := r.local.Forward(p)
			if err != nil {
				return false
			}
			line[i] = [2]float64{e, n}
			if i == 0 && len(s.lines) == 0 {
				s.box = orb.Point{e, n}.Bound()
			}
			s.box = s.box.Extend(orb.Point{e, n})
		}
		s.lines = append(s.lines, line)
		return true
	}
	switch g := g.(type) {
	case orb.LineString:
		return s, add(g)
	case orb.Polygon:
		s.area = true
		for _, ring := range g {
			if len(ring) > 0 && !add(append(slices.Clone(ring), ring[0])) {
				return s, false
			}
		}
	}
	return s, len(s.lines) > 0
}

// gapM returns how near a way comes to a shape, 0 through it; it need not be right where
// that is more than NearHazardM.
func (r *run) gapM(s flatShape, way orb.MultiLineString) float64 {
	near := math.Inf(1)
	box := s.box.Pad(NearHazardM)
	for _, line := range way {
		flat, ok := r.flatten(line)
		if !ok || len(line) == 0 || !box.Intersects(flat.box) {
			continue
		}
		points := flat.lines[0]
		for i, a := range points {
			b := points[min(i+1, len(points)-1)]
			if (orb.MultiPoint{a, b}).Bound().Intersects(box) {
				near = min(near, s.gapM(a, b))
			}
		}
	}
	return near
}

// holds reports whether some ground lies in an area, wholly or in part.
func (r *run) holds(area orb.MultiPolygon, ground []flatShape) bool {
	for _, polygon := range area {
		flat, ok := r.flatten(polygon)
		if !ok {
			continue
		}
		for _, s := range ground {
			if !s.box.Intersects(flat.box) {
				continue
			}
			for _, line := range s.lines {
				for i := range line {
					if flat.gapM(line[i], line[min(i+1, len(line)-1)]) == 0 {
						return true
					}
				}
			}
			// Or the ground holds all of the area.
			if s.inside(flat.lines[0][0]) {
				return true
			}
		}
	}
	return false
}

// gapM returns how far a straight way is from the shape, 0 where they meet.
func (s flatShape) gapM(a, b [2]float64) float64 {
	if s.inside(a) {
		return 0
	}
	gap := math.Inf(1)
	for _, line := range s.lines {
		for i := range line {
			c, d := line[i], line[min(i+1, len(line)-1)]
			if crosses(a, b, c, d) {
				return 0
			}
			gap = min(gap, offLine(a, c, d), offLine(b, c, d), offLine(c, a, b), offLine(d, a, b))
		}
	}
	return gap
}

// inside reports whether a place lies in an area, by the even-odd rule.
func (s flatShape) inside(p [2]float64) bool {
	in := false
	if !s.area {
		return false
	}
	for _, ring := range s.lines {
		for i := 1; i < len(ring); i++ {
			a, b := ring[i-1], ring[i]
			if (a[1] <= p[1]) != (b[1] <= p[1]) && p[0] < a[0]+(b[0]-a[0])*(p[1]-a[1])/(b[1]-a[1]) {
				in = !in
			}
		}
	}
	return in
}

// crosses reports whether two straight lines cross; touching is found by distance.
func crosses(a, b, c, d [2]float64) bool {
	side := func(p, q, r [2]float64) float64 { return (q[0]-p[0])*(r[1]-p[1]) - (q[1]-p[1])*(r[0]-p[0]) }
	return side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0
}

// offLine returns the distance of a place from a straight line that ends.
func offLine(p, a, b [2]float64) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	u := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		u = min(max(((p[0]-a[0])*dx+(p[1]-a[1])*dy)/l, 0), 1)
	}
	return math.Hypot(p[0]-a[0]-u*dx, p[1]-a[1]-u*dy)
}
