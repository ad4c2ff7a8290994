package job

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/los"
	"farhail/geo/prob"
	"farhail/geo/track"
	"farhail/signal/drill"
	"farhail/signal/sweep"

	"github.com/paulmach/orb"
)

// DrillPapers are what comes back from a drill: paths, none where there are none.
type DrillPapers struct {
	Tracks    []string // GPX, a party each
	Logs      []string // leg logs
	Sightings string   // CSV of reports
	Areas     string   // GeoJSON of the group's areas
}

// A DrillScore is how a drill went. What stands at the top is of the first that was
// hidden.
type DrillScore struct {
	FoundS           cli.Num `json:"found_s"` // from the beginning; null: not found
	ClosestM         cli.Len `json:"closest_m"`
	ChanceOfSighting cli.Num `json:"chance_of_sighting"` // of the search as walked and watched, where it was hidden
	Coverage         cli.Num `json:"coverage"`           // of the ground that holds nine tenths of the surface
	POD              cli.Num `json:"pod"`                // over all places by the surface, as it is printed
	RankScore        cli.Num `json:"rank_score"`         // of the group's areas

	DrillTold
	PODUncapped cli.Num         `json:"pod_uncapped"`
	PODError    cli.Num         `json:"pod_standard_error"` // it is a mean over drawn places
	Places      int             `json:"pod_places"`
	GroundM2    cli.Area        `json:"coverage_area_m2"`
	From        string          `json:"surface_from"`
	Hidden      []DrillFinding  `json:"hidden"`
	Parties     []DrillParty    `json:"parties"`
	Reports     []DrillReported `json:"reports"`
	Areas       int             `json:"areas"`
	Logs        []DrillLog      `json:"logs"`
	Lessons     []string        `json:"lessons"`
	// LessonsOf is the one hidden whose figures choose the lessons: the first that was
	// not found, else the first.
	LessonsOf string `json:"lessons_of"`
}

// A DrillFinding is how it went with one thing that was hidden.
type DrillFinding struct {
	DrillHidden
	FoundS           cli.Num      `json:"found_s"`
	FoundBy          string       `json:"found_by"`
	ClosestM         cli.Len      `json:"closest_m"` // null without tracks
	ClosestBy        string       `json:"closest_by"`
	ChanceOfSighting cli.Num      `json:"chance_of_sighting"` // null without tracks
	RankScore        cli.Num      `json:"rank_score"`
	Passes           []DrillPass  `json:"passes"`
	Watches          []DrillWatch `json:"watches"`
}

// A DrillWatch is what one of the plan's lookouts had of it, as the plan has them watch:
// nothing tells whether they did.
type DrillWatch struct {
	Lookout   string     `json:"lookout"`
	People    int        `json:"people"`
	From      *time.Time `json:"from"`
	Until     *time.Time `json:"until"` // it was found, or they ceased
	DistanceM cli.Len    `json:"distance_m"`
	InSight   bool       `json:"in_sight"` // the terrain leaves the line clear
	Shows     string     `json:"shows"`    // what of it they would have noticed best; "" for nothing
	Chance    cli.Num    `json:"chance"`   // that they should have noticed
}

// A DrillPass is how one party passed it.
type DrillPass struct {
	Party     string     `json:"party"`
	ClosestM  cli.Len    `json:"closest_m"`
	At        *time.Time `json:"at"`         // when that was; null without times
	Shows     string     `json:"shows"`      // what of it the party would have seen best
	WithinM   cli.Len    `json:"within_m"`   // how near half of all passes notice it
	InSightM  cli.Len    `json:"in_sight_m"` // length of track that near, with a clear line
	FirstSeen *time.Time `json:"first_in_sight"`
	Chance    cli.Num    `json:"chance"` // that they should have noticed
}

// BestPass is the largest chance of a party that passed within sight, NaN without any.
func (h DrillFinding) BestPass() float64 {
	best := math.NaN()
	for _, p := range h.Passes {
		if c := float64(p.Chance); p.InSightM > 0 && !(c <= best) {
			best = c
		}
	}
	return best
}

// BestWatch is the largest chance of a lookout that had it in sight, NaN without any.
func (h DrillFinding) BestWatch() float64 {
	best := math.NaN()
	for _, w := range h.Watches {
		if c := float64(w.Chance); w.InSight && !(c <= best) {
			best = c
		}
	}
	return best
}

// A DrillParty is one track that was handed in.
type DrillParty struct {
	Name     string     `json:"name"`
	File     string     `json:"file"`
	People   int        `json:"people"`
	SpacingM cli.Len    `json:"spacing_m"` // null in file
	Known    bool       `json:"in_plan"`   // the plan has a party of that name
	LengthM  cli.Len    `json:"length_m"`  // as far as it counts as searching
	From     *time.Time `json:"from"`
	Until    *time.Time `json:"until"`
	SpeedMS  cli.Num    `json:"speed_m_s"`
	Cuts     []TrackCut `json:"cuts"`
}

// A DrillReported is a report with what it was of.
type DrillReported struct {
	Who  string     `json:"who"`
	What string     `json:"what"`
	At   *time.Time `json:"at"`
	LatLon
	Nearest string  `json:"nearest"` // of what was hidden
	OffM    cli.Len `json:"off_m"`
	Counts  bool    `json:"counts"` // near enough, in time, and not of something else
}

// A DrillLog is a log held against the track of the same walk.
type DrillLog struct {
	Track string `json:"track"`
	*ScoredLog
}

// A scoring is a drill as it is being scored.
type scoring struct {
	run    *run
	answer *DrillSet
	w      *sweeping
	out    *DrillScore
	areas  *prob.Surface // the group's; nil without
	// reports by what was hidden, those that name something else left out.
	reports [][]drill.Report
	tracks  []drillTrack
	posts   []*drillPost
}

// A drillTrack is a party with the ways it handed in.
type drillTrack struct {
	party *drillParty
	raw   []track.Track // without jumps
	told  *DrillParty
}

// approach is how long before a find its party's way does not count: they walked up
// to what they had seen. Own choice.
const approach = 5 * time.Minute

// podPlaces is how many places the POD is a mean over.
const podPlaces = 2000

// scoreDrill works out how a drill went.
func (r *run) scoreDrill(ctx context.Context, answer *DrillSet, papers DrillPapers) (*DrillScore, error) {
	start, ok := ringStart(r.plan.Starts)
	if !ok || r.heights == nil {
		return nil, cli.WithHint(fmt.Errorf("the plan has lost its start or its terrain since the drill was set"), "give the plan as it was, with --plan")
	}
	var ground DrillGround
	if err := r.drillSurface(ctx, start, &ground); err != nil {
		return nil, err
	}
	w, err := r.newSweeping(r.result.Chance)
	if err != nil {
		return nil, err
	}
	nan := cli.Num(math.NaN())
	s := &scoring{run: r, answer: answer, w: w, out: &DrillScore{
		FoundS: nan, ClosestM: cli.Len(nan), ChanceOfSighting: nan, Coverage: nan, POD: nan, PODUncapped: nan, PODError: nan, RankScore: nan, GroundM2: cli.Area(nan),
		DrillTold: answer.DrillTold, From: ground.From, Hidden: []DrillFinding{}, Parties: []DrillParty{}, Reports: []DrillReported{}, Logs: []DrillLog{}, Lessons: []string{},
	}}
	s.readPosts()
	for _, step := range []func(DrillPapers) error{s.readTracks, s.readReports, s.readAreas, s.readLogs} {
		if err := step(papers); err != nil {
			return nil, err
		}
	}
	for i := range answer.Hidden {
		if err := s.finding(ctx, i); err != nil {
			return nil, err
		}
	}
	if err := s.search(ctx); err != nil {
		return nil, err
	}
	s.sumUp()
	return s.out, nil
}

// readPosts takes the plan's lookouts for those of the drill.
func (s *scoring) readPosts() {
	var outside []string
	s.posts, outside = s.run.planPosts(s.answer.Begins, s.answer.Ends)
	if len(outside) > 0 {
		s.run.warn("lookouts without a time within the drill, taken to have watched all through it: "+strings.Join(outside, ", "), "give them times within the drill, or take them out of the plan")
	}
}

// readTracks reads the tracks, a file a party.
func (s *scoring) readTracks(papers DrillPapers) error {
	s.out.Parties = make([]DrillParty, len(papers.Tracks))
	ends := s.answer.Ends
	for i, name := range papers.Tracks {
		tracks, err := s.run.readTracks(name)
		if err != nil {
			return err
		}
		told := DrillParty{File: name, Name: stem(name), People: plan.DefaultPeople, SpacingM: cli.Len(math.NaN()), Cuts: []TrackCut{}}
		if len(tracks) > 0 && tracks[0].Name != "" {
			told.Name = tracks[0].Name
		}
		by := plan.SearchedBy{Name: told.Name, People: plan.DefaultPeople, Eyes: s.run.plan.Looking.Eyes}
		for _, p := range s.run.plan.Looking.Parties {
			if sameName(p.Name, told.Name) || sameName(p.Name, stem(name)) {
				by.Name, by.People, by.SpacingM, by.SpeedMS, by.Fatigued, by.Eyes = p.Name, p.People, p.SpacingM, p.SpeedMS, p.Fatigued, p.Eyes
				told.Known, told.Name, told.People = true, p.Name, p.People
				if p.SpacingM > 0 {
					told.SpacingM = cli.Len(p.SpacingM)
				}
			}
		}
		if !told.Known {
			s.run.warn(fmt.Sprintf("%s: the plan has no party %s: it counts as one person with the eyes of all", name, told.Name), "name the track or its file as the plan names the party")
		}
		one := drillTrack{party: &drillParty{by: by}, told: &s.out.Parties[i]}
		var cuts []TrackCut
		one.raw, one.party.tracks, cuts = trackFile{name, tracks}.cleaned(false)
		told.Cuts = append(told.Cuts, cuts...)
		s.clock(told, track.Summarise(one.party.tracks...))
		// Before the drill begins nobody searches, and nobody is hidden.
		one.raw, one.party.tracks = from(one.raw, s.answer.Begins), from(one.party.tracks, s.answer.Begins)
		(&drillSearch{}).add(one.party, ends)
		sum := track.Summarise(one.party.tracks...)
		zone := s.run.result.Plan.location
		told.LengthM, told.SpeedMS, told.From, told.Until = cli.Len(sum.LengthM), cli.Num(one.party.speedMS), instant(sum.First, zone), instant(sum.Last, zone)
		s.out.Parties[i] = told
		s.tracks = append(s.tracks, one)
	}
	return nil
}

// clock tells of a track whose times are not those of the drill.
func (s *scoring) clock(told DrillParty, sum track.Summary) {
	switch {
	case sum.First.IsZero():
		s.run.warn(told.File+": no times: nobody knows when they passed, and all of it counts", "record with times")
	case sum.First.After(s.answer.Ends) || sum.Last.Before(s.answer.Begins):
		s.run.warn(fmt.Sprintf("%s: recorded from %s on, outside of the drill", told.File, s.run.clock(sum.First)), "is it the track of this drill, and its clock right")
	case sum.First.Before(s.answer.Begins):
		s.run.warn(fmt.Sprintf("%s: the first %s, before the drill began, do not count", told.File, Duration(s.answer.Begins.Sub(sum.First).Seconds())), "")
	}
}

// stem returns a file's name without folder and ending.
func stem(name string) string {
	base := path.Base(filepath.ToSlash(name))
	return strings.TrimSuffix(base, path.Ext(base))
}

// sameName compares names as people write them in names of files.
func sameName(a, b string) bool {
	plain := func(s string) string {
		return strings.NewReplacer(" ", "", "-", "", "_", "").Replace(strings.ToLower(s))
	}
	return plain(a) == plain(b)
}

// readReports reads the reports, and tells what each is of.
func (s *scoring) readReports(papers DrillPapers) error {
	s.reports = make([][]drill.Report, len(s.answer.Hidden))
	if papers.Sightings == "" {
		return nil
	}
	f, err := s.run.fsys.Open(papers.Sightings)
	if err != nil {
		return cli.InputError(papers.Sightings, err)
	}
	defer f.Close()
	list, err := ReadReports(f, papers.Sightings, s.answer.Begins)
	if err != nil {
		return err
	}
	for _, one := range list {
		told := DrillReported{Who: one.Who, What: one.What, At: instant(one.At, s.run.result.Plan.location), LatLon: latLon(one.Point), OffM: cli.Len(math.Inf(1))}
		for i, h := range s.answer.Hidden {
			if d := earth.Distance(one.Point, h.Point()); cli.Len(d) < told.OffM {
				told.Nearest, told.OffM = h.Name, cli.Len(d)
			}
			if one.What == "" || !s.hides(one.What) || sameName(one.What, h.Name) {
				s.reports[i] = append(s.reports[i], drill.Report{Who: one.Who, At: one.At, Point: one.Point})
			}
		}
		told.Counts = told.OffM <= drill.FoundWithinM && !one.At.IsZero() && !one.At.Before(s.answer.Begins) &&
			(!s.hides(one.What) || sameName(one.What, told.Nearest))
		s.out.Reports = append(s.out.Reports, told)
	}
	return nil
}

// hides reports whether something of that name was hidden.
func (s *scoring) hides(name string) bool {
	return slices.ContainsFunc(s.answer.Hidden, func(h DrillHidden) bool { return sameName(name, h.Name) })
}

// finding works out how it went with one thing that was hidden.
func (s *scoring) finding(ctx context.Context, i int) error {
	h := s.answer.Hidden[i]
	search, err := s.searchFor(h)
	if err != nil {
		return err
	}
	search.fine = true
	targets, err := search.targets([]orb.Point{h.Point()})
	if err != nil {
		return fmt.Errorf("%s: %w", h.Name, err)
	}
	out := DrillFinding{DrillHidden: h, ChanceOfSighting: cli.Num(math.NaN()), Passes: []DrillPass{}, Watches: []DrillWatch{}}
	d := drill.Drill{Hidden: h.Point(), Start: s.answer.Begins, Reports: s.reports[i], Map: s.areas}
	end, moment := s.answer.Ends, s.answer.Ends
	if _, afterS, ok := drill.Found(d.Reports, d.Hidden, d.Start, drill.FoundWithinM); ok {
		end = d.Start.Add(seconds(afterS))
		moment = end.Add(-approach)
	}
	for n, t := range s.tracks {
		pass, told, err := s.pass(ctx, search, n, targets[0], h.Point(), end, moment)
		if err != nil {
			return err
		}
		if told.Party = t.told.Name; pass.Who != "" {
			d.Passes = append(d.Passes, pass)
			out.Passes = append(out.Passes, told)
		}
	}
	if len(s.tracks) > 0 {
		chance, err := search.chances(ctx, []orb.Point{h.Point()}, []time.Time{moment})
		if err != nil {
			return err
		}
		out.ChanceOfSighting = cli.Num(chance[0][0])
	}
	for _, post := range s.posts {
		told, err := s.watched(search, post, targets[0], moment)
		if err != nil {
			return err
		}
		out.Watches = append(out.Watches, told)
	}
	score := drill.Judge(d)
	out.FoundS, out.FoundBy, out.ClosestM, out.ClosestBy, out.RankScore = cli.Num(score.FoundS), score.FoundBy, cli.Len(score.ClosestM), score.ClosestBy, cli.Num(score.RankScore)
	s.out.Hidden = append(s.out.Hidden, out)
	return nil
}

// searchFor is the search as walked and watched, for one thing that was hidden.
func (s *scoring) searchFor(h DrillHidden) (*drillSearch, error) {
	search := &drillSearch{w: s.w, posts: s.posts}
	for _, t := range s.tracks {
		search.parties = append(search.parties, t.party)
	}
	return search, search.lookFor(s.run.shows(h.Shows, h.Alone))
}

// watched works out what a lookout had of a place until a moment.
func (s *scoring) watched(search *drillSearch, p *drillPost, target drillTarget, moment time.Time) (DrillWatch, error) {
	zone := s.run.result.Plan.location
	told := DrillWatch{Lookout: p.name, People: p.people, From: instant(p.from, zone), Until: instant(p.until, zone)}
	if moment.Before(p.until) {
		told.Until = instant(moment, zone)
	}
	at := s.w.local.Inverse(target.at.EastM, target.at.NorthM)
	told.DistanceM = cli.Len(earth.Distance(p.point, at))
	for _, signal := range search.signals {
		told.InSight = told.InSight || search.lineTo(target, signal)(p.point)
	}
	rates, shows, err := search.postView(p, target)
	if err != nil {
		return told, err
	}
	told.Shows = shows
	alone := &drillSearch{w: s.w, posts: []*drillPost{p}}
	chance, err := sweep.AtLeastOne(alone.watchedUntil([][]float64{rates}, moment))
	told.Chance = cli.Num(chance)
	return told, err
}

// pass works out how one party passed a place, in sight of it until the end and with what
// chance until a moment before; a pass of nobody where its file holds no point.
func (s *scoring) pass(ctx context.Context, search *drillSearch, n int, target drillTarget, at orb.Point, end, moment time.Time) (drill.Pass, DrillPass, error) {
	t := s.tracks[n]
	party, k := t.party, target.kind
	told := DrillPass{WithinM: cli.Len(math.NaN()), InSightM: cli.Len(math.NaN()), Chance: cli.Num(math.NaN())}
	withinM := 0.0
	var clear func(orb.Point) bool
	if passing := party.passings[k]; passing != nil {
		withinM = halfM(passing)
		told.Shows, told.WithinM = party.best[k].Name, cli.Len(withinM)
		clear = search.lineTo(target, party.best[k])
		alone := &drillSearch{w: s.w, signals: search.signals, parties: []*drillParty{party}, fine: true}
		chance, err := alone.chances(ctx, []orb.Point{at}, []time.Time{moment})
		if err != nil {
			return drill.Pass{}, told, err
		}
		told.Chance = cli.Num(chance[0][0])
	}
	passes, err := drill.Passes([]track.Track{joined(t.told.Name, t.raw)}, at, 0, nil)
	if err != nil || len(passes) == 0 {
		return drill.Pass{}, told, err
	}
	p := passes[0]
	// Who goes to somebody that has been found sees them well.
	inTime, err := drill.Passes([]track.Track{joined(t.told.Name, before(t.raw, end))}, at, withinM, clear)
	if err != nil {
		return drill.Pass{}, told, err
	}
	if len(inTime) > 0 {
		p.InSightM, p.FirstSeen = inTime[0].InSightM, inTime[0].FirstSeen
	}
	p.Who = cmp.Or(p.Who, t.told.File)
	zone := s.run.result.Plan.location
	told.ClosestM, told.At, told.InSightM, told.FirstSeen = cli.Len(p.ClosestM), instant(p.At, zone), cli.Len(p.InSightM), instant(p.FirstSeen, zone)
	return p, told, nil
}

// joined returns tracks as one.
func joined(name string, tracks []track.Track) track.Track {
	out := track.Track{Name: name}
	for _, one := range tracks {
		out.Segments = append(out.Segments, one.Segments...)
	}
	return out
}

// lineTo tells whether a line from a place on the ground to what is hidden is clear.
func (s *drillSearch) lineTo(t drillTarget, signal plan.Signal) func(orb.Point) bool {
	r := s.w.run
	eye, err := los.NewEye(r.heights, los.Station{Col: t.col, Row: t.row, HeightM: r.standsM(signal)}, s.w.linesTo(s.w.kinds[t.kind]))
	return func(p orb.Point) bool {
		if err != nil {
			return false
		}
		col, row := r.heights.Cell(p)
		return eye.State(los.Station{Col: col, Row: row, HeightM: r.plan.Looking.EyeHeightM}) == los.Seen
	}
}

// halfM returns how near to the side half of all passes notice something; where fewer
// do even on the track itself, half of the sweep width.
func halfM(p *sweep.Passing) float64 {
	const far = 1e7
	if !(p.Chance(1, far, -far) >= 0.5) {
		return p.WidthM / 2
	}
	near, beyond := 1.0, far
	for beyond/near > 1.01 {
		if m := math.Sqrt(near * beyond); p.Chance(m, far, -far) >= 0.5 {
			near = m
		} else {
			beyond = m
		}
	}
	return near
}

// search sums up what the search as walked was worth, whatever was hidden where.
func (s *scoring) search(ctx context.Context) error {
	if len(s.tracks) == 0 || len(s.answer.Hidden) == 0 {
		return nil
	}
	search, err := s.searchFor(s.answer.Hidden[0])
	if err != nil {
		return err
	}
	surface := s.w.before
	all := make([]bool, len(surface.Mass))
	for i := range all {
		all[i] = true
	}
	draws, err := drill.NewHiding(surface, &drill.Ground{Frame: surface.Frame, Allowed: all})
	if err != nil {
		return err
	}
	places := make([]orb.Point, podPlaces)
	for n := range places {
		places[n] = draws.Draw(s.run.plan.Seed, n).Point
	}
	pod, err := search.chances(ctx, places, []time.Time{s.answer.Ends})
	if err != nil {
		return err
	}
	share, plusMinus, err := drill.FoundByHour(pod)
	if err != nil {
		return err
	}
	s.out.PODUncapped, s.out.PODError, s.out.Places = cli.Num(share[0]), cli.Num(plusMinus[0]), podPlaces
	s.out.POD = cli.Num(sweep.PrintedPOD(share[0], false))
	return s.coverage(search, surface)
}

// coverageShare is the part of the surface whose ground coverage is reckoned on: what
// lies beyond is large and little likely. Own choice.
const coverageShare = 0.9

// coverage reckons the area swept over the ground with most of the surface.
func (s *scoring) coverage(search *drillSearch, surface *prob.Surface) error {
	region := surface.Region(coverageShare * surface.Sum())
	density := surface.DensityKM2()
	sweptM2 := 0.0
	for k := range s.w.kinds {
		ways, err := search.ways(k, s.answer.Ends)
		if err != nil {
			return err
		}
		for _, way := range ways {
			widthM := search.parties[way.party].passings[k].WidthM
			lengths := sweep.LengthsM(way.points, leastStepM/2, 1, func(p sweep.Point) int {
				if cell := s.w.cellAt(p); cell >= 0 && int(s.w.kind[cell]) == k && density[cell] >= region.Least {
					return 0
				}
				return -1
			})
			sweptM2 += widthM * lengths[0]
		}
	}
	s.out.Coverage, s.out.GroundM2 = cli.Num(sweptM2/region.AreaM2), cli.Area(region.AreaM2)
	return nil
}

// sumUp puts the first at the top, and chooses the lessons by the first that was not
// found.
func (s *scoring) sumUp() {
	f := drill.Figures{
		FoundS: math.NaN(), ChanceOfSighting: math.NaN(), BestPass: math.NaN(), BestWatch: math.NaN(), RankScore: math.NaN(), LogErrorShare: math.NaN(),
		Coverage: float64(s.out.Coverage), POD: float64(s.out.PODUncapped), Tracks: len(s.tracks),
	}
	if len(s.out.Hidden) > 0 {
		first := s.out.Hidden[0]
		s.out.FoundS, s.out.ClosestM, s.out.ChanceOfSighting, s.out.RankScore = first.FoundS, first.ClosestM, first.ChanceOfSighting, first.RankScore
		h := first
		if i := slices.IndexFunc(s.out.Hidden, func(h DrillFinding) bool { return math.IsNaN(float64(h.FoundS)) }); i > 0 {
			h = s.out.Hidden[i]
		}
		s.out.LessonsOf = h.Name
		f.FoundS, f.ChanceOfSighting, f.RankScore = float64(h.FoundS), float64(h.ChanceOfSighting), float64(h.RankScore)
		f.BestPass, f.BestWatch = h.BestPass(), h.BestWatch()
	}
	for _, r := range s.out.Reports {
		if r.OffM > drill.FoundWithinM {
			f.Strays++
		}
		if r.At == nil {
			f.Untimed++
		}
	}
	for _, l := range s.out.Logs {
		if e := float64(l.EndErrorShare); !(e <= f.LogErrorShare) {
			f.LogErrorShare = e
		}
	}
	for _, l := range f.Lessons() {
		s.out.Lessons = append(s.out.Lessons, string(l))
	}
}
