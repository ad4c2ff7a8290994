package overlay

import (
	"cmp"
	"fmt"
	"io"
	"strings"
	"time"

	"farhail/cmd/internal/job"

	"github.com/paulmach/orb"
)

// Trip writes what a traveller leaves with their contact, as text.
func Trip(w io.Writer, r *job.Result) error { return writePaper(w, r, TripPaper(r)) }

// TripPaper is what a traveller leaves with their contact. The result has a trip.
func TripPaper(r *job.Result) Paper {
	t := r.Trip
	return Paper{
		Heading:  "Trip sheet: leave it with your contact",
		Sections: append(tripPerson(r), tripTimes(r), tripContact(r), tripWay(r), tripSignals(r), tripBefore()),
		Ground:   Ground{Ways: t.Path, Places: []Place{{"S", t.From.Point()}, {"E", t.To.Point()}}},
	}
}

// tripPerson is the person block, which is in a result only where it was asked for.
func tripPerson(r *job.Result) []Section {
	if len(r.Person) == 0 {
		return nil
	}
	s := Section{Title: "The traveller and their contact"}
	for _, d := range r.Person {
		s.tell(strings.ReplaceAll(d.Key, "_", " "), "%s", d.Value)
	}
	s.say("Private: for the contact, and those whom they call.")
	return []Section{s}
}

// upTo is a time that must not be told too early, to the next whole minute.
func upTo(t *time.Time) *time.Time {
	if t == nil {
		return nil
	}
	up := t.Add(time.Minute - time.Second).Truncate(time.Minute)
	return &up
}

func tripTimes(r *job.Result) Section {
	t := r.Trip
	s := Section{Title: "The two times"}
	s.large("Back by", moment(upTo(t.BackBy)))
	if t.BackDawn != nil {
		s.say("THAT IS AT NIGHT, between midnight and dawn (%s): is the way too long for one day? Plan a night out or a shorter way.", clock(t.BackDawn))
	}
	alarm := t.AlarmAt
	if alarm != nil {
		s.large("Raise the alarm at", moment(upTo(alarm)))
		s.say("That is %s after, as the traveller states. A slow walker's extra time and 1 h would be %s.", job.Duration(float64(t.MarginS)), job.Duration(float64(t.SuggestedS)))
	} else {
		alarm = t.SuggestedAt
		s.blank("Raise the alarm at", "the plan states no margin, and none is guessed (trip: alarm_margin:)")
		s.say("Suggested: %s, which is %s after: what a slow walker takes longer, and 1 h.", moment(upTo(alarm)), job.Duration(float64(t.SuggestedS)))
	}
	if t.Dawn != nil {
		s.say("THAT IS AT NIGHT, between midnight and dawn (%s): agree that the contact is awake then, or on another margin.", clock(t.Dawn))
	}
	s.tell("Set out", "%s. Walking %s, rests %s.", moment(t.Start), job.Duration(float64(t.WalkS)), job.Duration(float64(t.RestsS)))
	s.tell("Walking slowly", "back by %s.", clock(upTo(t.SlowBackBy)))
	if t.TurnRound != nil {
		s.large("Turn back at the latest", moment(t.TurnRound))
	} else {
		s.blank("Turn back at the latest", "wherever they are then; the plan does not say (trip: turn_round:)")
	}
	if t.Dusk != nil {
		s.say("%s", duskWords(t))
	}
	return s
}

func duskWords(t *job.Trip) string {
	left := t.Dusk.Sub(*t.BackBy)
	if left < 0 {
		return fmt.Sprintf("IT IS DARK BEFORE THEY ARE BACK: from %s (sun 6 degrees down); they are back %s after that.", clock(t.Dusk), job.Duration((-left).Seconds()))
	}
	return fmt.Sprintf("It is dark from %s (sun 6 degrees down): they are back %s before that.", clock(t.Dusk), job.Duration(left.Seconds()))
}

// tripContact is what the contact does, and whom they call.
func tripContact(r *job.Result) Section {
	s := Section{Title: "What the contact does"}
	s.say("1. Until the back-by time: wait. No word is no bad sign.")
	s.say("2. From then on call the traveller, and whoever waits at the end of the way. Write down the times.")
	s.say("3. At the alarm time, without word: call, say who is overdue, and read out this sheet: the way, the times, the signals.")
	if len(r.Person) == 0 {
		s.blank("Who is overdue", "name, age, telephone, car: write it in by hand (or person: in the plan, and --with-name)")
	}
	emergency(&s, r)
	s.say("4. Do not go and search alone. Stay where you can be called, and keep the telephone free.")
	for _, a := range r.Trip.Asks {
		s.say("Also: %s", a)
	}
	return s
}

func tripWay(r *job.Result) Section {
	t, w := r.Trip, r.Words()
	s := Section{Title: "The way"}
	climb := ""
	if known(float64(t.ClimbM)) {
		climb = fmt.Sprintf(", %s up and %s down", w.Distance(float64(t.ClimbM)), w.Distance(float64(t.DescentM)))
	}
	s.say("%s%s, by the rule %s%s.", w.Distance(float64(t.LengthM)), climb, t.Rule, tripRule(t))
	s.tell("From", "%s", LandPosition(w, t.From.Point()))
	s.tell("To", "%s", LandPosition(w, t.To.Point()))
	if t.ApartM > 200 {
		s.say("The way ends %s from where it begins: the times are those of its end.", w.Distance(float64(t.ApartM)))
	}
	s.table(tripLegs(r))
	if known(float64(t.LegsOff)) && t.LegsOff >= 1 {
		s.say("The way leaves these straight legs by %s at most.", w.Distance(float64(t.LegsOff)))
	}
	if t.Breaks > 0 {
		s.say("NO TIME IS COUNTED for %s in the route: add what they take to the rests (trip: rests:).", breaksWords(t.Breaks))
	}
	for _, slow := range t.Slowed {
		s.say("%s", slowedWords(slow))
	}
	hazardsOf(r, &s, "")
	s.say("Lines, not safe paths: turn back where the ground, the light or the weather says so.")
	return s
}

func breaksWords(n int) string {
	if n == 1 {
		return "a break"
	}
	return fmt.Sprintf("%d breaks", n)
}

func tripRule(t *job.Trip) string {
	words := ""
	if t.TrailRule != "" && t.TrailRule != t.Rule {
		words = ", on paths " + t.TrailRule
	}
	if t.Flat {
		words += ", as on the flat: no terrain"
	}
	return words
}

// slowedWords tells what makes the walkers slower.
func slowedWords(s job.Slowed) string {
	hours := ""
	if s.Hours != "" {
		hours = " " + s.Hours
	}
	if s.Speed == 0 {
		return "Rest" + hours + " on every day."
	}
	return fmt.Sprintf("Slower by %s%s: %.0f %% of the usual speed.", s.By, hours, 100*float64(s.Speed))
}

func tripLegs(r *job.Result) Table {
	w := r.Words()
	t := Table{Head: []string{"leg", "to", "grid", "true", "magn.", "length", "there by"}, Figures: []bool{true, false, false, true, true, true, true}, Cut: 1}
	for i, l := range r.Trip.Legs {
		length := w.Distance(float64(l.LengthM))
		if l.LengthM == 0 {
			length = "break" // in the route
		}
		t.Rows = append(t.Rows, []string{
			fmt.Sprint(i + 1), cmp.Or(l.To, "bend"), w.Reference(l.ToAt.Point()), bearing(float64(l.TrueDeg)), bearing(float64(l.MagneticDeg)),
			length, clock(upTo(l.By)),
		})
	}
	return t
}

// tripSignals tells what is carried, and from where it would be seen.
func tripSignals(r *job.Result) Section {
	w := r.Words()
	s := Section{Title: "Signals carried, and from where they would be seen"}
	s.say("Noticed by somebody who is not told where to look; at best by one who is.")
	s.table(sightByHour(r, ""))
	for _, p := range r.Place {
		if p.Question != "route" {
			continue
		}
		var sites []string
		for _, site := range p.Sites {
			sites = append(sites, w.Reference(site.Point))
		}
		if len(sites) > 0 {
			s.say("%s%s: best shown at %s.", capital(p.Signal), whenPlaced(p), strings.Join(sites, "; "))
		}
		s.say("%s", blindWords(r, p))
	}
	if len(r.Trip.Legs) > 0 && !asksForRoute(r) {
		s.say("From where on the way nobody would see them was not worked out (placement: question: route).")
	}
	return s
}

// whenPlaced says by whose light sites were chosen.
func whenPlaced(p job.Place) string {
	if p.Light == job.LightOfLooks || p.At == nil {
		return " while they look"
	}
	return " at " + clock(p.At)
}

func asksForRoute(r *job.Result) bool {
	for _, p := range r.Place {
		if p.Question == "route" {
			return true
		}
	}
	return false
}

// blindInTrip is how many blind stretches a trip sheet lists.
const blindInTrip = 6

func blindWords(r *job.Result, p job.Place) string {
	w := r.Words()
	b := p.Blind
	switch {
	case b == nil:
		return ""
	case len(b.Stretches) == 0:
		return fmt.Sprintf("From all of the way somebody who looks for a minute would find the %s with a tenth or more.", p.Signal)
	}
	var list []string
	for i, s := range b.Stretches {
		if i == blindInTrip {
			list = append(list, fmt.Sprintf("and %d more", len(b.Stretches)-i))
			break
		}
		at := orb.Point{float64(s.FromLon), float64(s.FromLat)}
		list = append(list, fmt.Sprintf("from %s on for %s (%s)", w.Distance(float64(s.FromM)), w.Distance(float64(s.LengthM)), w.Reference(at)))
	}
	return fmt.Sprintf("NOTHING WOULD BE SEEN of the %s from %s of %s: %s. Do not stop there to signal.", p.Signal, w.Distance(float64(b.BlindM)), w.Distance(float64(b.RouteM)), strings.Join(list, "; "))
}

// sightRows lists how far the signals are noticed at every hour, by all who look or by
// those of a name.
func sightRows(r *job.Result, who string) Table {
	w := r.Words()
	t := Table{Head: []string{"signal", "by", "at", "light", "noticed", "at best", "limit"}, Figures: []bool{false, false, true, false, true, true, false}}
	for _, s := range r.Sight {
		if who != "" && !lookedBy(s, who) {
			continue
		}
		t.Rows = append(t.Rows, []string{
			s.Signal, s.Observer, clock(s.At), lightAt(r, s.At),
			w.Distance(float64(s.NoticedM)), w.Distance(float64(s.PerceptibleM)), s.LimitNoticed,
		})
	}
	return t
}

// lookedBy reports whether somebody of a name is meant by a sighting; a sound is heard
// by all.
func lookedBy(s job.Sighting, who string) bool {
	if s.SightSound != nil {
		return true
	}
	for _, name := range s.Watchers {
		if name == who {
			return true
		}
	}
	return false
}

// tripBefore is what the traveller does before and after.
func tripBefore() Section {
	s := Section{Title: "The traveller"}
	s.say("Before: the telephone full, and its battery kept for calls; not a lamp, not a map all day. Tell the contact of every change of plan.")
	s.say("In distress: call first, or the beacon; stay put, be seen, keep warm.")
	s.large("Afterwards", "TELL YOUR CONTACT THAT YOU ARE BACK, at once, whatever the hour.")
	return s
}
