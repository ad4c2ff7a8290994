package overlay

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
)

// A Card is the words of the pocket card, in the order in which it is read. They are
// laid out as text by [CardText], and on paper by the sheet.
type Card struct {
	Example   bool
	Title     string
	Emergency string
	First     string // what comes before any signal
	Heading   string // of the table, with its unit
	Lights    []string
	Airs      []string
	Rows      []CardRow
	Noticed   string   // what the upper figure of a row is
	AtBest    string   // what the lower one is
	Notes     []string // what the distances hold for
	Distress  []CardRule
	Signs     []CardSign
	SignNote  string
	Mirror    string
	Cautions  []string
	Foot      string // which plan, place and day
}

// A CardRow is one signal: distances by light and, within it, by air.
type CardRow struct {
	Signal  string
	Noticed []string
	AtBest  []string
	Heard   string // of a sound, instead of both
}

// A CardRule is one way to signal distress, and what its answer means.
type CardRule struct{ Name, Text string }

// A CardSign is a sign on the ground for an aircraft; its letter is "arrow" for one.
type CardSign struct{ Letter, Meaning string }

// notServing stands where a signal does not serve, or a light does not occur.
const notServing = "-"

// distressRules are how distress is signalled. Six a minute, answered by three a
// minute: the Alpine signal of 1894. Three, in North America, answered by three:
// "Alpine distress signal" and "Distress signal" of an encyclopaedia, and trade
// practice; there is no standard of either.
var distressRules = map[string]CardRule{
	"six": {"SIX (Alps, Britain)", "six flashes, blasts or shouts in a minute, one every ten seconds; a minute's pause; again. " +
		"Answer: three in a minute. It means that you are understood."},
	"three": {"THREE (North America)", "three flashes, blasts, shouts, or fires in a triangle; a minute's pause; again. " +
		"Answer: three. It means that you are understood."},
}

// cardCautions are the cautions of every output, as short as a card needs them.
var cardCautions = []string{
	"Stay put. No climbing in the dark or in lightning for a better site.",
	"Distress signals only in distress; for a drill tell police, fire and air services first.",
	"Fire: obey bans. None under trees, in wind, in a tent, vehicle or shelter (carbon monoxide). No rubber, no plastic. Signal fires have become wildfires.",
	"No laser or strobe at an aircraft. Stop lamp and mirror once acknowledged. Never look at the sun. Strobe under 3 flashes a second. Old flares are unreliable.",
	"A way home is a line, not a safe path. A light may stand beyond a cliff, river or lake: do not walk to it in the dark.",
	"Police or the incident controller direct a search; volunteers register and do not deploy themselves.",
	"Estimates, not promises: haze patches, trees and tired eyes shorten them. No field trial has been run. Local rules and licensed practice come first.",
}

// CardOf puts a card into words.
func CardOf(c *job.Card, w cli.Words) Card {
	unit, metres := w.LongUnit()
	out := Card{
		Example: c.Plan.Example, Title: c.Plan.Title, Emergency: emergencyLine(c.Plan.Emergency),
		First:    "Call it first, or use beacon or phone, and keep the battery for that.",
		Heading:  "HOW FAR OFF MY SIGNALS ARE NOTICED, " + unit,
		Noticed:  "noticed by half of those who search a quarter of the horizon for a minute; who does not search may notice at a tenth. " + notServing + ": does not serve then.",
		AtBest:   "by someone told where to look.",
		Notes:    cardNotes(c, w),
		Distress: distressOf(c.DistressSignal), SignNote: signNote(c, w), Mirror: mirrorLine(c.Mirror),
		Cautions: cardCautions,
		Foot:     fmt.Sprintf("For %s on %s. Times in %s. Plan %s, %s.", w.Reference(c.Point), cardDate(c.Date), c.Plan.Zone, c.Plan.Hash, c.Program),
	}
	if out.Title == "" {
		out.Title = "Pocket card"
	}
	for _, l := range c.Lights {
		out.Lights = append(out.Lights, l.Name)
	}
	for _, a := range c.Airs {
		out.Airs = append(out.Airs, a.Name)
	}
	for _, s := range c.Signals {
		row := CardRow{Signal: s.Signal}
		if s.Sound && len(s.Sights) == 1 {
			row.Heard = heardWords(w, float64(s.Sights[0].NoticedM), float64(s.Sights[0].PerceptibleM))
		} else {
			for _, d := range s.Sights {
				row.Noticed = append(row.Noticed, cardDistance(float64(d.NoticedM)/metres))
				row.AtBest = append(row.AtBest, cardDistance(float64(d.PerceptibleM)/metres))
			}
		}
		out.Rows = append(out.Rows, row)
	}
	for _, s := range c.Symbols {
		out.Signs = append(out.Signs, CardSign{s.Letter, s.Meaning})
	}
	return out
}

// cardDistance writes a distance in long units with two figures, and no more decimals
// than two.
func cardDistance(d float64) string {
	switch {
	case math.IsNaN(d):
		return notServing
	case d == 0:
		return "0"
	case d < 0.995:
		return fmt.Sprintf("%.2f", d)
	case d < 9.95:
		return fmt.Sprintf("%.1f", d)
	}
	return fmt.Sprintf("%.0f", d)
}

func cardNotes(c *job.Card, w cli.Words) []string {
	unit, metres := w.LongUnit()
	var lights, airs []string
	for _, l := range c.Lights {
		switch {
		case !l.Occurs:
			lights = append(lights, "no "+l.Name+" on that date")
		case l.Name == "night":
			lights = append(lights, "night without moon or lamps")
		case l.Name == "dusk":
			lights = append(lights, fmt.Sprintf("dusk at %s, the sun %.0f deg down", l.At.Format("15:04"), -float64(l.SunElevationDeg)))
		default:
			lights = append(lights, fmt.Sprintf("day at %s, the sun %.0f deg high", l.At.Format("15:04"), float64(l.SunElevationDeg)))
		}
	}
	for _, a := range c.Airs {
		airs = append(airs, fmt.Sprintf("%s %.3g %s", a.Name, float64(a.VisibilityM)/metres, unit))
	}
	return []string{
		capital(strings.Join(lights, "; ")) + ". Visibility: " + strings.Join(airs, ", ") + ".",
		fmt.Sprintf("By the naked eye, %s above level ground, clear sky, fresh battery. Hills and trees hide more.", w.Length(float64(c.EyeHeightM), 1)),
	}
}

// distressOf returns the rule of the region, or both and how to tell them apart.
func distressOf(rule string) []CardRule {
	if r, ok := distressRules[rule]; ok {
		return []CardRule{r}
	}
	return []CardRule{distressRules["six"], distressRules["three"],
		{"WHICH OF THEM", "find out before you go, and strike the other out. Where six is the call, three is the answer; where three is the call, three is both."}}
}

func signNote(c *job.Card, w cli.Words) string {
	least, stroke := 0.0, 0.0
	for _, s := range c.Symbols {
		least, stroke = float64(s.LeastM), float64(s.StrokeM)
	}
	return fmt.Sprintf("At least %s long (larger is better), lines %s wide, of what stands out most from the ground. Understood: the aircraft rocks its wings, by night it shows its lights twice; else it has not understood.", w.Length(least, 1), w.Length(stroke, 1))
}

// mirrorLine tells when the sun is high enough for a mirror.
func mirrorLine(m job.CardMirror) string {
	if len(m.Spans) == 0 {
		return fmt.Sprintf("A mirror does not work that day: the sun stays under %.0f deg.", float64(m.LeastElDeg))
	}
	line := fmt.Sprintf("A mirror works %s (sun over %.0f deg), ", spansOf(m.Spans), float64(m.LeastElDeg))
	if len(m.AllRound) == 0 {
		return line + "never on a side away from the sun. Hills shorten that."
	}
	return line + fmt.Sprintf("all round %s, else not on the side away from the sun. Hills shorten that.", spansOf(m.AllRound))
}

func spansOf(spans []job.CardSpan) string {
	var list []string
	for _, s := range spans {
		list = append(list, s.From.Format("15:04")+" to "+s.Until.Format("15:04"))
	}
	return strings.Join(list, " and ")
}

func cardDate(date string) string {
	t, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return date
	}
	return strings.ToUpper(t.Format("02 Jan 2006"))
}

// CardText writes a card as text: 80 columns, ASCII.
func CardText(w io.Writer, c Card) error {
	b := &brief{}
	if c.Example {
		b.line(exampleLine)
	}
	b.line("%s", c.Title)
	b.line("%s", c.Emergency)
	b.line("%s", c.First)
	b.title(c.Heading)
	cardTable(b, c)
	b.line("Upper figure: %s Lower figure, at best: %s", c.Noticed, c.AtBest)
	for _, n := range c.Notes {
		b.line("%s", n)
	}
	b.title("SIGNAL OF DISTRESS")
	for _, r := range c.Distress {
		b.item("   ", "%s: %s", r.Name, r.Text)
	}
	b.title("SIGNS ON THE GROUND FOR AN AIRCRAFT")
	for _, s := range c.Signs {
		b.columns("   %-6s %s", s.Letter, s.Meaning)
	}
	b.line("%s", c.SignNote)
	b.title("MIRROR")
	b.line("%s", c.Mirror)
	b.list("BEFORE ANYONE ACTS", "- ", c.Cautions)
	b.line("")
	b.line("%s", c.Foot)
	return b.write(w)
}

// cardTable writes the distances.
func cardTable(b *brief, c Card) {
	const name, cell = 17, 7
	lights, airs := "", ""
	for range c.Lights {
		for _, a := range c.Airs {
			airs += fmt.Sprintf("%*s", cell, a)
		}
	}
	for _, l := range c.Lights {
		lights += fmt.Sprintf("  %-*s", cell*len(c.Airs)-2, l)
	}
	b.columns("%-*s%s", name, "", lights)
	b.columns("%-*s%s", name, "", airs)
	for _, r := range c.Rows {
		if r.Heard != "" {
			b.item("", "%s: %s.", r.Signal, r.Heard)
			continue
		}
		b.columns("%-*.*s%s", name, name, ascii(r.Signal), cells(r.Noticed, cell))
		b.columns("%-*s%s", name, "  at best", cells(r.AtBest, cell))
	}
}

func cells(list []string, wide int) string {
	line := ""
	for _, s := range list {
		line += fmt.Sprintf("%*s", wide, s)
	}
	return line
}

// heardWords tell how far a sound carries, and what wind and sun may leave of it where that
// is less.
func heardWords(w cli.Words, noticedM, perceptibleM float64) string {
	const badAirM = 100 // as the sound's own warning says
	less := "less"
	if noticedM > badAirM {
		less = "perhaps only to " + w.Distance(badAirM)
	}
	return fmt.Sprintf("heard to %s, by somebody who listens to %s; against the wind or on a sunny day %s", w.Distance(noticedM), w.Distance(perceptibleM), less)
}
