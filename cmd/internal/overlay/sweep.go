package overlay

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"farhail/cmd/internal/job"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
)

// Identifiers of the layers of what was searched.
const (
	Searched = "searched"
	Swept    = "segment"
	Next     = "next"
	NextWays = "next-way"
	Begin    = "begin"
)

// searched returns the ways of all operations, as far as they count.
func searched(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Searched, Title: "Ways that were searched, gaps, stops and vehicles left out"}
	if r.Sweep == nil {
		return l
	}
	for _, t := range r.Sweep.Searching {
		l.Features = append(l.Features, layer.New(t.Operation+", "+t.Party, t.Paths, layer.P("operation", t.Operation), layer.P("party", t.Party)))
	}
	return l
}

// swept returns the search areas with what was done to them.
func swept(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Swept, Title: "Search areas: chance of detection of what was searched, and what is left"}
	if r.Sweep == nil {
		return l
	}
	for _, s := range r.Sweep.Segments {
		l.Features = append(l.Features, layer.New(s.Name, orb.Geometry(s.Shape),
			layer.P("area_m2", float64(s.AreaM2)), layer.P("sweep_width_m", float64(s.SweepWidthM)), layer.P("effort_m", float64(s.EffortM)),
			layer.P("coverage", float64(s.Coverage)), layer.P("pod", float64(s.POD)), layer.P("poa_before", float64(s.POABefore)), layer.P("poa_after", float64(s.POAAfter))))
	}
	return l
}

// next returns the areas that parties search next.
func next(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Next, Title: "Who searches where next"}
	if r.Sweep == nil {
		return l
	}
	for _, t := range r.Sweep.Next {
		if t.Segment == "" {
			continue
		}
		l.Features = append(l.Features, layer.New(t.Party+": "+t.Segment, orb.Geometry(t.Shape), taskProperties(t)...))
	}
	return l
}

func taskProperties(t job.SweepTask) []layer.Property {
	return []layer.Property{
		layer.P("party", t.Party), layer.P("segment", t.Segment), layer.P("people", t.People), layer.P("spacing_m", float64(t.SpacingM)),
		layer.P("effort_m", float64(t.EffortM)), layer.P("search_s", float64(t.SearchS)), layer.P("pod", float64(t.POD)),
	}
}

// nextWays returns the ways there.
func nextWays(r *job.Result) layer.Layer {
	l := layer.Layer{ID: NextWays, Title: "Ways to the next areas: lines, not safe paths"}
	if r.Sweep == nil {
		return l
	}
	for _, t := range r.Sweep.Next {
		if t.Segment == "" {
			continue
		}
		l.Features = append(l.Features, layer.New(t.Party+" to "+t.Segment, t.Way,
			layer.P("party", t.Party), layer.P("way_m", float64(t.WayM)), layer.P("there_s", float64(t.ThereS))))
	}
	return l
}

// PartyLayers returns what one party needs on its handheld, task by task: the ways, where
// each area is entered, and its outline; none for a party that has no task.
func PartyLayers(r *job.Result, party string) []layer.Layer {
	begin := layer.Layer{ID: Begin, Title: "Where to begin"}
	outline := layer.Layer{ID: Next, Title: "The areas"}
	way := layer.Layer{ID: NextWays, Title: "The ways: lines, not safe paths"}
	n := 0
	for _, t := range r.Sweep.Next {
		if t.Party != party || t.Segment == "" {
			continue
		}
		n++
		entry := layer.New(fmt.Sprintf("%d begin %s", n, t.Segment), t.Entry, taskProperties(t)...)
		entry.Time = timeOf(t.Begin)
		begin.Features = append(begin.Features, entry)
		outline.Features = append(outline.Features, layer.New(fmt.Sprintf("%d %s", n, t.Segment), orb.Geometry(t.Shape), taskProperties(t)...))
		way.Features = append(way.Features, layer.New(fmt.Sprintf("%d to %s", n, t.Segment), t.Way, layer.P("way_m", float64(t.WayM))))
	}
	if n == 0 {
		return nil
	}
	return []layer.Layer{begin, outline, way}
}

// SweepLayers returns the layers of what was searched and of what comes next.
func SweepLayers(r *job.Result) []layer.Layer {
	return []layer.Layer{searched(r), swept(r), next(r), nextWays(r)}
}

// swept tells what searching has done.
func (b *brief) swept(r *job.Result) {
	s := r.Sweep
	if s == nil || len(s.Operations)+len(s.NotSeen) == 0 {
		return
	}
	b.title("WHAT HAS BEEN SEARCHED")
	if len(s.Undone) > 0 {
		b.line("Undone for this once, as asked: %s. The plan still holds it.", strings.Join(s.Undone, ", "))
	}
	if known(float64(s.POS)) {
		b.line("Chance that all of it would have found them (POS): %s. Share outside of the map: %s before, %s now.", share(float64(s.POS)), share(float64(s.OutsideBefore)), share(float64(s.OutsideAfter)))
	}
	if known(float64(s.POSAsRecorded)) {
		b.line("With nothing taken out of the tracks it would read %s: not what was searched on foot.", share(float64(s.POSAsRecorded)))
	}
	if s.Mobile > 0 {
		b.line("Between operations they are mobile with a chance of %s.", share(float64(s.Mobile)))
	} else {
		b.line("They are treated as staying put.")
	}
	for _, o := range s.Operations {
		b.operation(o)
	}
	for _, n := range s.NotSeen {
		b.unseen(n)
	}
	b.columns("   %-34s %-18s %8s %8s", "in the order of time", "", "chance *", "outside")
	for _, h := range s.History {
		b.columns("   %-34.34s %-18s %8s %8s", ascii(h.Name), clock(h.At), share(float64(h.Expected)), share(float64(h.OutsideShare)))
	}
	b.line("* that the map gave to what happened: a search is expected to find nothing with 100 %% less its POS.")
	b.segments(s)
	b.line("POD is the chance of finding an object of this kind if it was there and stayed. It is capped at 95 %% unless the searchers measured their own sweep width. Low ground is not empty ground, and no figure here says that a search should end.")
}

func (b *brief) operation(o *job.Operation) {
	when := ""
	if o.From != nil && o.Until != nil {
		when = fmt.Sprintf(", %s to %s", clock(o.From), clock(o.Until))
	}
	shown := ""
	switch {
	case !known(float64(o.Shown)):
		shown = " NOT USED: nobody has said how likely it was shown."
	case o.Shown < 1:
		shown = fmt.Sprintf(" Shown with a chance of %s.", share(float64(o.Shown)))
	}
	b.item("   ", "%s%s, looked for %s.%s Beyond %s next to nothing is found.", o.Name, when, o.Target, shown, b.words.Distance(float64(o.RangeM)))
	for _, p := range o.Parties {
		who := strconv.Itoa(p.People)
		if p.People > 1 {
			who += fmt.Sprintf(" %s apart", b.words.Distance(float64(p.SpacingM)))
		}
		if known(float64(p.Altitude)) {
			who = fmt.Sprintf("an aircraft %s above the ground, whose crew counts as one", b.words.Distance(float64(p.Altitude)))
		}
		pace := b.words.Speed(float64(p.SpeedMS))
		const alike = 1.05 // speeds that need no telling apart
		if p.FastMS > alike*p.SlowMS {
			pace = fmt.Sprintf("each leg at its own speed, %s to %s, %s on the whole", b.words.Speed(float64(p.SlowMS)), b.words.Speed(float64(p.FastMS)), pace)
		} else {
			pace += " (" + p.Speed + ")"
		}
		if p.Why != "" {
			b.item("      ", "%s: NOT USED, %s.", p.Name, b.words.Sentence(p.Why))
			continue
		}
		var widths []string
		for _, w := range p.Widths {
			widths = append(widths, fmt.Sprintf("%s %s (%s)", w.Ground, b.words.Distance(float64(w.SweepWidthM)), w.From))
		}
		b.item("      ", "%s: %s, %s of track, %s by all, %s. Sweep width: %s.", p.Name, who,
			b.words.Distance(float64(p.LengthM)), b.words.Distance(float64(p.EffortM)), pace, strings.Join(widths, ", "))
		if known(float64(p.Altitude)) {
			b.item("      ", "From the air a width may be 1.6 times larger or smaller; windows, vibration and the crew's other work are not counted.")
		}
	}
}

func (b *brief) unseen(n job.Unseen) {
	if !n.Used {
		b.item("   ", "%s: not used, %s.", n.Name, b.words.Sentence(n.Why))
		return
	}
	least := fmt.Sprintf(" No cell keeps less than %s.", share(float64(n.Least)))
	if n.Observed {
		least = " It rests on observation."
	}
	b.item("   ", "%s, %s to %s, by %s: shown with %s, then noticed with %s.%s", n.Name, clock(n.From), clock(n.Until), strings.Join(n.By, ", "), share(float64(n.Shown)), share(float64(n.Chance)), least)
}

// segments lists the areas that got most effort, and those that hold most now.
func (b *brief) segments(s *job.Sweep) {
	list := slices.Clone(s.Segments)
	slices.SortStableFunc(list, func(a, b job.SweptSegment) int {
		return cmp.Or(cmp.Compare(float64(b.POABefore-b.POAAfter), float64(a.POABefore-a.POAAfter)), cmp.Compare(b.POAAfter, a.POAAfter))
	})
	if len(list) > areasInBrief {
		b.line("The %d of %d areas that lost most of their share:", areasInBrief, len(list))
		list = list[:areasInBrief]
	}
	b.columns("   %-18s %8s %8s %6s %9s %9s %7s", "area", "before", "now", "POD", "coverage", s.Law, "width")
	for _, a := range list {
		width := "-"
		if known(float64(a.SweepWidthM)) {
			width = b.words.Distance(float64(a.SweepWidthM))
		}
		b.columns("   %-18.18s %8s %8s %6s %9.2f %9s %7s", ascii(a.Name), share(float64(a.POABefore)), share(float64(a.POAAfter)), share(float64(a.POD)), float64(a.Coverage), share(float64(a.LawPOD)), width)
	}
	b.gaps(list)
}

// gaps tells why the cells of areas come to something else than the law, one sentence for
// all that it goes for.
func (b *brief) gaps(list []job.SweptSegment) {
	var whys []string
	names := map[string][]string{}
	for _, a := range list {
		if a.Gap == "" {
			continue
		}
		if names[a.Gap] == nil {
			whys = append(whys, a.Gap)
		}
		names[a.Gap] = append(names[a.Gap], a.Name)
	}
	for _, why := range whys {
		b.item("   ", "%s: %s.", strings.Join(names[why], ", "), why)
	}
}

// next tells what every party does next, as people follow it.
func (b *brief) next(r *job.Result) {
	s := r.Sweep
	if s == nil || s.Then == nil {
		return
	}
	b.title("WHO SEARCHES WHERE NEXT")
	t := s.Then
	b.line("A proposal for whoever directs the search, by what is likely now. All together find them with %s (POS); no division of their time could give more than %s.", share(float64(t.POS)), share(float64(t.Bound)))
	for _, task := range s.Next {
		b.task(task)
	}
	for i, c := range t.Closed {
		if i == areasInBrief {
			b.item("   ", "and %d more areas that nobody is sent to.", len(t.Closed)-i)
			break
		}
		b.item("   ", "Nobody is sent to %s, which holds %s: %s.", c.Segment, share(float64(c.Share)), c.Why)
	}
	b.line("Ways are lines, not safe paths; cliffs smaller than the grid are not seen. Turn back where the ground, the light or the weather says so.")
}

func (b *brief) task(t job.SweepTask) {
	if t.Segment == "" {
		b.item("   ", "%s, %d: stays. %s.", t.Party, t.People, capital(t.Why))
		return
	}
	apart := fmt.Sprintf("walk %s apart", b.words.Distance(float64(t.SpacingM)))
	if t.People == 1 {
		apart = fmt.Sprintf("walk lines %s apart", b.words.Distance(float64(t.SpacingM)))
	}
	with := ""
	if len(t.With) > 0 {
		with = ", which they share with " + strings.Join(t.With, ", ")
	}
	b.item("   ", "%s, %d: to %s%s. Set out %s, %s on the way (%s), begin %s at", t.Party, t.People, t.Segment, with,
		clock(t.SetOut), job.Duration(float64(t.ThereS)), b.words.Distance(float64(t.WayM)), clock(t.Begin))
	b.columns("      %s", b.words.Position(t.Entry))
	back := ""
	if t.Return != nil {
		back = "; back " + clock(t.Return)
	}
	hidden := ""
	if t.ClearShare < 0.995 {
		hidden = fmt.Sprintf(", the ground leaves %s in sight", share(float64(t.ClearShare)))
	}
	b.item("      ", "Search for %s, %s, at %s, until %s%s. It buys a POD of %s there (sweep width %s by %s%s).", job.Duration(float64(t.SearchS)), apart,
		b.words.Speed(float64(t.SpeedMS)), clock(t.End), back, share(float64(t.POD)), b.words.Distance(float64(t.SweepWidthM)), t.WidthFrom, hidden)
	if text := holdsWords(t); text != "" {
		b.item("      ", "%s", text)
	}
	if t.UnusedS >= 60 {
		b.item("      ", "%s of their time is not used: %s.", job.Duration(float64(t.UnusedS)), t.Why)
	}
}

// capital begins a sentence.
func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// Sweeping writes the parts of the brief that tell what has been searched and what
// comes next.
func Sweeping(w io.Writer, r *job.Result) {
	part(w, r, func(b *brief, r *job.Result) {
		b.swept(r)
		b.next(r)
	})
}

// answerSweep tells what searching has done in one line.
func answerSweep(r *job.Result) string {
	s := r.Sweep
	var parts []string
	if known(float64(s.POS)) {
		parts = append(parts, fmt.Sprintf("POS %s so far, %s outside", share(float64(s.POS)), share(float64(s.OutsideAfter))))
	}
	var tasks []string
	last := ""
	for _, t := range s.Next {
		if t.Segment != "" && t.Party != last {
			tasks = append(tasks, fmt.Sprintf("%s to %s", t.Party, t.Segment))
		}
		last = t.Party
	}
	if len(tasks) > 0 {
		parts = append(parts, fmt.Sprintf("next %s (POS %s)", strings.Join(tasks, ", "), share(float64(s.Then.POS))))
	}
	if len(parts) == 0 {
		parts = []string{"nothing yet"}
	}
	return "Searched: " + strings.Join(parts, "; ")
}
