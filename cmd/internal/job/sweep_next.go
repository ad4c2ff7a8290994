package job

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/sky"
	"farhail/geo/walk"
	"farhail/signal/sweep"

	"github.com/paulmach/orb"
)

// A SweepTask is what one party does in one segment; a party's tasks follow one
// another.
type SweepTask struct {
	Party    string  `json:"party"`
	Segment  string  `json:"segment"`  // "": they can add nothing, and Why says why
	EffortM  cli.Len `json:"effort_m"` // that all its people walk in the segment
	SpacingM cli.Len `json:"spacing_m"`
	POD      cli.Num `json:"pod"` // that the party alone buys, as it is printed

	People      int        `json:"people"`
	SpeedMS     cli.Num    `json:"speed_m_s"`
	SweepWidthM cli.Len    `json:"sweep_width_m"` // what the terrain hides taken off, unless it was measured
	WidthFrom   string     `json:"sweep_width_from"`
	ClearShare  cli.Num    `json:"clear_share"` // of what is near enough, as far as terrain goes
	Coverage    cli.Num    `json:"coverage"`
	With        []string   `json:"with"` // other parties in the same segment; spacing is of all together
	SearchS     cli.Num    `json:"search_s"`
	ThereS      cli.Num    `json:"there_s"` // from the segment before, or from where they set out
	BackS       cli.Num    `json:"back_s"`  // after the last one
	UnusedS     cli.Num    `json:"unused_s"`
	Why         string     `json:"why"` // some of the time is not used; "" where all is
	SetOut      *time.Time `json:"set_out"`
	Begin       *time.Time `json:"begin"` // searching
	End         *time.Time `json:"end"`
	Return      *time.Time `json:"return"` // null before the last
	Lat         cli.Deg    `json:"lat"`    // where the segment is entered
	Lon         cli.Deg    `json:"lon"`
	WayM        cli.Len    `json:"way_m"`   // there
	Hazards     []string   `json:"hazards"` // that the segment holds, by name

	Entry orb.Point        `json:"-"`
	Way   orb.LineString   `json:"-"`
	Shape orb.MultiPolygon `json:"-"` // of the segment
}

// A SweepThen is what all parties together buy.
type SweepThen struct {
	POS cli.Num `json:"pos"` // chance that they find them, by what is likely now
	// Bound is what no division of their time could exceed.
	Bound   cli.Num      `json:"bound"`
	Closed  []ClosedArea `json:"closed"` // segments where nobody is sent
	Parties []CrewTime   `json:"parties"`
	Widths  []SweptWidth `json:"widths"` // of the first party, by ground
	At      *time.Time   `json:"at"`     // whose light it is, of the first party
	Target  string       `json:"target"`
}

// A CrewTime is where a party's time goes: given = search + ways + unused.
type CrewTime struct {
	Party    string  `json:"party"`
	GivenS   cli.Num `json:"given_s"`
	SearchS  cli.Num `json:"search_s"`
	WaysS    cli.Num `json:"ways_s"`
	UnusedS  cli.Num `json:"unused_s"`
	Segments int     `json:"segments_in_reach"`
}

// A ClosedArea is a segment that no party can search, and why.
type ClosedArea struct {
	Segment string  `json:"segment"`
	Share   cli.Num `json:"poa"`
	Why     string  `json:"why"`
}

// A wayIn is how a party gets to a segment from where it sets out.
type wayIn struct {
	entry orb.Point
	wayS  float64 // one way [s]; +Inf where they cannot
}

// leastWalked is the share of a segment that must be reached on foot over ground that
// is not too steep for it to be searched on foot. Own choice.
const leastWalked = 0.5

// next divides the effort.
func (w *sweeping) next(ctx context.Context, e plan.Effort) error {
	now := w.out.Surface
	if now == nil {
		now = w.before
	}
	poa := w.shares(now)
	effort := sweep.Effort{POA: poa, AreaM2: w.partAreas()}
	target := w.run.target(e.LookedFor)
	if target.Kind != plan.Figure {
		w.run.warn(fmt.Sprintf("the next effort looks for %s: its POD and POS hold only where that is shown all the time", e.LookedFor), "looked_for: person does not rest on it")
	}
	then := &SweepThen{Closed: []ClosedArea{}, Parties: []CrewTime{}, Target: e.LookedFor}
	var crews []*crew
	for _, p := range e.Parties {
		c := &crew{plan: p}
		if err := w.ready(ctx, e, c); err != nil {
			return fmt.Errorf("party %s: %w", p.Name, err)
		}
		if err := w.crewWidths(ctx, target, e.Own, c); err != nil {
			return fmt.Errorf("party %s: %w", p.Name, err)
		}
		crews = append(crews, c)
		effort.Parties = append(effort.Parties, sweep.Party{People: p.People, SpeedMS: p.SpeedMS, Seconds: c.seconds})
		effort.WidthM = append(effort.WidthM, c.widthM)
		effort.TravelS = append(effort.TravelS, c.travelS())
	}
	hubs, err := w.hubs(ctx, e, crews, poa)
	if err != nil {
		return err
	}
	effort.BetweenS = w.between(hubs)
	tours, err := effort.Tours()
	if err != nil {
		return err
	}
	then.POS, then.Bound = cli.Num(tours.POS), cli.Num(tours.Bound)
	then.Closed = w.closed(crews, poa)
	if len(crews) > 0 {
		then.Widths, then.At = crews[0].widths, instant(crews[0].at, w.run.result.Plan.location)
	}
	for i, c := range crews {
		tasks := w.tasks(c, i, tours, hubs, e)
		w.out.Next = append(w.out.Next, tasks...)
		t := CrewTime{Party: c.plan.Name, GivenS: cli.Num(c.plan.Hours), Segments: c.reached()}
		for _, k := range tasks {
			t.SearchS, t.WaysS, t.UnusedS = t.SearchS+k.SearchS, t.WaysS+k.ThereS+k.BackS, t.UnusedS+k.UnusedS
		}
		then.Parties = append(then.Parties, t)
	}
	w.out.Then = then
	return nil
}

func (w *sweeping) partAreas() []float64 {
	areas := make([]float64, len(w.areas))
	for i, a := range w.areas {
		areas[i] = float64(a.AreaM2)
	}
	return areas
}

// A crew is a party that can search, made ready.
type crew struct {
	plan    plan.EffortParty
	seconds float64   // that it can be out [s]
	short   string    // why that is less than it was given; ""
	at      time.Time // the middle of its time, whose light it is
	ways    []wayIn   // to each segment
	field   *walk.Field
	widthM  []float64 // by segment
	clear   []float64 // by segment: the share of ground that the terrain leaves in sight
	widths  []SweptWidth
}

// travelS returns the times there and back.
func (c *crew) travelS() []float64 {
	list := make([]float64, len(c.ways))
	for i, t := range c.ways {
		list[i] = 2 * t.wayS
	}
	return list
}

func (c *crew) reached() int {
	n := 0
	for _, t := range c.ways {
		if !math.IsInf(t.wayS, 1) {
			n++
		}
	}
	return n
}

// ready settles how long a party can be out, and how it gets to each segment.
func (w *sweeping) ready(ctx context.Context, e plan.Effort, c *crew) error {
	c.seconds = c.plan.Hours
	limit := func(until time.Time, why string) {
		if s := max(until.Sub(e.From).Seconds(), 0); s < c.seconds {
			c.seconds, c.short = s, why
		}
	}
	if !e.Until.IsZero() {
		limit(e.Until, "all must be back by "+w.run.clock(e.Until))
	}
	if !c.plan.ByNight {
		dusk, dark := w.daylight(c.plan.Point, e.From)
		switch {
		case dark:
			limit(e.From, "it is dark when they set out, and they may not be out by night")
		case !dusk.IsZero():
			limit(dusk, "they are back by the end of twilight, "+w.run.clock(dusk))
		}
	}
	c.at = e.From.Add(seconds(c.seconds / 2))
	if w.run.heights == nil || !w.run.groundDecides(c.plan.Point) {
		w.run.warn(fmt.Sprintf("the ways of %s are reckoned straight and level: no terrain where they set out", c.plan.Name), "")
	}
	field, to, err := w.walkFrom(ctx, c.plan.Point, max(c.plan.Hours, 1), e)
	if errors.Is(err, walk.ErrNoStart) {
		w.run.warn(fmt.Sprintf("%s sets out where nobody can walk by the terrain, its barriers and max_slope", c.plan.Name), "move the position, or take the barrier out")
		to, err = func(int) float64 { return math.NaN() }, nil
	}
	if err != nil {
		return err
	}
	c.field, c.ways = field, w.waysIn(to)
	return nil
}

// daylight returns when it gets too dark to be out on the day of a moment; dark says
// that it is dark already. Without twilight that day neither is.
func (w *sweeping) daylight(p orb.Point, at time.Time) (dusk time.Time, dark bool) {
	if sky.Sun(p, at).ElevationDeg < sky.CivilDeg {
		return time.Time{}, true
	}
	from, until := localDay(at, w.run.result.Plan.location)
	for range 2 {
		d := sky.DayOf(p, from, until)
		if d.CivilDusk.After(at) {
			return d.CivilDusk, false
		}
		from, until = from.AddDate(0, 0, 1), until.AddDate(0, 0, 1)
	}
	return time.Time{}, false
}

// walkFrom works out the walking times from a place to each cell of the map, NaN
// where nobody comes in time: by the plan's rule, its trails and barriers, over ground
// that is not too steep; straight and level, without a field, where there is no terrain.
func (w *sweeping) walkFrom(ctx context.Context, from orb.Point, mostS float64, e plan.Effort) (*walk.Field, func(cell int) float64, error) {
	rule := w.run.rule()
	if w.run.heights == nil || !w.run.groundDecides(from) {
		at, err := w.point(from)
		return nil, func(cell int) float64 {
			return math.Hypot(w.centres[cell].EastM-at.EastM, w.centres[cell].NorthM-at.NorthM) * rule.MapPace(0)
		}, err
	}
	o, _, err := w.run.walking(plan.Start{Point: from, Radius95M: math.NaN()})
	if err != nil {
		return nil, nil, err
	}
	o.MaxSlopeDeg, o.MaxSeconds = e.MaxSlopeDeg, mostS
	field, err := walk.Reach(ctx, w.run.heights, o)
	if err != nil {
		return nil, nil, err
	}
	return field, func(cell int) float64 {
		col, row := field.CellXY(w.frame.XY(float64(cell%w.frame.Cols), float64(cell/w.frame.Cols)))
		x, y := int(math.Round(col)), int(math.Round(row))
		if x < 0 || y < 0 || x >= field.Cols || y >= field.Rows {
			return math.NaN()
		}
		return float64(field.Seconds[y*field.Cols+x])
	}, nil
}

// waysIn returns the way to each segment from the time to each cell: one way is
// the mean of the way to the nearest cell, where searching begins, and of those back
// from all cells, since it ends anywhere. A segment of which less than half is reached
// is closed.
func (w *sweeping) waysIn(secondsTo func(cell int) float64) []wayIn {
	type sum struct {
		nearest                 int
		nearestS, areaS, m2, of float64
	}
	sums := make([]sum, len(w.areas))
	for i := range sums {
		sums[i].nearestS = math.Inf(1)
	}
	for cell, p := range w.part {
		if p < 0 {
			continue
		}
		s := &sums[p]
		s.of += w.areaM2[cell]
		t := secondsTo(cell)
		if math.IsNaN(t) {
			continue
		}
		s.m2 += w.areaM2[cell]
		s.areaS += w.areaM2[cell] * t
		if t < s.nearestS {
			s.nearest, s.nearestS = cell, t
		}
	}
	list := make([]wayIn, len(w.areas))
	for i, s := range sums {
		list[i] = wayIn{wayS: math.Inf(1)}
		if s.m2 > 0 && s.m2 >= leastWalked*s.of {
			list[i] = wayIn{w.frame.Point(float64(s.nearest%w.frame.Cols), float64(s.nearest/w.frame.Cols)), (s.nearestS + s.areaS/s.m2) / 2}
		}
	}
	return list
}

// A hub is a segment from which a party may go on to another.
type hub struct {
	segment int
	field   *walk.Field
	ways    []wayIn
}

// mostHubs is how many segments a party may go on from, those that hold most; goOnS is
// the longest way from one to the next [s]. Own choice.
const (
	mostHubs = 16
	goOnS    = 3600.0
)

// hubs works out the ways from the segments that hold most.
func (w *sweeping) hubs(ctx context.Context, e plan.Effort, crews []*crew, poa []float64) ([]hub, error) {
	order := make([]int, 0, len(poa))
	for i, p := range poa {
		if p > 0 && slices.ContainsFunc(crews, func(c *crew) bool { return !math.IsInf(c.ways[i].wayS, 1) }) {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(poa[b], poa[a]) })
	var list []hub
	for _, i := range order[:min(mostHubs, len(order))] {
		a := w.areas[i]
		field, to, err := w.walkFrom(ctx, orb.Point{float64(a.Lon), float64(a.Lat)}, goOnS, e)
		if errors.Is(err, walk.ErrNoStart) {
			continue
		}
		if err != nil {
			return nil, err
		}
		list = append(list, hub{i, field, w.waysIn(to)})
	}
	return list, nil
}

// between returns the times from segment to segment, +Inf where none are known.
func (w *sweeping) between(hubs []hub) [][]float64 {
	table := make([][]float64, len(w.areas))
	for i := range table {
		table[i] = make([]float64, len(w.areas))
		for k := range table[i] {
			table[i][k] = math.Inf(1)
		}
	}
	for _, h := range hubs {
		for k, a := range h.ways {
			table[h.segment][k] = a.wayS
		}
	}
	return table
}

// crewWidths returns the mean sweep width of a party in each segment, by its ground.
// What the terrain hides comes off the model's width, not off one that was measured.
func (w *sweeping) crewWidths(ctx context.Context, target plan.Signal, own plan.OwnWidth, c *crew) error {
	by := w.run.searcher(c.plan.Eyes, c.plan.SpeedMS, c.plan.Fatigued)
	width := make([]float64, len(w.kinds))
	passings := make([]*sweep.Passing, len(w.kinds))
	for k, kind := range w.kinds {
		if len(kind.cells) == 0 {
			continue
		}
		p, told, err := w.passing(target, c.at, by, kind, own)
		if err != nil {
			return err
		}
		width[k], passings[k] = p.WidthM, p
		c.widths = append(c.widths, told)
	}
	clear := make([]float64, len(w.areas))
	for i := range clear {
		clear[i] = 1
	}
	if own == (plan.OwnWidth{}) {
		var err error
		if clear, err = w.clearShare(ctx, target, passings); err != nil {
			return err
		}
	}
	c.widthM, c.clear = make([]float64, len(w.areas)), clear
	for cell, p := range w.part {
		if p >= 0 {
			c.widthM[p] += width[w.kind[cell]] * w.areaM2[cell]
		}
	}
	for i, a := range w.partAreas() {
		c.widthM[i] /= a
		c.widthM[i] *= clear[i]
	}
	return nil
}

// samplesEach is how many places of a segment are asked how much of its ground is in
// sight. Own choice.
const samplesEach = 8

// tabulated returns the chance of a whole pass by its distance [m], from a table.
func tabulated(p *sweep.Passing, farM float64) func(distM float64) float64 {
	const steps = 200
	table := make([]float64, steps+2)
	for i := range table {
		table[i] = p.Chance(float64(i)*farM/steps, 1e7, -1e7)
	}
	return func(distM float64) float64 {
		x := distM / farM * steps
		i := min(int(x), steps)
		return table[i] + (table[i+1]-table[i])*(x-float64(i))
	}
}

// clearShare returns how much of what lies near enough is in sight from places in each
// segment, each cell by what it adds to a sweep width, in [0, 1]: what terrain takes
// from a width in the open. 1 without terrain.
func (w *sweeping) clearShare(ctx context.Context, target plan.Signal, passings []*sweep.Passing) ([]float64, error) {
	cells := make([][]int, len(w.areas))
	for cell, p := range w.part {
		if p >= 0 {
			cells[p] = append(cells[p], cell)
		}
	}
	var ways []walkedWay
	var of []int // the segment of each
	for i, list := range cells {
		for k := range min(samplesEach, len(list)) {
			at := w.centres[list[(2*k+1)*len(list)/(2*min(samplesEach, len(list)))]]
			ways, of = append(ways, walkedWay{eyeM: w.run.plan.Looking.EyeHeightM, points: []sweep.Point{at, at}}), append(of, i)
		}
	}
	farM := 0.0
	for k, p := range passings {
		if p != nil && p.WidthM > 0 && len(w.kinds[k].cells) > 0 {
			farM = max(farM, rangeM(p))
		}
	}
	lines, err := w.seenLines(ctx, ways, w.run.standsM(target), farM, true)
	share := make([]float64, len(w.areas))
	all := make([]float64, len(w.areas))
	for i := range share {
		share[i] = 1
	}
	if lines == nil || err != nil {
		return share, err
	}
	seen := make([]float64, len(w.areas))
	worthOf := make([]func(distM float64) float64, len(w.kinds))
	for k, p := range passings {
		if p != nil {
			worthOf[k] = tabulated(p, farM)
		}
	}
	for n, way := range ways {
		eye := lines.eyeOf[n][0]
		if eye < 0 {
			continue
		}
		box := lines.views[eye]
		for i := range box.cols * box.rows {
			cell := (box.row0+i/box.cols)*w.frame.Cols + box.col0 + i%box.cols
			d := math.Hypot(w.centres[cell].EastM-way.points[0].EastM, w.centres[cell].NorthM-way.points[0].NorthM)
			if d > farM || d == 0 {
				continue
			}
			worth := worthOf[w.kind[cell]](d) / d * w.areaM2[cell]
			all[of[n]] += worth
			seen[of[n]] += worth * lines.clear(n, 0, cell)
		}
	}
	for i := range share {
		if all[i] > 0 {
			share[i] = seen[i] / all[i]
		}
	}
	return share, nil
}

// closed lists the segments that hold something and to which no party can go.
func (w *sweeping) closed(crews []*crew, poa []float64) []ClosedArea {
	list := []ClosedArea{}
	for i, a := range w.areas {
		open := false
		for _, c := range crews {
			open = open || !math.IsInf(c.ways[i].wayS, 1)
		}
		if !open && poa[i] > 0 {
			list = append(list, ClosedArea{a.Name, cli.Num(poa[i]), "less than half of it is reached on foot over ground that is not too steep, in the time given"})
		}
	}
	return list
}

// tasks tells what one party does, one task after another; one without a segment
// where it can add nothing.
func (w *sweeping) tasks(c *crew, party int, t sweep.Tours, hubs []hub, e plan.Effort) []SweepTask {
	zone := w.run.result.Plan.location
	if len(t.Tasks[party]) == 0 {
		out := w.blank(c)
		out.UnusedS, out.Why = cli.Num(c.plan.Hours), cmp.Or(c.short, "no segment that they can reach and return from in their time holds anything that they would find")
		return []SweepTask{out}
	}
	var list []SweepTask
	now, at, field, ways := e.From, c.plan.Point, c.field, c.ways
	for n, task := range t.Tasks[party] {
		last := n+1 == len(t.Tasks[party])
		area, out := w.areas[task.Segment], w.blank(c)
		there := ways[task.Segment]
		out.Segment, out.Shape, out.Entry = area.Name, area.Shape, there.entry
		out.Lat, out.Lon = cli.Deg(there.entry.Lat()), cli.Deg(there.entry.Lon())
		out.SetOut, out.ThereS, out.SearchS = instant(now, zone), cli.Num(there.wayS), cli.Num(task.Seconds)
		out.Way, out.WayM = wayOf(field, at, there.entry)
		now = now.Add(seconds(there.wayS))
		out.Begin = instant(now, zone)
		now = now.Add(seconds(task.Seconds))
		out.End = instant(now, zone)
		if last {
			out.BackS, out.UnusedS, out.Why = cli.Num(c.ways[task.Segment].wayS), cli.Num(c.plan.Hours-c.seconds), c.short
			out.Return = instant(now.Add(seconds(float64(out.BackS))), zone)
		}
		w.buys(&out, c, task, t, e)
		list = append(list, out)
		for _, h := range hubs {
			if h.segment == task.Segment {
				at, field, ways = orb.Point{float64(area.Lon), float64(area.Lat)}, h.field, h.ways
			}
		}
	}
	return list
}

func (w *sweeping) blank(c *crew) SweepTask {
	nan := math.NaN()
	return SweepTask{
		Party: c.plan.Name, People: c.plan.People, SpeedMS: cli.Num(c.plan.SpeedMS), With: []string{}, Hazards: []string{},
		SpacingM: cli.Len(nan), SweepWidthM: cli.Len(nan), WayM: cli.Len(nan), Lat: cli.Deg(nan), Lon: cli.Deg(nan),
		ClearShare: cli.Num(nan), Coverage: cli.Num(nan),
	}
}

// wayOf returns the quickest way, or the straight one without a field.
func wayOf(field *walk.Field, from, to orb.Point) (orb.LineString, cli.Len) {
	if field != nil {
		if way, ok := field.Route(to); ok && len(way.Line) > 1 {
			return way.Line, cli.Len(way.LengthM)
		}
	}
	return orb.LineString{from, to}, cli.Len(earth.Distance(from, to))
}

// buys tells how a task is searched and what it brings.
func (w *sweeping) buys(out *SweepTask, c *crew, task sweep.Task, t sweep.Tours, e plan.Effort) {
	together := 0.0
	for j, list := range t.Tasks {
		for _, other := range list {
			if other.Segment == task.Segment {
				together += other.LengthM
				if j != task.Party {
					out.With = append(out.With, e.Parties[j].Name)
				}
			}
		}
	}
	areaM2, width := float64(w.areas[task.Segment].AreaM2), c.widthM[task.Segment]
	out.EffortM, out.SpacingM = cli.Len(task.LengthM), cli.Len(areaM2/together)
	out.SweepWidthM, out.WidthFrom, out.ClearShare = cli.Len(width), c.widths[0].From, cli.Num(c.clear[task.Segment])
	out.POD = cli.Num(sweep.PrintedPOD(task.POD, e.Own != (plan.OwnWidth{})))
	out.Coverage = cli.Num(sweep.Coverage(width, task.LengthM, areaM2))
}
