package overlay

import (
	"fmt"
	"math"
	"strings"
	"time"

	"farhail/cmd/internal/job"
)

// What is read aloud takes two minutes: 150 words a minute is a plain reading pace.
// Common practice, no source.
const (
	wordsAloud     = 300
	wordsPerMinute = 150
)

// An aloud is what a leader reads out, part by part, within the words that two minutes
// hold. What must be said comes first, then what should be, then what may be, as far as
// there is room.
type aloud struct {
	r     *job.Result
	parts []alouds
	used  int
}

type alouds struct {
	title     string
	sentences []sentence
}

type sentence struct {
	text string
	rank int
}

// Ranks of sentences.
const (
	mustSay = iota
	shouldSay
	maySay
)

func (p *alouds) must(format string, args ...any) {
	p.sentences = append(p.sentences, sentence{fmt.Sprintf(format, args...), mustSay})
}

func (p *alouds) should(format string, args ...any) {
	p.sentences = append(p.sentences, sentence{fmt.Sprintf(format, args...), shouldSay})
}

func (p *alouds) may(format string, args ...any) {
	p.sentences = append(p.sentences, sentence{fmt.Sprintf(format, args...), maySay})
}

// aloud writes what is read out, and the heading of what is not.
func (b *brief) aloud(r *job.Result) {
	a := &aloud{r: r}
	a.parts = []alouds{a.situation(), a.task(), a.times(), a.positions(), a.hazards(), a.cautions()}
	texts := a.within(wordsAloud)
	minutes := math.Ceil(float64(a.used)/wordsPerMinute*2) / 2
	b.title(fmt.Sprintf("READ ALOUD: %d WORDS, ABOUT %s", a.used, minuteWords(minutes)))
	for i, text := range texts {
		if i > 0 {
			b.lines = append(b.lines, "")
		}
		b.item("", "%s. %s", a.parts[i].title, text)
	}
	b.title(endOfAloud)
}

// endOfAloud heads what is not read out.
const endOfAloud = "THE TABLES: NOT READ ALOUD"

func minuteWords(m float64) string {
	if m <= 1 {
		return "1 MINUTE"
	}
	return fmt.Sprintf("%g MINUTES", m)
}

// within returns the text of each part: all that must be said, and of the rest, rank by
// rank and part by part, what still fits.
func (a *aloud) within(limit int) []string {
	taken := make([][]bool, len(a.parts))
	take := func(rank int) {
		for i, p := range a.parts {
			if taken[i] == nil {
				taken[i] = make([]bool, len(p.sentences))
			}
			for k, s := range p.sentences {
				n := len(strings.Fields(s.text))
				if s.rank == rank && (rank == mustSay || a.used+n <= limit) {
					taken[i][k] = true
					a.used += n
				}
			}
		}
	}
	for _, p := range a.parts {
		a.used += len(strings.Fields(p.title))
	}
	for _, rank := range []int{mustSay, shouldSay, maySay} {
		take(rank)
	}
	texts := make([]string, len(a.parts))
	for i, p := range a.parts {
		var list []string
		for k, s := range p.sentences {
			if taken[i][k] {
				list = append(list, s.text)
			}
		}
		texts[i] = strings.Join(list, " ")
	}
	return texts
}

// fewWords cuts a text of the plan that could be of any length.
func fewWords(s string, most int) string {
	words := strings.Fields(s)
	if len(words) <= most {
		return strings.Join(words, " ")
	}
	return strings.Join(words[:most], " ") + " ..."
}

// newestStart is the start that nothing supersedes, the last of them; nil for none.
func newestStart(r *job.Result) *job.Start {
	for i := len(r.Starts) - 1; i >= 0; i-- {
		if r.Starts[i].SupersededBy == "" {
			return &r.Starts[i]
		}
	}
	return nil
}

func (a *aloud) situation() alouds {
	p := alouds{title: "SITUATION"}
	w := a.r.Words()
	if a.r.Plan.Example {
		p.must("This is an example, not a real search.")
	}
	if t := a.r.Trip; t != nil {
		p.must("A trip of %s: set out %s, back by %s.", w.Distance(float64(t.LengthM)), clock(t.Start), clock(upTo(t.BackBy)))
		if t.AlarmAt != nil {
			p.must("The alarm is raised at %s.", clock(upTo(t.AlarmAt)))
		}
	}
	switch s := newestStart(a.r); {
	case s == nil:
		p.must("No position is known to start from.")
	default:
		said := ""
		if s.Source != "" {
			said = ", by " + fewWords(s.Source, 8)
		}
		p.must("%s: %s, %s%s.", capital(strings.ReplaceAll(s.Kind, "-", " ")), fewWords(s.Name, 6), moment(s.Time), said)
	}
	if g := a.r.Rings; g != nil {
		for i := len(g.Rings) - 1; i >= 0; i-- {
			if ring := g.Rings[i]; ring.Walker == "usual" {
				p.may("After %s a usual walker is at most %s away; people who run or ride are beyond that.", job.Duration(float64(ring.AfterS)), w.Distance(float64(ring.FarthestM)))
				break
			}
		}
	}
	if s := a.r.Sweep; s != nil && known(float64(s.POS)) {
		p.must("What has been searched would have found them with %s, were they there.", share(float64(s.POS)))
	}
	return p
}

// mostTasks is how many parties' tasks are read out; the others have their pages.
const mostTasks = 5

func (a *aloud) task() alouds {
	p := alouds{title: "TASK"}
	tasks := a.nextTasks()
	if len(tasks) == 0 {
		tasks = a.lookTasks()
	}
	if len(tasks) == 0 {
		p.must("The plan names nobody who looks.")
	}
	for i, t := range tasks {
		if i == mostTasks {
			p.must("And %d more, by their pages of the sheet.", len(tasks)-i)
			break
		}
		p.must("%s", t)
	}
	for _, day := range []bool{true, false} {
		if s := bestSight(a.r, day); s != nil && s.NoticedM > 0 {
			when := map[bool]string{true: "By day", false: "By night"}[day]
			p.may("%s look for the %s, noticed to %s.", when, fewWords(s.Signal, 4), a.r.Words().Distance(float64(s.NoticedM)))
		}
	}
	return p
}

func (a *aloud) nextTasks() []string {
	var list []string
	if a.r.Sweep == nil {
		return nil
	}
	for _, t := range a.r.Sweep.Next {
		if t.Segment != "" {
			list = append(list, fmt.Sprintf("%s, %d: search %s, %s apart, %s to %s.", fewWords(t.Party, 4), t.People, fewWords(t.Segment, 4),
				a.r.Words().Distance(float64(t.SpacingM)), hourOf(t.Begin), hourOf(t.End)))
		}
	}
	return list
}

// lookTasks tells who goes along what, and who watches.
func (a *aloud) lookTasks() []string {
	var list []string
	for _, l := range a.r.Looking.Parties {
		when := ""
		if l.From != nil && l.Until != nil {
			when = fmt.Sprintf(", %s to about %s", hourOf(l.From), hourOf(upTo(l.Until)))
		}
		list = append(list, fmt.Sprintf("%s, %d: walk the route, %s%s.", fewWords(l.Name, 4), l.People, a.r.Words().Distance(float64(l.LengthM)), when))
	}
	for _, l := range a.r.Looking.Lookouts {
		when := ""
		if l.From != nil && l.Until != nil {
			when = fmt.Sprintf(", %s to %s", hourOf(l.From), hourOf(l.Until))
		}
		list = append(list, fmt.Sprintf("%s, %d: watch%s.", fewWords(l.Name, 4), l.People, when))
	}
	for _, f := range a.r.Looking.Aircraft {
		list = append(list, fmt.Sprintf("%s: fly at %s above the ground.", fewWords(f.Name, 4), a.r.Words().Distance(float64(f.AltitudeM))))
	}
	return list
}

// hourOf writes a time of a day that is plain from what was said.
func hourOf(t *time.Time) string {
	if t == nil {
		return "?"
	}
	return t.Format("15:04")
}

func (a *aloud) times() alouds {
	p := alouds{title: "TIMES"}
	plan := a.r.Plan
	p.must("24-hour clock, %s.", zoneWords(plan))
	if n := len(a.r.Sky); n > 0 {
		s := a.r.Sky[n-1]
		switch d := s.Day; {
		case d.CivilDusk != nil:
			p.must("On %s it is dark from %s for %s.", day(s.At), hourOf(d.CivilDusk), job.Duration(float64(d.DarkS)))
		case d.DarkS == 0:
			p.must("It does not get dark.")
		}
		if d := s.Day; d.Sunset != nil {
			p.may("Sunset %s.", hourOf(d.Sunset))
		}
		p.may("Moon %.0f %% lit.", 100*float64(s.Moon.LitFraction))
	}
	every := float64(plan.ReportEveryS)
	switch {
	case every > 0 && len(plan.Radio) > 0:
		p.must("Report every %s on %s.", job.Duration(every), fewWords(strings.Join(plan.Radio, ", "), 8))
	case every > 0:
		p.must("Report every %s; the channel is told now.", job.Duration(every))
	default:
		p.must("Report times and channel are told now.")
	}
	return p
}

// zoneWords names the plan's zone and its offset when the plan was made.
func zoneWords(p job.PlanInfo) string {
	if p.AsOf == nil {
		return p.Zone
	}
	if offset := p.AsOf.Format("-07:00"); !strings.Contains(p.Zone, offset) {
		return p.Zone + " " + offset
	}
	return p.Zone
}

func (a *aloud) positions() alouds {
	p := alouds{title: "POSITIONS"}
	w := a.r.Words()
	if s := newestStart(a.r); s != nil {
		p.must("%s: %s, within %s.", capital(fewWords(s.Name, 6)), w.Reference(s.Point), w.Distance(float64(s.Radius95M)))
	}
	if g := a.r.Reckon; g != nil && len(g.Path) > 0 {
		p.must("Their log ends at %s, within %s.", w.Reference(g.Path[len(g.Path)-1]), w.Distance(float64(g.Ellipse95.MajorM)))
	}
	for i, l := range a.r.Looking.Lookouts {
		if i < mostTasks {
			p.may("%s: %s.", fewWords(l.Name, 4), w.Reference(l.Point))
		}
	}
	return p
}

func (a *aloud) hazards() alouds {
	p := alouds{title: "HAZARDS"}
	if n := len(a.r.Sky); n > 0 && a.r.Sky[n-1].Sun.ElevationDeg < -6 {
		p.must("Darkness.")
	}
	if t := a.r.Terrain; t != nil {
		p.must("Cliffs smaller than the map's cells of %s are not seen.", a.r.Words().Sides(float64(t.CellEastM), float64(t.CellNorthM), 0))
	} else {
		p.must("No terrain was used: nothing here knows cliffs.")
	}
	p.given(a.r)
	p.must("Who knows of cliffs, water, ice or weather says so now.")
	if s := a.r.Sweep; s != nil && s.Then != nil && len(s.Then.Closed) > 0 {
		c := s.Then.Closed[0]
		p.may("Nobody is sent to %s: %s.", fewWords(c.Segment, 4), fewWords(c.Why, 10))
	}
	return p
}

// cautions are those of the last part, short; the whole of them stand at the end.
func (a *aloud) cautions() alouds {
	p := alouds{title: "CAUTIONS"}
	call := "Emergency: call first."
	if n := a.r.Plan.Emergency; n != "" {
		call = fmt.Sprintf("Emergency: call %s first.", fewWords(n, 4))
	}
	p.must("%s Police direct the search; nobody deploys themselves.", call)
	p.must("Ways are lines, not safe paths: turn back where ground, light or weather says so. Do not climb in the dark or in lightning.")
	p.must("No fire under a ban, under trees or in wind. No laser or strobe at aircraft; lamp and mirror off once acknowledged. Distress signals only in distress.")
	p.must("All distances are estimates.")
	return p
}
