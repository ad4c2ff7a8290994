package overlay

import (
	"fmt"
	"io"
	"math"
	"strings"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
)

// Debrief writes how a drill went: the figures, who passed within sight, the logs, and
// three lessons.
func Debrief(w io.Writer, r *job.Result, s *job.DrillScore) error {
	b := drillHead(r, "how it went")
	b.line("Without fault: it is about what happened, not about who.")
	b.title("THE FIGURES")
	for _, h := range s.Hidden {
		b.finding(h)
	}
	if len(s.Parties) > 0 {
		b.line("Coverage %s: what the sweep widths swept over the %s that hold nine tenths of the surface (%s).", fixed(float64(s.Coverage)), r.Words().Area(float64(s.GroundM2)), s.From)
		b.line("POD %s +- %s over all places that were as likely: if it was there and stayed.", percent(float64(s.POD)), percent(2*float64(s.PODError)))
	}
	if s.Areas > 0 {
		b.line("The %d areas that were drawn: rank score %s (1: it lay in the likeliest ground, 0: as by chance, -1: in the least likely).", s.Areas, fixed(float64(s.RankScore)))
	}
	b.passes(s)
	b.watches(s)
	b.walked(s)
	b.reported(s)
	b.logScores(s)
	b.title("THREE LESSONS")
	if len(s.Hidden) > 1 {
		b.line("By the figures of %s: the first that was not found, or else the first.", s.LessonsOf)
	}
	for i, l := range s.Lessons {
		b.item(fmt.Sprintf("%d. ", i+1), "%s", b.words.Sentence(lesson(l, s)))
	}
	b.list("WHAT THE FIGURES ARE", "- ", append([]string{
		"A chance of sighting is that of the model for the stated air, light and eyes. A party that finds walks up to it: the last five minutes before a find do not count.",
	}, standing...))
	b.list("BEFORE ANYONE ACTS", "- ", cautions)
	return b.write(w)
}

func (b *brief) finding(h job.DrillFinding) {
	found := "not found"
	if known(float64(h.FoundS)) {
		found = "found after " + job.Duration(float64(h.FoundS))
		if h.FoundBy != "" {
			found += " by " + h.FoundBy
		}
	}
	near := ""
	if known(float64(h.ClosestM)) {
		near = fmt.Sprintf("; closest %s, %s", b.words.Distance(float64(h.ClosestM)), h.ClosestBy)
	}
	b.line("%s: %s%s.", h.Name, found, near)
	b.columns("   %s", b.words.Position(h.Point()))
	if known(float64(h.ChanceOfSighting)) {
		b.item("   ", "Chance that the search as it was done notices it there: %s.", chance(float64(h.ChanceOfSighting)))
	}
}

func (b *brief) passes(s *job.DrillScore) {
	if len(s.Parties) == 0 {
		return
	}
	b.title("WHO PASSED WITHIN SIGHT")
	nobody := true
	for _, h := range s.Hidden {
		for _, p := range h.Passes {
			if !(float64(p.InSightM) > 0) {
				continue
			}
			nobody = false
			when := ""
			if p.FirstSeen != nil {
				when = ", from " + clock(p.FirstSeen)
			}
			b.item("- ", "%s, %s%s: %s of the way within %s of it with a clear line, where half of all who pass notice the %s; closest %s. They should have noticed with a chance of %s.",
				h.Name, p.Party, when, b.words.Distance(float64(p.InSightM)), b.words.Distance(float64(p.WithinM)), p.Shows, b.words.Distance(float64(p.ClosestM)), chance(float64(p.Chance)))
		}
	}
	if nobody {
		b.line("Nobody.")
	}
}

// watches tells what the lookouts had of each that was hidden.
func (b *brief) watches(s *job.DrillScore) {
	for i, h := range s.Hidden {
		for _, w := range h.Watches {
			if i == 0 && w.Lookout == h.Watches[0].Lookout {
				b.title("WHO HAD IT IN SIGHT FROM A LOOKOUT (by the plan's watches)")
			}
			switch {
			case !w.InSight:
				b.item("- ", "%s, %s: no, the ground hides it at %s.", h.Name, w.Lookout, b.words.Distance(float64(w.DistanceM)))
			case w.Shows == "":
				b.item("- ", "%s, %s: a clear line, but too far or too dark to notice anything at %s.", h.Name, w.Lookout, b.words.Distance(float64(w.DistanceM)))
			default:
				b.item("- ", "%s, %s, %d watching from %s to %s: a clear line at %s. They should have noticed the %s with a chance of %s.",
					h.Name, w.Lookout, w.People, clock(w.From), clock(w.Until), b.words.Distance(float64(w.DistanceM)), w.Shows, chance(float64(w.Chance)))
			}
		}
	}
}

func (b *brief) walked(s *job.DrillScore) {
	if len(s.Parties) == 0 {
		return
	}
	b.title("WHO WALKED")
	for _, p := range s.Parties {
		cut := ""
		if len(p.Cuts) > 0 {
			cut = fmt.Sprintf("; %d stretches do not count as searching", len(p.Cuts))
		}
		b.item("- ", "%s (%s): %d, %s, %s to %s%s", p.Name, p.File, p.People, b.words.Distance(float64(p.LengthM)), clock(p.From), clock(p.Until), cut)
	}
}

func (b *brief) reported(s *job.DrillScore) {
	if len(s.Reports) == 0 {
		return
	}
	b.title("REPORTS")
	for _, r := range s.Reports {
		counts := "does not count"
		if r.Counts {
			counts = "counts"
		}
		b.item("- ", "%s, %s: %s from %s, %s", or(r.Who), clock(r.At), b.words.Distance(float64(r.OffM)), r.Nearest, counts)
	}
}

func (b *brief) logScores(s *job.DrillScore) {
	if len(s.Logs) == 0 {
		return
	}
	b.title("LOGS AGAINST TRACKS")
	for _, l := range s.Logs {
		slip := ""
		if l.Slip != "" {
			slip = fmt.Sprintf("; leg %d looks like a slip: %s", l.SlipLeg, l.Slip)
		}
		b.item("- ", "%s, by the track of %s: ends %s off, %s of the way; leg %d misses most, %s%s", l.Log, l.Track, b.words.Distance(float64(l.EndErrorM)), percent(float64(l.EndErrorShare)), l.WorstLeg, b.words.Distance(float64(l.WorstMissM)), slip)
	}
}

// mostSure is the largest chance that is written out: the model is not that sure of
// itself, as with a POD.
const mostSure = 0.95

func chance(v float64) string {
	if v > mostSure {
		return "more than 95 %"
	}
	return percent(v)
}

// percent writes a share, and says where it is not known.
func percent(v float64) string {
	if !known(v) {
		return "not known"
	}
	return fmt.Sprintf("%.0f %%", 100*v)
}

func fixed(v float64) string {
	if !known(v) {
		return "not known"
	}
	return fmt.Sprintf("%.2f", v)
}

// lesson words one lesson with its figures.
func lesson(id string, s *job.DrillScore) string {
	h := lessonsOf(s)
	switch id {
	case "passed-by":
		return fmt.Sprintf("You were there. A party passed within sight and should have noticed with a chance of %s, and nobody reported it. Stop every few minutes, look back and to both sides, call and listen; say at once what looks odd.", chance(h.BestPass()))
	case "overlooked":
		return fmt.Sprintf("It lay in sight of a lookout, who should have noticed with a chance of %s, and nobody reported it. Watch in turns of half an hour, cut the view into strips and go over them one by one, with glasses where there are some.", chance(h.BestWatch()))
	case "never-near":
		return fmt.Sprintf("The search as it was done had a chance of %s: the nearest came within %s. The people were not the cause, where they went was. Look again at how the ground was divided before the next party sets out.", percent(float64(h.ChanceOfSighting)), distanceOr(float64(h.ClosestM)))
	case "strays":
		return fmt.Sprintf("%d of %d reports named places more than 100 m from anything hidden. Read the position twice, say it, have it read back.", strays(s), len(s.Reports))
	case "map-off":
		return fmt.Sprintf("The areas lay elsewhere: rank score %s, worse than chance. Go back to what was told and ask what each piece of it rests on, before more is walked there.", fixed(float64(h.RankScore)))
	case "thin":
		return fmt.Sprintf("Coverage was %s: the ground was too large for what was walked. Take fewer areas and finish them, or go wider apart where things are seen far.", fixed(float64(s.Coverage)))
	case "overlapped":
		return fmt.Sprintf("Much was walked (coverage %s) for a POD of %s: ways ran over ground that was seen already, or away from where it was likely. Agree lines before setting out, and mark what is done.", fixed(float64(s.Coverage)), percent(float64(s.POD)))
	case "log-off":
		return fmt.Sprintf("A log ended %s of its way from where its party stood. Look at the leg that misses most: count paces again on such ground, and take bearings back as well as forward.", percent(worstLog(s)))
	case "untimed":
		return fmt.Sprintf("%d of %d reports had no time and could not count. Write the time first, then what you see.", untimed(s), len(s.Reports))
	case "lucky":
		return fmt.Sprintf("It was found, but the search as it was done had a chance of %s: luck helped. Do not take it for the method; ask how it would have gone on another day.", percent(float64(h.ChanceOfSighting)))
	case "map-good":
		return fmt.Sprintf("The areas pointed the right way: rank score %s. Keep how you came to them, each for itself first and then together.", fixed(float64(h.RankScore)))
	case "covered":
		return fmt.Sprintf("The ground was walked well: coverage %s, POD %s. Keep the lines, the spacing and the pace.", fixed(float64(s.Coverage)), percent(float64(s.POD)))
	case "log-good":
		return fmt.Sprintf("The logs held: the worst ended %s of its way off. They can be trusted to lead somebody else to a place.", percent(worstLog(s)))
	case "map-middling":
		return fmt.Sprintf("The areas did little better than chance: rank score %s. Spread shares by what is known, and leave more for what nobody thought of.", fixed(float64(h.RankScore)))
	case "no-tracks":
		return "No tracks came back, so that nobody knows what was searched. Have one receiver recording in each party."
	case "no-areas":
		return "No areas were drawn. Have each person draw where they think it likely, alone, before the first party sets out."
	case "no-logs":
		return "No log was kept. A receiver fails one day: have one in each party keep bearings and paces."
	}
	return strings.ReplaceAll(id, "-", " ")
}

func distanceOr(m float64) string {
	if !known(m) {
		return "an unknown distance"
	}
	return job.Distance(m)
}

// lessonsOf is the one hidden whose figures the lessons tell.
func lessonsOf(s *job.DrillScore) job.DrillFinding {
	for _, h := range s.Hidden {
		if h.Name == s.LessonsOf {
			return h
		}
	}
	nan := math.NaN()
	return job.DrillFinding{ClosestM: cli.Len(nan), ChanceOfSighting: cli.Num(nan), RankScore: cli.Num(nan)}
}

func strays(s *job.DrillScore) (n int) {
	for _, r := range s.Reports {
		if r.OffM > 100 {
			n++
		}
	}
	return n
}

func untimed(s *job.DrillScore) (n int) {
	for _, r := range s.Reports {
		if r.At == nil {
			n++
		}
	}
	return n
}

func worstLog(s *job.DrillScore) float64 {
	worst := 0.0
	for _, l := range s.Logs {
		worst = max(worst, float64(l.EndErrorShare))
	}
	return worst
}
