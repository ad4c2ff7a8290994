package job

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/sky"
	"farhail/geo/walk"
	"farhail/signal/sweep"

	"github.com/paulmach/orb"
)

// A SweepTask is what one party does next.
type SweepTask struct {
	Party    string  `json:"party"`
	Segment  string  `json:"segment"`  // "": they can add nothing, and Why says why
	EffortM  cli.Len `json:"effort_m"` // that all its people walk in the segment
	SpacingM cli.Len `json:"spacing_m"`
	POD      cli.Num `json:"pod"` // that the party alone buys, as it is printed

	People      int        `json:"people"`
	SpeedMS     cli.Num    `json:"speed_m_s"`
	SweepWidthM cli.Len    `json:"sweep_width_m"`
	WidthFrom   string     `json:"sweep_width_from"`
	Coverage    cli.Num    `json:"coverage"`
	With        []string   `json:"with"`    // other parties in the same segment; spacing is of all together
	GivenS      cli.Num    `json:"given_s"` // = search + ways + unused
	SearchS     cli.Num    `json:"search_s"`
	ThereS      cli.Num    `json:"there_s"`
	BackS       cli.Num    `json:"back_s"`
	UnusedS     cli.Num    `json:"unused_s"`
	Why         string     `json:"why"` // some of the time is not used; "" where all is
	SetOut      *time.Time `json:"set_out"`
	Begin       *time.Time `json:"begin"` // searching
	End         *time.Time `json:"end"`
	Return      *time.Time `json:"return"`
	Lat         cli.Deg    `json:"lat"` // where the segment is entered
	Lon         cli.Deg    `json:"lon"`
	WayM        cli.Len    `json:"way_m"` // there

	Entry orb.Point        `json:"-"`
	Way   orb.LineString   `json:"-"`
	Shape orb.MultiPolygon `json:"-"` // of the segment
}

// A SweepThen is what all parties together buy.
type SweepThen struct {
	POS cli.Num `json:"pos"` // chance that they find them, by what is likely now
	// Bound is what no other choice of one segment a party can reach.
	Bound cli.Num `json:"bound"`
	Exact bool    `json:"exact"` // proven best
	// Divided is what could be had at best if every party went from segment to segment
	// without losing time on the way.
	Divided cli.Num      `json:"divided"`
	Closed  []ClosedArea `json:"closed"` // segments where nobody is sent
	GivenS  cli.Num      `json:"given_s"`
	Widths  []SweptWidth `json:"widths"` // of the first party, by ground
	At      *time.Time   `json:"at"`     // whose light it is, of the first party
	Target  string       `json:"target"`
	Routes  []PartyReach `json:"reach"`
}

// A ClosedArea is a segment that no party can search, and why.
type ClosedArea struct {
	Segment string  `json:"segment"`
	Share   cli.Num `json:"poa"`
	Why     string  `json:"why"`
}

// PartyReach is how many segments a party can get to.
type PartyReach struct {
	Party    string `json:"party"`
	Segments int    `json:"segments"`
}

// A tour is how a party gets to a segment.
type tour struct {
	entry         orb.Point
	thereS, backS float64 // +Inf where they cannot
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
	then := &SweepThen{Closed: []ClosedArea{}, Target: e.LookedFor}
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
		then.GivenS += cli.Num(p.Hours)
		then.Routes = append(then.Routes, PartyReach{p.Name, c.reached()})
	}
	a, err := effort.Assign(false)
	if err != nil {
		return err
	}
	shared, err := effort.Share()
	if err != nil {
		return err
	}
	then.POS, then.Bound, then.Exact, then.Divided = cli.Num(a.POS), cli.Num(a.Bound), a.Exact, cli.Num(max(shared.POS, a.POS))
	then.Closed = w.closed(crews, poa)
	if len(crews) > 0 {
		then.Widths, then.At = crews[0].widths, instant(crews[0].at, w.run.result.Plan.location)
	}
	for i, t := range a.Tasks {
		w.out.Next = append(w.out.Next, w.task(crews[i], t, a, e))
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
	tours   []tour    // to each segment
	field   *walk.Field
	widthM  []float64 // by segment
	widths  []SweptWidth
}

func (c *crew) travelS() []float64 {
	list := make([]float64, len(c.tours))
	for i, t := range c.tours {
		list[i] = t.thereS + t.backS
	}
	return list
}

func (c *crew) reached() int {
	n := 0
	for _, t := range c.tours {
		if !math.IsInf(t.thereS, 1) {
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
		return w.flatTours(c)
	}
	return w.tours(ctx, e, c)
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

// tours works out the walking times from where a party sets out to each segment: to
// its nearest cell, and back from its cells on the mean, by the plan's rule, its
// trails and barriers. Ground that is too steep is not walked.
func (w *sweeping) tours(ctx context.Context, e plan.Effort, c *crew) error {
	rule, ok := walk.Named(w.run.plan.Traveller.Rule)
	if !ok {
		return fmt.Errorf("no walking rule is named %s", w.run.plan.Traveller.Rule)
	}
	o, _, err := w.run.walking(plan.Start{Name: c.plan.Name, Point: c.plan.Point, Radius95M: math.NaN()}, rule)
	if err != nil {
		return err
	}
	o.MaxSlopeDeg, o.MaxSeconds = e.MaxSlopeDeg, max(c.plan.Hours, 1)
	c.tours = make([]tour, len(w.areas))
	if c.field, err = walk.Reach(ctx, w.run.heights, o); errors.Is(err, walk.ErrNoStart) {
		for i := range c.tours {
			c.tours[i] = tour{thereS: math.Inf(1)}
		}
		w.run.warn(fmt.Sprintf("%s sets out where nobody can walk by the terrain, its barriers and max_slope", c.plan.Name), "move the position, or take the barrier out")
		return nil
	}
	if err != nil {
		return err
	}
	w.fill(c, func(cell int) float64 {
		col, row := c.field.CellXY(w.frame.XY(float64(cell%w.frame.Cols), float64(cell/w.frame.Cols)))
		x, y := int(math.Round(col)), int(math.Round(row))
		if x < 0 || y < 0 || x >= c.field.Cols || y >= c.field.Rows {
			return math.NaN()
		}
		return float64(c.field.Seconds[y*c.field.Cols+x])
	})
	return nil
}

// flatTours walks straight and level.
func (w *sweeping) flatTours(c *crew) error {
	rule, ok := walk.Named(w.run.plan.Traveller.Rule)
	if !ok {
		return fmt.Errorf("no walking rule is named %s", w.run.plan.Traveller.Rule)
	}
	from, err := w.point(c.plan.Point)
	if err != nil {
		return err
	}
	c.tours = make([]tour, len(w.areas))
	w.fill(c, func(cell int) float64 {
		at := w.centres[cell]
		return math.Hypot(at.EastM-from.EastM, at.NorthM-from.NorthM) * rule.MapPace(0)
	})
	return nil
}

// fill makes the tours of a party from the time to each cell, NaN where it does not
// come.
func (w *sweeping) fill(c *crew, secondsTo func(cell int) float64) {
	type sum struct {
		nearest               int
		nearestS              float64
		areaS, walked, areaM2 float64
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
		s.areaM2 += w.areaM2[cell]
		t := secondsTo(cell)
		if math.IsNaN(t) {
			continue
		}
		s.walked += w.areaM2[cell]
		s.areaS += w.areaM2[cell] * t
		if t < s.nearestS {
			s.nearest, s.nearestS = cell, t
		}
	}
	for i, s := range sums {
		c.tours[i] = tour{thereS: math.Inf(1)}
		if s.walked >= leastWalked*s.areaM2 && s.walked > 0 {
			c.tours[i] = tour{w.frame.Point(float64(s.nearest%w.frame.Cols), float64(s.nearest/w.frame.Cols)), s.nearestS, s.areaS / s.walked}
		}
	}
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
	c.widthM = make([]float64, len(w.areas))
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
			ways, of = append(ways, walkedWay{points: []sweep.Point{at, at}}), append(of, i)
		}
	}
	farM := 0.0
	for k, p := range passings {
		if p != nil && p.WidthM > 0 && len(w.kinds[k].cells) > 0 {
			farM = max(farM, rangeM(p))
		}
	}
	lines, err := w.seenLines(ctx, ways, w.run.plan.Looking.EyeHeightM, w.run.standsM(target), farM, true)
	share := make([]float64, len(w.areas))
	all := make([]float64, len(w.areas))
	for i := range share {
		share[i] = 1
	}
	if lines == nil || err != nil {
		return share, err
	}
	seen := make([]float64, len(w.areas))
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
			worth := passings[w.kind[cell]].Chance(d, 1e7, -1e7) / d * w.areaM2[cell]
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
			open = open || !math.IsInf(c.tours[i].thereS, 1)
		}
		if !open && poa[i] > 0 {
			list = append(list, ClosedArea{a.Name, cli.Num(poa[i]), "less than half of it is reached on foot over ground that is not too steep, in the time given"})
		}
	}
	return list
}

// task tells what one party does.
func (w *sweeping) task(c *crew, t sweep.Task, a sweep.Assignment, e plan.Effort) SweepTask {
	nan := math.NaN()
	zone := w.run.result.Plan.location
	out := SweepTask{
		Party: c.plan.Name, People: c.plan.People, SpeedMS: cli.Num(c.plan.SpeedMS), With: []string{}, GivenS: cli.Num(c.plan.Hours),
		EffortM: cli.Len(0), SpacingM: cli.Len(nan), SweepWidthM: cli.Len(nan), WayM: cli.Len(nan), Lat: cli.Deg(nan), Lon: cli.Deg(nan),
		UnusedS: cli.Num(c.plan.Hours - c.seconds), Why: c.short,
	}
	if t.Segment < 0 || t.Seconds <= 0 {
		out.UnusedS = cli.Num(c.plan.Hours)
		if out.Why == "" {
			out.Why = "no segment that they can reach and return from in their time holds anything that they would find"
		}
		return out
	}
	tour, area := c.tours[t.Segment], w.areas[t.Segment]
	together := 0.0
	for j, other := range a.Tasks {
		if other.Segment == t.Segment {
			together += other.LengthM
			if j != t.Party {
				out.With = append(out.With, e.Parties[j].Name)
			}
		}
	}
	out.Segment, out.Shape, out.Entry = area.Name, area.Shape, tour.entry
	out.EffortM, out.SpacingM = cli.Len(t.LengthM), cli.Len(float64(area.AreaM2)/together)
	out.SweepWidthM, out.WidthFrom = cli.Len(c.widthM[t.Segment]), c.widths[0].From
	out.POD = cli.Num(sweep.PrintedPOD(t.POD, e.Own != (plan.OwnWidth{})))
	out.Coverage = cli.Num(sweep.Coverage(c.widthM[t.Segment], t.LengthM, float64(area.AreaM2)))
	out.SearchS, out.ThereS, out.BackS = cli.Num(t.Seconds), cli.Num(tour.thereS), cli.Num(tour.backS)
	out.SetOut, out.Begin = instant(e.From, zone), instant(e.From.Add(seconds(tour.thereS)), zone)
	end := e.From.Add(seconds(tour.thereS + t.Seconds))
	out.End, out.Return = instant(end, zone), instant(end.Add(seconds(tour.backS)), zone)
	out.Lat, out.Lon = cli.Deg(tour.entry.Lat()), cli.Deg(tour.entry.Lon())
	out.Way = orb.LineString{c.plan.Point, tour.entry}
	out.WayM = cli.Len(earth.Distance(c.plan.Point, tour.entry))
	if c.field != nil {
		if way, ok := c.field.Route(tour.entry); ok && len(way.Line) > 1 {
			out.Way, out.WayM = way.Line, cli.Len(way.LengthM)
		}
	}
	return out
}
