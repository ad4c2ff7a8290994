package overlay

import (
	"fmt"
	"io"
	"strings"

	"farhail/cmd/internal/job"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
)

// questions are what the answers of a placement are headed by.
var questions = []struct{ name, title string }{
	{"passive", "WHERE A SIGNAL SHOULD STAND"},
	{"route", "WHERE ALONG THE ROUTE A SIGNAL SHOULD STAND"},
	{"lookouts", "WHERE LOOKOUTS SHOULD STAND"},
	{"attract", "WHERE A LIGHT OR SOUND SHOULD STAND THAT DRAWS THEM"},
	{"relay", "WHERE POSTS SHOULD STAND THAT SEE EACH OTHER"},
}

func (b *brief) sites(r *job.Result) {
	for _, q := range questions {
		begun := false
		for _, p := range r.Place {
			if p.Question != q.name {
				continue
			}
			if !begun {
				b.title(q.title)
				begun = true
			}
			b.place(p)
		}
	}
}

// moments writes the hours that an answer is for.
func moments(p job.Place) string {
	text := moment(p.At)
	for i, h := range p.OverHours {
		switch {
		case i == 0:
			continue
		case i == len(p.OverHours)-1:
			text += " and "
		default:
			text += ", "
		}
		text += clock(h.At)
	}
	return text
}

// place writes one answer.
func (b *brief) place(p job.Place) {
	switch p.Question {
	case "lookouts":
		b.line("For %s at %s, which a lookout notices to %s by light and air: %d posts compared.", p.Signal, moments(p), b.words.Distance(float64(p.NoticedM)), p.Candidates)
		b.lookedFor(p)
	case "attract":
		b.line("%s at %s, noticed by somebody who is not told to %s: %d sites compared.", p.Signal, moments(p), b.words.Distance(float64(p.NoticedM)), p.Candidates)
	case "relay":
		b.line("%s at %s, seen from post to post to %s at best by light and air: %d posts compared.", p.Signal, moments(p), b.words.Distance(float64(p.NoticedM)), p.Candidates)
	default:
		b.line("%s at %s, noticed to %s by light and air%s: %d sites compared. Looking time, people together: %s.", p.Signal, moment(p.At), b.words.Distance(float64(p.NoticedM)), b.others(p.NoticedBy), p.Candidates, job.Duration(float64(p.Total)))
		b.inWhoseLight(p)
	}
	if len(p.Sites) == 0 {
		b.item("   ", "%s", nothingChosen(p))
	}
	for _, s := range p.Sites {
		b.site(p, s)
	}
	if len(p.Sites) > 0 {
		b.together(p)
	}
	b.links(p.Links)
	b.crossing(p.Crossing)
	b.timetable(p.Timetable)
	b.blind(p.Blind)
}

// inWhoseLight says that people are not taken to look at the plan's hour.
func (b *brief) inWhoseLight(p job.Place) {
	switch p.Light {
	case job.LightOfLooks:
		b.item("   ", "Sites are chosen for the light in which people look, not for that of %s.", clock(p.At))
	case job.LightOfBoth:
		b.item("   ", "Sites are chosen for the light in which people look; who has no clock is taken to look in that of %s.", clock(p.At))
	}
}

func nothingChosen(p job.Place) string {
	switch {
	case p.Crossing != nil && p.Crossing.NotProposed > 0:
		return "No site is proposed: for each, too many of those who notice it would have a cliff, water or unknown ground on their way."
	case p.Unit == job.UnitShare:
		return "From no site is any likely ground in sight."
	case p.Light == job.LightOfLooks:
		return "No site is noticed by anybody in the light in which they look."
	}
	return "No site is noticed by anybody who looks."
}

// worth writes what sites are worth in the unit of the question.
func worth(p job.Place, v float64) string {
	if p.Unit == job.UnitShare {
		return share(v)
	}
	return job.Duration(v)
}

func (b *brief) site(p job.Place, s job.Site) {
	text := fmt.Sprintf("%s: adds %s", s.Name, worth(p, float64(s.Gain)))
	switch {
	case p.Question == "attract":
		text += fmt.Sprintf(", %s of the likely ground alone", share(float64(s.SeenShare)))
	case p.Unit == job.UnitShare:
		text += fmt.Sprintf(", watches %.0f %% of the likely ground alone", 100*float64(s.SeenShare))
	default:
		text += fmt.Sprintf(", seen by %.0f %% alone", 100*float64(s.SeenShare))
	}
	if known(float64(s.SeenAreaM2)) {
		text += fmt.Sprintf(", from %s of ground", b.words.Area(float64(s.SeenAreaM2)))
		if p.Light == job.LightOfLooks || p.Light == job.LightOfBoth {
			text += fmt.Sprintf(" in the light of %s", p.At.Format("15:04"))
		}
	}
	if known(float64(s.WalkS)) {
		text += fmt.Sprintf(", %s to walk", job.Duration(float64(s.WalkS)))
	}
	b.item("   ", "%s", text)
	b.columns("      %s", b.words.Position(s.Point))
	if c := p.Crossing; c != nil {
		least := ""
		if !c.Checked {
			least = "at least "
		}
		b.item("      ", "Of those who notice it %s%s would have to cross a cliff, water or unknown ground.", least, share(float64(s.CrossingShare)))
	}
	if len(s.SeenBy) > 0 {
		var who []string
		for _, w := range s.SeenBy {
			span := ""
			if w.From != nil && w.Until != nil {
				span = fmt.Sprintf(" between %s and %s", clock(w.From), clock(w.Until))
			}
			who = append(who, fmt.Sprintf("%s%s %s%s", w.Who, with(w.Observer), job.Duration(float64(w.NoticeS)), span))
		}
		b.item("      ", "By %s.", strings.Join(who, "; "))
	}
}

// together writes what the sites reach together, and how near to the best that is.
func (b *brief) together(p job.Place) {
	text := fmt.Sprintf("Together %s of %s", worth(p, float64(p.Covered)), worth(p, float64(p.Total)))
	if known(float64(p.Bound)) {
		text += fmt.Sprintf("; no choice of as many can reach more than %s", worth(p, float64(p.Bound)))
	}
	b.item("   ", "%s.", text)
	if d := p.Drawn; d != nil {
		b.item("   ", "Heights are off: with errors of %s drawn too, that is %s on average, and from %s to %s in eight of ten draws.", b.words.Length(float64(d.HeightErrorM), 0), worth(p, float64(d.Mean)), worth(p, float64(d.Low)), worth(p, float64(d.High)))
	}
	var hours []string
	for _, h := range p.Hours {
		hours = append(hours, fmt.Sprintf("%s %s of %s, to %s", h.From.Format("15:04"), job.Duration(float64(h.NoticeS)), job.Duration(float64(h.LookS)), b.words.Distance(float64(h.HalfM))))
	}
	if len(p.OverHours) > 1 {
		var each []string
		for _, h := range p.OverHours {
			each = append(each, fmt.Sprintf("%s %s (%s by light and air)", clock(h.At), worth(p, float64(h.Covered)), b.words.Distance(float64(h.NoticedM))))
		}
		b.item("   ", "That is the mean over these hours: %s.", strings.Join(each, "; "))
	}
	if len(hours) > 0 {
		b.item("   ", "By the hour, noticed of looked, and to where a minute's look has an even chance: %s.", strings.Join(hours, "; "))
	}
}

func (b *brief) lookedFor(p job.Place) {
	var list []string
	for _, s := range p.LooksFor {
		list = append(list, fmt.Sprintf("%s to %s", s.Signal, b.words.Distance(float64(s.NoticedM))))
	}
	if len(list) > 0 {
		b.item("   ", "They look for: %s.", strings.Join(list, ", "))
	}
}

func (b *brief) links(links []job.PlaceLink) {
	for _, l := range links {
		b.item("   ", "%s and %s see each other over %s; one glimpse shows it with %.0f %%.", l.From, l.To, b.words.Distance(float64(l.DistanceM)), 100*float64(l.Chance))
	}
}

// crossing says what the ways were checked for, and never that they are clear.
func (b *brief) crossing(c *job.PlaceCrossing) {
	if c == nil {
		return
	}
	if c.Checked {
		b.item("   ", "Straight and quickest ways were checked for ground over %.0f deg on cells of %s, water (%s), the plan's hazards, and ground without height. Smaller cliffs are not seen.", float64(c.LimitDeg), b.words.Length(float64(c.CellM), 0), c.WaterFrom)
	} else {
		b.item("   ", "Cells of %s cannot show cliffs: ways were checked for ground over %.0f deg, mapped cliffs, the plan's hazards and water (%s), and that is no all-clear. Ground seen by %s.", b.words.Length(float64(c.CellM), 0), float64(c.LimitDeg), c.WaterFrom, c.GroundSeenBy)
	}
	if c.NotProposed > 0 {
		b.item("   ", "Not proposed, as they stand on such ground or more than %s would have to cross it: %d sites.", share(float64(c.MostShare)), c.NotProposed)
	}
	if c.Forced {
		b.item("   ", "FORCED: sites are proposed whatever lies on the way. Somebody must see the ground first.")
	}
	b.item("   ", "A light that draws a person must not stand beyond a cliff, river or lake from where they are. Keep people at it, and lead whoever answers.")
}

func (b *brief) timetable(turns []job.PlaceTurn) {
	if len(turns) == 0 {
		return
	}
	b.item("   ", "Timetable, repeated from its end on (own choice of turns):")
	for _, t := range turns {
		b.columns("      %s-%s %-7s", t.From.Format("15:04"), t.Until.Format("15:04"), t.Do)
		last := len(b.lines) - 1
		b.lines = append(b.lines[:last], wrap(fmt.Sprintf("%-25s", b.lines[last]), t.What)...)
	}
}

// stretchesInBrief is how many blind stretches a page holds.
const stretchesInBrief = 12

func (b *brief) blind(p *job.PlaceBlind) {
	if p == nil {
		return
	}
	if len(p.Stretches) == 0 {
		b.item("   ", "Everywhere on the route's %s a minute's look by somebody would find the signal with a tenth or more.", b.words.Distance(float64(p.RouteM)))
		return
	}
	b.item("   ", "From %s of the route's %s nothing would be seen (nobody's look has a tenth), in %d stretches:", b.words.Distance(float64(p.BlindM)), b.words.Distance(float64(p.RouteM)), len(p.Stretches))
	for i, s := range p.Stretches {
		if i == stretchesInBrief {
			b.item("   ", "and %d more, in plan.geojson.", len(p.Stretches)-i)
			break
		}
		b.columns("      from %8s on, %8s long, %s", b.words.Distance(float64(s.FromM)), b.words.Distance(float64(s.LengthM)), b.words.Reference(orb.Point{float64(s.FromLon), float64(s.FromLat)}))
	}
}

// Places writes the part of the brief that tells where something should stand.
func Places(w io.Writer, r *job.Result) { part(w, r, (*brief).sites) }

func sites(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Sites, Title: "Where signals, lookouts or posts should stand"}
	for _, p := range r.Place {
		for _, s := range p.Sites {
			gain := "gain_person_s"
			if p.Unit == job.UnitShare {
				gain = "gain_share"
			}
			f := layer.New(s.Name, s.Point, layer.P("question", p.Question), layer.P("signal", p.Signal), layer.P(gain, float64(s.Gain)),
				layer.P("seen_share", float64(s.SeenShare)), layer.P("seen_area_m2", float64(s.SeenAreaM2)), layer.P("noticed_m", float64(p.NoticedM)))
			if p.Crossing != nil {
				f.Properties = append(f.Properties, layer.P("crossing_share", float64(s.CrossingShare)), layer.P("cliffs_checked", p.Crossing.Checked))
			}
			f.HeightM, f.Time = float64(s.GroundM), timeOf(p.At)
			l.Features = append(l.Features, f)
		}
	}
	return l
}

// blindStretches returns the parts of routes from which nothing would be seen.
func blindStretches(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Blind, Title: "Parts of the route from which nothing would be seen"}
	for _, p := range r.Place {
		if p.Blind == nil {
			continue
		}
		for _, s := range p.Blind.Stretches {
			var g orb.Geometry = s.Line
			if len(s.Line) == 1 {
				g = s.Line[0]
			}
			f := layer.New(fmt.Sprintf("nothing seen for %s", job.Distance(float64(s.LengthM))), g, layer.P("signal", p.Signal), layer.P("from_m", float64(s.FromM)), layer.P("length_m", float64(s.LengthM)))
			f.Time = timeOf(p.At)
			l.Features = append(l.Features, f)
		}
	}
	return l
}

// links returns the lines between posts that see each other.
func links(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Links, Title: "Posts that see each other: lines of sight, not paths"}
	for _, p := range r.Place {
		at := map[string]orb.Point{}
		for _, s := range p.Sites {
			at[s.Name] = s.Point
		}
		for _, k := range p.Links {
			f := layer.New(k.From+" to "+k.To, orb.LineString{at[k.From], at[k.To]}, layer.P("signal", p.Signal), layer.P("distance_m", float64(k.DistanceM)), layer.P("chance", float64(k.Chance)))
			f.Time = timeOf(p.At)
			l.Features = append(l.Features, f)
		}
	}
	return l
}
