package overlay

import (
	"fmt"
	"strings"
	"time"

	"farhail/cmd/internal/job"
)

// sky writes two lines for each day: when it is dark, and what the moon does.
func (b *brief) sky(r *job.Result) {
	if len(r.Sky) == 0 {
		return
	}
	b.title("WHEN IT IS DARK")
	for _, s := range r.Sky {
		d := s.Day
		b.item("   ", "%s: %s; dark (sun 6 degrees down) for %s from this noon to the next.", day(s.At), sunWords(d), job.Duration(float64(d.DarkS)))
		b.item("      ", "Moon: %.0f %% lit, at %s %s; %s.", 100*float64(s.Moon.LitFraction), s.At.Format("15:04"), moonPlace(s.Moon), moonWords(d))
	}
	b.line("On a level horizon: hills make sun and moon rise later and set earlier.")
}

// day writes the date of a time.
func day(t *time.Time) string { return strings.ToUpper(t.Format("02 Jan")) }

func sunWords(d job.SkyDay) string {
	switch d.State {
	case "sun-never-sets":
		return "the sun stays up"
	case "sun-never-rises":
		return "the sun stays down, " + event(d, "civil dusk", d.CivilDusk)
	}
	return strings.Join([]string{event(d, "sunrise", d.Sunrise), event(d, "sunset", d.Sunset), event(d, "civil dusk", d.CivilDusk)}, ", ")
}

func moonWords(d job.SkyDay) string {
	return event(d, "moonrise", d.Moonrise) + ", " + event(d, "moonset", d.Moonset) + " that day"
}

func moonPlace(m job.SkyMoon) string {
	if m.ApparentElevationDeg < 0 {
		return "below the horizon"
	}
	return fmt.Sprintf("%.0f degrees high at %s true", float64(m.ApparentElevationDeg), bearing(float64(m.AzimuthDeg)))
}

// event writes when something happens, with its date where that is not the
// day's.
func event(d job.SkyDay, name string, t *time.Time) string {
	switch {
	case t == nil:
		return "no " + name
	case t.Format(time.DateOnly) != d.Date:
		return name + " " + clock(t)
	}
	return name + " " + t.Format("15:04")
}
