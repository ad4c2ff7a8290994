package job

import (
	"cmp"
	"context"
	"io/fs"
	"math"
	"slices"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/terrain"
	"farhail/geo/track"
	"farhail/geo/walk"
	"farhail/signal/sweep"

	"github.com/paulmach/orb"
)

// Options say what to do with a plan.
type Options struct {
	Program  string         // version line of the program
	Zone     *time.Location // that times are printed in; nil = the plan's
	Words    cli.Words      // that text for people is written in; the result itself stays SI
	Parts    Parts          // 0 = AllParts
	Exact    bool           // placement by going through all combinations
	WithName bool           // the result holds the plan's person block
	Found    *orb.Point     // where the traveller was found, to score the likelihood; nil
	Law      string         // of coverage, beside the chances of what was searched; one of SweepLaws, "" = the first

	then func(context.Context, *run) error // when the parts are done; nil
}

// Parts says which parts of a job to do.
type Parts uint

// The parts of a job.
const (
	Sights Parts = 1 << iota
	Reckoning
	Reaching
	Placing
	Chances
	Sweeping
	Mapping
	AllParts = Sights | Reckoning | Reaching | Placing | Chances | Sweeping | Mapping
)

// A run is one job under way.
type run struct {
	fsys   fs.FS
	plan   *plan.Plan
	exact  bool
	found  *orb.Point
	result *Result

	travelled []track.Track // of the traveller
	parties   [][]track.Track
	flights   [][]track.Track // none for an aircraft without a way
	trip      []track.Track   // that is meant
	dangers   []Shape         // of the plan's hazards

	searchedTracks [][][]trackFile // of operations, by party
	law            sweep.Law

	seers   []seer
	local   *earth.Local
	terrain *terrain.Terrain
	heights *grid.Heights // nil without terrain
	cover   *Cover        // nil where it is not known
	screen  []float32     // that sight lines must pass over, nil for the heights
	watch   *watch
	routes  map[string][]track.Track // of placements, by file
	looks   map[lookKey]*SightResult
	foot    *footing // once somebody has walked over the terrain
	shown   []shown  // on the map
}

// Run does a plan: all it can, with what it left out listed in the result.
// Files are opened in fsys. The error is that of a file that cannot be read, of
// a plan that spans more than 300 km, or the context's.
func Run(ctx context.Context, fsys fs.FS, p *plan.Plan, o Options) (*Result, error) {
	if o.Parts == 0 {
		o.Parts = AllParts
	}
	if o.Parts&Placing != 0 && asksForLikely(p) {
		o.Parts |= Chances
		if len(p.Searched)+len(p.NotSeen) > 0 {
			o.Parts |= Sweeping // which updates it
		}
	}
	if o.Parts&Sweeping != 0 {
		o.Parts |= Chances // which it updates
	}
	r := &run{fsys: fsys, plan: p, exact: o.Exact, found: o.Found, law: sweep.Law(cmp.Or(o.Law, SweepLaws()[0])), looks: map[lookKey]*SightResult{}}
	r.result = &Result{
		Program: o.Program, Plan: planInfo(p, o.Zone, o.Words), Starts: []Start{}, Sky: []SkyResult{}, Sight: []Sighting{}, Place: []Place{},
		LeftOut: []string{}, Notes: []cli.Note{}, Files: []string{},
	}
	if o.WithName {
		r.result.Person = person(p.Person)
	}
	r.starts()
	r.readSeers()
	steps := []struct {
		part Parts
		do   func(context.Context) error
	}{
		{AllParts, r.readTravelled},
		{Reckoning | Placing | Sights | Chances, r.reckon},
		{AllParts, r.loadTerrain},
		{AllParts, r.compass},
		{AllParts, r.readWatch},
		{Sights, r.skies},
		{Sights, r.sights},
		{Reaching, r.rings},
		{Reaching, r.tripSheet},
		{Chances, r.chances},
		{Sweeping, r.sweeps},
		{Placing, r.placements},
		{Mapping, r.timetable},
		{Mapping, r.mapGround},
		{Mapping, r.mapMargins},
	}
	for _, s := range steps {
		if s.part&o.Parts == 0 {
			continue
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := s.do(ctx); err != nil {
			return nil, err
		}
	}
	r.result.Looking = r.watch.looking
	r.passHazards()
	if o.then != nil {
		if err := o.then(ctx, r); err != nil {
			return nil, err
		}
	}
	return r.result, nil
}

func (r *run) starts() {
	for _, s := range r.plan.Starts {
		r.result.Starts = append(r.result.Starts, Start{
			Name: s.Name, Kind: s.Kind, Lat: cli.Deg(s.Point.Lat()), Lon: cli.Deg(s.Point.Lon()),
			Radius95M: cli.Len(s.Radius95M), Time: instant(s.Time, r.result.Plan.location),
			Source: s.Source, SupersededBy: s.SupersededBy, Point: s.Point,
		})
	}
}

// readTravelled reads the tracks of the traveller and of the parties, so that
// the terrain can be cut to what the plan needs.
func (r *run) readTravelled(context.Context) error {
	if name := r.plan.Traveller.Track; name != "" {
		tracks, err := r.readTracks(name)
		if err != nil {
			return err
		}
		r.travelled = tracks
	}
	if err := r.readTrip(); err != nil {
		return err
	}
	if err := r.readHazards(); err != nil {
		return err
	}
	for _, p := range r.plan.Looking.Parties {
		tracks, err := r.readTracks(p.File())
		if err != nil {
			return err
		}
		r.parties = append(r.parties, tracks)
	}
	if err := r.readRoutes(); err != nil {
		return err
	}
	if err := r.readSearched(); err != nil {
		return err
	}
	return r.readFlights()
}

// A Ground is the terrain that a result rests on.
type Ground struct {
	Files      []string `json:"files"`
	Kind       string   `json:"kind"`
	Surface    string   `json:"surface"` // bare earth, surface or unknown
	Datum      string   `json:"datum"`   // of the heights
	Columns    int      `json:"columns"`
	Rows       int      `json:"rows"`
	CellEastM  cli.Len  `json:"cell_east_m"`
	CellNorthM cli.Len  `json:"cell_north_m"`
	Unknown    int      `json:"unknown"` // cells without a height
	Cover      string   `json:"cover"`
	LandCover  *Cover   `json:"land_cover"` // null where no file tells it
	Changes    *Changed `json:"changes"`    // null where nothing was filled or set
}

// bareGround says what the results leave out where no land cover is read.
const bareGround = "bare ground, trees not counted"

// loadTerrain reads the terrain around all positions of the plan.
func (r *run) loadTerrain(ctx context.Context) error {
	if err := r.checkSpan(); err != nil {
		return err
	}
	box, ok := r.box()
	if ok {
		r.local = earth.NewLocal(box.Center())
	}
	switch {
	case len(r.plan.Terrain) == 0:
		r.leaveOut("everything over the ground: the plan names no terrain")
		return nil
	case !ok:
		r.leaveOut("everything over the ground: the plan gives no position")
		return nil
	}
	var points []orb.Point
	for _, s := range r.spots() {
		points = append(points, s.Point)
	}
	t, err := LoadTerrain(ctx, r.fsys, r.plan.Terrain, r.widen(box), points...)
	if err != nil {
		return err
	}
	changed, err := GroundChanges{FillVoids: r.plan.FillVoids, Spots: r.plan.SpotHeights}.Apply(r.fsys, t)
	if err != nil {
		return err
	}
	r.terrain, r.heights = t, &t.Heights
	for _, n := range GroundNotes(t, r.spots()...) {
		r.note(n)
	}
	east, north := t.Metres(t.Rows / 2)
	r.result.Terrain = &Ground{
		Files: t.Info.Files, Kind: t.Info.Kind, Surface: t.Info.Surface, Datum: t.Info.Datum,
		Columns: t.Cols, Rows: t.Rows, CellEastM: cli.Len(east), CellNorthM: cli.Len(north),
		Unknown: t.Info.Voids, Cover: coverOf(t.Info), Changes: changed,
	}
	return r.loadCover(t)
}

// box returns the box around every position of the plan.
func (r *run) box() (orb.Bound, bool) {
	var points []orb.Point
	for _, s := range r.plan.Starts {
		points = append(points, s.Point)
	}
	for _, l := range r.plan.Looking.Lookouts {
		points = append(points, l.Point)
	}
	for _, c := range r.plan.Candidates() {
		points = append(points, c.Point)
	}
	if r.result.Reckon != nil {
		points = append(points, r.result.Reckon.Path...)
	}
	for _, tracks := range slices.Concat(r.parties, r.flights, [][]track.Track{r.travelled, r.trip}) {
		for _, t := range tracks {
			if b := t.Bound(); !b.IsEmpty() {
				points = append(points, b.Min, b.Max)
			}
		}
	}
	for _, a := range r.plan.Placements {
		for _, t := range r.routes[a.Route] {
			if b := t.Bound(); !b.IsEmpty() {
				points = append(points, b.Min, b.Max)
			}
		}
	}
	points = append(points, r.searchedPoints()...)
	if len(points) == 0 {
		return orb.Bound{}, false
	}
	return orb.MultiPoint(points).Bound(), true
}

// widen adds to a box the way that the fastest walker can go from anywhere in a
// start's error, as far as signals are looked for, or the map of the likelihood.
func (r *run) widen(b orb.Bound) orb.Bound {
	margin := math.Max(viewLimitM, r.plan.Likelihood.WithinM)
	if rule := r.rule(); len(r.plan.Traveller.After) > 0 {
		fastest := max(rule.Top(), rule.OnTrail().Top())
		margin = max(margin, fastest*walk.RingSeconds(r.plan.Traveller.After, walkers(r.plan.Traveller.Walkers)))
	}
	unsure := 0.0
	for _, s := range r.plan.Starts {
		unsure = max(unsure, s.Radius95M)
	}
	margin += unsure
	east, north := earth.MetresPerDegree(math.Min(89, math.Max(math.Abs(b.Min.Lat()), math.Abs(b.Max.Lat()))))
	return orb.Bound{
		Min: orb.Point{b.Min.Lon() - margin/east, max(-90, b.Min.Lat()-margin/north)},
		Max: orb.Point{b.Max.Lon() + margin/east, min(90, b.Max.Lat()+margin/north)},
	}
}

// leaveOut keeps what was left out, once.
func (r *run) leaveOut(text string) {
	if !slices.Contains(r.result.LeftOut, text) {
		r.result.LeftOut = append(r.result.LeftOut, text)
	}
}

func (r *run) warn(text, hint string) {
	n := cli.Note{Severity: cli.SeverityWarning, Text: text}
	if hint != "" {
		n.Hint = &hint
	}
	r.note(n)
}

// note keeps a note, once.
func (r *run) note(n cli.Note) {
	for _, old := range r.result.Notes {
		if old.Text == n.Text {
			return
		}
	}
	r.result.Notes = append(r.result.Notes, n)
}

// clock prints a time for a message.
func (r *run) clock(t time.Time) string {
	return t.In(r.result.Plan.location).Format("02 Jan 2006 15:04")
}

var everyHundred = track.Spacing{StepM: 100}
