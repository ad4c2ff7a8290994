package job

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/mapfile"
	"farhail/geo/walk"

	"github.com/paulmach/orb"
)

// Rings are the travel rings of a plan.
type Rings struct {
	From         string    `json:"from"` // name of the start
	Lat          cli.Deg   `json:"lat"`
	Lon          cli.Deg   `json:"lon"`
	Rule         string    `json:"rule"`
	TrailRule    string    `json:"trail_rule"` // "" without trails
	DistanceKind string    `json:"distance_kind"`
	CellEastM    cli.Len   `json:"cell_east_m"`
	CellNorthM   cli.Len   `json:"cell_north_m"`
	Surface      string    `json:"surface"` // of the terrain: surface, ground or unknown; "" without
	Flat         bool      `json:"flat"`    // no terrain: round rings at the rule's speed on the flat
	Walkers      []Walker  `json:"walkers"`
	Rings        []Ring    `json:"rings"`
	Start        orb.Point `json:"-"`
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
	rule, ok := walk.Named(t.Rule)
	if !ok {
		return fmt.Errorf("no walking rule is named %s", t.Rule)
	}
	var list []walk.Ring
	var trailRule string
	people := walkers(t.Walkers)
	if r.heights == nil {
		list = flatRings(start, rule, t)
	} else {
		field, on, err := r.reach(ctx, start, rule)
		if errors.Is(err, walk.ErrNoStart) {
			// The notes of the ground say what to do about it.
			r.leaveOut(fmt.Sprintf("travel rings: the start %s lies outside the terrain, or where it has no height", start.Name))
			return nil
		}
		if err != nil {
			return err
		}
		trailRule = on
		list = walk.Rings(field, start.Point, t.After, people)
	}
	r.result.Rings = NewRings(start.Name, start.Point, rule, r.heights, people, list)
	r.result.Rings.TrailRule = trailRule
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

// Date puts a time on each ring; a zero start leaves them without.
func (g *Rings) Date(start time.Time, zone *time.Location) {
	for i := range g.Rings {
		if !start.IsZero() {
			g.Rings[i].By = instant(start.Add(seconds(float64(g.Rings[i].AfterS))), zone)
		}
	}
}

// reach computes walking times from every cell of the start's 95 % ellipse, and
// names the rule for trails where there are any.
func (r *run) reach(ctx context.Context, start plan.Start, rule walk.Rule) (*walk.Field, string, error) {
	t := r.plan.Traveller
	circle := earth.Ellipse{MajorM: start.Radius95M, MinorM: start.Radius95M}
	starts, err := walk.Within(r.heights.Frame, start.Point, circle, 0)
	if err != nil {
		return nil, "", fmt.Errorf("start %s: %w", start.Name, err)
	}
	o := walk.Options{Starts: starts, Rule: rule, MaxSeconds: walk.RingSeconds(t.After, walkers(t.Walkers))}
	if len(t.Trails) > 0 {
		o.TrailRule = rule.OnTrail()
		if o.Trail, err = r.trails(t.Trails); err != nil {
			return nil, "", err
		}
	}
	field, err := walk.Reach(ctx, r.heights, o)
	if err != nil {
		return nil, "", fmt.Errorf("walking from start %s: %w", start.Name, err)
	}
	return field, o.TrailRule.Name, nil
}

// trails marks the cells that lines run through.
func (r *run) trails(names []string) ([]bool, error) {
	mask := make([]bool, r.heights.Cols*r.heights.Rows)
	for _, name := range names {
		lines, err := r.readLines(name)
		if err != nil {
			return nil, err
		}
		for _, line := range lines {
			markLine(mask, r.heights.Frame, line)
		}
	}
	return mask, nil
}

// readLines reads the lines of a GPX or GeoJSON file, told apart by their first
// character.
func (r *run) readLines(name string) ([]orb.LineString, error) {
	f, err := r.fsys.Open(name)
	if err != nil {
		return nil, cli.InputError(name, err)
	}
	defer f.Close()
	in := bufio.NewReader(f)
	if head, _ := in.Peek(64); strings.HasPrefix(strings.TrimLeft(string(head), "\ufeff \t\r\n"), "{") {
		lines, problems, err := mapfile.ReadLines(in, name)
		r.tell(name, problems)
		return lines, err
	}
	tracks, err := r.tracksOf(in, name)
	var lines []orb.LineString
	for _, t := range tracks {
		for _, s := range t.Segments {
			lines = append(lines, lineOf(s))
		}
	}
	return lines, err
}

// markLine marks the cells along a line, without a break between neighbours.
func markLine(mask []bool, f grid.Frame, line orb.LineString) {
	for i := 1; i < len(line); i++ {
		c0, r0 := f.Cell(line[i-1])
		c1, r1 := f.Cell(line[i])
		// Half a cell a step: the next cell is then the same or a neighbour.
		steps := int(2*math.Max(math.Abs(c1-c0), math.Abs(r1-r0))) + 1
		for s := 0; s <= steps; s++ {
			u := float64(s) / float64(steps)
			col, row := int(math.Round(c0+u*(c1-c0))), int(math.Round(r0+u*(r1-r0)))
			if col >= 0 && row >= 0 && col < f.Cols && row < f.Rows {
				mask[row*f.Cols+col] = true
			}
		}
	}
}

// flatRings returns circles at the rule's speed on the flat, wider by the
// start's 95 % radius; they are marked flat in the result.
func flatRings(start plan.Start, rule walk.Rule, t plan.Traveller) []walk.Ring {
	var list []walk.Ring
	for _, after := range t.After {
		for _, w := range walkers(t.Walkers) {
			radius := after*w.Factor/rule.MapPace(0) + start.Radius95M
			circle := earth.Ellipse{MajorM: radius, MinorM: radius}
			list = append(list, walk.Ring{
				AfterS: after, By: w.Name, FarthestM: radius, AreaM2: math.Pi * radius * radius,
				Shape: orb.MultiPolygon{{circle.Outline(start.Point, 180)}},
			})
		}
	}
	return list
}
