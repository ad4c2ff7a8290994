package job

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/walk"

	"github.com/paulmach/orb"
)

// Rings are the travel rings of a plan.
type Rings struct {
	From         string     `json:"from"` // name of the start
	Lat          cli.Deg    `json:"lat"`
	Lon          cli.Deg    `json:"lon"`
	Rule         string     `json:"rule"`
	TrailRule    string     `json:"trail_rule"` // "" without trails
	DistanceKind string     `json:"distance_kind"`
	CellEastM    cli.Len    `json:"cell_east_m"`
	CellNorthM   cli.Len    `json:"cell_north_m"`
	Surface      string     `json:"surface"` // of the terrain: surface, ground or unknown; "" without
	Flat         bool       `json:"flat"`    // no terrain: round rings at the rule's speed on the flat
	TrailCells   int        `json:"trail_cells"`
	BarrierCells int        `json:"barrier_cells"`
	Walkers      []Walker   `json:"walkers"`
	Slowed       []Slowed   `json:"slowed"` // what was stated to make all of them slower
	Rings        []Ring     `json:"rings"`
	Handrails    []Handrail `json:"handrails"` // null without trails
	Route        *Route     `json:"route"`     // null where none was asked for
	// GroundChanges is what was done to the terrain first, null for nothing.
	GroundChanges *Changed  `json:"ground_changes"`
	Cover         *Cover    `json:"cover"` // null where it is not known, or told with the terrain
	Start         orb.Point `json:"-"`
	Reach         *Reach    `json:"-"` // of the usual walker; nil without terrain
}

// A Walker is somebody whose speed is a multiple of the rule's.
type Walker struct {
	Name   string  `json:"name"`
	Factor cli.Num `json:"factor"`
}

// A Ring is an outer limit of where a walker can be.
type Ring struct {
	AfterS    cli.Num          `json:"after_s"`
	By        *time.Time       `json:"by"` // null where the start has no time
	Walker    string           `json:"walker"`
	AreaM2    cli.Area         `json:"area_m2"`
	FarthestM cli.Len          `json:"farthest_m"`
	Open      bool             `json:"open"`
	Exits     []Exit           `json:"exits"` // null without trails
	Shape     orb.MultiPolygon `json:"-"`
}

// ringStart returns the start that rings are drawn from: of those that nothing
// supersedes the latest, or the last in the plan where times are missing.
func ringStart(starts []plan.Start) (plan.Start, bool) {
	var best plan.Start
	found := false
	for _, s := range starts {
		if s.SupersededBy == "" && (!found || !s.Time.Before(best.Time)) {
			best, found = s, true
		}
	}
	return best, found
}

// walkers returns the plan's three walkers.
func walkers(w plan.Walkers) []walk.Walker {
	return []walk.Walker{{Name: "slow", Factor: w.Slow}, {Name: "usual", Factor: w.Usual}, {Name: "fast", Factor: w.Fast}}
}

// rings computes the travel rings over the terrain, or round ones without it.
func (r *run) rings(ctx context.Context) error {
	t := r.plan.Traveller
	start, ok := ringStart(r.plan.Starts)
	switch {
	case !ok:
		r.leaveOut("travel rings: the plan has no start")
		return nil
	case len(t.After) == 0:
		r.leaveOut("travel rings: the plan gives no times (traveller: after:)")
		return nil
	}
	rule := r.rule()
	people := walkers(t.Walkers)
	stops, load, slowed := r.pauses(start, slices.Max(t.After))
	if r.heights == nil {
		r.result.Rings = NewRings(start.Name, start.Point, rule, nil, people, flatRings(start, rule, t, stops, load))
	} else {
		o, trails, err := r.walking(start)
		o.Factor = load
		if err != nil {
			return err
		}
		field, err := walk.Reach(ctx, r.heights, o)
		if errors.Is(err, walk.ErrNoStart) {
			// The notes of the ground say what to do about it.
			r.leaveOut(fmt.Sprintf("travel rings: the start %s lies outside the terrain, or where it has no height", start.Name))
			return nil
		}
		if err != nil {
			return fmt.Errorf("walking from start %s: %w", start.Name, err)
		}
		r.result.Rings = NewRings(start.Name, start.Point, rule, r.heights, people, walk.Rings(field, start.Point, t.After, people, stops))
		r.result.Rings.AddMasks(o)
		r.result.Rings.Reach = NewReach(field, t.Walkers.Usual, slices.Max(t.After), stops)
		lines, err := r.shapes(t.Handrails)
		if err != nil {
			return err
		}
		if trails = append(trails, linesOf(lines)...); len(trails) > 0 {
			r.result.Rings.AddTrails(field, trails, people, stops)
		}
	}
	r.result.Rings.Slowed = slowed
	if r.result.Terrain != nil {
		r.result.Rings.Surface = r.result.Terrain.Surface
	}
	r.result.Rings.Date(start.Time, r.result.Plan.location)
	return nil
}

// NewRings describes rings that were drawn from a place by a rule over terrain,
// nil for round ones without it.
func NewRings(from string, at orb.Point, rule walk.Rule, h *grid.Heights, people []walk.Walker, list []walk.Ring) *Rings {
	out := &Rings{
		From: from, Lat: cli.Deg(at.Lat()), Lon: cli.Deg(at.Lon()), Start: at,
		Rule: rule.Name, DistanceKind: string(rule.DistanceKind), Flat: h == nil,
		CellEastM: cli.Len(math.NaN()), CellNorthM: cli.Len(math.NaN()),
	}
	if h != nil {
		_, row := h.Cell(at)
		east, north := h.Metres(min(max(int(math.Round(row)), 0), h.Rows-1))
		out.CellEastM, out.CellNorthM = cli.Len(east), cli.Len(north)
	}
	for _, w := range people {
		out.Walkers = append(out.Walkers, Walker{w.Name, cli.Num(w.Factor)})
	}
	for _, g := range list {
		out.Rings = append(out.Rings, Ring{
			AfterS: cli.Num(g.AfterS), Walker: g.By, AreaM2: cli.Area(g.AreaM2), FarthestM: cli.Len(g.FarthestM),
			Open: g.Open, Shape: g.Shape,
		})
	}
	return out
}

// AddMasks says how many cells the walking took for trails and barriers.
func (g *Rings) AddMasks(o walk.Options) {
	g.TrailRule = o.TrailRule.Name
	g.TrailCells, g.BarrierCells = marked(o.Trail), marked(o.Barrier)
}

func marked(mask []bool) int {
	n := 0
	for _, m := range mask {
		if m {
			n++
		}
	}
	return n
}

// Date puts a time on each ring, on the places of handrails and on the route; a
// zero start leaves them without.
func (g *Rings) Date(start time.Time, zone *time.Location) {
	if start.IsZero() {
		return
	}
	by := func(after cli.Num) *time.Time { return instant(start.Add(seconds(float64(after))), zone) }
	for i := range g.Rings {
		g.Rings[i].By = by(g.Rings[i].AfterS)
	}
	for i := range g.Handrails {
		h := &g.Handrails[i]
		h.By = by(h.AfterS)
		for k := range h.Edges {
			h.Edges[k].By = by(h.Edges[k].AfterS)
		}
	}
	if g.Route != nil {
		g.Route.By = by(g.Route.AfterS)
	}
}

// walking returns how to walk from every cell of the start's 95 % ellipse, and
// the trails.
func (r *run) walking(start plan.Start) (walk.Options, []Shape, error) {
	t := r.plan.Traveller
	if r.foot == nil || r.foot.crossing != t.Crossing {
		o, trails, notes, err := r.footing(r.heights.Frame, r.cover)
		if err != nil {
			return o, nil, err
		}
		r.foot = &footing{t.Crossing, o, trails, notes}
	}
	o, trails, notes := r.foot.options, r.foot.trails, r.foot.notes
	o.Barrier = slices.Clone(o.Barrier) // in which a start is opened
	var err error
	o.MaxSeconds = walk.RingSeconds(t.After, walkers(t.Walkers))
	circle := earth.Ellipse{MajorM: start.Radius95M, MinorM: start.Radius95M}
	if o.Starts, err = walk.Within(r.heights.Frame, start.Point, circle, 0); err != nil {
		return o, nil, fmt.Errorf("start %s: %w", start.Name, err)
	}
	for _, n := range slices.Concat(notes, OpenStart(&o, r.heights.Frame)) {
		r.note(n)
	}
	return o, trails, nil
}

// A footing is how the traveller walks over the terrain from anywhere: its files are
// read and its cells marked once for all starts.
type footing struct {
	crossing string // that it holds for
	options  walk.Options
	trails   []Shape
	notes    []cli.Note
}

// rule returns the rule that the plan's traveller walks by; the plan's reader knows
// no other names.
func (r *run) rule() walk.Rule {
	rule, _ := walk.Named(r.plan.Traveller.Rule)
	return rule
}

// footing returns how the traveller walks over cells by their rule, with the plan's
// trails and barriers and with what covers the cells, nil for unknown; and the
// trails, and what is odd about them. Where walking starts, and for how long it goes
// on, is left open.
func (r *run) footing(f grid.Frame, c *Cover) (o walk.Options, trails []Shape, notes []cli.Note, err error) {
	t, rule := r.plan.Traveller, r.rule()
	o.Rule = rule
	if trails, err = r.shapes(t.Trails); err != nil {
		return o, nil, nil, err
	}
	trails = linesOf(trails)
	if o.Trail = MarkShapes(f, trails); o.Trail != nil {
		o.TrailRule = rule.OnTrail()
	}
	barriers, err := r.shapes(t.Barriers)
	if err != nil {
		return o, nil, nil, err
	}
	if o.Barrier = MarkShapes(f, barriers); c != nil {
		trails, notes = c.Walk(&o, rule, t.Footing, trails)
	}
	return o, trails, notes, nil
}

// shapes reads files of trails or barriers, and keeps what was odd as notes.
func (r *run) shapes(names []string) ([]Shape, error) {
	var all []Shape
	for _, name := range names {
		shapes, problems, err := ReadShapes(r.fsys, name)
		if err != nil {
			return nil, err
		}
		r.tell(name, problems)
		all = append(all, shapes...)
	}
	return all, nil
}

// flatRings returns circles at the rule's speed on the flat, wider by the
// start's 95 % radius; they are marked flat in the result.
func flatRings(start plan.Start, rule walk.Rule, t plan.Traveller, stops []walk.Stop, load float64) []walk.Ring {
	var list []walk.Ring
	for _, after := range t.After {
		for _, w := range walkers(t.Walkers) {
			radius := walk.Walked(after, stops)*load*w.Factor/rule.MapPace(0) + start.Radius95M
			circle := earth.Ellipse{MajorM: radius, MinorM: radius}
			list = append(list, walk.Ring{
				AfterS: after, By: w.Name, FarthestM: radius, AreaM2: math.Pi * radius * radius,
				Shape: orb.MultiPolygon{{circle.Outline(start.Point, 180)}},
			})
		}
	}
	return list
}
