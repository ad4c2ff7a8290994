package reckon

import (
	"strings"
	"time"
)

// parseDate reads "2026-11-24", with an IANA zone, UTC or an offset after it.
func (p *parser) parseDate(value word) error {
	words := split(value.text)
	day, err := time.Parse(time.DateOnly, words[0].text)
	if err != nil {
		return value.fault("not a day of the calendar", "write year, month and day like 2026-11-24 Europe/Andorra")
	}
	zone := time.UTC
	if len(words) > 1 {
		at := word{join(words[1:]), value.col + words[1].col - 1}
		if zone, err = parseZone(at); err != nil {
			return err
		}
		p.zone = zone
	}
	p.log.Date = time.Date(day.Year(), day.Month(), day.Day(), 12, 0, 0, 0, zone)
	return nil
}

// parseZone reads an IANA name, UTC, or an offset like +01:00. Abbreviations
// name different offsets in different places.
func parseZone(at word) (*time.Location, error) {
	advice := "write a zone like Europe/Andorra, an offset like +01:00, or UTC"
	switch {
	case at.text == "UTC" || at.text == "Z":
		return time.UTC, nil
	case strings.Contains(at.text, "/"):
		if zone, err := time.LoadLocation(at.text); err == nil {
			return zone, nil
		}
		return nil, at.fault("no time zone of that name", advice)
	}
	if t, err := time.Parse("-07:00", at.text); err == nil {
		_, offset := t.Zone()
		return time.FixedZone(at.text, offset), nil
	}
	return nil, at.fault("not a time zone; abbreviations can mean several offsets", advice)
}

// parseClock reads the time of a leg, "@14:05", "@14:05:30" or "@1405", on the
// log's day or the day after where it runs back past midnight. Without a date the
// result is zero.
func (p *parser) parseClock(at word) (time.Time, error) {
	text := strings.TrimRight(strings.TrimPrefix(at.text, "@"), ",;")
	clock, err := time.Parse("15:04", text)
	for _, layout := range []string{"15:04:05", "1504"} {
		if err != nil {
			clock, err = time.Parse(layout, text)
		}
	}
	if err != nil {
		return time.Time{}, at.fault("not a time of day", "write it like @14:05 or @14:05:30")
	}
	day := p.log.Date
	if day.IsZero() {
		if p.undated == 0 {
			p.undated = p.line
		}
		return time.Time{}, nil
	}
	if p.zone == nil && p.last.IsZero() {
		p.warn(at.col, "the date has no time zone, times are taken as UTC", "write it like date: 2026-11-24 Europe/Andorra")
	}
	if !p.last.IsZero() {
		day = p.last
	}
	t, err := onDay(day, clock, at)
	if err != nil {
		return t, err
	}
	if t.Before(p.last) {
		if t, err = onDay(p.last.AddDate(0, 0, 1), clock, at); err != nil {
			return t, err
		}
		p.warn(at.col, "the time runs back past midnight: taken as "+t.Format("2006-01-02 15:04"), "")
	}
	p.last = t
	return t, nil
}

// onDay puts a clock's reading on a day in the day's zone. Where clocks are put
// forward or back it may not exist or occur twice, which is an error.
func onDay(day, clock time.Time, at word) (time.Time, error) {
	t := time.Date(day.Year(), day.Month(), day.Day(), clock.Hour(), clock.Minute(), clock.Second(), 0, day.Location())
	advice := "give the date an offset instead of a zone, like date: " + day.Format(time.DateOnly) + " +01:00"
	if t.Hour() != clock.Hour() || t.Minute() != clock.Minute() {
		return t, at.fault("this time does not exist on "+day.Format(time.DateOnly)+", clocks were put forward", advice)
	}
	// Clocks change by two hours at most; most by one or half.
	for _, d := range []time.Duration{-2 * time.Hour, -time.Hour, -30 * time.Minute, 30 * time.Minute, time.Hour, 2 * time.Hour} {
		u := t.Add(d)
		if u.Hour() == t.Hour() && u.Minute() == t.Minute() && u.Day() == t.Day() {
			return t, at.fault("this time occurs twice on "+day.Format(time.DateOnly)+", clocks were put back", advice)
		}
	}
	return t, nil
}

// nextDay takes the date of a later row of a table: its times are on that day.
func (p *parser) nextDay(value word) error {
	before, zone := p.log.Date, p.zone
	if err := p.parseDate(value); err != nil {
		return err
	}
	day := p.log.Date
	p.log.Date = before
	if p.zone == nil || zone == nil {
		p.zone = zone
	} else if p.zone.String() != zone.String() {
		return value.fault("another time zone than the rows above", "a log has one zone")
	}
	if y, m, d := p.last.Date(); !p.last.IsZero() && y == day.Year() && m == day.Month() && d == day.Day() {
		return nil
	}
	midnight := time.Date(day.Year(), day.Month(), day.Day(), 0, 0, 0, 0, before.Location())
	if midnight.Before(p.last) {
		return value.fault("the date runs back", "write rows in the order they were walked")
	}
	p.last = midnight
	return nil
}
