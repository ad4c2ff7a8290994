package job

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/grid"
	"farhail/geo/prob"
	"farhail/signal/drill"
)

// A DrillAsk asks for a drill to be set.
type DrillAsk struct {
	Seed uint64
	// Initials of who has looked where water is, and of who has seen the ground; "":
	// those of the plan.
	WaterKnown, GroundSeen string
}

// A DrillSet is a drill with its answer: it is for the instructor alone. What the
// participants may know of it is in [DrillSet.Told].
type DrillSet struct {
	Form    int    `json:"form"` // of this file
	Program string `json:"program"`
	Plan    string `json:"plan"`      // path of the plan from here
	Hash    string `json:"plan_hash"` // first 8 hexadecimal digits of its SHA-256
	Seed    uint64 `json:"seed"`
	DrillTold
	Hidden   []DrillHidden   `json:"hidden"`
	Ground   DrillGround     `json:"ground"`
	Forecast []DrillForecast `json:"forecast"`
}

// DrillTold is what everybody may know of a drill.
type DrillTold struct {
	Objective     string        `json:"objective"`
	Briefing      string        `json:"briefing"`
	Begins        time.Time     `json:"begins"`
	Ends          time.Time     `json:"ends"`
	EmergencyWord string        `json:"emergency_word"` // "" for one that is still to be agreed
	SafetyOfficer string        `json:"safety_officer"`
	Tell          []string      `json:"tell"`
	Safety        []string      `json:"safety"`
	Sunrise       *time.Time    `json:"sunrise"` // of the day on which it begins
	Sunset        *time.Time    `json:"sunset"`
	Count         int           `json:"hidden_count"`
	Signals       []plan.Signal `json:"-"` // that are shown
}

// A DrillHidden is somebody or something, and where.
type DrillHidden struct {
	Name  string   `json:"name"`
	Alone bool     `json:"alone"` // nobody is there
	Shows []string `json:"shows"`
	LatLon
	GroundM cli.Len `json:"ground_m"`
	WalkS   cli.Num `json:"walk_s"` // from the start, by the slow walker
}

// A DrillGround is where somebody could be hidden.
type DrillGround struct {
	From       string   `json:"from"`       // what places are drawn from
	Told       bool     `json:"likelihood"` // that is the plan's likelihood
	Share      cli.Num  `json:"share"`      // of that, that lies where somebody may be hidden
	AreaM2     cli.Area `json:"area_m2"`
	CellEastM  cli.Len  `json:"cell_east_m"`
	CellNorthM cli.Len  `json:"cell_north_m"`
	DaylightS  cli.Num  `json:"daylight_s"` // for the way there: half of what is left
	Water      string   `json:"water"`      // who or what tells of it
	GroundSeen string   `json:"ground_seen"`
	Checkable  bool     `json:"cliffs_checkable"`
	// Cells refused, by the first reason that holds.
	Voids      int `json:"refused_no_data"`
	Closed     int `json:"refused_closed"`
	Wet        int `json:"refused_water"`
	Cliffs     int `json:"refused_cliff"`
	Steep      int `json:"refused_steep"`
	OutOfReach int `json:"refused_reach"`
}

// drillForm is the form of the answer's file.
const drillForm = 1

// errDrill is why a drill cannot be set.
var errDrill = errors.New("no drill can be set")

// A hiding is a drill as it is being set.
type hiding struct {
	run     *run
	ask     DrillAsk
	plan    plan.Drill
	start   plan.Start
	surface *prob.Surface
	ground  *drill.Ground
	heights *grid.Heights // under the surface
	seconds []float32     // to walk there from the start
	draws   *drill.Hiding
	out     *DrillSet
}

// SetDrill hides what a plan says, and returns the drill beside the plan's result, which
// holds no answer.
func SetDrill(ctx context.Context, fsys fs.FS, p *plan.Plan, o Options, ask DrillAsk) (*Result, *DrillSet, error) {
	h := &hiding{ask: ask, plan: p.Drill}
	o.Parts, o.WithName = Chances, false
	o.then = func(ctx context.Context, r *run) error {
		h.run = r
		return h.set(ctx)
	}
	result, err := Run(ctx, fsys, p, o)
	return result, h.out, err
}

// ScoreDrill works out how a drill went by its answer and by what came back.
func ScoreDrill(ctx context.Context, fsys fs.FS, p *plan.Plan, o Options, answer *DrillSet, papers DrillPapers) (*Result, *DrillScore, error) {
	var score *DrillScore
	o.Parts, o.WithName = Chances, false
	o.then = func(ctx context.Context, r *run) (err error) {
		score, err = r.scoreDrill(ctx, answer, papers)
		return err
	}
	result, err := Run(ctx, fsys, p, o)
	return result, score, err
}

// set hides what the plan says.
func (h *hiding) set(ctx context.Context) error {
	r := h.run
	if err := h.prepare(); err != nil {
		return err
	}
	if err := r.drillSurface(ctx, h.start, &h.out.Ground); err != nil {
		return err
	}
	h.surface = r.result.Chance.Surface
	if err := h.allow(ctx); err != nil {
		return err
	}
	var err error
	h.draws, err = drill.NewHiding(h.surface, h.ground)
	if errors.Is(err, drill.ErrNowhere) {
		return cli.WithHint(fmt.Errorf("%w: %s", errDrill, h.nowhere()), "choose another start, a longer day or a likelihood over gentler ground")
	}
	if err != nil {
		return err
	}
	h.out.Ground.Share = cli.Num(h.draws.Share)
	h.hide()
	h.out.Forecast, err = r.forecasts(ctx, h)
	return err
}

// prepare checks what the plan says, and copies what is told.
func (h *hiding) prepare() error {
	r, d := h.run, h.plan
	var ok bool
	h.start, ok = ringStart(r.plan.Starts)
	switch {
	case d.Line == 0:
		return cli.WithHint(fmt.Errorf("%w: the plan has no drill: block", errDrill), "farhail new drill writes a plan that has one")
	case !ok:
		return cli.WithHint(fmt.Errorf("%w: the plan has no start", errDrill), "add starts: with the place where the parties meet")
	case r.heights == nil:
		return cli.WithHint(fmt.Errorf("%w: without terrain nobody knows what is steep", errDrill), "add terrain: to the plan")
	case !r.groundDecides(h.start.Point):
		return cli.WithHint(fmt.Errorf("%w: the terrain has no height at the start %s", errDrill, h.start.Name), "give terrain that holds the start")
	}
	hidden := d.Hide
	if len(hidden) == 0 {
		hidden = r.plan.UsualHidden()
	}
	h.plan.Hide = hidden
	zone := r.result.Plan.location
	h.out = &DrillSet{
		Form: drillForm, Program: r.result.Program, Plan: r.plan.File, Hash: r.plan.Hash, Seed: h.ask.Seed, Hidden: []DrillHidden{}, Forecast: []DrillForecast{},
		DrillTold: DrillTold{
			Objective: d.Objective, Briefing: d.Briefing, Begins: d.Begins.In(zone), Ends: d.Ends.In(zone),
			EmergencyWord: d.EmergencyWord, SafetyOfficer: d.SafetyOfficer, Tell: d.Tell, Safety: append([]string{}, d.Safety...), Count: len(hidden),
		},
	}
	if len(d.Tell) == 0 {
		h.out.Tell = plan.UsualTell
	}
	shown := map[string]bool{}
	for _, one := range hidden {
		for _, name := range one.Shows {
			shown[name] = true
		}
	}
	for _, s := range r.plan.Traveller.Signals {
		if shown[s.Name] {
			h.out.Signals = append(h.out.Signals, s)
		}
	}
	return nil
}

// drillSurface sees to it that the result has a surface: that of the plan's
// likelihood, or else all ground alike, within reach where the plan has times.
func (r *run) drillSurface(ctx context.Context, start plan.Start, told *DrillGround) error {
	if r.plan.Likelihood.Line > 0 {
		told.From, told.Told = "the plan's likelihood", true
		if r.result.Chance != nil {
			return nil
		}
		return r.chances(ctx)
	}
	p := *r.plan
	view := plan.View{Name: "all alike", Weight: 1, By: "drill", From: "nothing is known", Kind: plan.ViewEven, DirectionDeg: math.NaN(), GoneM: math.NaN(), WanderS: math.NaN()}
	l := plan.Likelihood{Line: 1, By: "drill", WithinM: drillWithinM, LeastM2: plan.DefaultLeastM2, MostM2: plan.DefaultMostM2}
	told.From = "all ground alike within " + Distance(drillWithinM) + " of the start"
	if after := p.Traveller.After; len(after) > 0 {
		longest := after[len(after)-1]
		l.WithinM = min(longest*p.Traveller.Walkers.Fast/r.rule().MapPace(0), plan.DefaultMapWithinM)
		l.At = start.Time.Add(seconds(longest))
		view.Reach = !start.Time.IsZero()
		told.From = "all ground alike that can be reached in " + Duration(longest)
	}
	l.Views = []plan.View{view}
	p.Likelihood, r.plan = l, &p
	r.warn("the plan has no likelihood: places are drawn from "+told.From, "add likelihood: to draw them where people go")
	return r.chances(ctx)
}

// drillWithinM is how far around the start somebody is hidden where nothing else
// tells [m]: own choice, an hour's walk.
const drillWithinM = 3000

// hide draws a place for each that is hidden.
func (h *hiding) hide() {
	for n, one := range h.plan.Hide {
		p := h.draws.Draw(h.ask.Seed, n)
		cell := p.Row*h.ground.Cols + p.Col
		h.out.Hidden = append(h.out.Hidden, DrillHidden{
			Name: one.Name, Alone: one.Alone, Shows: append([]string{}, one.Shows...), LatLon: latLon(p.Point),
			GroundM: cli.Len(h.run.heights.Sample(p.Point)), WalkS: cli.Num(h.seconds[cell]),
		})
	}
}
