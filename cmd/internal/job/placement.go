package job

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/los"
	"farhail/signal/place"

	"github.com/paulmach/orb"
	"golang.org/x/sync/errgroup"
)

// A Place is where one signal should stand at one hour.
type Place struct {
	Signal      string      `json:"signal"`
	At          *time.Time  `json:"at"`
	NoticedM    cli.Len     `json:"noticed_m"`  // by light and air alone, by the first of those who look; the ground then decides
	NoticedBy   []PlaceSeer `json:"noticed_by"` // by each kind of those who look
	Candidates  int         `json:"candidates"`
	SpacingM    cli.Len     `json:"spacing_m"` // of candidates on a grid, null where they were given
	Watchers    int         `json:"watchers"`
	Sites       []Site      `json:"sites"`
	Covered     cli.Num     `json:"covered"` // person-seconds from which at least one site is seen
	Bound       cli.Num     `json:"bound"`   // no choice of as many sites can reach more
	Gap         cli.Num     `json:"gap"`     // 1 - covered / bound
	Total       cli.Num     `json:"total"`   // person-seconds of all who look
	Exact       bool        `json:"exact"`
	SeenUnknown int         `json:"seen_unknown"` // sight lines that voids leave open, counted as not seen
}

// A Site is one chosen place.
type Site struct {
	Name       string           `json:"name"`
	Lat        cli.Deg          `json:"lat"`
	Lon        cli.Deg          `json:"lon"`
	GroundM    cli.Len          `json:"ground_m"`     // height of the ground by the terrain
	Gain       cli.Num          `json:"gain"`         // person-seconds it adds to the sites before it
	SeenShare  cli.Num          `json:"seen_share"`   // of all person-seconds, by this site alone
	SeenAreaM2 cli.Area         `json:"seen_area_m2"` // ground from which it is noticed
	Point      orb.Point        `json:"-"`
	Seen       orb.MultiPolygon `json:"-"`
}

// A candidate is a place where a signal may stand.
type candidate struct {
	name     string
	point    orb.Point
	col, row float64
	x, y     float64 // in the plan's local frame [m]
}

// placements chooses sites for one signal at each hour of the plan.
func (r *run) placements(ctx context.Context) error {
	for _, ask := range r.plan.Placements {
		r.asked = ask
		if err := r.placementsOf(ctx); err != nil {
			return err
		}
	}
	return nil
}

func (r *run) placementsOf(ctx context.Context) error {
	switch {
	case r.heights == nil:
		r.leaveOut("placement: no terrain")
		return nil
	case len(r.watch.watchers) == 0:
		r.leaveOut("placement: nobody looks (looking: parties: or lookouts:)")
		return nil
	}
	sites, spacingM, err := r.candidates()
	if err != nil {
		return err
	}
	if len(sites) == 0 {
		r.leaveOut("placement: no candidate site lies on the terrain")
		return nil
	}
	for _, hour := range r.plan.Hours {
		signal, ok := r.signalAt(hour.Time)
		if !ok {
			r.leaveOut(fmt.Sprintf("placement at %s: no signal burns that can be placed", r.clock(hour.Time)))
			continue
		}
		p, err := r.placement(ctx, signal, hour.Time, sites)
		if err != nil {
			return err
		}
		p.SpacingM = cli.Len(spacingM)
		r.result.Place = append(r.result.Place, p)
	}
	r.noteSites()
	return nil
}

// signalAt returns the signal that is placed: the one the plan names, or else
// the first that burns at that time. Flags, fires and
// smoke are taken to show always; a sound is not seen, a mirror's light goes by hand
// where the sun allows it, a person goes where they like and a symbol is read from
// above, so none of these is placed.
func (r *run) signalAt(t time.Time) (plan.Signal, bool) {
	for _, s := range r.plan.Traveller.Signals {
		if name := r.asked.Signal; name != "" && name != s.Name {
			continue
		}
		if s.Heard() || s.Kind == plan.Mirror || s.Kind == plan.Figure || s.Kind == plan.Symbol {
			continue
		}
		if from, until := burning(s); !t.Before(from) && t.Before(until) {
			return s, true
		}
	}
	return plan.Signal{}, false
}

func (r *run) placement(ctx context.Context, s plan.Signal, at time.Time, sites []candidate) (Place, error) {
	noticed, told, err := r.noticedBy(s, at)
	if err != nil {
		return Place{}, err
	}
	problem, unknown, err := r.seenBy(ctx, s, noticed, sites)
	if err != nil {
		return Place{}, err
	}
	choose := place.Greedy
	if r.exact {
		choose = place.Exact
	}
	choice, err := choose(problem, r.asked.Count)
	if err != nil {
		return Place{}, fmt.Errorf("placement of %s: %w", s.Name, err)
	}
	p := Place{
		Signal: s.Name, At: instant(at, r.result.Plan.location), NoticedM: cli.Len(noticed[0]), NoticedBy: told,
		Candidates: len(sites), Watchers: len(r.watch.watchers), Sites: []Site{},
		Covered: cli.Num(choice.Covered), Bound: cli.Num(choice.Bound), Gap: cli.Num(choice.Gap()),
		Total: cli.Num(choice.Total), Exact: r.exact, SeenUnknown: unknown,
	}
	for i, pick := range choice.Picks {
		site, err := r.site(ctx, s, sites[pick.Candidate], noticed[0])
		if err != nil {
			return Place{}, err
		}
		if site.Name == "" {
			site.Name = fmt.Sprintf("site %d", i+1)
		}
		site.Gain = cli.Num(pick.Gain)
		if choice.Total > 0 {
			site.SeenShare = cli.Num(problem.Reaches(pick.Candidate) / choice.Total)
		}
		p.Sites = append(p.Sites, site)
	}
	return p, nil
}

// seenBy finds for every candidate the watchers that would notice the signal
// there: near enough, within the beam, over the ground, and for as much of their
// time as the lamp burns.
func (r *run) seenBy(ctx context.Context, s plan.Signal, noticed []float64, sites []candidate) (place.Problem, int, error) {
	from, until := burning(s)
	problem := place.Problem{Weights: make([]float64, len(r.watch.watchers)), Sets: make([]place.Set, len(sites))}
	eyes := make([]candidate, len(r.watch.watchers))
	for i, w := range r.watch.watchers {
		problem.Weights[i] = w.weight * w.during(from, until)
		eye, err := r.put("", w.point)
		if err != nil {
			return problem, 0, err
		}
		eyes[i] = eye
	}
	if from != always[0] && !r.watch.clocked {
		r.warn(fmt.Sprintf("%s burns for a time, but not everybody who looks has a clock: those without count as if it burnt", s.Name), "give routes a start: and lookouts from: and until:")
	}
	unknown := make([]int, len(sites))
	workers, ctx := errgroup.WithContext(ctx)
	workers.SetLimit(runtime.GOMAXPROCS(0))
	for i := range sites {
		workers.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			var err error
			problem.Sets[i], unknown[i], err = r.seenFrom(s, noticed, sites[i], eyes)
			return err
		})
	}
	err := workers.Wait()
	sum := 0
	for _, n := range unknown {
		sum += n
	}
	return problem, sum, err
}

// seenFrom returns which of the eyes notice the signal at one candidate.
func (r *run) seenFrom(s plan.Signal, noticed []float64, at candidate, eyes []candidate) (place.Set, int, error) {
	seen, unknown := place.NewSet(len(eyes)), 0
	stands := los.Station{Col: at.col, Row: at.row, HeightM: r.standsM(s)}
	lamp, err := los.NewEye(r.heights, stands, r.sightLines())
	if err != nil {
		return seen, 0, err
	}
	for i, eye := range eyes {
		dx, dy := eye.x-at.x, eye.y-at.y
		d := math.Hypot(dx, dy)
		by := r.watch.watchers[i].by
		eyeM := r.seers[by].eyeM
		if d > r.beamOver(s, stands, eyeM).reachM(noticed[by], eye.col, eye.row, dx, dy) {
			continue
		}
		switch lamp.State(los.Station{Col: eye.col, Row: eye.row, HeightM: eyeM}) {
		case los.Seen:
			seen.Add(i)
		case los.Unknown:
			unknown++
		}
	}
	return seen, unknown, nil
}

// site describes a chosen site and the ground it is noticed from.
func (r *run) site(ctx context.Context, s plan.Signal, c candidate, noticedM float64) (Site, error) {
	site := Site{
		Name: c.name, Lat: cli.Deg(c.point.Lat()), Lon: cli.Deg(c.point.Lon()), Point: c.point,
		GroundM: cli.Len(r.heights.SampleCell(c.col, c.row)),
	}
	if noticedM <= 0 {
		return site, nil
	}
	lamp := los.Station{Col: c.col, Row: c.row, HeightM: r.standsM(s)}
	area, err := los.SeenArea(ctx, r.heights, lamp, r.seers[0].eyeM, noticedM, r.sightLines())
	if err != nil {
		return site, err
	}
	r.beamOver(s, lamp, r.seers[0].eyeM).only(area, noticedM)
	site.SeenAreaM2 = cli.Area(area.AreaM2)
	site.Seen = outline(area)
	return site, nil
}

// outline returns the shape of the seen cells of an area.
func outline(a *los.Area) orb.MultiPolygon {
	v := make([]float32, len(a.State))
	for i, s := range a.State {
		if s != los.Seen {
			v[i] = 1
		}
	}
	return grid.Outline(a.Frame, v, 0.5)
}

func (r *run) sightLines() los.Options {
	return los.Options{Refraction: r.plan.Weather.Refraction, EarthRadiusM: earth.MeanRadiusM, Screen: r.screen}
}
