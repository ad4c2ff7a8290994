package overlay

import (
	"fmt"
	"math"
	"strings"
	"time"
	"unicode"

	"farhail/cmd/internal/job"
	"farhail/geo/coord"

	"github.com/paulmach/orb"
	"golang.org/x/text/unicode/norm"
)

// columns is the width of the brief, that of the plainest printer and screen.
const columns = 80

// area writes an area with three significant digits: below 1 km2 in hectares.
func area(m2 float64) string {
	switch {
	case !known(m2):
		return "unknown"
	case m2 < 0.9995e6:
		return job.Significant(m2/1e4) + " ha"
	}
	return job.Significant(m2/1e6) + " km2"
}

// bearing writes a direction as people say it, three figures; 360 is 000.
func bearing(deg float64) string {
	if !known(deg) {
		return "---"
	}
	return fmt.Sprintf("%03d", int(math.Round(deg))%360)
}

// moment writes a date with the month in letters, a 24-hour time and its
// offset.
func moment(t *time.Time) string {
	if t == nil {
		return "time not given"
	}
	return strings.ToUpper(t.Format("02 Jan 2006 15:04 -07:00"))
}

// clock writes day, month and time for a table.
func clock(t *time.Time) string {
	if t == nil {
		return "?"
	}
	return strings.ToUpper(t.Format("02 Jan 15:04"))
}

// position writes a place in decimal degrees, which other programs read back to
// 1 cm, and as a grid reference.
func position(p orb.Point) string {
	return fmt.Sprintf("%.7f %.7f   %s", p.Lat()+0, p.Lon()+0, gridReference(p))
}

// gridReference writes a place as an MGRS reference to 10 m, in the groups that
// people say.
func gridReference(p orb.Point) string {
	s := coord.MGRS(p, 4)
	square := len(s) - 10 // two letters, then four figures each way
	if square < 0 {
		return s
	}
	return strings.TrimSpace(s[:square] + " " + s[square:square+2] + " " + s[square+2:square+6] + " " + s[square+6:])
}

// ascii writes text in ASCII: accents are taken off, the rest that has no plain
// form becomes '?'.
func ascii(s string) string {
	var b strings.Builder
	for _, c := range norm.NFKD.String(s) {
		switch {
		case c == '\n' || c < unicode.MaxASCII && unicode.IsPrint(c):
			b.WriteRune(c)
		case unicode.Is(unicode.Mn, c):
		case unicode.IsSpace(c) || unicode.IsControl(c):
			b.WriteByte(' ')
		case strings.ContainsRune("‘’‚′", c):
			b.WriteByte('\'')
		case strings.ContainsRune("“”„″", c):
			b.WriteByte('"')
		case strings.ContainsRune("–—−‐", c):
			b.WriteByte('-')
		default:
			b.WriteByte('?')
		}
	}
	return b.String()
}

// wrap breaks text into lines no longer than columns. The first line begins
// with head, the others with as many blanks. A word longer than a line is cut.
func wrap(head, text string) []string {
	room := columns - len(head)
	var lines []string
	line := ""
	for _, word := range strings.Fields(ascii(text)) {
		for len(word) > room {
			if line != "" {
				lines, line = append(lines, line), ""
			}
			lines, word = append(lines, word[:room]), word[room:]
		}
		switch {
		case line == "":
			line = word
		case len(line)+1+len(word) <= room:
			line += " " + word
		default:
			lines, line = append(lines, line), word
		}
	}
	if line != "" || len(lines) == 0 {
		lines = append(lines, line)
	}
	for i := range lines {
		if i > 0 {
			head = strings.Repeat(" ", len(head))
		}
		lines[i] = strings.TrimRight(head+lines[i], " ")
	}
	return lines
}
