package overlay

import (
	"fmt"
	"math"
	"strings"
	"time"
	"unicode"

	"farhail/cmd/internal/cli"

	"github.com/paulmach/orb"
	"golang.org/x/text/unicode/norm"
)

// columns is the width of the brief, that of the plainest printer and screen.
const columns = 80

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

// gridReference writes a place as an MGRS reference to 10 m, in the groups that
// people say.
func gridReference(p orb.Point) string { return cli.Words{}.Reference(p) }

// ascii writes text in ASCII: accents are taken off, the rest that has no plain
// form becomes '?'.
func ascii(s string) string {
	var b strings.Builder
	for _, c := range norm.NFKD.String(s) {
		switch {
		case c == '\n' || c < unicode.MaxASCII && unicode.IsPrint(c):
			b.WriteRune(c)
		case unicode.Is(unicode.Mn, c):
		case c == '°':
			b.WriteByte('d') // 42d40'00"N reads back
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
