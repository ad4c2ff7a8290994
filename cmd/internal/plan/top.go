package plan

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/paulmach/orb"

	"farhail/cmd/internal/cli"
	"farhail/geo/mapfile"
)

// plan reads the top of the file. The zone comes first, because times rely on
// it.
func (r *reader) plan(n ast.Node, p *Plan) {
	var startNames, signalNames names
	r.block(n, "the plan", append([]key{
		{"version", r.version(&p.Version), true},
		{"title", r.text(&p.Title), false},
		{"example", r.boolean(&p.Example), false},
		{"zone", func(n ast.Node) { r.readZone(n, p) }, false},
		{"as_of", r.time(&p.AsOf), true},
		{"emergency", r.text(&p.Emergency), false},
		{"distress_signal", r.word(&p.Distress, DistressSignals...), false},
		{"seed", func(n ast.Node) { r.seed(n, p) }, false},
		{"person", func(n ast.Node) { r.person(n, &p.Person) }, false},
		{"terrain", func(n ast.Node) {
			p.TerrainLine, _ = place(n)
			r.paths(&p.Terrain, "terrain", false)(n)
		}, false},
		{"fill_voids", r.whole(&p.FillVoids, 0, 1_000_000), false},
		{"spot_heights", r.paths(&p.SpotHeights, "spot heights", false), false},
		{"weather", func(n ast.Node) { r.weather(n, &p.Weather) }, false},
		{"plants", func(n ast.Node) { r.plants(n, &p.Plants) }, false},
		{"hours", func(n ast.Node) { r.hours(n, &p.Hours) }, false},
		{"starts", func(n ast.Node) { r.starts(n, &p.Starts, &startNames) }, false},
		{"traveller", func(n ast.Node) { r.traveller(n, &p.Traveller, &signalNames) }, false},
		{"looking", func(n ast.Node) { r.looking(n, &p.Looking) }, false},
		{"placement", func(n ast.Node) { r.placements(n, &p.Placements, &signalNames, &startNames) }, false},
		{"likelihood", func(n ast.Node) { r.likelihood(n, &p.Likelihood, &startNames) }, false},
	}, slices.Concat(r.coverKeys(&p.Cover), r.searchKeys(p, &signalNames), r.drillKeys(&p.Drill, &signalNames), r.paperKeys(p), r.handheldKeys(&p.Handheld), r.sheetKeys(&p.Sheet), r.hazardKeys(&p.Hazards))...)...)
}

// DistressSignals are the rules for how often a sign of distress is given.
var DistressSignals = []string{"three", "six"}

// newPlan returns a plan with every default filled in.
func newPlan() *Plan {
	return &Plan{
		Seed:    DefaultSeed,
		Weather: Weather{VisibilityM: DefaultVisibilityM, Refraction: DefaultRefraction, Cloud: DefaultCloud, WindMS: DefaultWindMS, TemperatureC: DefaultTemperatureC, Humidity: DefaultHumidity},
		Traveller: Traveller{
			Footing:       Footing{Crossing: DefaultCrossing},
			Pauses:        Pauses{BodyKG: DefaultBodyKG},
			SigmaDistance: DefaultSigmaDistance, SigmaBearingDeg: DefaultSigmaBearingDeg,
			ScaleBias: DefaultScaleBias, BearingBiasDeg: DefaultBearingBiasDeg,
			Rule:    DefaultRule,
			Walkers: Walkers{DefaultSlow, DefaultUsual, DefaultFast},
		},
		Looking:  Looking{EyeHeightM: DefaultEyeHeightM},
		Handheld: Handheld{Profile: mapfile.DefaultProfile},
		Likelihood: Likelihood{
			WithinM: DefaultMapWithinM, LeastM2: DefaultLeastM2, MostM2: DefaultMostM2,
		},
	}
}

// version reads the form of the file, of which there is one.
func (r *reader) version(p *int) func(ast.Node) {
	return func(n ast.Node) {
		s, ok := r.scalar(n, "whole number")
		switch {
		case ok && s == "1":
			*p = 1
		case ok:
			r.bad(n, s, "not a form of plans that this program reads", "write version: 1, or use the program that the plan was written for")
		}
	}
}

func (r *reader) readZone(n ast.Node, p *Plan) {
	if s, ok := r.scalar(n, "time zone"); ok {
		zone, err := cli.LoadZone(s)
		if err != nil {
			r.badValue(n, s, err)
			return
		}
		p.Zone, r.zone = zone, zone
	}
}

func (r *reader) seed(n ast.Node, p *Plan) {
	if s, ok := r.scalar(n, "whole number"); ok {
		v, err := strconv.ParseUint(s, 10, 64)
		if err != nil {
			r.bad(n, s, "not a whole number from 0", "write it like 7")
			return
		}
		p.Seed = v
	}
}

// person reads the private block. Its messages hold neither keys nor values.
func (r *reader) person(n ast.Node, p *Person) {
	values, ok := mapping(n)
	if !ok {
		r.wrongType(n, "the person block takes keys, each on its own line", "write one key and its value a line, indented by blanks")
		return
	}
	for _, v := range values {
		name, line, column := keyName(v)
		if name == "" {
			r.report(line, column, "", "not a key in the person block", "write a plain word and a colon")
			continue
		}
		var parts []string
		bad := false
		if !isNull(v.Value) {
			r.oneOrMany(v.Value, "this part of the person block", func(n ast.Node) {
				s, ok := r.scalar(n, "text")
				bad = bad || !ok
				parts = append(parts, strings.TrimSpace(s))
			})
		}
		if !bad {
			p.fields = append(p.fields, PersonField{name, strings.Join(parts, ", ")})
		}
	}
}

func (r *reader) weather(n ast.Node, w *Weather) {
	w.Line = r.block(n, "weather",
		key{"visibility", r.quantity(&w.VisibilityM, cli.Length.Positive()), false},
		key{"refraction", r.quantity(&w.Refraction, cli.Number.Between(-1, 0.9)), false},
		key{"cloud", r.word(&w.Cloud, "clear", "broken", "overcast"), false},
		key{"lights_about", r.word(&w.LightsAbout, LightsAbout...), false},
		key{"wind", r.quantity(&w.WindMS, cli.Speed.NotNegative()), false},
		key{"haze_height", r.quantity(&w.HazeHeightM, cli.Length.Positive()), false},
		key{"cloud_base", r.quantity(&w.CloudBaseM, cli.Length.Positive()), false},
		key{"temperature", r.quantity(&w.TemperatureC, SoundAir), false},
		key{"humidity", r.quantity(&w.Humidity, SoundDamp), false},
	).line
}

func (r *reader) hours(n ast.Node, hours *[]Hour) {
	r.oneOrMany(n, "hours", func(n ast.Node) {
		var h Hour
		h.Line, _ = place(n)
		if r.time(&h.Time)(n); h.Time.IsZero() {
			return
		}
		for _, old := range *hours {
			if old.Time.Equal(h.Time) {
				r.bad(n, n.GetToken().Value, fmt.Sprintf("the hour of line %d again", old.Line), "remove one of them")
				return
			}
		}
		*hours = append(*hours, h)
	})
}

func (r *reader) starts(n ast.Node, starts *[]Start, named *names) {
	type link struct {
		b  block
		to string
	}
	var links []link
	r.list(n, "starts", func(n ast.Node) {
		square := 0.0
		s := Start{SDM: math.NaN(), Radius95M: math.NaN(), Point: nowhere}
		b := r.block(n, "a start",
			key{"name", r.name(&s.Name, named), true},
			key{"kind", r.word(&s.Kind, LastKnown, LastSeen, Planning), true},
			key{"position", r.point(&s.Point, &square), true},
			key{"error", r.quantity(&s.Radius95M, cli.Length.Positive()), false},
			key{"sd", r.quantity(&s.SDM, cli.Length.Positive()), false},
			key{"time", r.time(&s.Time), true},
			key{"source", r.text(&s.Source), false},
			key{"superseded_by", r.text(&s.SupersededBy), false},
		)
		s.Line = b.line
		switch r.oneOf(b, "a start", "error", "sd") {
		case "error":
			s.SDM = s.Radius95M / sdsIn95
		case "sd":
			s.Radius95M = s.SDM * sdsIn95
		}
		if square/2 > s.Radius95M {
			r.at(b, "position", fmt.Sprintf("the grid reference names a square of %g m, more than its error allows", square), "give more digits, or a larger error")
		}
		if s.SupersededBy != "" {
			links = append(links, link{b, s.SupersededBy})
		}
		*starts = append(*starts, s)
	})
	for _, l := range links {
		r.mustKnow(l.b, "superseded_by", "start", l.to, *named)
	}
	r.noCircle(*starts)
}

// sdsIn95 is the radius that holds 95 % of a round normal error, in standard
// deviations of each axis: sqrt(-2 ln 0.05).
var sdsIn95 = math.Sqrt(-2 * math.Log(0.05))

// noCircle reports starts that supersede each other, so that none is left.
func (r *reader) noCircle(starts []Start) {
	next := map[string]string{}
	for _, s := range starts {
		next[s.Name] = s.SupersededBy
	}
	for _, s := range starts {
		at := s.Name
		for range len(starts) + 1 {
			if at = next[at]; at == "" {
				break
			}
		}
		if at != "" {
			r.report(s.Line, 1, s.Name, fmt.Sprintf("start %q is superseded in a circle", s.Name), "the newest start has no superseded_by")
			return
		}
	}
}

// nowhere is the position of an item whose position is faulty.
var nowhere = orb.Point{math.NaN(), math.NaN()}

// names are the names given so far in one list, with their lines.
type names struct {
	order []string
	lines map[string]int
}

func (list *names) add(name string, line int) {
	if list.lines == nil {
		list.lines = map[string]int{}
	}
	list.lines[name] = line
	list.order = append(list.order, name)
}

// name reads a name that no other item of the list has.
func (r *reader) name(p *string, named *names) func(ast.Node) {
	return func(n ast.Node) {
		var s string
		if r.text(&s)(n); s == "" {
			return
		}
		line, _ := place(n)
		if first, seen := named.lines[s]; seen {
			r.bad(n, s, fmt.Sprintf("the name %q again, first on line %d", clip(s), first), "give each its own name")
			return
		}
		named.add(s, line)
		*p = s
	}
}

// mustKnow reports a reference to a name that no item of the list has.
func (r *reader) mustKnow(b block, key, what, name string, named names) {
	if _, ok := named.lines[name]; ok || name == "" {
		return
	}
	hint := "no " + what + " has a name"
	if len(named.order) > 0 {
		hint = "the names are " + strings.Join(named.order[:min(8, len(named.order))], ", ")
	}
	r.at(b, key, fmt.Sprintf("no %s is named %q", what, clip(name)), cli.Meant(name, named.order, hint))
}
