package job

import (
	"fmt"
	"math"
	"slices"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/track"
	"farhail/signal/sweep"

	"github.com/paulmach/orb"
)

// An Operation is all that was searched under one day's conditions.
type Operation struct {
	Name      string       `json:"name"`
	From      *time.Time   `json:"from"`
	Until     *time.Time   `json:"until"`
	LookedFor string       `json:"looked_for"`
	Target    string       `json:"target"`  // what that is taken to be
	Shown     cli.Num      `json:"shown"`   // chance that the signal was shown; 1 for a person, null: not said, and not used
	RangeM    cli.Len      `json:"range_m"` // beyond which no sight line was looked at: less than 0.2 % of passes find anything there
	Parties   []SweptParty `json:"parties"`
}

// A SweptParty is what a party walked, and how wide it swept.
type SweptParty struct {
	Name     string       `json:"name"`
	People   int          `json:"people"`
	Altitude cli.Len      `json:"altitude_m"` // of an aircraft above the ground; null on foot
	SpacingM cli.Len      `json:"spacing_m"`  // null for one alone
	LengthM  cli.Len      `json:"length_m"`   // of its tracks, as far as they count
	EffortM  cli.Len      `json:"effort_m"`   // that all its people walked
	SpeedMS  cli.Num      `json:"speed_m_s"`
	Speed    string       `json:"speed_from"`
	SlowMS   cli.Num      `json:"speed_low_m_s"`  // a tenth of the way was slower; null unless each leg counts at its own speed
	FastMS   cli.Num      `json:"speed_high_m_s"` // a tenth was faster
	Widths   []SweptWidth `json:"widths"`         // by ground
	Cuts     []TrackCut   `json:"cuts"`           // what was taken out of its tracks
	Clocks   []string     `json:"clocks"`         // what is odd about its clock
	Why      string       `json:"why"`            // it does not count; "" where it does
}

// A SweptWidth is a sweep width on one kind of ground.
type SweptWidth struct {
	Ground      string  `json:"ground"`
	SweepWidthM cli.Len `json:"sweep_width_m"`
	ModelM      cli.Len `json:"model_m"` // what the model alone would say
	From        string  `json:"from"`
}

// A TrackCut is a stretch of a track that does not count as searching.
type TrackCut struct {
	File    string  `json:"file"`
	Track   int     `json:"track"` // from 1, as segment and points
	Segment int     `json:"segment"`
	First   int     `json:"first"` // points
	Last    int     `json:"last"`
	Why     string  `json:"why"` // jump, gap, stop or vehicle
	LengthM cli.Len `json:"length_m"`
	Seconds cli.Num `json:"seconds"`
}

// A trackFile is what one file of a party holds.
type trackFile struct {
	name   string
	tracks []track.Track
}

// cleaned returns the tracks without jumps, as far as they count as searching on foot or
// in an aircraft, and what was taken out for that.
func (f trackFile) cleaned(aloft bool) (raw, clean []track.Track, cuts []TrackCut) {
	for n, t := range f.tracks {
		counts, out := t.Clean()
		if aloft {
			counts, out = t.CleanFlown()
		}
		raw, clean = append(raw, t.WithoutJumps()), append(clean, counts)
		for _, c := range out {
			cuts = append(cuts, TrackCut{f.name, n + 1, c.Segment + 1, c.First + 1, c.Last + 1, string(c.Why), cli.Len(c.LengthM), cli.Num(c.Seconds)})
		}
	}
	return raw, clean, cuts
}

// readSearched reads the tracks of all operations.
func (r *run) readSearched() error {
	for _, s := range r.plan.Searched {
		var parties [][]trackFile
		for _, by := range s.Parties {
			var files []trackFile
			for _, name := range by.Tracks {
				tracks, err := r.readTracks(name)
				if err != nil {
					return err
				}
				files = append(files, trackFile{name, tracks})
			}
			parties = append(parties, files)
		}
		r.searchedTracks = append(r.searchedTracks, parties)
	}
	return nil
}

// searchedBoxes calls one for every track of the operations with the box around it.
func (r *run) searchedBoxes(one func(by plan.SearchedBy, file string, box orb.Bound)) {
	for i, parties := range r.searchedTracks {
		for k, files := range parties {
			for _, f := range files {
				for _, t := range f.tracks {
					if b := t.WithoutJumps().Bound(); !b.IsEmpty() {
						one(r.plan.Searched[i].Parties[k], f.name, b)
					}
				}
			}
		}
	}
}

// searchedPlaced lists the tracks of the operations and the places that the next
// effort sets out from.
func (r *run) searchedPlaced() []placedItem {
	var list []placedItem
	r.searchedBoxes(func(by plan.SearchedBy, file string, box orb.Bound) {
		list = append(list, placedItem{by.Line, fmt.Sprintf("a track of %s (%s)", by.Name, file), box.Center()})
	})
	for _, p := range r.plan.Effort.Parties {
		list = append(list, placedItem{p.Line, "where " + p.Name + " sets out", p.Point})
	}
	return list
}

// searchedPoints returns the corners of what has been searched, and from where the
// next effort sets out.
func (r *run) searchedPoints() []orb.Point {
	var points []orb.Point
	r.searchedBoxes(func(_ plan.SearchedBy, _ string, box orb.Bound) { points = append(points, box.Min, box.Max) })
	for _, p := range r.plan.Effort.Parties {
		points = append(points, p.Point)
	}
	return points
}

// An operation is one under way.
type operation struct {
	plan    plan.Searched
	target  plan.Signal
	at      time.Time // whose light it is; zero: a clear day's
	parties []*searchedParty
	told    *Operation

	searched []*sweep.Searched // by kind of ground
	cut      bool              // something was taken out of the tracks
	// By search area.
	effortM, sweptM2 []float64
	reaches          []bool
}

func (o *operation) measured() bool { return o.plan.Own != (plan.OwnWidth{}) }

// shown returns the chance that what was looked for could be seen at all: a person can,
// a signal where somebody shows it. What nobody has said counts as 0.
func (o *operation) shown() float64 {
	switch {
	case o.target.Kind == plan.Figure:
		return 1
	case math.IsNaN(o.plan.Shown):
		return 0
	}
	return o.plan.Shown
}

// A searchedParty is a party of it.
type searchedParty struct {
	plan     plan.SearchedBy
	told     int           // which of those told
	raw      []track.Track // without jumps
	clean    []track.Track
	speedMS  float64
	byLeg    bool             // each leg counts at its own speed
	passings []*sweep.Passing // by kind of ground, at that speed
	paces    paces
}

// operation cleans the tracks of an operation and settles its times.
func (w *sweeping) operation(p plan.Searched, files [][]trackFile) (*operation, error) {
	o := &operation{
		plan: p, target: w.run.target(p.LookedFor), told: &Operation{Name: p.Name, LookedFor: p.LookedFor},
		effortM: make([]float64, len(w.areas)), sweptM2: make([]float64, len(w.areas)), reaches: make([]bool, len(w.areas)),
	}
	w.out.Operations = append(w.out.Operations, o.told)
	from, until := p.From, p.Until
	for k, by := range p.Parties {
		party := &searchedParty{plan: by, told: k}
		told := SweptParty{Name: by.Name, People: by.People, SpacingM: cli.Len(math.NaN()), SlowMS: cli.Num(math.NaN()), FastMS: cli.Num(math.NaN()), Cuts: []TrackCut{}, Clocks: []string{}}
		told.Altitude = cli.Len(math.NaN())
		if by.AltitudeM > 0 {
			told.Altitude = cli.Len(by.AltitudeM)
		}
		if by.People > 1 {
			told.SpacingM = cli.Len(by.SpacingM)
		}
		for _, f := range files[k] {
			raw, clean, cuts := f.cleaned(by.AltitudeM > 0)
			party.raw, party.clean, told.Cuts = append(party.raw, raw...), append(party.clean, clean...), append(told.Cuts, cuts...)
		}
		o.cut = o.cut || len(told.Cuts) > 0
		told.Clocks = append(told.Clocks, w.clocks(p, files[k])...)
		told.SpeedMS, told.Speed = searchSpeed(by, party.clean)
		party.speedMS, party.byLeg = float64(told.SpeedMS), told.Speed == speedOfTracks
		for _, s := range segmentsOf(party.clean) {
			told.LengthM += cli.Len(s.LengthM())
		}
		told.EffortM = told.LengthM * cli.Len(by.People)
		first, last := timesOf(party.clean, by)
		if p.From.IsZero() && !first.IsZero() && (from.IsZero() || first.Before(from)) {
			from = first
		}
		if p.Until.IsZero() && last.After(until) {
			until = last
		}
		o.parties, o.told.Parties = append(o.parties, party), append(o.told.Parties, told)
		w.tellTracks(p.Name, told)
	}
	zone := w.run.result.Plan.location
	o.told.From, o.told.Until = instant(from, zone), instant(until, zone)
	switch {
	case from.IsZero():
		w.run.warn(fmt.Sprintf("operation %s has no time: it counts as searched by daylight, in the order of the plan", p.Name), "give it from: and until:")
	case until.After(from):
		o.at = from.Add(until.Sub(from) / 2)
	default:
		o.at = from
	}
	return o, nil
}

// timesOf returns the first and the last moment of tracks; a start stands for tracks
// without times.
func timesOf(tracks []track.Track, by plan.SearchedBy) (first, last time.Time) {
	sum := track.Summarise(tracks...)
	if sum.First.IsZero() {
		return by.Start, by.Start
	}
	return sum.First, sum.Last
}

func segmentsOf(tracks []track.Track) []track.Segment {
	var list []track.Segment
	for _, t := range tracks {
		list = append(list, t.Segments...)
	}
	return list
}

// pauseS is a time between two fixes that is no walking [s].
const pauseS = 120

// speedOfTracks says that the speed is what tracks tell.
const speedOfTracks = "their tracks, stops left out"

// searchSpeed returns how fast a party searched and who says so.
func searchSpeed(by plan.SearchedBy, tracks []track.Track) (cli.Num, string) {
	if by.SpeedMS > 0 {
		return cli.Num(by.SpeedMS), "stated"
	}
	lengthM, spentS := 0.0, 0.0
	for _, s := range segmentsOf(tracks) {
		for i := 1; i < len(s); i++ {
			took := s[i].Time.Sub(s[i-1].Time).Seconds()
			if !s[i].Time.IsZero() && !s[i-1].Time.IsZero() && took > 0 && took <= pauseS {
				lengthM += s[i-1 : i+1].LengthM()
				spentS += took
			}
		}
	}
	if lengthM > 0 && spentS > 0 {
		return cli.Num(lengthM / spentS), speedOfTracks
	}
	if by.AltitudeM > 0 {
		return passAircraftMS, "not known: 90 knots"
	}
	return plan.DefaultSearchSpeedMS, "not known: 2 km/h"
}

// clocks tells what is odd about the clocks of a party's tracks.
func (w *sweeping) clocks(p plan.Searched, files []trackFile) []string {
	var list []string
	type span struct {
		name        string
		first, last time.Time
	}
	var spans []span
	for _, f := range files {
		back := 0
		for _, t := range f.tracks {
			for _, c := range t.ClockFaults() {
				if c.Seconds < 0 {
					back++
				}
			}
		}
		if back > 0 {
			list = append(list, fmt.Sprintf("%s: the clock runs back %d times", f.name, back))
		}
		sum := track.Summarise(f.tracks...)
		if sum.First.IsZero() {
			continue
		}
		switch {
		case !p.Until.IsZero() && sum.First.After(p.Until):
			list = append(list, fmt.Sprintf("%s begins at %s, after the operation%s", f.name, w.run.clock(sum.First), zoneOff(sum.First.Sub(p.From))))
		case !p.From.IsZero() && sum.Last.Before(p.From):
			list = append(list, fmt.Sprintf("%s ends at %s, before the operation%s", f.name, w.run.clock(sum.Last), zoneOff(p.From.Sub(sum.First))))
		case sum.Last.After(w.run.plan.AsOf):
			list = append(list, fmt.Sprintf("%s goes on until %s, later than the plan's as_of", f.name, w.run.clock(sum.Last)))
		}
		spans = append(spans, span{f.name, sum.First, sum.Last})
	}
	slices.SortStableFunc(spans, func(a, b span) int { return a.first.Compare(b.first) })
	for i := 1; i < len(spans); i++ {
		if spans[i].first.Before(spans[i-1].last) {
			list = append(list, fmt.Sprintf("%s and %s were recorded at the same time: ways of one party count after one another, so name receivers that went apart as parties of their own, and leave out a second one in the same line", spans[i-1].name, spans[i].name))
		}
	}
	return list
}

// zoneOff says that a clock is off by whole hours, as one of another zone is.
func zoneOff(d time.Duration) string {
	const near = 10 * time.Minute
	whole := d.Round(time.Hour)
	if d = (d - whole).Abs(); d > near || whole == 0 || whole.Abs() > 14*time.Hour {
		return ""
	}
	return fmt.Sprintf(": off by %.0f h, like a clock of another zone", whole.Hours())
}

// tellTracks keeps what was taken out of a party's tracks as notes.
func (w *sweeping) tellTracks(operation string, p SweptParty) {
	sums := map[string]cli.Len{}
	count := map[string]int{}
	for _, c := range p.Cuts {
		sums[c.Why] += c.LengthM
		count[c.Why]++
	}
	for _, why := range []struct {
		why   track.Why
		words string
	}{
		{track.Jumped, "points where nobody can have been"}, {track.Silent, "gaps of which nothing was recorded, not walked"},
		{track.Stopped, "stops at which the receiver wandered"}, {track.Driven, "stretches in a vehicle"},
	} {
		if n := count[string(why.why)]; n > 0 {
			w.run.warn(fmt.Sprintf("%s, %s: taken out of the track: %d %s (%s)", operation, p.Name, n, why.words, Distance(float64(sums[string(why.why)]))), "")
		}
	}
	for _, text := range p.Clocks {
		w.run.warn(fmt.Sprintf("%s, %s: %s", operation, p.Name, text), "look at the receiver's clock and zone")
	}
	if p.LengthM == 0 {
		w.run.warn(fmt.Sprintf("%s, %s: no track that counts as searched", operation, p.Name), "")
	}
}
