package overlay

import (
	"fmt"
	"io"
	"strings"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
)

// Brief writes what a leader reads aloud in two minutes, and after it, not to be read
// out, all tables and the cautions: 80 columns, ASCII.
func Brief(w io.Writer, r *job.Result) error {
	b := &brief{words: r.Words()}
	b.head(r)
	b.aloud(r)
	b.terrain(r)
	b.person(r)
	b.hazards(r)
	b.starts(r)
	b.log(r)
	b.rings(r)
	b.chance(r)
	b.swept(r)
	b.next(r)
	b.sky(r)
	b.sights(r)
	b.things(r)
	b.mirrors(r)
	b.sounds(r)
	b.sites(r)
	b.looking(r)
	b.notes(r)
	return b.tail(w)
}

// A brief is the text so far.
type brief struct {
	words cli.Words
	lines []string
}

func (b *brief) line(format string, args ...any) {
	b.lines = append(b.lines, wrap("", fmt.Sprintf(format, args...))...)
}

// item adds text behind a head that the following lines are set in by.
func (b *brief) item(head, format string, args ...any) {
	b.lines = append(b.lines, wrap(head, fmt.Sprintf(format, args...))...)
}

// columns adds a line as it is laid out, with its own blanks; user text in it
// has been made ASCII and short.
func (b *brief) columns(format string, args ...any) {
	line := strings.TrimRight(ascii(fmt.Sprintf(format, args...)), " ")
	b.lines = append(b.lines, line[:min(len(line), columns)])
}

func (b *brief) title(text string) { b.lines = append(b.lines, "", text) }

func (b *brief) list(title, head string, texts []string) {
	if len(texts) == 0 {
		return
	}
	b.title(title)
	for _, t := range texts {
		b.item(head, "%s", t)
	}
}

// notes tells what was left out, and what to take note of.
func (b *brief) notes(r *job.Result) {
	var notes []string
	for _, n := range r.Notes {
		notes = append(notes, b.words.Sentence(n.Text))
	}
	var left []string
	for _, text := range r.LeftOut {
		left = append(left, b.words.Sentence(text))
	}
	b.list("LEFT OUT", "- ", left)
	b.list("TAKE NOTE", "- ", notes)
}

// tail ends a sheet that people act on, and writes it.
func (b *brief) tail(w io.Writer) error {
	b.list("WHAT THE FIGURES ARE", "- ", standing)
	b.list("BEFORE ANYONE ACTS", "- ", cautions)
	return b.write(w)
}

func (b *brief) write(w io.Writer) error {
	_, err := io.WriteString(w, strings.Join(b.lines, "\n")+"\n")
	return err
}

func (b *brief) head(r *job.Result) {
	if r.Plan.Example {
		b.line(exampleLine)
	}
	b.line("%s", titleOf(r))
	b.line("As of %s. Times in %s. Plan %s, %s.", moment(r.Plan.AsOf), r.Plan.Zone, r.Plan.Hash, r.Program)
	b.line("%s", emergencyLine(r.Plan.Emergency))
}

// terrain tells what ground the figures rest on.
func (b *brief) terrain(r *job.Result) {
	if t := r.Terrain; t != nil {
		b.line("Terrain: %s, cells %s, ground or surface: %s, height datum: %s; %s.", t.Kind, b.words.Sides(float64(t.CellEastM), float64(t.CellNorthM), 0), t.Surface, t.Datum, t.Cover)
		if line := coverLine(t.LandCover, b.words); line != "" {
			b.line("%s", line)
		}
	}
}

// person writes the person block, which is in a result only where it was asked
// for.
func (b *brief) person(r *job.Result) {
	if len(r.Person) == 0 {
		return
	}
	b.title("WHO IS LOOKED FOR")
	b.line("Private: for the police and those who search, and destroyed or handed over afterwards.")
	for _, d := range r.Person {
		b.item("   ", "%s: %s", strings.ReplaceAll(d.Key, "_", " "), d.Value)
	}
}

func titleOf(r *job.Result) string {
	if r.Plan.Title == "" {
		return "Plan without a title"
	}
	return r.Plan.Title
}

func (b *brief) starts(r *job.Result) {
	if len(r.Starts) == 0 {
		return
	}
	b.title("WHAT WE GO ON")
	for _, s := range r.Starts {
		b.item(startKey(s.Kind)+"  ", "%s: %s, %s, within %s (95 %%)", s.Name, strings.ReplaceAll(s.Kind, "-", " "), moment(s.Time), b.words.Distance(float64(s.Radius95M)))
		b.columns("   %s", b.words.Position(s.Point))
		if s.Source != "" {
			b.item("   ", "Said by: %s", s.Source)
		}
		if s.SupersededBy != "" {
			b.item("   ", "Superseded by %s.", s.SupersededBy)
		}
	}
}

func (b *brief) log(r *job.Result) {
	g := r.Reckon
	if g == nil {
		return
	}
	b.title("WHERE THE LOG LEADS")
	b.line("%d legs, %s on the map.", len(g.Legs), b.words.Distance(float64(g.LengthM)))
	if len(g.Path) > 0 {
		b.columns("   %s", b.words.Position(g.Path[len(g.Path)-1]))
	}
	b.line("95 %%: an ellipse of %s by %s (half axes), long axis %s true. 50 %%: %s by %s.",
		b.words.Distance(float64(g.Ellipse95.MajorM)), b.words.Distance(float64(g.Ellipse95.MinorM)), bearing(float64(g.Ellipse95.AzimuthDeg)),
		b.words.Distance(float64(g.Ellipse50.MajorM)), b.words.Distance(float64(g.Ellipse50.MinorM)))
	b.logDoubts(g)
	b.line("Straight way home: %s true, %s magnetic, %s grid, %s%s.", bearing(float64(g.Home.TrueDeg)), bearing(float64(g.Home.MagneticDeg)),
		bearing(float64(g.Home.GridDeg)), b.words.Distance(float64(g.Home.DistanceM)), paces(float64(g.Home.Paces)))
	b.homeLegs(g)
}

func paces(n float64) string {
	if !known(n) {
		return ""
	}
	return fmt.Sprintf(", %.0f paces", n)
}

func (b *brief) rings(r *job.Result) {
	g := r.Rings
	if g == nil {
		return
	}
	b.title("HOW FAR THEY CAN HAVE WALKED")
	b.line("Outer limits from %s, rule %s%s.", g.From, g.Rule, trailWords(g))
	if g.Flat {
		b.line("Flat, no terrain: round rings.")
	} else {
		b.line("On cells of %s; smaller cliffs are not seen.", b.words.Sides(float64(g.CellEastM), float64(g.CellNorthM), 0))
	}
	var factors []string
	for _, w := range g.Walkers {
		factors = append(factors, fmt.Sprintf("%s %.2g", w.Name, float64(w.Factor)))
	}
	b.line("Walkers, times the rule's speed (own choice): %s.", strings.Join(factors, ", "))
	b.columns("   %-9s %-20s %-7s %12s %12s", "after", "by", "walker", "farthest", "area")
	for _, ring := range g.Rings {
		by := "-"
		if ring.By != nil {
			by = clock(ring.By)
		}
		open := ""
		if ring.Open {
			open = "  open"
		}
		b.columns("   %-9s %-20s %-7s %12s %12s%s", job.Duration(float64(ring.AfterS)), by, ring.Walker, b.words.Distance(float64(ring.FarthestM)), b.words.Area(float64(ring.AreaM2)), open)
	}
	b.line("Open: the ring touches the edge of the terrain or ground without height, and may reach farther.")
	b.waysOut(g)
}

func trailWords(g *job.Rings) string {
	var words string
	if g.TrailRule != "" {
		words = ", on trails " + g.TrailRule
	}
	if g.BarrierCells > 0 {
		words += ", the plan's barriers not crossed"
	}
	return words
}

func (b *brief) sights(r *job.Result) {
	if len(r.Sight) == 0 {
		return
	}
	b.title("HOW FAR THE SIGNALS SHOW")
	b.line("Visibility %s, eyes %s above ground.", b.words.Distance(float64(r.Plan.Weather.VisibilityM)), b.words.Length(float64(r.Looking.EyeHeightM), 1))
	where := "Over a smooth earth."
	if r.Terrain != nil {
		where = "Over the ground, from the traveller's last position. Limit: what ends noticed. Horizon: on a smooth earth, for comparison only."
	}
	b.line("%s", where)
	groups := observers(r.Sight)
	for _, g := range groups {
		b.sightTable(g, len(groups) > 1 || g.sights[0].Inputs.Who.Words() != "")
	}
	if text := limitWords(r.Sight); text != "" {
		b.line("%s", text)
	}
}

func (b *brief) looking(r *job.Result) {
	if len(r.Looking.Parties)+len(r.Looking.Lookouts)+len(r.Looking.Aircraft) == 0 {
		return
	}
	b.title("WHO LOOKS")
	for _, p := range r.Looking.Parties {
		b.item("   ", "%s: %d, %s in %s%s%s", p.Name, p.People, b.words.Distance(float64(p.LengthM)), job.Duration(float64(p.Seconds)), gaps(p.Gaps), with(p.Observer))
	}
	for _, l := range r.Looking.Lookouts {
		watch := ""
		if l.From != nil && l.Until != nil {
			watch = fmt.Sprintf(", %s to %s", clock(l.From), clock(l.Until))
		}
		b.item("   ", "%s: lookout, %d%s%s", l.Name, l.People, watch, with(l.Observer))
		b.columns("      %s", b.words.Position(l.Point))
	}
	b.flights(r.Looking.Aircraft)
}

func gaps(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(", %d breaks not walked", n)
}

// part writes one part of the brief with what goes with every part.
func part(w io.Writer, r *job.Result, write func(b *brief, r *job.Result)) {
	b := &brief{words: r.Words()}
	if r.Plan.Example {
		b.line(exampleLine)
	}
	write(b, r)
	_ = b.tail(w) // parts are printed into a buffer, which takes everything
}

// DocumentName names the map files of a result.
func DocumentName(r *job.Result) string {
	name := fmt.Sprintf("%s, plan %s, %s", titleOf(r), r.Plan.Hash, r.Program)
	if r.Plan.Example {
		name = exampleLine + ": " + name
	}
	return name
}
