package job

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/cover"
	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/sky"
	"farhail/geo/walk"
	"farhail/signal/drill"
)

// allow finds the ground under the surface on which somebody may be hidden.
func (h *hiding) allow(ctx context.Context) error {
	r := h.run
	part := partOf(r.heights, h.surface.Frame)
	h.heights = part.heights
	east, north := r.heights.Metres(part.row + part.heights.Rows/2)
	g := &h.out.Ground
	g.CellEastM, g.CellNorthM = cli.Len(east), cli.Len(north)
	limits := drill.Limits{}
	if err := errors.Join(h.water(part, &limits), h.seen(max(east, north))); err != nil {
		return err
	}
	closed, err := r.shapes(h.plan.NotIn)
	if err != nil {
		return err
	}
	limits.Closed = MarkShapes(part.heights.Frame, slices.Concat(areasOf(closed), r.dangers)) // nobody is hidden in a hazard
	if limits.WithinS, err = h.daylight(); err != nil {
		return err
	}
	g.DaylightS = cli.Num(limits.WithinS)
	if limits.Seconds, err = h.walks(ctx, part, limits.WithinS, max(east, north) <= drill.CliffCellM); err != nil {
		return err
	}
	h.seconds = limits.Seconds
	if h.ground, err = drill.Allow(part.heights, limits); err != nil {
		return err
	}
	g.Checkable = h.ground.Checkable
	g.Voids, g.Closed, g.Wet, g.Cliffs, g.Steep, g.OutOfReach = h.ground.Voids, h.ground.Closed, h.ground.Water, h.ground.Cliffs, h.ground.Steep, h.ground.OutOfReach
	for i, ok := range h.ground.Allowed {
		if ok {
			g.AreaM2 += cli.Area(h.ground.AreaM2(i / h.ground.Cols))
		}
	}
	return nil
}

// A part is some columns and rows of a terrain.
type part struct {
	heights  *grid.Heights
	col, row int // of the terrain, at which it begins
}

// partOf returns the part of a terrain under a frame on the same grid.
func partOf(h *grid.Heights, f grid.Frame) part {
	c0, r0 := h.CellXY(f.XY(-0.5, -0.5))
	c1, r1 := h.CellXY(f.XY(float64(f.Cols)-0.5, float64(f.Rows)-0.5))
	w := window(h, (c0+c1)/2, (r0+r1)/2, (c1-c0)/2, (r1-r0)/2)
	col, row := h.CellXY(w.X0, w.Y0)
	return part{w, int(math.Round(col)), int(math.Round(row))}
}

// of cuts values of the whole terrain to the part.
func of[T any](p part, whole []T, cols int) []T {
	out := make([]T, 0, p.heights.Cols*p.heights.Rows)
	for row := p.row; row < p.row+p.heights.Rows; row++ {
		out = append(out, whole[row*cols+p.col:row*cols+p.col+p.heights.Cols]...)
	}
	return out
}

// water marks water and mapped cliffs, or asks who has looked.
func (h *hiding) water(p part, limits *drill.Limits) error {
	r := h.run
	limits.Water = make([]bool, p.heights.Cols*p.heights.Rows)
	var told []string
	streams := false
	if r.cover != nil {
		limits.Water = of(p, r.cover.mapped.Water(r.cover.grid), r.heights.Cols)
		limits.Cliffs = of(p, r.cover.mapped.Cliffs(r.cover.grid), r.heights.Cols)
		told = append(told, "the cover files tell of it")
		streams = r.cover.mapped.TellsStreams()
	}
	barriers, err := r.shapes(r.plan.Traveller.Barriers)
	if err != nil {
		return err
	}
	for i, b := range MarkShapes(p.heights.Frame, barriers) {
		limits.Water[i] = limits.Water[i] || b
	}
	if len(barriers) > 0 {
		told = append(told, "the plan's barriers are kept away from like water")
	}
	who := cmp.Or(h.ask.WaterKnown, h.plan.WaterKnown)
	if who != "" {
		told = append(told, who+" has looked where water is")
	}
	if !streams && who == "" {
		text := "the plan has no cover file"
		if r.cover != nil {
			text = "the cover files hold no stream"
		}
		return cli.WithHint(fmt.Errorf("%w: %s, so that nobody knows where water is", errDrill, text),
			"add cover: to the plan, or look where water is and say so with initials, --water-known KB (in the plan drill: water_known: KB)")
	}
	if !streams {
		r.warn(fmt.Sprintf("no file tells streams: the %d m from water rest on the word of %s", drill.WaterM, who), "walk to the place before anybody is hidden there")
	}
	h.out.Ground.Water = strings.Join(told, "; ")
	return nil
}

// seen asks who has seen the ground where cells are too large to show cliffs.
func (h *hiding) seen(cellM float64) error {
	who := cmp.Or(h.ask.GroundSeen, h.plan.GroundSeen)
	h.out.Ground.GroundSeen = who
	if cellM <= drill.CliffCellM {
		return nil
	}
	if who == "" {
		return cli.WithHint(fmt.Errorf("%w: on cells of %.0f m cliffs cannot be told, and nobody has seen the ground", errDrill, cellM),
			"go and see it, and say so with initials, --ground-seen KB (in the plan drill: ground_seen: KB), or give terrain with cells of 35 m or less")
	}
	h.run.warn(fmt.Sprintf("cells of %.0f m do not show cliffs: ground over %d degrees is taken for one, and the rest rests on the word of %s", cellM, drill.CoarseCliffDeg, who),
		"walk to the place before anybody is hidden there")
	return nil
}

// daylight returns how long the way there may take: half of the daylight that is left
// when the drill begins, so that there is as much for the way back; of the whole day
// where it begins in the dark, since who is hidden goes there by day.
func (h *hiding) daylight() (float64, error) {
	zone := h.run.result.Plan.location
	begins := h.plan.Begins.In(zone)
	midnight := time.Date(begins.Year(), begins.Month(), begins.Day(), 0, 0, 0, 0, zone)
	day := sky.DayOf(h.start.Point, midnight, midnight.AddDate(0, 0, 1))
	h.out.Sunrise, h.out.Sunset = instant(day.Sunrise, zone), instant(day.Sunset, zone)
	switch day.State {
	case sky.SunNeverSets:
		return (24 * time.Hour).Seconds() / 2, nil
	case sky.SunNeverRises:
		return 0, cli.WithHint(fmt.Errorf("%w: the sun does not rise on that day", errDrill), "choose another day")
	}
	from := day.Sunrise
	if begins.After(from) && begins.Before(day.Sunset) {
		from = begins
	}
	return day.Sunset.Sub(from).Seconds() / 2, nil
}

// walks returns the time from the start to each cell of a part [s] by the slow walker,
// around steep ground, rivers and lakes.
func (h *hiding) walks(ctx context.Context, p part, withinS float64, checkable bool) ([]float32, error) {
	r := h.run
	careful := *r.plan
	if c := cover.Crossing(careful.Traveller.Crossing); c == cover.AllCrossed || c == cover.LakesStop {
		careful.Traveller.Crossing = string(cover.RiversStop)
	}
	defer func(p *plan.Plan) { r.plan = p }(r.plan)
	r.plan = &careful
	o, _, err := r.walking(h.start)
	if err != nil {
		return nil, err
	}
	// The parties meet at the place itself.
	if o.Starts, err = walk.Within(r.heights.Frame, h.start.Point, earth.Ellipse{}, 0); err != nil {
		return nil, err
	}
	_, load, _ := r.pauses(h.start, withinS)
	o.Factor, o.MaxSeconds, o.MaxSlopeDeg = load*careful.Traveller.Walkers.Slow, withinS+1, drill.CliffDeg
	if !checkable {
		o.MaxSlopeDeg = drill.CoarseCliffDeg
	}
	field, err := walk.Reach(ctx, r.heights, o)
	if err != nil {
		return nil, fmt.Errorf("walking from start %s: %w", h.start.Name, err)
	}
	return of(p, field.Seconds, r.heights.Cols), nil
}

// nowhere says what took the ground.
func (h *hiding) nowhere() string {
	g := h.out.Ground
	var list []string
	for _, x := range []struct {
		n    int
		what string
	}{
		{g.OutOfReach, "out of reach by daylight"}, {g.Steep, "steep or beside steep ground"}, {g.Wet, "by water"}, {g.Cliffs, "by cliffs"},
		{g.Voids, "without a height"}, {g.Closed, "closed"},
	} {
		if x.n > 0 {
			list = append(list, fmt.Sprintf("%d %s", x.n, x.what))
		}
	}
	return "nobody may be hidden where the surface is likely (cells: " + strings.Join(list, ", ") + ")"
}
