package job

import (
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"

	"github.com/paulmach/orb"
)

// A Result holds all that a plan asked for. Parts that were not asked for, or
// could not be done, are empty.
type Result struct {
	Program   string      `json:"program"`
	Plan      PlanInfo    `json:"plan"`
	Person    []Detail    `json:"person,omitempty"` // only where it was asked for
	Terrain   *Ground     `json:"terrain"`
	Compass   *Compass    `json:"compass"` // null without a place or a day
	Starts    []Start     `json:"starts"`
	Hazards   []Hazard    `json:"hazards"`
	Looking   Looking     `json:"looking"`
	Sky       []SkyResult `json:"sky"` // of the plan's days
	Sight     []Sighting  `json:"sight"`
	Reckon    *Reckon     `json:"reckon"`
	Rings     *Rings      `json:"rings"`
	Place     []Place     `json:"place"`
	Chance    *Chance     `json:"chance"`
	Sweep     *Sweep      `json:"sweep"`
	Map       *Map        `json:"map"` // null where no map was asked for
	Trip      *Trip       `json:"trip"`
	Timetable *Timetable  `json:"timetable"` // null where no map was asked for
	LeftOut   []string    `json:"left_out"`
	Notes     []cli.Note  `json:"notes"`
	// Files are those written into one folder with it, by name; none where it stands alone.
	// The next run into that folder takes out those that it does not write anew.
	Files []string `json:"files"`
}

// A Detail is one line of the plan's person block.
type Detail struct {
	Key   string `json:"key"`
	Value string `json:"value"`
}

func person(p plan.Person) []Detail {
	var list []Detail
	for _, f := range p.Fields() {
		list = append(list, Detail{f.Key, f.Value})
	}
	return list
}

// PlanInfo says which plan a result belongs to.
type PlanInfo struct {
	Title     string     `json:"title"`
	Hash      string     `json:"hash"` // first 8 hexadecimal digits of the file's SHA-256
	AsOf      *time.Time `json:"as_of"`
	Zone      string     `json:"zone"`
	Example   bool       `json:"example"`
	Emergency string     `json:"emergency"`
	Weather   Weather    `json:"weather"`
	Papers
	Handheld Handheld       `json:"handheld"`
	location *time.Location // that times are printed in
	words    cli.Words      // that text for people is written in
}

// Papers are what every party needs on paper, as the plan gives it.
type Papers struct {
	Radio        []string `json:"radio"`
	Medical      []string `json:"medical"`
	ReportEveryS cli.Num  `json:"report_every_s"` // 0 where the plan does not say
}

// Location returns the zone that times are printed in.
func (p PlanInfo) Location() *time.Location { return p.location }

// Words returns how text for people tells quantities and positions.
func (r *Result) Words() cli.Words { return r.Plan.words }

// Weather is the air of the whole plan.
type Weather struct {
	VisibilityM cli.Len `json:"visibility_m"`
	Refraction  cli.Num `json:"refraction"`
	Cloud       string  `json:"cloud"`
}

// A Start is a position that the search reckons from.
type Start struct {
	Name         string     `json:"name"`
	Kind         string     `json:"kind"` // last-known, last-seen or planning
	Lat          cli.Deg    `json:"lat"`
	Lon          cli.Deg    `json:"lon"`
	Radius95M    cli.Len    `json:"radius95_m"`
	Time         *time.Time `json:"time"`
	Source       string     `json:"source"`
	SupersededBy string     `json:"superseded_by"`
	Point        orb.Point  `json:"-"`
}

// Looking is who looks.
type Looking struct {
	EyeHeightM cli.Len   `json:"eye_height_m"`
	Parties    []Party   `json:"parties"`
	Lookouts   []Lookout `json:"lookouts"`
	Aircraft   []Flight  `json:"aircraft"`
}

// A Party is people who walk along a route or track.
type Party struct {
	Name     string              `json:"name"`
	Observer string              `json:"observer"` // eye, glasses or intensifier
	People   int                 `json:"people"`
	LengthM  cli.Len             `json:"length_m"` // breaks not counted
	Seconds  cli.Num             `json:"seconds"`  // on the way, all of the party together for one person
	Gaps     int                 `json:"gaps"`     // breaks of more than 50 m that nobody walks
	From     *time.Time          `json:"from"`     // when they set out; null where it is not known
	Until    *time.Time          `json:"until"`    // when they are at the end
	Legs     []WayLeg            `json:"legs"`
	Paths    orb.MultiLineString `json:"-"`
}

// A Lookout is people who watch from one place.
type Lookout struct {
	Name     string     `json:"name"`
	Observer string     `json:"observer"`
	Lat      cli.Deg    `json:"lat"`
	Lon      cli.Deg    `json:"lon"`
	People   int        `json:"people"`
	From     *time.Time `json:"from"`
	Until    *time.Time `json:"until"`
	Point    orb.Point  `json:"-"`
}

// instant returns nil for the zero time and otherwise the time in a zone, cut
// to the second.
func instant(t time.Time, zone *time.Location) *time.Time {
	if t.IsZero() {
		return nil
	}
	t = t.In(zone).Truncate(time.Second)
	return &t
}

// planInfo describes a plan and settles the zone that times are printed in: the
// one asked for, the plan's, that of as_of or of the first hour, or UTC.
func planInfo(p *plan.Plan, asked *time.Location, words cli.Words) PlanInfo {
	zone := asked
	switch {
	case zone != nil:
	case p.Zone != nil:
		zone = p.Zone
	case !p.AsOf.IsZero():
		zone = p.AsOf.Location()
	case len(p.Hours) > 0:
		zone = p.Hours[0].Time.Location()
	default:
		zone = time.UTC
	}
	return PlanInfo{
		Title: p.Title, Hash: p.Hash, AsOf: instant(p.AsOf, zone), Zone: zoneName(zone),
		Example: p.Example, Emergency: p.Emergency, location: zone, words: words,
		Weather:  Weather{cli.Len(p.Weather.VisibilityM), cli.Num(p.Weather.Refraction), p.Weather.Cloud},
		Handheld: handheldOf(p.Handheld),
		Papers:   Papers{append([]string{}, p.Papers.Radio...), append([]string{}, p.Papers.Medical...), cli.Num(p.Papers.ReportEveryS)},
	}
}
