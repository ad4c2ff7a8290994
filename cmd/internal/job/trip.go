package job

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/geo/earth"
	"farhail/geo/track"
	"farhail/geo/walk"

	"github.com/paulmach/orb"
)

// A Trip is what a traveller leaves with their contact: the way, when they are back,
// and when the alarm is raised. The alarm rests on a margin that the traveller states;
// where they state none there is no alarm, but a suggestion.
type Trip struct {
	Route    string     `json:"route"` // its file
	Start    *time.Time `json:"start"`
	From     LatLon     `json:"from"`
	To       LatLon     `json:"to"`
	LengthM  cli.Len    `json:"length_m"`  // breaks not counted
	ClimbM   cli.Len    `json:"climb_m"`   // by the terrain; null without it
	DescentM cli.Len    `json:"descent_m"` // so too
	Breaks   int        `json:"breaks"`    // of more than 50 m, whose time is not counted
	ApartM   cli.Len    `json:"apart_m"`   // from the route's end to its beginning

	Rule      string   `json:"rule"`
	TrailRule string   `json:"trail_rule"` // "" where nothing is walked as a path
	Flat      bool     `json:"flat"`       // no terrain: as on the flat
	WalkS     cli.Num  `json:"walk_s"`     // of the usual walker, without rests and slow hours
	SlowWalkS cli.Num  `json:"slow_walk_s"`
	RestsS    cli.Num  `json:"rests_s"`
	Slowed    []Slowed `json:"slowed"`

	BackBy      *time.Time `json:"back_by"`      // of the usual walker
	SlowBackBy  *time.Time `json:"slow_back_by"` // of the slow one
	MarginS     cli.Num    `json:"alarm_margin_s"`
	AlarmAt     *time.Time `json:"raise_alarm_at"` // null where no margin is stated
	SuggestedS  cli.Num    `json:"suggested_margin_s"`
	SuggestedAt *time.Time `json:"suggested_alarm_at"`
	// Dawn is the end of the night that the alarm falls into, after midnight, or where
	// no margin is stated the suggested one; null by day and in the evening.
	Dawn      *time.Time `json:"alarm_before_dawn"`
	BackDawn  *time.Time `json:"back_before_dawn"` // likewise of back by
	Dusk      *time.Time `json:"dusk"`             // civil dusk of the night that the start falls into, or else of the next; null for none
	TurnRound *time.Time `json:"turn_round"`

	Legs    []TripLeg `json:"legs"`
	LegsOff cli.Len   `json:"legs_off_m"` // at most so far the route leaves its straight legs
	Asks    []string  `json:"asks"`

	Path orb.MultiLineString `json:"-"`
}

// A TripLeg is a leg of the way with what it takes to walk it.
type TripLeg struct {
	WayLeg
	ClimbM   cli.Len    `json:"climb_m"`
	DescentM cli.Len    `json:"descent_m"`
	WalkS    cli.Num    `json:"walk_s"`
	By       *time.Time `json:"by"` // at its end, rests spread evenly over the walking
}

const (
	// suggestedMarginS is what a suggested margin adds to the slow walker's extra time.
	// Own choice.
	suggestedMarginS = 3600
	// tripLegs is the most legs that a route without named points is cut into, which
	// fit a page. Own choice.
	tripLegs = 12
	// walkStepM is the length over which a slope is taken, as for parties.
	walkStepM = track.DefaultStepM
	// nightUntil is when a night without a dawn ends. Own choice.
	nightUntil = 6 * time.Hour
)

// readTrip reads the route of the plan's trip.
func (r *run) readTrip() error {
	t := r.plan.Trip
	switch {
	case t.Line == 0:
		return nil
	case t.Route == "":
		r.trip = r.travelled
		return nil
	}
	tracks, err := r.readTracks(t.Route)
	r.trip = tracks
	return err
}

// tripSheet works out the two times that a traveller leaves with their contact.
func (r *run) tripSheet(context.Context) error {
	ask := r.plan.Trip
	if ask.Line == 0 {
		return nil
	}
	start := ask.Start
	if s, ok := ringStart(r.plan.Starts); ok && start.IsZero() {
		start = s.Time
	}
	w, err := r.tripWalk()
	switch {
	case err != nil:
		return err
	case len(w.points) < 2:
		r.leaveOut("trip sheet: the plan gives no route (trip: route:)")
		return nil
	case start.IsZero():
		r.leaveOut("trip sheet: nothing says when it begins (trip: start:)")
		return nil
	}
	zone := r.result.Plan.location
	first, last := w.points[0], w.points[len(w.points)-1]
	apart, _, _ := earth.Inverse(first.fix.Point, last.fix.Point)
	out := &Trip{
		Route: cmp.Or(ask.Route, r.plan.Traveller.Track), Start: instant(start, zone),
		From: latLon(first.fix.Point), To: latLon(last.fix.Point), LengthM: cli.Len(last.alongM), Breaks: w.breaks, ApartM: cli.Len(apart),
		ClimbM: w.rise(last.climbM), DescentM: w.rise(last.descentM),
		Rule: w.rule.Name, TrailRule: w.trailName(), Flat: r.heights == nil, RestsS: cli.Num(ask.RestsS),
		TurnRound: instant(ask.TurnRound, zone), Asks: append([]string{}, ask.Asks...), Path: w.path,
	}
	c := r.tripClock(start, first.fix.Point, last.walkS, ask.RestsS)
	out.WalkS, out.SlowWalkS, out.Slowed = cli.Num(c.usualS), cli.Num(c.slowS), c.slowed
	back, slow := c.at(c.usualS, 1), c.at(c.slowS, 1)
	out.BackBy, out.SlowBackBy = instant(back, zone), instant(slow, zone)
	out.SuggestedS = cli.Num(slow.Sub(back).Seconds() + suggestedMarginS)
	out.SuggestedAt = instant(back.Add(seconds(float64(out.SuggestedS))), zone)
	out.MarginS = cli.Num(math.NaN())
	alarm := out.SuggestedAt
	if ask.AlarmMarginS > 0 {
		out.MarginS, out.AlarmAt = cli.Num(ask.AlarmMarginS), instant(back.Add(seconds(ask.AlarmMarginS)), zone)
		alarm = out.AlarmAt
	}
	out.Dawn = beforeDawn(last.fix.Point, *alarm)
	out.BackDawn = beforeDawn(last.fix.Point, *out.BackBy)
	out.Dusk = nightfall(last.fix.Point, *out.Start)
	out.Legs, out.LegsOff = w.legs(c, start, zone)
	r.result.Trip = out
	r.noteTrip(w)
	return nil
}

func (r *run) noteTrip(w *tripWalk) {
	file := r.result.Trip.Route
	if w.breaks > 0 {
		r.warn(fmt.Sprintf("%s: the route has %d breaks of more than %d m, for which the trip sheet counts no time", file, w.breaks, track.DefaultJoinM), "add what they take to rests")
	}
	if w.barredM > 0 {
		r.warn(fmt.Sprintf("%s: %s of the route lie on ground that the cover says nobody walks on; they are counted as open ground", file, Distance(w.barredM)), "look at the route on the map")
	}
}

// beforeDawn returns the civil dawn after a time between midnight and it, nil at any
// other time.
func beforeDawn(p orb.Point, at time.Time) *time.Time {
	zone := at.Location()
	midnight, _ := localDay(at, zone)
	d := dayOf(p, at, zone)
	dawn := d.CivilDawn
	if dawn == nil {
		if d.DarkS == 0 {
			return nil // it does not get dark
		}
		dawn = instant(midnight.Add(nightUntil), zone)
	}
	if at.Before(midnight) || !at.Before(*dawn) {
		return nil
	}
	return dawn
}

// nightfall returns the civil dusk of the night that a time falls into, or else of the next
// within a day; nil for none.
func nightfall(p orb.Point, at time.Time) *time.Time {
	for day := -1; day <= 1; day++ {
		dusk := dayOf(p, at.AddDate(0, 0, day), at.Location()).CivilDusk
		dawn := dayOf(p, at.AddDate(0, 0, day+1), at.Location()).CivilDawn
		if dusk != nil && (dawn == nil || dawn.After(at)) {
			return dusk
		}
	}
	return nil
}

// A tripClock turns walking into times of the day.
type tripClock struct {
	start         time.Time
	stops         []walk.Stop
	slowed        []Slowed
	usualS, slowS float64 // walking, by the load
	restsS        float64
}

// tripClock returns the clock of a trip that takes so long [s] by the rule.
func (r *run) tripClock(start time.Time, at orb.Point, ruleS, restsS float64) tripClock {
	t := r.plan.Traveller
	begin := start.In(r.result.Plan.location)
	c := tripClock{start: start, restsS: restsS}
	// A day of rests and slow hours can take most of it: the days are doubled until
	// they hold the slow walker's arrival.
	for lastS := 2 * 24 * 3600.0; ; lastS *= 2 {
		var load float64
		c.stops, load, c.slowed = Pauses(t.Pauses, begin, at, lastS)
		c.usualS, c.slowS = ruleS/load/t.Walkers.Usual, ruleS/load/t.Walkers.Slow
		if walk.Walked(lastS, c.stops) >= c.slowS+restsS || lastS > 365*24*3600 {
			return c
		}
	}
}

// at returns when somebody is at a share of their walking [s], rests spread over it.
func (c tripClock) at(walkS, share float64) time.Time {
	return c.start.Add(seconds(math.Round(walk.Arrived((walkS+c.restsS)*share, c.stops))))
}

// A tripPoint is a fix of the route with what lies before it.
type tripPoint struct {
	fix                      track.Fix
	alongM, climbM, descentM float64
	walkS                    float64 // by the rule
}

// A tripWalk is a route walked by the plan's rule.
type tripWalk struct {
	*run
	rule    walk.Rule
	foot    walk.Options
	trail   bool // all of the route is a path
	onPath  bool // some of it
	points  []tripPoint
	breaks  int
	barredM float64 // on ground that the cover says nobody walks on
	path    orb.MultiLineString
}

// tripWalk walks the trip's route from fix to fix.
func (r *run) tripWalk() (*tripWalk, error) {
	w := &tripWalk{run: r, rule: r.rule(), trail: slices.Contains(r.plan.Traveller.Trails, r.plan.Trip.Route)}
	if r.heights != nil {
		o, _, notes, err := r.footing(r.heights.Frame, r.cover)
		if err != nil {
			return nil, err
		}
		for _, n := range notes {
			r.note(n)
		}
		w.foot = o
	}
	for _, t := range r.trip {
		for _, s := range t.WithoutJumps().Segments {
			for i, f := range s {
				w.add(f, i == 0)
			}
			if line := lineOf(s); len(line) > 1 {
				w.path = append(w.path, line)
			}
		}
	}
	return w, nil
}

// add walks to a fix; from one segment to the next only where they join.
func (w *tripWalk) add(f track.Fix, first bool) {
	next := tripPoint{fix: f}
	if len(w.points) > 0 {
		last := w.points[len(w.points)-1]
		d := earth.Distance(last.fix.Point, f.Point)
		next.alongM, next.walkS, next.climbM, next.descentM = last.alongM, last.walkS, last.climbM, last.descentM
		switch {
		case first && d > track.DefaultJoinM:
			w.breaks++
		case d > 0:
			w.walk(&next, last.fix.Point, d)
		}
	}
	w.points = append(w.points, next)
}

// walk adds the way from a point to the next fix, in steps that a slope is taken over.
func (w *tripWalk) walk(next *tripPoint, from orb.Point, distM float64) {
	_, course, _ := earth.Inverse(from, next.fix.Point)
	n := int(math.Ceil(distM / walkStepM))
	step, at := distM/float64(n), from
	for i := 1; i <= n; i++ {
		to := next.fix.Point
		if i < n {
			to, _ = earth.Direct(from, course, step*float64(i))
		}
		rise := 0.0
		if w.heights != nil {
			if h := w.heights.Sample(to) - w.heights.Sample(at); !math.IsNaN(h) {
				rise = h
			}
		}
		next.walkS += step * w.pace(at, to, rise/step, step)
		next.climbM += max(0, rise)
		next.descentM += max(0, -rise)
		at = to
	}
	next.alongM += distM
}

// pace returns the time of a metre on the map [s/m]: on paths by the rule's own form.
func (w *tripWalk) pace(from, to orb.Point, slope, stepM float64) float64 {
	if w.trail || w.marked(from) && w.marked(to) {
		w.onPath = true
		return w.rule.OnTrail().MapPace(slope)
	}
	ground := 1.0
	if cell := w.cell(from); cell >= 0 && w.foot.Ground != nil {
		if ground = float64(w.foot.Ground[cell]); math.IsInf(ground, 1) {
			ground = 1
			w.barredM += stepM
		}
	}
	return w.rule.MapPace(slope) * ground
}

func (w *tripWalk) marked(p orb.Point) bool {
	cell := w.cell(p)
	return cell >= 0 && w.foot.Trail != nil && w.foot.Trail[cell]
}

// cell returns the terrain's cell of a position, -1 outside.
func (w *tripWalk) cell(p orb.Point) int {
	if w.heights == nil {
		return -1
	}
	col, row := w.heights.Cell(p)
	c, y := int(math.Round(col)), int(math.Round(row))
	if !w.heights.Inside(col, row) || c < 0 || y < 0 || c >= w.heights.Cols || y >= w.heights.Rows {
		return -1
	}
	return y*w.heights.Cols + c
}

func (w *tripWalk) trailName() string {
	if w.onPath {
		return w.rule.OnTrail().Name
	}
	return ""
}

// rise returns a climb or descent, unknown without terrain.
func (w *tripWalk) rise(m float64) cli.Len {
	if w.heights == nil {
		return cli.Len(math.NaN())
	}
	return cli.Len(m)
}

// legs cuts the route at its named points, or where it has none at its bends.
func (w *tripWalk) legs(c tripClock, start time.Time, zone *time.Location) ([]TripLeg, cli.Len) {
	fixes := make([]track.Fix, len(w.points))
	for i, p := range w.points {
		fixes[i] = p.fix
	}
	ends, off := bends(fixes, tripLegs)
	total := w.points[len(w.points)-1].walkS
	var list []TripLeg
	for i := 1; i < len(ends); i++ {
		from, to := w.points[ends[i-1]], w.points[ends[i]]
		share, walkS := 1.0, 0.0
		if total > 0 {
			share, walkS = to.walkS/total, c.usualS*(to.walkS-from.walkS)/total
		}
		list = append(list, TripLeg{
			WayLeg: wayLeg(from.fix, to.fix, to.alongM-from.alongM, start),
			ClimbM: w.rise(to.climbM - from.climbM), DescentM: w.rise(to.descentM - from.descentM),
			WalkS: cli.Num(walkS), By: instant(c.at(c.usualS, share), zone),
		})
	}
	return list, cli.Len(off)
}
