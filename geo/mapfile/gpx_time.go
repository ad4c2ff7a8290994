package mapfile

import (
	"strings"
	"time"
)

// Notes of parseTime about a time that was read by a guess.
const (
	noteNoZone    = "time without a zone, taken as UTC"
	noteLeap      = "second 60, taken as the start of the next minute"
	noteNoSeconds = "time without seconds, taken as the full minute"
)

// parseTime reads an instant as GPX files hold it: the dateTime of XML Schema
// part 2, section 3.2.7, and the other ISO 8601 forms that writers use instead
// (a blank for the T, offsets +hhmm and +hh, a comma before the fraction, no
// seconds). White space around it is legal. The result is UTC; fractions are
// kept to the nanosecond. A note tells what had to be guessed.
//
// Not read, because they fix no instant: a date alone, counted seconds, years
// beyond four digits, days that the month does not have. The year 1 is refused
// too: it is what programs write that lost a time.
func parseTime(s string) (t time.Time, note string, ok bool) {
	s = strings.Trim(s, " \t\r\n")
	p := timeParser{s: s}
	year, month, day := p.digits(4), p.after('-', 2), p.after('-', 2)
	if !p.any("Tt ") {
		return time.Time{}, "", false
	}
	hour, minute := p.digits(2), p.after(':', 2)
	second, nanos := 0, 0
	if p.any(":") {
		second = p.digits(2)
		if p.any(".,") {
			nanos = p.fraction()
		}
	} else {
		note = noteNoSeconds
	}
	p.any(" ")
	zone, known := p.zone()
	if p.bad || p.s != "" || year < 2 || month < 1 || month > 12 || day < 1 ||
		hour > 24 || minute > 59 || second > 60 || hour == 24 && (minute != 0 || second != 0 || nanos != 0) {
		return time.Time{}, "", false
	}
	date := time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
	if date.Day() != day { // 30 February
		return time.Time{}, "", false
	}
	// Hour 24 and second 60 carry over in time.Date.
	t = time.Date(year, time.Month(month), day, hour, minute, second, nanos, time.UTC).Add(-zone)
	switch {
	case !known:
		note = noteNoZone
	case second == 60:
		note = noteLeap
	}
	return t, note, true
}

// timeParser eats a written time from its front; bad is set by the first thing
// that is missing.
type timeParser struct {
	s   string
	bad bool
}

func (p *timeParser) any(set string) bool {
	if p.s == "" || !strings.Contains(set, p.s[:1]) {
		return false
	}
	p.s = p.s[1:]
	return true
}

func (p *timeParser) digits(n int) int {
	if len(p.s) < n {
		p.bad = true
		return 0
	}
	v := 0
	for i := range n {
		c := p.s[i]
		if c < '0' || c > '9' {
			p.bad = true
			return 0
		}
		v = 10*v + int(c-'0')
	}
	p.s = p.s[n:]
	return v
}

func (p *timeParser) after(sep byte, n int) int {
	if p.s == "" || p.s[0] != sep {
		p.bad = true
		return 0
	}
	p.s = p.s[1:]
	return p.digits(n)
}

// fraction reads the digits after a decimal sign as nanoseconds and drops those
// beyond the ninth.
func (p *timeParser) fraction() int {
	v, n := 0, 0
	for p.s != "" && p.s[0] >= '0' && p.s[0] <= '9' {
		if n < 9 {
			v = 10*v + int(p.s[0]-'0')
		}
		n++
		p.s = p.s[1:]
	}
	if n == 0 {
		p.bad = true
	}
	for ; n < 9; n++ {
		v *= 10
	}
	return v
}

// zone reads Z or an offset; known is false where there is neither. Offsets
// reach to 14:00 (XML Schema part 2, section 3.2.7.3).
func (p *timeParser) zone() (offset time.Duration, known bool) {
	if p.any("Zz") {
		return 0, true
	}
	if p.s == "" || p.s[0] != '+' && p.s[0] != '-' {
		return 0, false
	}
	sign := time.Duration(1)
	if p.s[0] == '-' {
		sign = -1
	}
	p.s = p.s[1:]
	h, m := p.digits(2), 0
	if p.s != "" {
		p.any(":")
		m = p.digits(2)
	}
	if h > 14 || m > 59 || h == 14 && m > 0 {
		p.bad = true
	}
	return sign * (time.Duration(h)*time.Hour + time.Duration(m)*time.Minute), true
}
