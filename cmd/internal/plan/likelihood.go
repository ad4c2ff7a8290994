package plan

import (
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/goccy/go-yaml/ast"

	"farhail/cmd/internal/cli"
	"farhail/geo/prob"
)

// A Likelihood asks where the traveller is likely to be.
type Likelihood struct {
	Line    int     // 0 when the plan asks for none
	Outside float64 // share beyond the map
	By      string  // initials of who says so
	At      time.Time
	WithinM float64 // half the side of the map around the start
	CellM   float64 // 0: the terrain's
	Views   []View
	// Search areas are drawn, or cut from the map between these sizes.
	Segments        string // path of drawn ones, "" for none
	LeastM2, MostM2 float64
	NotSearched     []string // paths of areas that are no part of the search
	Party           SearchParty
}

// A SearchParty is who searches an area, abreast; one without Hours is none.
type SearchParty struct {
	People            int
	SpacingM, SpeedMS float64
	Hours             float64 // of a shift [s]
}

// AreaM2 returns what the party covers in a shift, each person's spacing wide: NaN
// for none.
func (p SearchParty) AreaM2() float64 {
	if p.Hours == 0 {
		return math.NaN()
	}
	return float64(p.People) * p.SpacingM * p.SpeedMS * p.Hours
}

// Files returns the files that the views and the search areas are read from.
func (l Likelihood) Files() []string {
	var list []string
	if l.Segments != "" {
		list = append(list, l.Segments)
	}
	list = append(list, l.NotSearched...)
	for _, v := range l.Views {
		for _, a := range v.Areas {
			list = append(list, a.File)
		}
		for _, n := range v.Near {
			list = append(list, n.File)
		}
		list = append(list, v.NotIn...)
	}
	return list
}

// Kinds of views.
const (
	ViewLog       = "log"
	ViewStart     = "start"
	ViewDistances = "distances"
	ViewPublished = "published"
	ViewAreas     = "areas"
	ViewWander    = "wander"
	ViewEven      = "even"
)

// A View is one way to see the case.
type View struct {
	Line   int
	Name   string
	Weight float64
	By     string // initials
	From   string // the evidence that it rests on
	Kind   string
	Around string // name of a start; "" for the newest

	// A log or a start may be carried on along a course. NaN: not given.
	CourseDeg, CourseSDDeg float64
	GoneM, GoneSDM         float64

	Distances      []DistanceRow
	Published      string
	Smooth         bool    // a lognormal fitted to the rows
	DirectionDeg   float64 // true; NaN: all alike
	DirectionSDDeg float64
	DirectionFrom  string

	Areas     []ViewArea
	WanderS   float64
	TurnSDDeg float64

	Reach bool // bent by what can have been reached
	Near  []Pull
	NotIn []string // paths of areas where nobody is
}

// A DistanceRow is one row of a table: a share is found within a distance.
type DistanceRow struct{ Share, DistM float64 }

// A ViewArea is somebody's polygon with the share that they give it.
type ViewArea struct {
	Line  int
	Name  string
	File  string
	Share float64
	By    string
}

// A Pull is how lines draw people, or push them away.
type Pull struct {
	File   string
	Times  float64
	WidthM float64
	From   string
}

// likelihood reads the block.
func (r *reader) likelihood(n ast.Node, l *Likelihood, starts *names) {
	var views names
	share := cli.Number.Between(0, 1)
	b := r.block(n, "likelihood",
		key{"outside", r.quantity(&l.Outside, share), true},
		key{"by", r.text(&l.By), true},
		key{"at", r.time(&l.At), false},
		key{"within", r.quantity(&l.WithinM, cli.Length.Positive()), false},
		key{"cell", r.quantity(&l.CellM, cli.Length.Positive()), false},
		key{"views", func(n ast.Node) {
			r.list(n, "views", func(n ast.Node) { l.Views = append(l.Views, r.view(n, &views, starts)) })
		}, true},
		key{"search_areas", r.path(&l.Segments, true), false},
		key{"area_from", r.quantity(&l.LeastM2, cli.Surface.Positive()), false},
		key{"area_to", r.quantity(&l.MostM2, cli.Surface.Positive()), false},
		key{"not_searched", r.paths(&l.NotSearched, "areas that are not searched", true), false},
		key{"search_party", func(n ast.Node) {
			r.block(n, "search_party",
				key{"people", r.whole(&l.Party.People, 1, mostAbreast), true},
				key{"spacing", r.quantity(&l.Party.SpacingM, cli.Length.Positive()), true},
				key{"speed", r.quantity(&l.Party.SpeedMS, cli.Speed.Positive()), true},
				key{"hours", r.quantity(&l.Party.Hours, cli.Duration.Positive()), true},
			)
		}, false},
	)
	l.Line = b.line
	if l.Outside >= 1 {
		r.at(b, "outside", "nothing is left on the map", "the share outside is below 100 %")
	}
	if l.MostM2 < 2*l.LeastM2 {
		at := "area_to"
		if !b.has(at) {
			at = "area_from"
		}
		r.at(b, at, "search areas need room: area_to is at least twice area_from", "write area_from: 0.1 km2 and area_to: 1 km2")
	}
	for _, k := range []string{"area_from", "area_to"} {
		if b.has("search_party") && b.has(k) {
			r.at(b, k, fmt.Sprintf("%q has no meaning beside search_party, which says how large the areas are", k), "remove one of the two")
		}
		if b.has("search_areas") && b.has(k) {
			r.at(b, k, fmt.Sprintf("%q has no meaning where search areas are drawn", k), "remove one of the two")
		}
	}
	weight := 0.0
	for _, v := range l.Views {
		weight += v.Weight
	}
	if len(r.problems) == 0 && weight == 0 {
		r.at(b, "views", "no view has a weight", "give each a weight, like 40 %")
	}
}

func (r *reader) view(n ast.Node, named, starts *names) View {
	nan := math.NaN()
	v := View{CourseDeg: nan, CourseSDDeg: DefaultCourseSDDeg, GoneM: nan, GoneSDM: nan,
		DirectionDeg: nan, DirectionSDDeg: DefaultDirectionSDDeg, TurnSDDeg: DefaultTurnSDDeg}
	log, even := false, false
	b := r.block(n, "a view",
		key{"name", r.name(&v.Name, named), true},
		key{"weight", r.quantity(&v.Weight, cli.Number.NotNegative()), true},
		key{"by", r.text(&v.By), true},
		key{"from", r.text(&v.From), false},

		key{"log", r.boolean(&log), false},
		key{"start", r.text(&v.Around), false},
		key{"course", r.quantity(&v.CourseDeg, cli.Direction.Between(0, 360)), false},
		key{"course_sd", r.quantity(&v.CourseSDDeg, cli.Direction.Between(0, 30)), false},
		key{"gone", r.quantity(&v.GoneM, cli.Length.Positive()), false},
		key{"gone_sd", r.quantity(&v.GoneSDM, cli.Length.NotNegative()), false},

		key{"distances", func(n ast.Node) { r.distances(n, &v.Distances) }, false},
		key{"published", r.text(&v.Published), false},
		key{"smooth", r.boolean(&v.Smooth), false},
		key{"around", r.text(&v.Around), false},
		key{"direction", r.quantity(&v.DirectionDeg, cli.Direction.Between(0, 360)), false},
		key{"direction_sd", r.quantity(&v.DirectionSDDeg, cli.Direction.Positive().AtMost(180)), false},
		key{"direction_from", r.text(&v.DirectionFrom), false},

		key{"areas", func(n ast.Node) { r.viewAreas(n, &v.Areas) }, false},
		key{"wander", r.quantity(&v.WanderS, cli.Duration.Positive()), false},
		key{"turns", r.quantity(&v.TurnSDDeg, cli.Direction.Positive().AtMost(180)), false},
		key{"even", r.boolean(&even), false},

		key{"reach", r.boolean(&v.Reach), false},
		key{"near", func(n ast.Node) { r.pulls(n, &v.Near) }, false},
		key{"not_in", r.paths(&v.NotIn, "areas where nobody is", true), false},
	)
	v.Line = b.line
	v.Kind = r.oneOf(b, "a view", ViewLog, ViewStart, ViewDistances, ViewPublished, ViewAreas, ViewWander, ViewEven)
	if v.Kind == ViewLog && !log || v.Kind == ViewEven && !even {
		r.at(b, v.Kind, fmt.Sprintf("%s: false is no view", v.Kind), "write true, or remove the view")
	}
	if _, ok := prob.PublishedTable(v.Published); v.Published != "" && !ok {
		r.at(b, "published", fmt.Sprintf("no published table is named %q", clip(v.Published)), "farhail chance --published list prints them")
	}
	for _, k := range []string{"start", "around"} {
		r.mustKnow(b, k, "start", v.Around, *starts)
	}
	carried := v.Kind == ViewLog || v.Kind == ViewStart
	far := v.Kind == ViewDistances || v.Kind == ViewPublished
	for _, of := range []struct {
		ok   bool
		why  string
		keys []string
	}{
		{carried, "a log or a start that is carried on", []string{"course", "course_sd", "gone", "gone_sd"}},
		{far, "distances", []string{"smooth", "direction", "direction_sd", "direction_from"}},
		{far || v.Kind == ViewWander, "distances and wandering", []string{"around"}},
		{v.Kind == ViewWander, "wandering", []string{"turns"}},
	} {
		for _, k := range of.keys {
			if !of.ok && v.Kind != "" && b.has(k) {
				r.at(b, k, fmt.Sprintf("%q belongs to %s", k, of.why), "remove it")
			}
		}
	}
	if b.has("course") != b.has("gone") && carried {
		at := "course"
		if b.has("gone") {
			at = "gone"
		}
		r.at(b, at, "a position is carried on by a course and a distance", "give both course: 210 deg and gone: 2 km")
	}
	if math.IsNaN(v.GoneSDM) {
		v.GoneSDM = v.GoneM * DefaultGoneSD
	}
	return v
}

// distances reads rows like "50 % 1.2 km", which rise in both.
func (r *reader) distances(n ast.Node, rows *[]DistanceRow) {
	r.oneOrMany(n, "distances", func(n ast.Node) {
		s, ok := r.scalar(n, "row of distances")
		if !ok {
			return
		}
		share, far, cut := strings.Cut(s, "%")
		if !cut {
			r.bad(n, s, "not a share in percent and a distance", `write it like "50 % 1.2 km": half are found within that`)
			return
		}
		var row DistanceRow
		var err error
		if row.Share, err = cli.ParseQuantity(strings.TrimSpace(share)+"%", cli.Number.Between(0, 1)); err == nil {
			row.DistM, err = cli.ParseQuantity(strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(far), "within")), cli.Length.NotNegative())
		}
		if err != nil {
			r.badValue(n, s, err)
			return
		}
		if k := len(*rows); k > 0 && (row.Share <= (*rows)[k-1].Share || row.DistM <= (*rows)[k-1].DistM) {
			r.bad(n, s, "not above the row before", "shares and distances rise from row to row")
			return
		}
		*rows = append(*rows, row)
	})
}

func (r *reader) viewAreas(n ast.Node, areas *[]ViewArea) {
	r.list(n, "areas", func(n ast.Node) {
		var a ViewArea
		a.Line = r.block(n, "an area",
			key{"name", r.text(&a.Name), true},
			key{"file", r.path(&a.File, true), true},
			key{"share", r.quantity(&a.Share, cli.Number.Between(0, 1)), true},
			key{"by", r.text(&a.By), true},
		).line
		*areas = append(*areas, a)
	})
}

func (r *reader) pulls(n ast.Node, pulls *[]Pull) {
	r.list(n, "near", func(n ast.Node) {
		p := Pull{WidthM: DefaultPullWidthM}
		r.block(n, "a pull",
			key{"file", r.path(&p.File, true), true},
			key{"times", r.quantity(&p.Times, cli.Number.NotNegative()), true},
			key{"width", r.quantity(&p.WidthM, cli.Length.Positive()), false},
			key{"from", r.text(&p.From), true},
		)
		*pulls = append(*pulls, p)
	})
}
