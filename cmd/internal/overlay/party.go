package overlay

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"

	"github.com/paulmach/orb"
)

// PartyPapers are the pages of all who look, one each, in the order of the plan: the
// parties, those that search next and are not among them, the lookouts, the aircraft.
// Each says where to go, what to look for, when to report and when to be back.
func PartyPapers(r *job.Result) []Paper {
	var list []Paper
	done := map[string]bool{}
	for _, p := range r.Looking.Parties {
		done[p.Name] = true
		list = append(list, partyPaper(r, p))
	}
	for _, name := range nextParties(r) {
		if !done[name] {
			list = append(list, taskPaper(r, name))
		}
	}
	for _, l := range r.Looking.Lookouts {
		list = append(list, lookoutPaper(r, l))
	}
	for _, f := range r.Looking.Aircraft {
		list = append(list, flightPaper(r, f))
	}
	return list
}

// tasksOf returns what a party searches next.
func tasksOf(r *job.Result, party string) []job.SweepTask {
	var list []job.SweepTask
	if r.Sweep != nil {
		for _, t := range r.Sweep.Next {
			if t.Party == party && t.Segment != "" {
				list = append(list, t)
			}
		}
	}
	return list
}

// nextParties names those that search next, each once.
func nextParties(r *job.Result) []string {
	var list []string
	if r.Sweep != nil {
		for _, t := range r.Sweep.Next {
			if t.Segment != "" && (len(list) == 0 || list[len(list)-1] != t.Party) {
				list = append(list, t.Party)
			}
		}
	}
	return list
}

// An errand is what the papers of all kinds of those who look share.
type errand struct {
	r           *job.Result
	name        string
	people      int
	from, until *time.Time // nil where not known
	turn        *time.Time
	tasks       []job.SweepTask
	position    func(cli.Words, orb.Point) string
}

func partyPaper(r *job.Result, p job.Party) Paper {
	e := &errand{r: r, name: p.Name, people: p.People, from: p.From, until: p.Until, tasks: tasksOf(r, p.Name), position: LandPosition}
	paper := Paper{Heading: p.Name}
	goes := Section{Title: "Go"}
	goes.tell("Who", "%s: %s%s", p.Name, people(p.People), cmp.Or(with(p.Observer), ", by eye"))
	if len(e.tasks) == 0 {
		e.when(&goes)
		goes.tell("Along", "the route, %s in about %s%s", r.Words().Distance(float64(p.LengthM)), job.Duration(float64(p.Seconds)), gaps(p.Gaps))
		e.legs(&goes, p.Legs)
		paper.Ground = wayGround(p.Paths, p.Legs)
	} else {
		e.toTasks(&goes, &paper.Ground)
	}
	goes.say("Ways are lines, not safe paths. Turn back where the ground, the light or the weather says so.")
	return e.finish(paper, goes)
}

// taskPaper is the page of a party that the plan knows only of the next effort.
func taskPaper(r *job.Result, name string) Paper {
	e := &errand{r: r, name: name, tasks: tasksOf(r, name), position: LandPosition}
	e.people = e.tasks[0].People
	paper := Paper{Heading: name}
	goes := Section{Title: "Go"}
	goes.tell("Who", "%s: %s", name, people(e.people))
	e.toTasks(&goes, &paper.Ground)
	goes.say("Ways are lines, not safe paths. Turn back where the ground, the light or the weather says so.")
	return e.finish(paper, goes)
}

func lookoutPaper(r *job.Result, l job.Lookout) Paper {
	e := &errand{r: r, name: l.Name, people: l.People, from: l.From, until: l.Until, turn: l.Until, position: LandPosition}
	goes := Section{Title: "Go"}
	goes.tell("Who", "%s: lookout, %s%s", l.Name, people(l.People), cmp.Or(with(l.Observer), ", by eye"))
	grid, degrees := bothNotations(r.Words(), l.Point)
	goes.large("Stand at", grid)
	goes.tell("that is", "%s", degrees)
	if l.From != nil && l.Until != nil {
		goes.large("Watch", clock(l.From)+" to "+clock(l.Until))
	} else {
		goes.blank("Watch from, until", "the plan gives no times")
	}
	goes.say("Be in place before it is dark if you can. Do not climb in the dark or in lightning for a better site.")
	return e.finish(Paper{Heading: l.Name, Ground: Ground{Places: []Place{{"W", l.Point}}}}, goes)
}

func flightPaper(r *job.Result, f job.Flight) Paper {
	w := r.Words()
	e := &errand{r: r, name: f.Name, people: f.People, from: f.From, until: f.Until, position: AirPosition}
	goes := Section{Title: "Go"}
	goes.tell("Who", "%s: aircraft, %d aboard", f.Name, f.People)
	goes.tell("Fly", "%s above the ground at %s", w.Distance(float64(f.AltitudeM)), w.Speed(float64(f.SpeedMS)))
	e.when(&goes)
	if known(float64(f.LengthM)) {
		goes.tell("Along", "%s in about %s", w.Distance(float64(f.LengthM)), job.Duration(float64(f.Seconds)))
	}
	e.legs(&goes, f.Legs)
	goes.say("The ground party shows no light and no mirror at you once you have answered; nobody points a laser or a strobe at you.")
	return e.finish(Paper{Heading: f.Name, Ground: wayGround(f.Paths, f.Legs)}, goes)
}

func people(n int) string {
	if n == 1 {
		return "1 person"
	}
	return fmt.Sprintf("%d people", n)
}

// wayGround is a way with where it begins and ends.
func wayGround(ways orb.MultiLineString, legs []job.WayLeg) Ground {
	g := Ground{Ways: ways}
	if n := len(legs); n > 0 {
		g.Places = []Place{{"S", legs[0].FromAt.Point()}, {"E", legs[n-1].ToAt.Point()}}
	}
	return g
}

// when tells the times of a way, or leaves them blank.
func (e *errand) when(s *Section) {
	if e.from == nil {
		s.blank("Set out at", "the plan gives no time")
		return
	}
	s.large("Set out", clock(e.from))
}

// legs lists the points of a way, with where to go from each.
func (e *errand) legs(s *Section, legs []job.WayLeg) {
	if len(legs) == 0 {
		return
	}
	w := e.r.Words()
	first, second := "grid", "latitude, longitude"
	if e.aloft() {
		first, second = second, first
	}
	t := Table{Head: []string{"", first, second, "then true", "magn.", "for"}, Figures: []bool{false, false, false, true, true, true}}
	row := func(name string, p orb.Point, rest ...string) {
		at := strings.Split(e.position(w, p), apart)
		t.Rows = append(t.Rows, append([]string{name, at[0], at[1]}, rest...))
	}
	for i, l := range legs {
		name := cmp.Or(l.From, fmt.Sprint(i+1))
		if i == 0 && l.From == "" {
			name = "S"
		}
		row(name, l.FromAt.Point(), bearing(float64(l.TrueDeg)), bearing(float64(l.MagneticDeg)), w.Distance(float64(l.LengthM)))
	}
	last := legs[len(legs)-1]
	row(cmp.Or(last.To, "E"), last.ToAt.Point(), "end", "", "")
	s.table(t)
}

func (e *errand) aloft() bool {
	for _, f := range e.r.Looking.Aircraft {
		if f.Name == e.name {
			return true
		}
	}
	return false
}

// toTasks tells the ways to the areas that a party searches next.
func (e *errand) toTasks(s *Section, g *Ground) {
	w := e.r.Words()
	e.from = e.tasks[0].SetOut
	for i, t := range e.tasks {
		s.large(fmt.Sprintf("%d. To", i+1), t.Segment)
		s.tell("Set out", "%s; %s on the way, %s", clock(t.SetOut), job.Duration(float64(t.ThereS)), w.Distance(float64(t.WayM)))
		s.tell("Begin", "%s at %s", clock(t.Begin), LandPosition(w, t.Entry))
		e.within(s, t)
		g.Areas = append(g.Areas, t.Shape...)
		g.Ways = append(g.Ways, t.Way)
		g.Places = append(g.Places, Place{fmt.Sprint(i + 1), t.Entry})
		e.turn = t.End
		if t.Return != nil {
			e.until = t.Return
		}
	}
}

// finish adds what is the same for all.
func (e *errand) finish(p Paper, goes Section) Paper {
	hazardsOf(e.r, &goes, e.name)
	goes.say("Times: 24-hour clock, %s.", zoneWords(e.r.Plan))
	p.Sections = []Section{goes, e.look(), e.report(), e.back()}
	return p
}

// look tells what to look for, and how far off it is noticed.
func (e *errand) look() Section {
	w := e.r.Words()
	s := Section{Title: "Look"}
	for _, t := range e.tasks {
		abreast := fmt.Sprintf("walk %s apart", w.Distance(float64(t.SpacingM)))
		if t.People == 1 {
			abreast = fmt.Sprintf("walk lines %s apart", w.Distance(float64(t.SpacingM)))
		}
		s.tell("In "+t.Segment, "%s at %s, from %s to %s. POD %s there (sweep width %s): the chance of finding what is looked for if it is there and stays.",
			abreast, w.Speed(float64(t.SpeedMS)), clock(t.Begin), clock(t.End), share(float64(t.POD)), w.Distance(float64(t.SweepWidthM)))
		if len(t.With) > 0 {
			s.say("With %s: the spacing is of all together.", strings.Join(t.With, ", "))
		}
	}
	rows := sightByHour(e.r, e.name)
	if len(rows.Rows) == 0 {
		rows = sightByHour(e.r, "") // a party of the next effort: as all others
	}
	if len(rows.Rows) == 0 {
		s.say("The plan gives no signal to look for.")
		return s
	}
	s.table(rows)
	s.say("Noticed: by half of those who look over a quarter of the horizon for a minute. At best: told where to look. Stop, look all round and behind you, then listen.")
	return s
}

// without returns the table less a column.
func (t Table) without(head string) Table {
	for i, h := range t.Head {
		if h != head {
			continue
		}
		cut := func(row []string) []string { return append(append([]string{}, row[:i]...), row[i+1:]...) }
		out := Table{Cut: t.Cut, Head: cut(t.Head), Figures: append(append([]bool{}, t.Figures[:i]...), t.Figures[i+1:]...)}
		for _, row := range t.Rows {
			out.Rows = append(out.Rows, cut(row))
		}
		return out
	}
	return t
}

// mostReports is how many times of reports a page lists.
const mostReports = 12

// report tells by what and when to report; what only the coordinator knows is blank,
// with a warning, until the plan says it.
func (e *errand) report() Section {
	p := e.r.Plan
	s := Section{Title: "Report"}
	lines(&s, "Radio", p.Radio, "WARNING: the plan names no channel or call sign (radio:). Fill in before they leave.")
	switch times := e.reportTimes(); {
	case len(times) > 0:
		s.tell("At", "%s", strings.Join(times, ", "))
	default:
		s.blank("At", "WARNING: no report times (report_every:, and when they set out). Fill in before they leave.")
	}
	s.tell("Say", "who you are; where, %s first; what you saw, when and in which direction; who needs help. Seen or found: report first, then act.", e.firstNotation())
	lines(&s, "Injured", p.Medical, "WARNING: the plan does not say who treats the injured, and where (medical:). Fill in before they leave.")
	emergency(&s, e.r)
	return s
}

func (e *errand) firstNotation() string {
	if e.aloft() {
		return "latitude and longitude"
	}
	return "the grid"
}

// lines tells what the plan says, or leaves a blank and a warning.
func lines(s *Section, label string, texts []string, warning string) {
	if len(texts) == 0 {
		s.blank(label, warning)
		return
	}
	s.tell(label, "%s", strings.Join(texts, "; "))
}

func (e *errand) reportTimes() []string {
	every := time.Duration(float64(e.r.Plan.ReportEveryS) * float64(time.Second))
	if e.from == nil || every <= 0 {
		return nil
	}
	var list []string
	for at := e.from.Add(every); e.until == nil || !at.After(*e.until); at = at.Add(every) {
		if len(list) == mostReports {
			return append(list, "and so on")
		}
		list = append(list, at.Format("15:04"))
	}
	return list
}

// back tells when to turn round, and closes the page when all are back.
func (e *errand) back() Section {
	s := Section{Title: "Be back"}
	switch {
	case e.turn != nil && len(e.tasks) > 0:
		s.large("Stop searching and turn round", clock(e.turn))
	case e.turn != nil:
		s.large("Leave the post", clock(e.turn))
	default:
		s.blank("Turn round at the latest", "the plan does not say; whoever sends them fills it in")
	}
	if e.until != nil && e.turn != e.until {
		label := "End of the way"
		if len(e.tasks) > 0 {
			label = "Back"
		}
		s.tell(label, "about %s", clock(upTo(e.until)))
	}
	all := "All accounted for"
	if e.people > 1 {
		all = fmt.Sprintf("All %d accounted for", e.people)
	}
	s.Items = append(s.Items, Item{Boxes: []string{"Back at", all, "Signed"}})
	return s
}
