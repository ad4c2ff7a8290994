package cli

import (
	"fmt"
	"strings"
	"time"
)

const timeExample = "write it like 2026-11-24T18:30:00+01:00 or 2026-11-24 18:30 Europe/Andorra"

// ParseTime reads a moment: RFC 3339 with an offset, or a local time followed
// by an IANA zone ("2026-11-24 18:30 Europe/Andorra"), where the zone may be
// left out when one is passed in. Years run from 1980 to 2199. A local time
// that does not exist or occurs twice in its zone is an error that says so. The
// error is a *QuantityError.
func ParseTime(text string, zone *time.Location) (time.Time, error) {
	s := strings.TrimSpace(text)
	fail := func(message, hint string) (time.Time, error) {
		return time.Time{}, &QuantityError{Text: shorten(s), Message: message, Advice: hint}
	}
	// The parse location is UTC, so that the machine's own zone has no say.
	for _, layout := range []string{time.RFC3339, "2006-01-02T15:04Z07:00", "2006-01-02 15:04:05Z07:00", "2006-01-02 15:04Z07:00", "2006-01-02 15:04:05 -07:00", "2006-01-02 15:04 -07:00"} {
		if t, err := time.ParseInLocation(layout, s, time.UTC); err == nil {
			if !plausible(t) {
				return fail(wrongYear, timeExample)
			}
			return t, nil
		}
	}
	wall, rest, ok := cutWall(s)
	switch {
	case !ok:
		return fail("not a date and time", timeExample)
	case !plausible(wall):
		return fail(wrongYear, timeExample)
	}
	if rest != "" {
		loc, err := LoadZone(rest)
		if err != nil {
			return fail(err.(*QuantityError).Message, err.(*QuantityError).Advice)
		}
		zone = loc
	}
	if zone == nil {
		return fail("a local time needs its zone", timeExample)
	}
	switch found := instants(wall, zone); len(found) {
	case 0:
		return fail(fmt.Sprintf("this local time does not exist in %s, the clocks skip it", zone), "write the time with its offset, like 2026-03-29T01:59:00+01:00")
	case 1:
		return found[0], nil
	default:
		return fail(fmt.Sprintf("this local time occurs twice in %s, when the clocks go back", zone),
			"write "+found[0].Format(time.RFC3339)+" or "+found[1].Format(time.RFC3339))
	}
}

// plausible says whether a year can be meant. Far back, zones had offsets with
// seconds, which RFC 3339 cannot write.
func plausible(t time.Time) bool { return t.Year() >= 1980 && t.Year() < 2200 }

const wrongYear = "a year from 1980 to 2199 is needed"

// cutWall splits a local time from what follows it.
func cutWall(s string) (wall time.Time, rest string, ok bool) {
	if day := len(time.DateOnly); len(s) > day && s[day] == 'T' {
		s = s[:day] + " " + s[day+1:]
	}
	for _, layout := range []string{"2006-01-02 15:04:05", "2006-01-02 15:04"} {
		if len(s) < len(layout) {
			continue
		}
		t, err := time.ParseInLocation(layout, s[:len(layout)], time.UTC)
		if err != nil {
			continue
		}
		rest = s[len(layout):]
		if rest == "" || rest[0] == ' ' {
			return t, strings.TrimSpace(rest), true
		}
	}
	return time.Time{}, "", false
}

// instants returns the moments at which the clocks of the zone show the wall
// time, earliest first: none in a gap, two in a fold.
func instants(wall time.Time, zone *time.Location) []time.Time {
	const window = 26 * time.Hour // more than any offset, so that both sides of a change are seen
	_, before := wall.Add(-window).In(zone).Zone()
	_, after := wall.Add(window).In(zone).Zone()
	var list []time.Time
	for i, offset := range []int{max(before, after), min(before, after)} {
		if i == 1 && before == after {
			break
		}
		t := wall.Add(-time.Duration(offset) * time.Second).In(zone)
		if _, o := t.Zone(); o == offset {
			list = append(list, t)
		}
	}
	return list
}

// LoadZone returns the time zone of an IANA name. Abbreviations (CET, EST) are
// refused, because they name different offsets in different places; UTC is
// not one.
func LoadZone(name string) (*time.Location, error) {
	s := strings.TrimSpace(name)
	if s == "UTC" {
		return time.UTC, nil
	}
	fail := &QuantityError{Text: shorten(s), Message: "not an IANA time zone", Advice: "write it like Europe/Andorra, or UTC"}
	if !strings.Contains(s, "/") {
		if s != "" && s == strings.ToUpper(s) {
			fail.Message = "a time zone abbreviation can mean several offsets"
		}
		return nil, fail
	}
	loc, err := time.LoadLocation(s)
	if err != nil {
		return nil, fail
	}
	return loc, nil
}
