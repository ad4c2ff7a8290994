package overlay

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plan"
	"farhail/geo/layer"
)

// Hidden is the layer of what a drill hides.
const Hidden = "hidden"

// DrillStart returns the layers for the participants of a drill: those of a plan that
// everybody may see, where it begins and what is known of the way.
func DrillStart(r *job.Result) []layer.Layer {
	list := []layer.Layer{starts(r), startErrors(r), log(r), logEnd(r), logErrors(r)}
	return slices.DeleteFunc(list, func(l layer.Layer) bool { return len(l.Features) == 0 })
}

// DrillAnswer returns the layers for the instructor of a drill.
func DrillAnswer(r *job.Result, d *job.DrillSet) []layer.Layer {
	l := layer.Layer{ID: Hidden, Title: "Hidden: for the instructor alone"}
	for _, h := range d.Hidden {
		l.Features = append(l.Features, layer.New(h.Name, h.Point(), layer.P("alone", h.Alone), layer.P("shows", h.Shows), layer.P("walk_s", float64(h.WalkS))))
		l.Features[len(l.Features)-1].HeightM = float64(h.GroundM)
	}
	return append(DrillStart(r), l)
}

// blank stands for what is filled in by hand.
const blank = "______"

// or returns what was given, or a blank.
func or(s string) string {
	if s == "" {
		return blank
	}
	return s
}

// drillHead begins a sheet of a drill.
func drillHead(r *job.Result, what string) *brief {
	b := &brief{words: r.Words()}
	if r.Plan.Example {
		b.line(exampleLine)
	}
	b.line("DRILL, NOT A REAL SEARCH: %s", what)
	b.line("%s", titleOf(r))
	b.line("Times in %s. Plan %s, %s.", r.Plan.Zone, r.Plan.Hash, r.Program)
	return b
}

// stop tells what ends a drill at once.
func (b *brief) stop(r *job.Result, d job.DrillTold) {
	b.title("A REAL EMERGENCY")
	b.line("The word: %s. Whoever needs real help says it three times, by voice or radio. Then the drill is over for everybody, until the safety officer says otherwise.", or(d.EmergencyWord))
	b.line("%s", emergencyLine(r.Plan.Emergency))
	b.line("Safety officer: %s. Anybody may stop the drill, at any time, without giving a reason.", or(d.SafetyOfficer))
}

// times tells when it begins and ends.
func (b *brief) times(d job.DrillTold) {
	b.title("WHEN")
	b.line("Begins %s. Ends %s: then everybody comes back, found or not, and is counted.", moment(&d.Begins), moment(&d.Ends))
	b.line("Sunrise %s, sunset %s.", clock(d.Sunrise), clock(d.Sunset))
}

// DrillBriefing writes what the participants are told.
func DrillBriefing(w io.Writer, r *job.Result, d job.DrillTold) error {
	b := drillHead(r, "briefing")
	b.title("WHAT FOR")
	b.line("%s", or(d.Objective))
	b.title("THE CASE")
	if d.Briefing != "" {
		b.line("%s", d.Briefing)
	}
	b.line("Hidden: %d, somewhere in reach on foot.", d.Count)
	for _, s := range d.Signals {
		b.item("- ", "may show: %s (%s)", s.Name, kindWords(s))
	}
	b.starts(r)
	if g := r.Reckon; g != nil && len(g.Path) > 0 {
		b.line("Their log of %d legs, %s, leads to", len(g.Legs), r.Words().Distance(float64(g.LengthM)))
		b.columns("   %s", r.Words().Position(g.Path[len(g.Path)-1]))
		b.line("within an ellipse (95 %%) of %s by %s, half axes, the long one at %s true.", r.Words().Distance(float64(g.Ellipse95.MajorM)), r.Words().Distance(float64(g.Ellipse95.MinorM)), bearing(float64(g.Ellipse95.AzimuthDeg)))
	}
	b.times(d)
	b.stop(r, d)
	b.title("HOW TO REPORT")
	b.line("Begin every message by radio with the word drill. Say who you are, the time, the place as a position, and what you see. Go up to what you see only where the way is safe.")
	b.line("Record your track with times, one file a party, named as the party. Write reports into reports.csv, your leg log into log-form.txt, the areas that you think likely as GeoJSON with the property share. All of it comes back to the instructor.")
	b.line("Do not follow anybody on the way to a hiding place, and do not ask who hid it.")
	return b.tail(w)
}

func kindWords(s plan.Signal) string {
	if s.Kind == plan.Figure {
		return "a person, " + or(s.Posture)
	}
	return s.Kind
}

// DrillSafety writes the safety plan, which is the same for all.
func DrillSafety(w io.Writer, r *job.Result, d job.DrillTold) error {
	b := drillHead(r, "safety plan")
	b.stop(r, d)
	b.times(d)
	b.title("TOLD BEFORE IT (by whom, when)")
	for _, who := range d.Tell {
		b.item("[ ] ", "%s: told by %s at %s", who, blank, blank)
	}
	b.line("Tell them again when it is over.")
	b.list("BEFORE ANYBODY SETS OUT", "[ ] ", []string{
		"Everybody is on the list, and knows the word, the end and the way to call.",
		"Each party has a phone, a radio or whistle, light, warm and dry clothes, food and water.",
		"The weather, fire bans and the state of streams and snow have been looked at today. Below the limit that was agreed (" + blank + ") the drill does not take place.",
		"The safety officer hears from each party every " + blank + ".",
	})
	b.list("WHO HIDES", "[ ] ", []string{
		"Has walked to the place by daylight with the instructor, who has seen it and finds it safe: the map cannot tell.",
		"Has a phone, a radio, shelter, light, food and water, and checks in every " + blank + ". Comes out without being asked when cold, hurt or afraid.",
		"Comes back alone at the end if nobody has come, by the way they went.",
		"Lights no fire or flare. Points no lamp or mirror at an aircraft, and stops at once when one turns.",
	})
	b.list("AND", "[ ] ", d.Safety)
	b.title("WHEN SOMEBODY IS NOT BACK")
	b.line("Who is not back at the end and does not answer is missing: it is no drill any more. Call the emergency number.")
	return b.tail(w)
}

// DrillLogForm writes an empty leg log, which farhail reckon reads once it is filled
// in.
func DrillLogForm(w io.Writer, r *job.Result, d job.DrillTold) error {
	lines := []string{
		"# Leg log. One leg a line: bearing, distance, @time, what you saw.",
		"#   045 320 double paces @10:20 up to the wall",
		"#   130 850 m @10:45 slope +10% crossed the stream",
		"# Take the # from a line below where it holds, and put in your own figures.",
		"date: " + d.Begins.Format(time.DateOnly) + zoneWord(r),
		"#start: POSITION",
		"#north: magnetic",
		"#pace: 62 per 100 m double",
		"# legs:",
	}
	_, err := io.WriteString(w, strings.Join(lines, "\n")+"\n")
	return err
}

// zoneWord returns the zone's name with a blank before it where it is one of a place.
func zoneWord(r *job.Result) string {
	if z := r.Plan.Zone; strings.Contains(z, "/") {
		return " " + z
	}
	return ""
}

// DrillReportForm writes an empty table of reports.
func DrillReportForm(w io.Writer) error {
	_, err := io.WriteString(w, "who,time,position,what\n")
	return err
}

// DrillKey writes the answer, for the instructor alone.
func DrillKey(w io.Writer, r *job.Result, d *job.DrillSet) error {
	b := drillHead(r, "THE ANSWER, for the instructor alone")
	b.line("Seed %d: with it and the plan the answer can be worked out again.", d.Seed)
	b.title("HIDDEN")
	for _, h := range d.Hidden {
		shows := "shows nothing"
		if len(h.Shows) > 0 {
			shows = "shows " + strings.Join(h.Shows, ", ")
		}
		who := "somebody"
		if h.Alone {
			who = "nobody there"
		}
		b.item("- ", "%s: %s, %s; %s on foot from the start by a slow walker", h.Name, who, shows, job.Duration(float64(h.WalkS)))
		b.columns("  %s", r.Words().Position(h.Point()))
	}
	b.ground(d.Ground)
	b.forecasts(d)
	b.times(d.DrillTold)
	b.stop(r, d.DrillTold)
	b.notes(r)
	return b.tail(w)
}

// ground tells where somebody could be hidden, and what was not looked at.
func (b *brief) ground(g job.DrillGround) {
	b.title("THE GROUND THAT WAS ALLOWED")
	b.line("Drawn from %s. Of that %.0f %% lies on the %s where somebody may be hidden.", drawnFrom(g), 100*float64(g.Share), b.words.Area(float64(g.AreaM2)))
	b.line("There no slope over 25 degrees lies within %s, no water within %s, no slope over %d degrees within %s, a fall from one cell to the next included; the height is known; a slow walker gets there within %s, half of the daylight, around steep ground, lakes and rivers.", b.words.Length(50, 0), b.words.Length(30, 0), steepest(g), b.words.Length(50, 0), job.Duration(float64(g.DaylightS)))
	b.line("Cells of %s. Refused, by the first reason: %d no data, %d closed, %d water, %d cliff, %d steep, %d out of reach.", b.words.Sides(float64(g.CellEastM), float64(g.CellNorthM), 0), g.Voids, g.Closed, g.Wet, g.Cliffs, g.Steep, g.OutOfReach)
	b.line("Water: %s.", g.Water)
	if g.GroundSeen != "" {
		b.line("The ground was seen by %s.", g.GroundSeen)
	}
	if !g.Checkable {
		b.line("Cliffs cannot be told on such cells: this is no all-clear.")
	}
	b.line("All limits are own choice and no proof that a place is safe. Walk there by daylight and look before anybody hides; if it is not safe, set the drill again.")
}

// drawnFrom says what places are drawn from, and why.
func drawnFrom(g job.DrillGround) string {
	if g.Told {
		return g.From
	}
	return g.From + ", since the plan has no likelihood"
}

func steepest(g job.DrillGround) int {
	if g.Checkable {
		return 40
	}
	return 30
}

// forecasts tells how the plan would fare.
func (b *brief) forecasts(d *job.DrillSet) {
	if len(d.Forecast) == 0 {
		return
	}
	b.title("HOW THE PLAN WOULD FARE")
	for _, f := range d.Forecast {
		b.line("%s, hidden in %d places: found by", strings.Join(f.Names, ", "), f.Drills)
		for _, h := range f.Hours {
			b.columns("   %-8s %3.0f %%  (+- %.0f)", job.Duration(float64(h.AfterS)), 100*float64(h.Found), 200*float64(h.StandardError))
		}
		for _, s := range f.Seen {
			b.item("   ", "%s", s)
		}
	}
	b.line("By the parties and the lookouts together, with the luck of the day in common; if what is hidden stays. People on a drill look harder than people who are tired.")
}

// DrillReview writes the sheet of the talk afterwards.
func DrillReview(w io.Writer, r *job.Result, d job.DrillTold) error {
	b := drillHead(r, "review without fault")
	b.line("Within an hour of the end, everybody together, the hidden person too. Warm and fed first.")
	b.list("RULES", "- ", []string{
		"It is about what happened, not about who. No names in what is written down, no blame, no excuses.",
		"Each says what they saw and thought at the time, those with the least experience first. Nobody is cut short.",
		"What anybody did made sense to them then: find out why.",
	})
	b.title("WHAT WAS MEANT")
	b.line("%s", or(d.Objective))
	b.list("QUESTIONS", "- ", []string{
		"What did we expect, and what happened? Put times to it.",
		"What did we know when we chose where to look, and what did we leave out?",
		"Where did we pass near, and what would have let us see?",
		"What did the person who hid see and hear of us?",
		"Was anybody ever unsafe, or cold, or out of reach? What would we have done had it been real?",
		"What went well, that we want to do again?",
	})
	b.title("WHAT WE CHANGE (what, who, by when)")
	for range 4 {
		b.columns("   %s   %s   %s", strings.Repeat("_", 40), strings.Repeat("_", 12), strings.Repeat("_", 12))
	}
	b.line("farhail drill score gives the figures and three lessons to begin with.")
	b.list("BEFORE ANYONE ACTS", "- ", cautions)
	return b.write(w)
}

// DrillSummary tells that a drill was set, and nothing of the answer.
func DrillSummary(w io.Writer, r *job.Result, d *job.DrillSet, folder string) {
	b := &brief{words: r.Words()}
	if r.Plan.Example {
		b.line(exampleLine)
	}
	b.line("Drill set: %d hidden, drawn from %s.", d.Count, drawnFrom(d.Ground))
	b.line("Of that %.0f %% lies where the ground allows it (%s).", 100*float64(d.Ground.Share), r.Words().Area(float64(d.Ground.AreaM2)))
	for _, f := range d.Forecast {
		last := f.Hours[len(f.Hours)-1]
		b.line("Forecast, %s: found in %.0f %% of %d drills within %s.", strings.Join(f.Names, ", "), 100*float64(last.Found), f.Drills, job.Duration(float64(last.AfterS)))
	}
	b.item("For you:    ", "%s/instructor (the answer, safety plan, forecast, review)", folder)
	b.item("For others: ", "%s/participants (briefing, start, safety plan, forms)", folder)
	b.line("Before it: tell %s. Walk to each place by daylight and look.", strings.Join(d.Tell, "; "))
	b.list("BEFORE ANYONE ACTS", "- ", cautions)
	fmt.Fprintln(w, strings.Join(b.lines, "\n"))
}
